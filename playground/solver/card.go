package solver

import (
	"context"
	"strings"

	"example.org/groundeffect/gecp/lake"
)

type cardAnswer struct {
	Text    string `json:"text"`
	HTML    string `json:"html"`
	LogHTML string `json:"log_html"`
	LogCSV  string `json:"log_csv"`
}

// card is the tow card, as text and as a page of its own, and its log sheet.
func (v *Service) card(ctx context.Context, q *question, progress func(float64)) (*cardAnswer, error) {
	if err := q.CheckLimit(); err != nil {
		return nil, err
	}
	s, err := v.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	m, o := s.fields, lake.TowCardOptions{Units: q.System(), Rules: q.rules(), Progress: progress}
	if s.left != nil {
		// A craft that lacks what they need lacks what the card needs.
		if o.Variants, err = s.leftOut(ctx, q.craft, nil); err != nil {
			return nil, err
		}
		m = o.Variants.Map()
	}
	t, err := lake.NewTowCard(ctx, m, o)
	if err != nil {
		return nil, err
	}
	s.left = t.Variants
	var text, page, log, table strings.Builder
	for _, write := range []func() error{
		func() error { return t.WriteText(&text) },
		func() error { return t.WriteHTML(&page, "") },
		func() error { return t.LogSheet().WriteHTML(&log) },
		func() error { return t.WriteLogCSV(&table) },
	} {
		if err := write(); err != nil {
			return nil, err
		}
	}
	return &cardAnswer{text.String(), page.String(), log.String(), table.String()}, nil
}
