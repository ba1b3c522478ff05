package solver

import (
	"context"
	"errors"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// trusted is how far to trust a range, in words of the question's units.
type trusted struct {
	Words string `json:"words"` // of the height to let go and the pilot's position; empty for a craft that does not fly
	// LetGo is nil for a craft without a height to tow it at even as calculated.
	LetGo *letGoBand `json:"let_go"`
	// Calm tells that the height to let go of Words and Rows is by equilibrium, since no one
	// can react in time at any.
	Calm    bool      `json:"calm"`
	LiftOff string    `json:"lift_off"` // the band of the speed; empty where the craft does not lift off
	Chop    string    `json:"chop"`     // what waves take, a sentence; empty without a range
	Rows    []leftOut `json:"rows"`     // what is left out, each alone, and all of it at once at the end
	Units   [4]string `json:"units"`    // of the columns of Rows
}

// letGoBand is between which two clearances the height to let go may lie, m.
type letGoBand struct {
	Low  float64 `json:"low_m"`  // to be used
	High float64 `json:"high_m"` //
	None bool    `json:"none"`   // there may be no such height; Low is then the lowest one to tow at as calculated
	// Words are "0.28 to 0.39 m", rounded outwards.
	Words string `json:"words"`
}

// leftOut is a [tow.TrustRow].
type leftOut struct {
	Name    string `json:"name"`
	LetGo   string `json:"let_go"`
	Lowest  string `json:"lowest"`
	Pilot   string `json:"pilot"`
	LiftOff string `json:"lift_off"`
	Source  string `json:"source"` // what it is taken as
}

// asCalculated follows a range whose band is not known yet, with a space before it; empty
// where there is no range.
func asCalculated(r *tow.Range) string {
	if !r.OK {
		return ""
	}
	return " That is as calculated; how much lower the real height to let go may lie is still being worked out."
}

// unknownTrust follows a range whose band cannot be had.
func unknownTrust(err error) string {
	return " That is as calculated; how much lower the real height to let go may lie is not known: " + sentence(err.Error())
}

// gotReady is the answer to "leftOut".
type gotReady struct {
	Ready bool `json:"ready"` // false for a craft that cannot be towed yet
}

// leftOut gets ready what tells how far to trust answers about the question's wings, at any
// speed and with any weights. It takes some times as long as the map.
func (v *Service) leftOut(ctx context.Context, q *question, progress func(float64)) (*gotReady, error) {
	s, err := v.shape(ctx, q, nil)
	if err != nil {
		return nil, err
	}
	_, err = s.leftOut(ctx, q.craft, progress)
	var missing gecp.Problems
	if errors.As(err, &missing) {
		return &gotReady{}, nil
	}
	return &gotReady{err == nil}, err
}

// leftOut returns what tells how far to trust answers about a craft with the shape's wings:
// made at the first call, and at no cost for other weights afterwards.
func (s *shape) leftOut(ctx context.Context, c *gecp.Craft, progress func(float64)) (*tow.Variants, error) {
	if s.left == nil {
		made, err := tow.NewVariants(ctx, s.fields, progress)
		if err != nil {
			return nil, err
		}
		s.left = made
	}
	return s.left.For(c)
}

// trust is the answer to "towing" with how far to trust it.
func (v *Service) trust(ctx context.Context, q *question, progress func(float64)) (*towing, error) {
	s, err := v.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	left, err := s.leftOut(ctx, q.craft, progress)
	var missing gecp.Problems
	switch {
	case err == nil:
		return q.towing(ctx, left.Map(), left)
	case ctx.Err() != nil:
		return nil, err
	case errors.As(err, &missing):
		return q.towing(ctx, s.fields, nil)
	}
	// The range is worth having without its band.
	a, lost := q.towing(ctx, s.fields, nil)
	if lost != nil {
		return nil, lost
	}
	a.Sentence += unknownTrust(err)
	return a, nil
}

// trusted says how far to trust a range of the variants' map and the lift-off of a window, nil
// where it is not known; said is of the height to let go, a sentence with a space before it,
// and used the range that the bands leave.
func (q *question) trusted(ctx context.Context, left *tow.Variants, r tow.Range, window *tow.Window) (a *trusted, said string, used tow.Range, err error) {
	u := q.System()
	told := r
	if r.None == tow.NoneReaction {
		// Nobody can react at any height: what the wings alone hold is worth knowing all the same.
		if told, err = r.Tow.Range(ctx, q.rules()); err != nil {
			return nil, "", used, err
		}
	}
	t, err := left.Trust(ctx, told)
	if err != nil {
		return nil, "", used, err
	}
	a = &trusted{
		Words: t.Words(u), Calm: r.None == tow.NoneReaction && told.OK,
		Rows: []leftOut{}, Units: [4]string{u.Small().Name, u.Small().Name, u.Small().Name, u.FineSpeed().Name},
	}
	used = r
	if r.OK {
		said = " " + t.AloneWords(u)
		a.LetGo = newLetGoBand(&t, u)
		if used, err = t.Cut(); err != nil {
			return nil, "", used, err
		}
		if used.OK {
			a.Chop = used.ChopWords(u)
		}
	}
	var liftOff tow.Trusted
	if window != nil && window.LiftOff.OK {
		if _, liftOff, err = left.LiftOff(ctx, 0, window.LiftOff.Pilot); err != nil {
			return nil, "", used, err
		}
		a.LiftOff = liftOff.LiftOffWords(u)
	}
	for _, row := range t.Rows(liftOff, u) {
		a.Rows = append(a.Rows, leftOut(row))
	}
	return a, said, used, nil
}

func newLetGoBand(t *tow.Trust, u units.System) *letGoBand {
	c := u.Clearance()
	b := &letGoBand{Low: t.LetGo.Low, High: t.LetGo.High, None: t.LetGo.NoLow}
	b.Words = c.Number(b.Low, units.Down) + " to " + c.Words(b.High, units.Up)
	if b.None {
		b.Low, b.Words = t.Range.Low.Clearance, "none to "+c.Words(b.High, units.Up)
	}
	return b
}
