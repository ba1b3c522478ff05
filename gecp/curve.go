package gecp

import (
	"fmt"
	"math"
)

// TrimCurve is the balance of a run over the clearances of its map, from the water
// up: the clearances at which the weight can be carried.
type TrimCurve struct {
	Run    SteadyTow
	States []Trim // rising clearances; neighbours in the ladder are adjacent
}

// curveSteps is the number of clearances of a Curve.
const curveSteps = 80

// TrimCurve returns the balance over the whole range of clearances. It is an error
// (ErrTooSlow, ErrTooFast, or of the line) if there is none at any.
func (r SteadyTow) TrimCurve() (TrimCurve, error) {
	c := TrimCurve{Run: r}
	var last error
	places := make([]float64, curveSteps)
	for i := range places {
		places[i] = r.m.opt.unscale(2*float64(i)/(curveSteps-1) - 1)
	}
	for b, err := range r.TrimAlong(places) {
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

// cross finds where f changes sign between neighbouring states i and i+1, to
// 0.1 mm of clearance. f must differ in sign at the two.
func (c TrimCurve) cross(i int, f func(Trim) float64) Trim {
	lo, hi := c.States[i], c.States[i+1]
	flo := f(lo)
	for hi.Clearance-lo.Clearance > 1e-4 {
		m, err := c.Run.Trim((lo.Clearance + hi.Clearance) / 2)
		if err != nil { // between two states that balance there is one that does
			return lo
		}
		if f(m) > 0 == (flo > 0) {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

// Equilibrium is a clearance at which the craft balances with the pilot in one place.
type Equilibrium struct {
	Trim
	// BySlope and ByNeutralPoints tell whether it holds its height, once from the
	// slope of the needed place with height and once from the order of the neutral
	// points. They agree; Stable asks for stability in pitch as well.
	BySlope, ByNeutralPoints bool
}

// Equilibria returns all clearances at which the craft balances with the pilot at
// pilotX, m aft of the datum, from the water up. It is an error if the craft has
// no pilot.
func (c TrimCurve) Equilibria(pilotX float64) ([]Equilibrium, error) {
	if err := c.Run.m.model.craft.Require(BlockPilot); err != nil {
		return nil, err
	}
	var h []Equilibrium
	off := func(b Trim) float64 { return b.Pilot.X - pilotX }
	for i := 0; i+1 < len(c.States); i++ {
		if off(c.States[i]) > 0 == (off(c.States[i+1]) > 0) {
			continue
		}
		b := c.cross(i, off)
		m := b.HeightNeutral.ahead(b.PitchNeutral)
		h = append(h, Equilibrium{Trim: b, BySlope: b.RequiredCGSlope > 0, ByNeutralPoints: m.OK && m.X > 0})
	}
	return h, nil
}

// Ceiling is a clearance that bounds the use of a craft at a speed.
type Ceiling struct {
	Clearance float64 // m
	// OK is false if, going up the curve, the craft does not pass from inside the
	// limit to outside it: it is inside at the upper end (Always) or nowhere.
	OK, Always bool
}

func always(yes bool) Ceiling { return Ceiling{Always: yes} }

// SelfHolding returns the highest clearance up to which the craft, balanced, holds
// its height by itself: going up, the first at which it no longer does after it
// did.
func (c TrimCurve) SelfHolding() Ceiling {
	return c.top(func(b Trim) bool { return b.HeightStable })
}

// Reach returns the highest clearance that the pilot's travel balances: going up,
// the first that it no longer does after it did. It is an error if the craft has
// no pilot.
func (c TrimCurve) Reach() (Ceiling, error) {
	if err := c.Run.m.model.craft.Require(BlockPilot); err != nil {
		return Ceiling{}, err
	}
	return c.top(func(b Trim) bool { return b.TravelMargin >= 0 }), nil
}

// top returns the clearance at which ok ends, going up.
func (c TrimCurve) top(ok func(Trim) bool) Ceiling {
	for i := 0; i+1 < len(c.States); i++ {
		if ok(c.States[i]) && !ok(c.States[i+1]) {
			b := c.cross(i, func(b Trim) float64 {
				if ok(b) {
					return 1
				}
				return -1
			})
			return Ceiling{Clearance: b.Clearance, OK: true}
		}
	}
	return always(ok(c.States[len(c.States)-1]))
}

// Travel is what the pilot's travel must be to fly from the lowest clearance of a
// curve up to some other.
type Travel struct {
	Forward, Aft float64 // foremost and aftmost place needed, m aft of the datum
	MoreForward  float64 // m of travel that the craft lacks towards the nose; 0 if none
	MoreAft      float64 // and towards the tail
}

// Travel returns the pilot's travel needed to balance every clearance of the curve
// from one to another, m. It is an error if the craft has no pilot or the curve
// does not reach either clearance.
func (c TrimCurve) Travel(from, to float64) (Travel, error) {
	craft := c.Run.m.model.craft
	if err := craft.Require(BlockPilot); err != nil {
		return Travel{}, err
	}
	t := Travel{Forward: math.Inf(1), Aft: math.Inf(-1)}
	add := func(b Trim) {
		t.Forward, t.Aft = math.Min(t.Forward, b.Pilot.X), math.Max(t.Aft, b.Pilot.X)
	}
	for _, cl := range []float64{from, to} {
		b, err := c.Run.Trim(cl)
		if err != nil {
			return Travel{}, fmt.Errorf("no balance at a clearance of %.2f m: %w", cl, err)
		}
		add(b)
	}
	for i, b := range c.States {
		if b.Clearance > from && b.Clearance < to {
			add(b)
		}
		// Where the pilot turns back between two states lies the furthest place.
		if i > 0 && b.RequiredCGSlope > 0 != (c.States[i-1].RequiredCGSlope > 0) {
			if b = c.cross(i-1, func(b Trim) float64 { return b.RequiredCGSlope }); b.Clearance > from && b.Clearance < to {
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

// Fold is where, for one place of the pilot, a stable and an unstable height meet
// as the speed changes: beyond it the craft finds no height to hold and runs away.
type Fold struct {
	Speed     float64 // m/s
	Clearance float64 // m
	Pilot     float64 // m aft of the datum
}

// Fold looks, over rising speeds between from and to (m/s), for the speed at which
// the stable height of a craft with the pilot at pilotX meets the unstable one
// above it and both vanish. found is false if that does not happen there. It is
// an error if a speed is out of range or the craft file lacks pilot, weights or
// tow.
func (m *Map) Fold(pilotX, density, from, to float64) (f Fold, found bool, err error) {
	c, err := m.crests(density, from, to)
	if err != nil {
		return Fold{}, false, err
	}
	return c.fold(pilotX)
}

// crests are, over a ladder of speeds, where the stable heights of a craft end:
// the place furthest aft that the pilot can hold. They do not depend on where the
// pilot is.
type crests struct {
	m       *Map
	density float64
	speeds  []float64 // rising, at most foldStep apart
	at      []crest
}

type crest struct {
	Trim
	found bool
}

const foldStep = .25 // m/s

func (m *Map) crests(density, from, to float64) (crests, error) {
	c := crests{m: m, density: density}
	if err := m.model.craft.Require(BlockPilot); err != nil {
		return c, err
	}
	if !(from <= to) {
		return c, fmt.Errorf("the speeds run from %v to %v m/s; they must rise", from, to)
	}
	n := int(math.Ceil((to - from) / foldStep))
	for i := range n + 1 {
		v := from + (to-from)*float64(i)/float64(max(n, 1))
		k, err := c.crest(v)
		if err != nil {
			return c, err
		}
		c.speeds, c.at = append(c.speeds, v), append(c.at, k)
	}
	return c, nil
}

// crest returns the crest at a speed, if the craft can fly there.
func (c *crests) crest(speed float64) (crest, error) {
	r, err := c.m.Run(speed, c.density)
	if err != nil {
		return crest{}, err
	}
	k, err := r.TrimCurve()
	if err != nil {
		return crest{}, nil // too slow or too fast to fly
	}
	for i := 0; i+1 < len(k.States); i++ {
		if k.States[i].RequiredCGSlope > 0 && k.States[i+1].RequiredCGSlope <= 0 {
			return crest{k.cross(i, func(b Trim) float64 { return b.RequiredCGSlope }), true}, nil
		}
	}
	return crest{}, nil
}

// fold returns the fold for a place of the pilot: where the crest, which moves
// forward as the speed rises, passes it.
func (c *crests) fold(pilotX float64) (f Fold, found bool, err error) {
	for i := 1; i < len(c.at); i++ {
		a, b := c.at[i-1], c.at[i]
		if !a.found || !b.found || !(a.Pilot.X > pilotX) || b.Pilot.X > pilotX {
			continue
		}
		lo, hi := c.speeds[i-1], c.speeds[i]
		f = Fold{Speed: hi, Clearance: b.Clearance, Pilot: pilotX}
		for hi-lo > 1e-4 {
			v := (lo + hi) / 2
			k, err := c.crest(v)
			if err != nil || !k.found {
				return Fold{}, false, err
			}
			if k.Pilot.X > pilotX {
				lo = v
			} else {
				hi = v
				f.Speed, f.Clearance = v, k.Clearance
			}
		}
		return f, true, nil
	}
	return Fold{}, false, nil
}
