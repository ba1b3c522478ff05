package tow

import "math"

// Line is a tow line that hangs by its own weight between the craft and the boat: a
// catenary, whose level part of the tension, the pull, is the same all along. The air's
// drag on the line is left out. A weight of 0 is a straight line.
//
// With the length S, the weight w per m, the pull H, the boat's end e above the craft's,
// r = e/S and L^2 = 1 - r^2 the textbook's catenary z = (H/w) cosh(w x/H) gives, without
// anything to search for,
//
//	level distance of the ends  (2 H/w) asinh(w S L / 2 H)
//	upward force at the craft   V = r sqrt((H/L)^2 + (w S/2)^2) - w S/2
//	upward force at the boat    V + w S, downwards on the boat
//	tension                     hypot of the pull and the upward force
//
// The length is taken as fixed, |e| < S.
type Line struct {
	Length float64 // S, m; above 0
	Weight float64 // w, N per m; 0 or more
}

// Up returns the upward force on the craft at its end of the line, N, negative where the
// line hangs from it, for a pull, N, 0 or more, and the boat's end rise above the craft's,
// m, of a size below the length; and its derivatives with both.
func (l Line) Up(pull, rise float64) (up, byPull, byRise float64) {
	r := rise / l.Length
	level2 := 1 - r*r
	half := l.Weight * l.Length / 2
	a := math.Hypot(pull/math.Sqrt(level2), half)
	if a == 0 { // without pull and weight nothing acts
		return 0, r / math.Sqrt(level2), 0
	}
	byPull = r * pull / (level2 * a)
	byRise = (a + r*r*pull*pull/(level2*level2*a)) / l.Length
	return r*a - half, byPull, byRise
}

// Span returns the level distance of the two ends, m, for a pull and a rise as in Up.
func (l Line) Span(pull, rise float64) float64 {
	straight := math.Sqrt(l.Length*l.Length - rise*rise)
	if l.Weight == 0 {
		return straight // also without pull
	}
	return straight * Hang(l.Weight*straight/(2*pull))
}

// Hang returns the level distance of the ends of a hanging line over that of a straight one,
// asinh(k)/k, with k half the weight of a line as long as that straight distance over the level
// pull, 0 or more: 1 for a line without weight, 0 for one without pull.
func Hang(k float64) float64 {
	switch {
	case math.IsInf(k, 1):
		return 0
	case k > .05:
		return math.Asinh(k) / k
	}
	v := k * k // the series; the next term is below the last digit
	return 1 - v*(1./6-v*(3./40-v*(5./112-v*35./1152)))
}

// LineState is the line of a trim.
type LineState struct {
	BoatTension float64 // at the boat's end, N
	BoatAngle   float64 // there, of the line from the craft to the boat over the level, rad
	Lowest      float64 // of its lowest point over flat water, m
}

// InWater reports whether the line hangs down into the water between craft and boat. It
// is then dragged through it, which is not calculated: the real tension is larger, and
// the line pulls the tow point down more.
func (s LineState) InWater() bool { return s.Lowest < 0 }

// state describes the line for a pull, N, from a tow point to the boat's end, m above the
// water.
func (l Line) state(pull, craft, boat float64) LineState {
	up, _, _ := l.Up(pull, boat-craft)
	end := up + l.Weight*l.Length
	s := LineState{
		BoatTension: math.Hypot(pull, end), BoatAngle: math.Atan2(end, pull),
		Lowest: math.Min(craft, boat),
	}
	if up < 0 && end > 0 && l.Weight > 0 { // the lowest point lies between the ends
		// The tension grows by the weight per m with the height.
		s.Lowest = craft - up*up/(math.Hypot(pull, up)+pull)/l.Weight
	}
	return s
}

// LineAt returns the line of a state of balance.
func (t SteadyTow) LineAt(b Trim) LineState {
	_, z := t.towPoint(b.Pitch)
	return t.line.state(b.Drag(), b.Height+z, t.craft.Tow.BoatHeight)
}

// Line returns the craft's tow line.
func (t SteadyTow) Line() Line { return t.line }
