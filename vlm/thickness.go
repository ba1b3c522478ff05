package vlm

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// FourDigitThickness returns the thickness, in largest thicknesses, of the NACA
// four-digit sections at xi chords from the leading edge; xi runs from 0 to 1. Its last
// coefficient is -.1036, which closes the trailing edge; the report's -.1015 leaves it
// open by a fiftieth of the thickness.
//
// Source: Jacobs, Ward and Pinkerton, NACA Report 460 (1933); the closed trailing edge is
// common practice.
func FourDigitThickness(xi float64) float64 {
	if !(xi > 0 && xi < 1) {
		return 0
	}
	return 10 * (.2969*math.Sqrt(xi) + xi*(-.1260+xi*(-.3516+xi*(.2843-.1036*xi))))
}

// thickness returns the station's thickness at xi chords from the leading edge, m.
func (s Station) thickness(xi float64) float64 {
	return s.Thickness * s.Chord * FourDigitThickness(xi)
}

// exchange is how far below the mean line, in thicknesses, lies the line on which a wing
// and its image act on each other: half way to the lower surface. See the package comment.
const exchange = .25

// below returns the point of the column lowered by the share of the thickness, square to
// the chord. An upright surface, such as a tip plate, is not lowered, and one with dihedral
// by the squared cosine; none is moved sideways, so that the plane of symmetry stays.
func (c column) below(xi, share float64) r3.Vec {
	p := c.at(xi)
	down := func(s Station, level, weight float64) {
		t := weight * share * s.thickness(xi)
		if t == 0 {
			return
		}
		sin, cos := math.Sincos(s.Incidence)
		p = r3.Sub(p, r3.Scale(t*level, r3.Vec{X: sin, Z: cos}))
	}
	down(c.from, c.level[0], 1-c.eta)
	down(c.to, c.level[1], c.eta)
	return p
}

// sourceWeights returns the matrix, rows x m, that turns the local stream at the m bound
// filaments of a strip into the strengths of the sources at `rows` of them, per largest
// thickness: the change, over the cell of each, of thickness times stream. The stream at
// the cells' edges is interpolated, by the cosine series of the circulations or, between
// equal rows, by the mean of the neighbours. A column sums to 0: no section ends open.
func sourceWeights(a Arrangement, m, rows int) []float64 {
	_, _, edges := chordPositions(a, rows)
	w := make([]float64, rows*m)
	// The filaments lie less far apart than the semicircle is long between them: by this much
	// more the sources have the moment that the section's area asks for.
	whole := 1.0
	if a != QuarterChord {
		half := math.Pi / float64(2*rows)
		whole = half / math.Sin(half)
	}
	for k := 1; k < rows; k++ {
		t := whole * FourDigitThickness(edges[k])
		angle := float64(k) * math.Pi / float64(rows)
		for j := range m {
			v := 0.0
			switch {
			case a != QuarterChord:
				u := (float64(j) + .5) * math.Pi / float64(m)
				v = 1
				for h := 1; h < m; h++ {
					v += 2 * math.Cos(float64(h)*angle) * math.Cos(float64(h)*u)
				}
				v /= float64(m)
			case j == k-1 || j == k:
				v = .5
			}
			w[(k-1)*m+j] += t * v
			w[k*m+j] -= t * v
		}
	}
	return w
}

// MaxGapFill is the largest GapFill up to which the loads of a section with thickness were
// found to agree with those of thick panels in plane flow: within .04 in the coefficients of
// lift and of moment, for sections 9 to 15 % thick at 0 to 8 degrees. Beyond it the flow
// under the section is that of a nozzle, and the lattice misses ever more of its suction.
const MaxGapFill = .4

// GapFill returns, per strip in the order of [Solution].Strips, how much of the gap to the
// water the section fills: half its thickness over the height of its mean line, where that
// is largest along the chord. It is 0 in free air, without thickness and for an upright
// surface, and 1 or more where the section touches the water. Compare it with MaxGapFill.
func (l *Lattice) GapFill(at Attitude) []float64 {
	fill := make([]float64, len(l.stripGeometry))
	sin, cos := math.Sincos(at.Pitch)
	const n = 64
	for i, c := range l.stripColumn {
		for k := 1; k < n; k++ {
			xi := float64(k) / n
			t := (1-c.eta)*c.from.thickness(xi) + c.eta*c.to.thickness(xi)
			if t == 0 {
				continue
			}
			// The half thickness that faces the water.
			mean, under := c.at(xi), c.below(xi, .5)
			gap := at.Height + mean.Z*cos - mean.X*sin
			half := (mean.Z-under.Z)*cos - (mean.X-under.X)*sin
			switch {
			case half <= 0:
			case gap <= 0:
				fill[i] = math.Inf(1)
			default:
				fill[i] = math.Max(fill[i], half/gap)
			}
		}
	}
	return fill
}
