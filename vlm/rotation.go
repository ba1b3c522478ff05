package vlm

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// rotation turns vectors of the craft into the axes of the stream: its rows.
type rotation [3]r3.Vec

// rotationTo returns the rotation of a craft that is banked about its datum line, starboard
// down, then pitched nose-up, then turned so far that the wind comes from starboard by the
// slip; all in rad. The stream runs along +x.
func rotationTo(pitch, bank, slip float64) rotation {
	sb, cb := math.Sincos(bank)
	sp, cp := math.Sincos(pitch)
	ss, cs := math.Sincos(slip)
	r := rotation{
		{X: cp, Y: -sp * sb, Z: sp * cb},
		{Y: cb, Z: sb},
		{X: -sp, Y: -cp * sb, Z: cp * cb},
	}
	if slip != 0 {
		x, y := r[0], r[1]
		r[0] = r3.Sub(r3.Scale(cs, x), r3.Scale(ss, y))
		r[1] = r3.Add(r3.Scale(ss, x), r3.Scale(cs, y))
	}
	return r
}

func (r rotation) turn(v r3.Vec) r3.Vec {
	return r3.Vec{X: r3.Dot(r[0], v), Y: r3.Dot(r[1], v), Z: r3.Dot(r[2], v)}
}

// turned returns the points rotated about the datum.
func (p points) turned(r rotation) points {
	q := makePoints(p.len())
	for i := range p.x {
		q.set(i, r.turn(p.at(i)))
	}
	return q
}
