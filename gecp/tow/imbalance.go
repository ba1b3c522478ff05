package tow

import (
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// Imbalance is a craft whose pilot is not where the trim needs them.
type Imbalance struct {
	Clearance float64 // m
	Pilot     float64 // m aft of the datum
	Needed    float64 // m aft of the datum
	Moment    float64 // about the centre of gravity, Nm, nose-up positive
}

// balanced is how far from the needed position a pilot counts as being there, m: what
// a person can tell of their own position.
const balanced = .005

// Imbalance returns what the craft does at a clearance, m, with the pitch that carries
// the weight and the pilot at pilotX, m aft of the datum. The errors are those of
// Trim, and [gecp.Problems] for a craft without a pilot.
func (t SteadyTow) Imbalance(clearance, pilotX float64) (Imbalance, error) {
	b, err := t.Trim(clearance)
	if err != nil {
		return Imbalance{}, err
	}
	return t.ImbalanceOf(b, pilotX)
}

// ImbalanceOf is Imbalance for a trim of the same tow.
func (t SteadyTow) ImbalanceOf(b Trim, pilotX float64) (Imbalance, error) {
	if err := t.craft.Require(gecp.BlockPilot); err != nil {
		return Imbalance{}, err
	}
	if !(math.Abs(pilotX) <= gecp.FarAway) {
		return Imbalance{}, fmt.Errorf("the pilot is at %v m; give a position along the craft, m aft of the datum", pilotX)
	}
	return Imbalance{
		Clearance: b.Clearance, Pilot: pilotX, Needed: b.Pilot.X,
		// The pilot's weight aft of where it balances turns the nose up.
		Moment: (pilotX - b.Pilot.X) * t.craft.Pilot.Mass * gecp.G * math.Cos(b.Pitch),
	}, nil
}

// TooFarAft returns how far aft of the needed position the pilot is, m; negative
// forward of it.
func (i Imbalance) TooFarAft() float64 { return i.Pilot - i.Needed }

// Balanced reports whether the pilot is where the trim needs them, to 5 mm.
func (i Imbalance) Balanced() bool { return math.Abs(i.TooFarAft()) < balanced }

// String says what the nose does and what the pilot has to do, in metric units.
func (i Imbalance) String() string { return i.Words(units.Metric) }

// Words says what the nose does and why: "with the pilot at 1.50 m the nose rises:
// 0.21 m too far aft".
func (i Imbalance) Words(u units.System) string {
	p := u.Position()
	at := "with the pilot at " + p.Words(i.Pilot, units.Nearest)
	switch off := i.TooFarAft(); {
	case i.Balanced():
		return at + " the craft is in balance"
	case off > 0:
		return at + " the nose rises: " + p.Words(off, units.Nearest) + " too far aft"
	default:
		return at + " the nose sinks: " + p.Words(-off, units.Nearest) + " too far forward"
	}
}
