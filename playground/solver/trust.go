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
	Units   [3]string `json:"units"`    // of the columns of Rows
}

// letGoBand is between which two clearances the height to let go may lie, m.
type letGoBand struct {
	Low  float64 `json:"low_m"`  // to be used
	High float64 `json:"high_m"` //
	None bool    `json:"none"`   // there may be no such height; Low is then the lowest one to tow at as calculated
	// Words are "0.28 to 0.39 m", rounded outwards.
	Words string `json:"words"`
}

// leftOut is what one thing that the calculation leaves out does to three figures, as "-12 to
// +3"; a dash where there is no such figure.
type leftOut struct {
	Name    string `json:"name"`
	LetGo   string `json:"let_go"`
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

// trusted says how far to trust a range of the variants' map.
func (q *question) trusted(ctx context.Context, left *tow.Variants, r tow.Range) (*trusted, tow.Trust, error) {
	u := q.System()
	both, err := left.Trust(ctx, r)
	if err != nil {
		return nil, tow.Trust{}, err
	}
	t := both[0]
	told := t
	a := &trusted{Rows: []leftOut{}, Units: [3]string{u.Small().Name, u.Small().Name, u.FineSpeed().Name}}
	if r.None == tow.NoneReaction {
		// Nobody can react at any height: what the wings alone hold is worth knowing all the same.
		calm, err := r.Tow.Range(ctx, q.rules())
		if err != nil {
			return nil, t, err
		}
		if both, err = left.Trust(ctx, calm); err != nil {
			return nil, t, err
		}
		told, a.Calm = both[0], calm.OK
	}
	a.Words = told.Words(u)
	if r.OK {
		c := u.Clearance()
		b := &letGoBand{Low: t.LetGo.Low, High: t.LetGo.High, None: t.LetGo.NoLow}
		b.Words = c.Number(b.Low, units.Down) + " to " + c.Words(b.High, units.Up)
		if b.None {
			b.Low, b.Words = r.Low.Clearance, "none to "+c.Words(b.High, units.Up)
		}
		a.LetGo = b
		cut, err := t.Cut()
		if err != nil {
			return nil, t, err
		}
		if cut.OK {
			a.Chop = cut.ChopWords(u)
		}
	}
	effects := told.Pilot.Effects
	if !told.HasPilot {
		effects = told.LetGo.Effects
	}
	// shift tells what the effect of a number does to a figure, or all of them for one beyond the last.
	shift := func(f tow.Trusted, i int) string {
		switch {
		case len(f.Effects) == 0:
			return "–"
		case i < len(f.Effects):
			return f.Effects[i].Band.Shift(u.Small())
		}
		return f.Shift(u.Small())
	}
	for i, e := range effects {
		a.Rows = append(a.Rows, leftOut{e.Effect.String(), shift(told.LetGo, i), shift(told.Pilot, i), "–", e.Effect.Source()})
	}
	if n := len(effects); n > 0 {
		a.Rows = append(a.Rows, leftOut{"all at once", shift(told.LetGo, n), shift(told.Pilot, n), "–", "in the way that lowers each figure, and in the way that raises it"})
	}
	return a, t, nil
}

// trustLiftOff adds how far to trust the speed at which the craft lifts off with the pilot at
// x, m aft of the datum.
func (q *question) trustLiftOff(ctx context.Context, a *trusted, left *tow.Variants, x float64) error {
	u := q.System()
	off, band, err := left.LiftOff(ctx, 0, x)
	if err != nil || !off.OK {
		return err
	}
	a.LiftOff = band.LiftOffWords(u)
	for i := range a.Rows {
		b := band.Band
		if i < len(band.Effects) {
			b = band.Effects[i].Band
		}
		a.Rows[i].LiftOff = b.Shift(u.FineSpeed())
	}
	return nil
}
