package ask

import (
	"context"
	"strings"

	"example.org/groundeffect/gecp"
)

// card is the tow card, as text and as a page of its own.
func (d *Desk) card(ctx context.Context, q *question, progress func(float64)) (*textAnswer, error) {
	u := unitsOf(q.Units)
	if err := within("limit_m", "your own let-go height", q.LimitM*u.length, lowest*u.length, 5*u.length, u.lengthName); err != nil {
		return nil, err
	}
	s, err := d.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	o := gecp.TowCardOptions{Limit: q.LimitM, Margin: margin}
	if q.Units == "us" {
		o.Units = gecp.Customary
	}
	t, err := s.fields.TowCard(ctx, o)
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
