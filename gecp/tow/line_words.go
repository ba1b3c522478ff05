package tow

import (
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// LineWords says in sentences how the line of a trim hangs: what it weighs, how hard it
// pulls at both ends and at which angle, and how near to the water it comes.
func (t SteadyTow) LineWords(b Trim, u units.System) string {
	s := t.LineAt(b)
	what := fmt.Sprintf("The line, %s", u.Line().Words(t.line.Length, units.Nearest))
	switch {
	case t.line.Weight == 0:
		what += " taken without weight"
	case t.craft.Tow.LineMass == nil:
		what += fmt.Sprintf(" of %s (that of a laid polypropylene rope of 10 mm; the craft file tells none)", u.LineMass().Words(t.line.Weight/gecp.G, units.Nearest))
	default:
		what += " of " + u.LineMass().Words(t.line.Weight/gecp.G, units.Nearest)
	}
	f := u.Force()
	text := fmt.Sprintf("%s, pulls the craft with %s, %s, and the boat with %s, %s.", what,
		f.Words(b.LineTension, units.Up), ahead(b.LineAngle, "ahead"), f.Words(s.BoatTension, units.Up), ahead(-s.BoatAngle, "aft"))
	if s.InWater() {
		return text + " It hangs down into the water between craft and boat and is dragged through it, which is not calculated: it pulls harder and draws the nose down more than told."
	}
	return text + fmt.Sprintf(" Its lowest point is %s above the water.", u.Clearance().Words(s.Lowest, units.Down))
}

// ahead says an angle over the level, rad: "1.2° up from straight ahead".
func ahead(angle float64, which string) string {
	d := gecp.Degrees(angle)
	switch {
	case math.Abs(d) < .05:
		return "straight " + which
	case d < 0:
		return fmt.Sprintf("%.1f° down from straight %s", -d, which)
	}
	return fmt.Sprintf("%.1f° up from straight %s", d, which)
}
