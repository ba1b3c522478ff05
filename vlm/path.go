package vlm

import "math"

// path is the course of a trailing leg that does not run straight: its corners as offsets
// from the node on the trailing edge, in the axes of the water, the first of them 0. From
// the last corner it runs along the stream to infinity. nil is a leg that runs straight
// from the trailing edge.
type path []vec

// pathVelocity is the velocity of a leg, without 1/(4 pi), and its derivatives as the
// point moves, the leg held, in two directions in the plane of symmetry.
type pathVelocity struct{ v, d, e vec }

// direction is a motion (x, 0, z).
type direction struct{ x, z float64 }

// at returns the velocity of the leg at an offset (x, y, z) from its node, with a core of
// a radius to the 4th, m4, and its derivatives in the two directions.
func (w path) at(x, y, z, core4 float64, d, e direction) (out pathVelocity) {
	last := len(w) - 1
	p := vec{x, y, z}
	a := math.Sqrt(x*x + y*y + z*z + nodeGuard)
	for k := range last {
		q := vec{x - w[k+1].x, y - w[k+1].y, z - w[k+1].z}
		b := math.Sqrt(q.x*q.x + q.y*q.y + q.z*q.z + nodeGuard)
		out.segment(p, q, a, b, core4, d, e)
		p, a = q, b
	}
	out.toInfinity(p, a, core4, d, e)
	return out
}

// segment adds a straight piece; see the comment of filament.go.
func (o *pathVelocity) segment(p, q vec, a, b, core4 float64, d, e direction) {
	ab := a * b
	s := ab + p.x*q.x + p.y*q.y + p.z*q.z
	if s <= onAxis*ab {
		return
	}
	c := vec{p.y*q.z - p.z*q.y, p.z*q.x - p.x*q.z, p.x*q.y - p.y*q.x}
	l := vec{q.x - p.x, q.y - p.y, q.z - p.z}
	sum := a + b
	f := sum / (ab * s)
	k := 1/sum - sum/s
	// The core: with h the distance from the piece's axis, f is less by h2/sqrt(h4 + core4),
	// Vatistas's profile for n = 2.
	share, slope := 1.0, 0.0 // of f; and the logarithmic derivative of it by h2
	l2 := l.x*l.x + l.y*l.y + l.z*l.z
	if core4 > 0 {
		h2 := (c.x*c.x + c.y*c.y + c.z*c.z) / l2
		root := math.Sqrt(h2*h2 + core4)
		share = h2 / root
		if h2 > 0 {
			slope = core4 / (h2 * root * root)
		}
	}
	f *= share
	o.v.add(f, &c)
	move := func(to *vec, d direction) {
		if d == (direction{}) {
			return
		}
		// d x l, and the change of f along d.
		dc := vec{-d.z * l.y, d.z*l.x - d.x*l.z, d.x * l.y}
		g := (p.x*d.x+p.z*d.z)*(k-1/a)/a + (q.x*d.x+q.z*d.z)*(k-1/b)/b
		if core4 > 0 {
			g += slope * 2 * (c.x*dc.x + c.y*dc.y + c.z*dc.z) / l2
		}
		to.add(f, &dc)
		to.add(f*g, &c)
	}
	move(&o.d, d)
	move(&o.e, e)
}

// toInfinity adds the part along the stream from an offset p, of length r, on.
func (o *pathVelocity) toInfinity(p vec, r, core4 float64, d, e direction) {
	flat := p.y*p.y + p.z*p.z
	s2 := flat + axisGuard
	if core4 > 0 {
		s2 = math.Sqrt(flat*flat + core4)
	}
	ahead := p.x < 0 && core4 == 0
	f := (1 + p.x/r) / s2
	if ahead {
		f = 1 / (r * (r - p.x)) // the same without 0/0 on the axis ahead
	}
	v := vec{0, -p.z * f, p.y * f}
	o.v.add(1, &v)
	move := func(to *vec, d direction) {
		dr := (p.x*d.x + p.z*d.z) / r
		var df float64
		if ahead {
			df = -f * (dr/r + (dr-d.x)/(r-p.x))
		} else {
			ds := 2 * p.z * d.z
			if core4 > 0 {
				ds *= flat / s2
			}
			df = (d.x-p.x*dr/r)/(r*s2) - f*ds/s2
		}
		to.y -= d.z*f + p.z*df
		to.z += p.y * df
	}
	move(&o.d, d)
	move(&o.e, e)
}

// bothSides returns the velocity of a leg and its reflection in the plane of symmetry, at
// an offset from its node. The reflection's velocity is the leg's own at the reflected
// point, with the sign of y changed.
func (w path) bothSides(p *nodeOffset, core4 float64, d, e direction) pathVelocity {
	out := w.at(p.x, p.y, p.z, core4, d, e)
	if math.Abs(p.ym) > noMirror/2 {
		return out
	}
	m := w.at(p.x, p.ym, p.z, core4, d, e)
	for _, c := range [...]struct{ to, from *vec }{{&out.v, &m.v}, {&out.d, &m.d}, {&out.e, &m.e}} {
		c.to.x += c.from.x
		c.to.y -= c.from.y
		c.to.z += c.from.z
	}
	return out
}

func (k *velocityKernel) paths(i int, from []nodeOffset, _ int, _ []path) {
	clear(k.v[i : i+len(from)])
}

func (k *legKernel) paths(i int, from []nodeOffset, body int, paths []path) {
	for j := range from {
		p, n := &from[j], i+j
		core4 := 0.0
		if body != k.body {
			core4 = k.core[n]
		}
		// The leg keeps its directions while the lattice pitches: in craft axes the point
		// moves by (z, 0, -x) relative to it, and the velocity rotates back.
		l := paths[j].bothSides(p, core4, direction{p.z, -p.x}, direction{})
		k.v[n] = l.v
		k.byPitch[n] = vec{l.d.x - l.v.z, l.d.y, l.d.z + l.v.x}
	}
}

func (k *aicKernel) paths(i int, from []nodeOffset, _ int, paths []path) {
	for j := range from {
		p := &from[j]
		l := paths[j].bothSides(p, 0, direction{0, 1}, direction{k.tx + p.z, k.tz - p.x})
		normal := func(v *vec) float64 { return k.nx*v.x + k.ny*v.y + k.nz*v.z }
		k.v[i+j] = vec{normal(&l.v), normal(&l.d), normal(&l.e) + k.nx*l.v.z - k.nz*l.v.x}
	}
}

func (k *gradientKernel) paths(i int, from []nodeOffset, _ int, paths []path) {
	for j := range from {
		p, g := &from[j], k.g[i+j]
		l := paths[j].bothSides(p, 0, direction{0, 1}, direction{k.tx + p.z, k.tz - p.x})
		k.leg.add(g, &l.v)
		k.legZ.add(g, &l.d)
		k.legT.add(g, &l.e)
		k.v[i+j] = l.v
	}
}
