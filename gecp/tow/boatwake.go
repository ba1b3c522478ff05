package tow

import (
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// WakeArms are the two arms of a boat's wake in deep water. The highest waves
// narrow as the boat speeds up; the outer edge does not, and between the two there
// are lower waves.
type WakeArms struct {
	Froude  float64 // of the hull: speed / sqrt(g length)
	Highest float64 // angle of the highest waves to the boat's course, rad
	Outer   float64 // angle of the outer edge, rad: arcsin(1/3), Kelvin's
}

// narrowing is the hull Froude number from which the highest waves narrow.
var narrowing = math.Sqrt(3 / (4 * math.Pi)) // .4886

// BoatWake returns the wake arms of a boat of a length on the waterline, m, at a
// speed through the water, m/s, both above 0.
//
// The highest waves lie at tan a = sqrt(2 pi Fr^2 - 1)/(4 pi Fr^2 - 1) from Fr =
// 0.4886 (Rabaud and Moisy, Phys. Rev. Lett. 110, 214503, 2013); up to there, and
// at the outer edge at all speeds, sin a = 1/3 (Darmon, Benzaquen and Raphael,
// J. Fluid Mech. 738, 2014).
func BoatWake(speed, length float64) WakeArms {
	w := WakeArms{Froude: speed / math.Sqrt(gecp.G*length), Outer: math.Asin(1. / 3)}
	w.Highest = w.Outer
	if w.Froude > narrowing {
		k := 2 * math.Pi * w.Froude * w.Froude
		w.Highest = math.Atan(math.Sqrt(k-1) / (2*k - 1))
	}
	return w
}

// WakeMargin is the room left between a wing tip and the waves, m: common practice,
// no source.
const WakeMargin = 1.0

// WakeLines are the shortest lines that keep a craft between the arms of the wake,
// m: the tips, with WakeMargin, inside the highest waves, and inside the outer edge
// only. Between the two lengths the tips stand over the waves.
type WakeLines struct {
	WakeArms
	Highest, Outer float64 // m
	Line           float64 // the craft file's, m
}

// FindWakeLines returns the shortest lines at a speed through the water, m/s: that of
// the air in a calm. The arms are taken to start at the boat's end of the line and
// the tips to stand at the craft's nose, both on the cautious side. It is an
// error if the speed is out of range or the craft file does not tell the tow.
func FindWakeLines(c *gecp.Craft, speed float64) (WakeLines, error) {
	if _, err := (gecp.Freestream{Speed: speed}).Checked(); err != nil {
		return WakeLines{}, err
	}
	if err := c.Require(gecp.BlockTow); err != nil {
		return WakeLines{}, err
	}
	t := c.Tow
	w := WakeLines{WakeArms: BoatWake(speed, t.BoatLength), Line: t.Line}
	half := c.Shape().Span/2 + WakeMargin
	line := func(angle float64) float64 {
		nose := half / math.Tan(angle)
		// The tow point lies behind the nose, and the line runs down from the boat.
		return math.Hypot(math.Max(0, nose+t.X), t.BoatHeight)
	}
	w.Highest, w.Outer = line(w.WakeArms.Highest), line(w.WakeArms.Outer)
	return w, nil
}

// Clear reports whether the craft file's line keeps the craft inside the highest
// waves.
func (w WakeLines) Clear() bool { return w.Line >= w.Highest }

// String says, in metric units, where the craft flies in the boat's wake.
func (w WakeLines) String() string { return w.Words(units.Metric) }

// Words says where the craft flies in the boat's wake.
func (w WakeLines) Words(u units.System) string {
	var where string
	switch {
	case w.Clear():
		where = "the craft flies between them"
	case w.Line >= w.Outer:
		where = "the wing tips pass over the waves between the two"
	default:
		where = "the wing tips reach out over the edge"
	}
	return fmt.Sprintf("The boat's highest waves run out at %.1f° to each side, the outer edge of its wake at %.1f°. To fly between the highest waves with %s to spare at each tip (common practice) takes a line of %s, inside the outer edge one of %s. This one is %s: %s.",
		gecp.Degrees(w.WakeArms.Highest), gecp.Degrees(w.WakeArms.Outer), u.Length().Words(WakeMargin, units.Nearest), u.LineLength(w.Highest), u.LineLength(w.Outer), u.Line().Words(w.Line, units.Down), where)
}
