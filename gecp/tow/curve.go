package tow

import (
	"errors"
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/bisect"
)

// TrimCurve is the trim of a steady tow over the clearances of its map, from the water
// up: the clearances at which the weight can be carried. The zero value is a curve
// without states, and every method says of it that there is nothing.
type TrimCurve struct {
	Tow    SteadyTow
	States []Trim // rising clearances; neighbours in the ladder are adjacent
}

// curveSteps is the number of clearances of a TrimCurve.
const curveSteps = 80

// TrimCurve returns the trim over the whole range of clearances. It returns an error
// (ErrTooSlow, ErrTooFast, ErrLineShort) if there is none at any.
func (t SteadyTow) TrimCurve() (TrimCurve, error) {
	c := TrimCurve{Tow: t}
	var last error
	for b, err := range t.TrimAlong(t.m.Clearances(curveSteps)) {
		if err == nil {
			c.States = append(c.States, b)
			continue
		}
		last = err
		if len(c.States) > 0 { // a map's lift is monotonic enough that gaps do not close again
			break
		}
	}
	if len(c.States) == 0 {
		return c, last
	}
	return c, nil
}

// sharp is how closely a clearance at which something changes is found, m.
const sharp = 1e-4

// edge returns, between the neighbouring states i and i+1, the two trims, at most
// sharp apart in clearance, on the sides of the change of a condition that differs at
// the two: below, with the condition as at i, and above.
func (c TrimCurve) edge(i int, condition func(Trim) bool) (below, above Trim) {
	below, above = c.States[i], c.States[i+1]
	at := condition(below)
	// Between two states that balance there is one that does; if the map has a jump there,
	// the interval stays as wide as it is.
	_, _, _ = bisect.Edge(below.Clearance, above.Clearance, sharp, func(cl float64) (bool, error) {
		m, err := c.Tow.Trim(cl)
		if err != nil {
			return false, err
		}
		if condition(m) == at {
			below = m
			return false, nil
		}
		above = m
		return true, nil
	})
	return below, above
}

// Equilibria returns all states in which the craft balances with the pilot at
// pilotX, m aft of the datum, from the water up. It returns [gecp.Problems] if the
// craft has no pilot.
func (c TrimCurve) Equilibria(pilotX float64) ([]Trim, error) {
	if len(c.States) == 0 {
		return nil, nil
	}
	if err := c.Tow.craft.Require(gecp.BlockPilot); err != nil {
		return nil, err
	}
	var e []Trim
	aft := func(b Trim) bool { return b.Pilot.X > pilotX }
	for i := 0; i+1 < len(c.States); i++ {
		if aft(c.States[i]) == aft(c.States[i+1]) {
			continue
		}
		b, _ := c.edge(i, aft)
		e = append(e, b)
	}
	return e, nil
}

// Ceiling is the clearance at which, going up, something ceases to hold.
type Ceiling struct {
	Clearance float64 // m; the last at which it holds
	OK        bool    // whether there is such a clearance
	Always    bool    // where there is none: whether it holds at all clearances, not at none
}

// SelfHolding returns the highest clearance up to which the craft, balanced, holds
// its height by itself: going up, the last before it no longer does.
func (c TrimCurve) SelfHolding() Ceiling {
	return c.ceiling(func(b Trim) bool { return b.HeightStable })
}

// Reach returns the highest clearance that the pilot's travel balances: going up,
// the last before it no longer does. It returns [gecp.Problems] if the craft has no
// pilot.
func (c TrimCurve) Reach() (Ceiling, error) {
	if len(c.States) == 0 {
		return Ceiling{}, nil
	}
	if err := c.Tow.craft.Require(gecp.BlockPilot); err != nil {
		return Ceiling{}, err
	}
	return c.ceiling(func(b Trim) bool { return b.TravelMargin >= 0 }), nil
}

// ceiling returns where a condition ends, going up.
func (c TrimCurve) ceiling(ok func(Trim) bool) Ceiling {
	for i := 0; i+1 < len(c.States); i++ {
		if ok(c.States[i]) && !ok(c.States[i+1]) {
			below, _ := c.edge(i, ok)
			return Ceiling{Clearance: below.Clearance, OK: true}
		}
	}
	n := len(c.States)
	return Ceiling{Always: n > 0 && ok(c.States[n-1])}
}

// From returns the part of the curve above the lowest state at which a condition
// holds, that state, found to 0.1 mm, included; ok is false if it holds at none.
func (c TrimCurve) From(condition func(Trim) bool) (part TrimCurve, ok bool) {
	for i, b := range c.States {
		if !condition(b) {
			continue
		}
		part = TrimCurve{Tow: c.Tow, States: c.States[i:]}
		if i > 0 {
			if _, e := c.edge(i-1, condition); e.Clearance < b.Clearance {
				part.States = append([]Trim{e}, part.States...)
			}
		}
		return part, true
	}
	return TrimCurve{}, false
}

// AboveFloats returns the part of the curve in which all floats are clear of the
// water, from the lowest such state up; ok is false if there is none. Below it the
// water would hold the craft up and the balance means nothing. Without floats it
// is the whole curve.
func (c TrimCurve) AboveFloats() (part TrimCurve, ok bool) {
	return c.From(func(b Trim) bool { return c.Tow.floatsClear(b) })
}

// floatsClear reports whether no float of the craft is in the water.
func (t *SteadyTow) floatsClear(b Trim) bool {
	_, depth, ok := t.craft.LowestFloat(b.Pitch)
	return !ok || b.Height-depth >= 0
}

// Travel is what the pilot's travel must be to fly from the lowest clearance of a
// curve up to some other.
type Travel struct {
	Forward, Aft float64 // foremost and aftmost position needed, m aft of the datum
	MoreForward  float64 // m of travel that the craft lacks towards the nose; 0 if none
	MoreAft      float64 // and towards the tail
}

// Travel returns the pilot's travel needed to balance every clearance of the curve
// from one to another, m. It returns an error if the craft has no pilot or the curve
// does not reach either clearance.
func (c TrimCurve) Travel(from, to float64) (Travel, error) {
	if len(c.States) == 0 {
		return Travel{}, errors.New("the curve has no state of trim")
	}
	craft := c.Tow.craft
	if err := craft.Require(gecp.BlockPilot); err != nil {
		return Travel{}, err
	}
	t := Travel{Forward: math.Inf(1), Aft: math.Inf(-1)}
	add := func(b Trim) {
		t.Forward, t.Aft = math.Min(t.Forward, b.Pilot.X), math.Max(t.Aft, b.Pilot.X)
	}
	for _, cl := range []float64{from, to} {
		b, err := c.Tow.Trim(cl)
		if err != nil {
			return Travel{}, fmt.Errorf("no balance at a clearance of %.2f m: %w", cl, err)
		}
		add(b)
	}
	for i, b := range c.States {
		if b.Clearance > from && b.Clearance < to {
			add(b)
		}
		// Where the pilot turns back between two states lies the furthest position.
		if i > 0 && b.RequiredCGSlope > 0 != (c.States[i-1].RequiredCGSlope > 0) {
			if b, _ = c.edge(i-1, func(b Trim) bool { return b.RequiredCGSlope > 0 }); b.Clearance > from && b.Clearance < to {
				add(b)
			}
		}
	}
	t.MoreForward = math.Max(0, craft.Pilot.XForward-t.Forward)
	t.MoreAft = math.Max(0, t.Aft-craft.Pilot.XAft)
	return t, nil
}

// String says what the builder has to provide.
func (t Travel) String() string {
	need := fmt.Sprintf("the pilot moves between %.2f and %.2f m aft of the datum, %.2f m of travel", t.Forward, t.Aft, t.Aft-t.Forward)
	switch {
	case t.MoreForward > 0 && t.MoreAft > 0:
		return fmt.Sprintf("%s: %.2f m more forward and %.2f m more aft than the craft gives", need, t.MoreForward, t.MoreAft)
	case t.MoreForward > 0:
		return fmt.Sprintf("%s: %.2f m more forward than the craft gives", need, t.MoreForward)
	case t.MoreAft > 0:
		return fmt.Sprintf("%s: %.2f m more aft than the craft gives", need, t.MoreAft)
	}
	return need + ": within what the craft gives"
}
