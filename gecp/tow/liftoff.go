package tow

import (
	"context"
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/bisect"
	"example.org/groundeffect/gecp/units"
)

// LiftOff is where a craft leaves the water as the speed rises, the pilot staying
// in one position. Often one float unloads while the other still carries, and the
// craft turns up on that one, its lift growing, until it flies: all at one speed.
type LiftOff struct {
	Pilot float64 // m aft of the datum
	OK    bool    // whether it leaves the water
	Speed float64 // m/s; at it the craft flies
	// State is the craft there, or the last one on the water if it does not lift off.
	State OnFloats
	// Holds tells whether the craft, at SettleSpeed, comes to rest at the clearance
	// Settle (m) that it holds by itself, the pilot staying in that position. Where it does
	// not, it keeps rising unless the pilot moves.
	Holds               bool
	Settle, SettleSpeed float64
	// Without OK: the speed, m/s, beyond which nothing is known, and why: a *TipError, or
	// nil where the craft is still on its floats at the highest speed looked at.
	Last float64
	Err  error
}

// String says where the craft leaves the water, in metric units.
func (l LiftOff) String() string { return l.Words(units.Metric) }

// Words says where the craft leaves the water.
func (l LiftOff) Words(u units.System) string {
	pilot := "with the pilot at " + u.Position().Words(l.Pilot, units.Nearest) + " it "
	switch {
	case l.OK && l.Holds:
		return fmt.Sprintf("%slifts off at %s; at %s it settles at a clearance of %s", pilot,
			u.FlyAbove(l.Speed), u.FineSpeed().Words(l.SettleSpeed, units.Nearest), u.Clearance().Words(l.Settle, units.Nearest))
	case l.OK:
		return fmt.Sprintf("%slifts off at %s and finds no clearance to hold: it keeps rising unless the pilot moves", pilot, u.FlyAbove(l.Speed))
	}
	if tip, ok := l.Err.(*TipError); ok {
		if tip.NoseUp {
			return fmt.Sprintf("%sdoes not lift off: at %s the nose rises on the aft float out of the calculation", pilot, u.FineSpeed().Words(l.Last, units.Nearest))
		}
		return fmt.Sprintf("%sdoes not lift off: at %s the nose goes down over the fore float out of the calculation", pilot, u.FineSpeed().Words(l.Last, units.Nearest))
	}
	return fmt.Sprintf("%sdoes not lift off up to %s", pilot, u.FineSpeed().Words(l.Last, units.Nearest))
}

// The speeds among which FindLiftOff looks, and how far past it the craft is looked
// at, m/s.
const (
	liftOffStep = .5
	// MaxLiftOff is the highest speed at which a lift-off is looked for, m/s.
	MaxLiftOff  = 30.
	pastLiftOff = .1
)

// FindLiftOff returns the lowest speed at which the wings carry the whole weight, with
// the pilot at pilotX, m aft of the datum, in air of a density, kg/m3 (0 is
// gecp.AirDensity). It is not OK if the craft turns out of the map before, or does
// not lift off up to 30 m/s. It returns an error if the craft file lacks weights, tow,
// pilot or floats, if the craft does not rest on its floats within the map, or if the
// context is cancelled.
func FindLiftOff(ctx context.Context, m *gecp.Map, density, pilotX float64) (LiftOff, error) {
	l := LiftOff{Pilot: pilotX}
	c := m.Model().Craft()
	if err := c.Require(gecp.BlockWeights, gecp.BlockTow, gecp.BlockPilot, gecp.BlockFloats); err != nil {
		return LiftOff{}, err
	}
	still, err := newSteadyTow(m, c, gecp.Freestream{Speed: liftOffStep, Density: density})
	if err != nil {
		return LiftOff{}, err
	}
	at := func(speed float64) (OnFloats, error) {
		if err := ctx.Err(); err != nil {
			return OnFloats{}, err
		}
		t, err := still.At(speed)
		if err != nil {
			return OnFloats{}, err
		}
		return t.OnFloats(pilotX)
	}
	// tipped puts a craft that turns out of the map into the answer.
	tipped := func(speed float64, err error) (LiftOff, error) {
		if _, ok := err.(*TipError); !ok {
			return LiftOff{}, err
		}
		l.Last, l.Err = speed, err
		return l, nil
	}
	lo, hi := 0., liftOffStep
	for ; ; lo, hi = hi, hi+liftOffStep {
		s, err := at(hi)
		if err != nil {
			return tipped(hi, err)
		}
		l.State, l.Last = s, hi
		if s.Support == SupportNone {
			break
		}
		if hi >= MaxLiftOff {
			return l, nil
		}
	}
	var asked float64
	_, l.Speed, err = bisect.Edge(lo, hi, 1e-6, func(v float64) (bool, error) {
		asked = v
		s, err := at(v)
		if err == nil && s.Support == SupportNone {
			l.State = s
		}
		return s.Support == SupportNone, err
	})
	if err != nil {
		return tipped(asked, err)
	}
	l.OK, l.Last = true, l.Speed
	l.SettleSpeed = l.Speed + pastLiftOff
	past, err := still.At(l.SettleSpeed)
	if err != nil {
		return LiftOff{}, err
	}
	all, err := past.TrimCurve()
	if cannotFly(err) { // too fast for the map: no height there
		return l, nil
	}
	if err != nil {
		return LiftOff{}, err
	}
	clear, ok := all.AboveFloats()
	if !ok { // a float still touches the water at every height that carries the weight
		return l, nil
	}
	held, err := clear.Equilibria(pilotX)
	if err != nil {
		return LiftOff{}, err
	}
	for _, h := range held {
		if h.HeightStable {
			l.Holds, l.Settle = true, h.Clearance
			break
		}
	}
	return l, nil
}

// EvenLiftOff returns the position of the pilot, m aft of the datum, from which both
// floats of the resting craft leave the water at once, in balance; ok is false if
// there is none up to the highest speed that FindLiftOff looks at. Errors are those
// of FindLiftOff.
func EvenLiftOff(ctx context.Context, m *gecp.Map, density float64) (pilotX float64, ok bool, err error) {
	c := m.Model().Craft()
	if err := c.Require(gecp.BlockWeights, gecp.BlockTow, gecp.BlockPilot, gecp.BlockFloats); err != nil {
		return 0, false, err
	}
	rest, _ := c.Rest()
	clearance := m.Model().LowestPoints().ClearanceFor(rest.Height, rest.Pitch)
	still, err := newSteadyTow(m, c, gecp.Freestream{Speed: liftOffStep, Density: density})
	if err != nil {
		return 0, false, err
	}
	at := func(speed float64) (Trim, error) {
		if err := ctx.Err(); err != nil {
			return Trim{}, err
		}
		t, err := still.At(speed)
		if err != nil {
			return Trim{}, err
		}
		return t.Trim(clearance)
	}
	// The faster, the lower the nose: look for the first speed at which it is no higher
	// than at rest.
	_, hi, err := bisect.Edge(liftOffStep, MaxLiftOff, 1e-4, func(v float64) (bool, error) {
		b, err := at(v)
		switch {
		case err == nil:
			return b.Pitch <= rest.Pitch, nil
		case cannotFly(err):
			return err != ErrTooSlow, nil
		}
		return false, err
	})
	if err != nil {
		return 0, false, err
	}
	b, err := at(hi)
	if cannotFly(err) {
		return 0, false, nil
	}
	return b.Pilot.X, err == nil && math.Abs(b.Pitch-rest.Pitch) < 1e-3, err
}
