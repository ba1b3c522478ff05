package solver

import (
	"context"
	"strings"

	"example.org/groundeffect/gecp/lake"
)

// card is the tow card, as text and as a page of its own.
func (v *Service) card(ctx context.Context, q *question, progress func(float64)) (*textAnswer, error) {
	h := q.system().Clearance()
	if err := within("limit_m", "your own let-go height", q.LimitM/h.Size, lowest/h.Size, 5/h.Size, h.Name); err != nil {
		return nil, err
	}
	s, err := v.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	t, err := lake.NewTowCard(ctx, s.fields, lake.TowCardOptions{Units: q.system(), Rules: q.rules()})
	if err != nil {
		return nil, err
	}
	var text, page strings.Builder
	if err := t.WriteText(&text); err != nil {
		return nil, err
	}
	if err := t.WriteHTML(&page, ""); err != nil {
		return nil, err
	}
	return &textAnswer{Text: text.String(), HTML: page.String()}, nil
}
