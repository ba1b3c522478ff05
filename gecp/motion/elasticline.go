package motion

import (
	"math"

	"example.org/groundeffect/gecp/tow"
)

// elasticLine is a line that gives way and hangs by its own weight: a [tow.Line] whose
// length grows with the tension along the straight line between its ends, as that of an
// elastic bar. Its weight stays what it is. Without weight it is straight, and slack where
// it is short; with weight it hangs, at ever less tension, and what would hang into the
// water is carried by the line all the same.
type elasticLine struct {
	rest, stiffness, weight float64 // unstretched length, m; EA, N; of all of it, N
}

// newElasticLine returns the line of a stiffness, N per unit strain, that has a length and
// a weight at a pull, N, with its boat's end rise above the craft's, m.
func newElasticLine(l tow.Line, stiffness, pull, rise float64) elasticLine {
	straight := math.Sqrt(l.Length*l.Length - rise*rise)
	tension := pull * l.Length / straight
	return elasticLine{l.Length / (1 + tension/stiffness), stiffness, l.Weight * l.Length}
}

// at returns the level pull of the line, N, and the line as it hangs, with its ends a
// level distance and a rise apart, m. Without pull no line is returned.
func (e elasticLine) at(level, rise float64) (pull float64, l tow.Line) {
	if e.weight == 0 {
		length := math.Hypot(level, rise)
		tension := e.stiffness * (length/e.rest - 1)
		if !(tension > 0) {
			return 0, l
		}
		return tension * level / length, tow.Line{Length: length}
	}
	strain, straight := e.strain(math.Abs(level), rise)
	length := e.rest * (1 + strain)
	pull = e.stiffness * strain * straight / length
	return math.Copysign(pull, level), tow.Line{Length: length, Weight: e.weight / length}
}

// strain returns the strain at which a line with weight spans a level distance, and the
// level distance that it would span without weight, m. With the strain s, the length S =
// rest (1 + s) and k = weight/(2 EA s), the catenary spans sqrt(S^2 - rise^2) asinh(k)/k.
func (e elasticLine) strain(level, rise float64) (s, straight float64) {
	least := math.Max(0, math.Abs(rise)/e.rest-1) + 1e-12 // the line reaches up at least
	// A flat catenary is shorter by k^2/6: s^3 - d s^2 - c = 0, d the strain of a straight
	// line, has one root above 0, and from above Newton's steps lead down to it.
	k := e.weight / (2 * e.stiffness)
	d, c := math.Hypot(level, rise)/e.rest-1, k*k/6
	s = math.Max(0, d) + math.Cbrt(c)
	if d > 0 {
		s = math.Min(s, d+c/(d*d)) // nearer, where the line is taut
	}
	for range 50 {
		step := (s*s*(s-d) - c) / (s * (3*s - 2*d))
		s -= step
		if step < 1e-6*s {
			break
		}
	}
	s = math.Max(s, least)
	lo, hi := least, math.Inf(1)
	for range 60 {
		length := e.rest * (1 + s)
		straight = math.Sqrt(math.Max(0, length*length-rise*rise))
		u := k / s
		hang := tow.Hang(u)
		miss := straight*hang - level
		if math.Abs(miss) < 1e-13*e.rest {
			break
		}
		if miss > 0 {
			hi = s
		} else {
			lo = s
		}
		next := s - miss/(e.rest*length/straight*hang+straight*(hang-1/math.Sqrt(1+u*u))/s)
		switch {
		case next > lo && next < hi:
		case math.IsInf(hi, 1):
			next = 2 * s
		default:
			next = (lo + hi) / 2
		}
		if math.Abs(next-s) < 1e-14*s {
			break
		}
		s = next
	}
	return s, straight
}
