// Package units writes figures for people. All else in the module is SI; what a
// sheet, a page or a sentence shows goes through the one formatter here, which knows
// the unit, the decimals worth reading and which way a figure must be rounded.
//
// A figure that someone acts on is rounded towards safety by one method each:
// [System.LetGo], [System.StayBelow], [System.FlyAbove], [System.LineLength], [BankLimit]. The
// system of units changes figures and no advice.
package units

import (
	"fmt"
	"math"
)

// System is what sheets for people are written in.
type System int

// Metric is metres, newtons, kilograms and km/h. Customary is feet, inches, pounds,
// pounds force and mph, by the exact factors of NIST SP 811. The systems for models show
// one decimal more.
const (
	Metric System = iota
	Customary
	MetricModel
	CustomaryModel
)

// ForModel returns the system in which a small model's figures are shown.
func (s System) ForModel() System {
	if s.IsCustomary() {
		return CustomaryModel
	}
	return MetricModel
}

// IsCustomary reports whether the units are feet, pounds and mph.
func (s System) IsCustomary() bool { return s == Customary || s == CustomaryModel }

// Sizes of units in SI units.
const (
	Inch       = .0254           // m
	Foot       = .3048           // m
	Pound      = .45359237       // kg
	PoundForce = Pound * 9.80665 // N
	MPH        = .44704          // m/s
	KMH        = 1 / 3.6         // m/s
)

// Unit is a unit of the SI or of another system, as figures in it are shown.
type Unit struct {
	Name     string
	Size     float64 // in SI units
	Decimals int     // worth reading
}

// Rounding says which way a shown figure may differ from the computed one.
type Rounding int

// Nearest is for figures that nobody's safety rests on; Down and Up never show more
// or less than what was computed.
const (
	Nearest Rounding = iota
	Down
	Up
)

// noise is the part of the last decimal shown that counts as rounding of the
// computation itself: 0.3 that was computed as 0.30000000001 shows as 0.30 either way.
const noise = 1e-6

// steps returns v, in SI units, as a whole number of steps of the last decimal shown.
func (u Unit) steps(v float64, r Rounding) float64 {
	x := v / u.Size * math.Pow10(u.Decimals)
	switch r {
	case Down:
		x = math.Floor(x + noise)
	case Up:
		x = math.Ceil(x - noise)
	default:
		x = math.Round(x)
	}
	if x == 0 {
		x = 0 // not -0
	}
	return x
}

// Rounded returns v, in SI units, as it is shown, in SI units.
func (u Unit) Rounded(v float64, r Rounding) float64 {
	return u.steps(v, r) / math.Pow10(u.Decimals) * u.Size
}

// Number returns v, in SI units, as digits in the unit; "–" if v is not finite. It
// never shows "-0".
func (u Unit) Number(v float64, r Rounding) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	return fmt.Sprintf("%.*f", u.Decimals, u.steps(v, r)/math.Pow10(u.Decimals))
}

// Signed returns a difference, in SI units, as digits in the unit with their sign; none
// where it shows as zero.
func (u Unit) Signed(v float64) string {
	s := u.Number(v, Nearest)
	if v > 0 && u.steps(v, Nearest) != 0 {
		s = "+" + s
	}
	return s
}

// Words returns the number with the unit's name.
func (u Unit) Words(v float64, r Rounding) string { return u.Number(v, r) + " " + u.Name }

func (s System) pick(metric, customary Unit) Unit {
	u := metric
	if s.IsCustomary() {
		u = customary
	}
	if s == MetricModel || s == CustomaryModel {
		u.Decimals++
	}
	return u
}

// Speed is for rungs of a ladder and other round speeds.
func (s System) Speed() Unit { return s.pick(Unit{"km/h", KMH, 0}, Unit{"mph", MPH, 0}) }

// FineSpeed is for lift-off, fold and window, which lie close together.
func (s System) FineSpeed() Unit { return s.pick(Unit{"km/h", KMH, 1}, Unit{"mph", MPH, 1}) }

// Force is for the line's tension and the floats' loads.
func (s System) Force() Unit { return s.pick(Unit{"N", 1, 0}, Unit{"lbf", PoundForce, 0}) }

// Moment is for moments that roll a craft.
func (s System) Moment() Unit {
	f, l := s.Force(), s.Length()
	return Unit{f.Name + " " + l.Name, f.Size * l.Size, 1}
}

// Mass is for craft and pilot.
func (s System) Mass() Unit { return s.pick(Unit{"kg", 1, 0}, Unit{"lb", Pound, 0}) }

// FineMass is for what scales read.
func (s System) FineMass() Unit { return s.pick(Unit{"kg", 1, 1}, Unit{"lb", Pound, 1}) }

// FinePosition is for what a tape reads.
func (s System) FinePosition() Unit { return s.pick(Unit{"m", 1, 3}, Unit{"in", Inch, 2}) }

// Clearance is for heights above the water.
func (s System) Clearance() Unit { return s.pick(Unit{"m", 1, 2}, Unit{"in", Inch, 1}) }

// Position is for where the pilot is and how far they move.
func (s System) Position() Unit { return s.pick(Unit{"m", 1, 2}, Unit{"in", Inch, 1}) }

// Line is for lengths of the tow line and distances on the water.
func (s System) Line() Unit { return s.pick(Unit{"m", 1, 0}, Unit{"ft", Foot, 0}) }

// LineMass is for the mass of a line by its length.
func (s System) LineMass() Unit {
	return s.pick(Unit{"g/m", 1e-3, 0}, Unit{"lb/100 ft", Pound / (100 * Foot), 1})
}

// Length is for sizes of a wing's order.
func (s System) Length() Unit { return s.pick(Unit{"m", 1, 1}, Unit{"ft", Foot, 1}) }

// Small is for millimetres.
func (s System) Small() Unit { return s.pick(Unit{"mm", 1e-3, 0}, Unit{"in", Inch, 1}) }

// Pace is for the speed of a person and gains of the boat's speed, per second.
func (s System) Pace() Unit { return s.pick(Unit{"m/s", 1, 2}, Unit{"ft/s", Foot, 1}) }

// Seconds is for times that a pilot has, the same in every system.
func Seconds() Unit { return Unit{"s", 1, 2} }

// Bank is for angles of bank, the same in every system.
func Bank() Unit { return Unit{"°", math.Pi / 180, 1} }

// BankLimit returns a bank not to be reached, rad, rounded down.
func BankLimit(bank float64) string { return Bank().Number(bank, Down) + "°" }

// LetGo returns a clearance above which to let go, m, rounded down.
func (s System) LetGo(clearance float64) string { return s.Clearance().Words(clearance, Down) }

// TowAbove returns a clearance below which not to tow, m, rounded up.
func (s System) TowAbove(clearance float64) string { return s.Clearance().Words(clearance, Up) }

// StayBelow returns a speed not to be passed, m/s, rounded down.
func (s System) StayBelow(speed float64) string { return s.FineSpeed().Words(speed, Down) }

// FlyAbove returns a speed not to be gone below, m/s, rounded up.
func (s System) FlyAbove(speed float64) string { return s.FineSpeed().Words(speed, Up) }

// LineLength returns the length that a line must have, m, rounded up.
func (s System) LineLength(length float64) string { return s.Line().Words(length, Up) }

// SpeedGain returns a gain of the boat's speed that a craft survives, m/s, rounded
// down.
func (s System) SpeedGain(gain float64) string { return s.Pace().Words(gain, Down) }

// ReactionTime returns a time that a pilot has, s, rounded down.
func (s System) ReactionTime(t float64) string { return Seconds().Words(t, Down) }
