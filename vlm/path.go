package vlm

import "math"

// path is the course of a trailing leg that does not run straight: its corners as offsets
// from the node on the trailing edge, in the axes of the water, the first of them 0. From
// the last corner it runs along the stream to infinity. nil is a leg that runs straight
// from the trailing edge.
type path []vec

// pathVelocity is the velocity of a leg, without 1/(4 pi), and its derivatives as the
// point moves, the leg held, in two directions.
type pathVelocity struct{ v, d, e vec }

// direction is a motion of the point.
type direction struct{ x, y, z float64 }

func (d direction) dot(p *vec) float64 { return p.x*d.x + p.y*d.y + p.z*d.z }

// at returns the velocity of the leg at an offset (x, y, z) from its node, with a core of
// a radius to the 4th, m4, and its derivatives in the two directions.
func (w path) at(x, y, z, core4 float64, d, e direction) (out pathVelocity) {
	last := len(w) - 1
	p := vec{x, y, z}
	a := math.Sqrt(x*x + y*y + z*z + nodeGuard)
	ia := 1 / a
	for k := range last {
		q := vec{x - w[k+1].x, y - w[k+1].y, z - w[k+1].z}
		b := math.Sqrt(q.x*q.x + q.y*q.y + q.z*q.z + nodeGuard)
		ib := 1 / b
		out.segment(&p, &q, a, b, ia, ib, core4, d, e)
		p, a, ia = q, b, ib
	}
	out.toInfinity(p, a, core4, d, e)
	return out
}

// segment adds a straight piece; a and b are the lengths of p and q, and ia and ib 1 over
// them. See the comment of filament.go: with S and s the sums there, F = S/(ab s).
func (o *pathVelocity) segment(p, q *vec, a, b, ia, ib, core4 float64, d, e direction) {
	ab := a * b
	s := ab + p.x*q.x + p.y*q.y + p.z*q.z
	if s <= onAxis*ab {
		return
	}
	c := vec{p.y*q.z - p.z*q.y, p.z*q.x - p.x*q.z, p.x*q.y - p.y*q.x}
	l := vec{q.x - p.x, q.y - p.y, q.z - p.z}
	sum := a + b
	inv := 1 / (s * sum) // one division for both
	is, isum := inv*sum, inv*s
	f := sum * is * ia * ib
	k := isum - sum*is
	// The core: with h the distance from the piece's axis, F is less by h2/sqrt(h4 + core4),
	// Vatistas's profile for n = 2.
	slope := 0. // the logarithmic derivative of that by h2, over the piece's length squared
	if core4 > 0 {
		l2 := l.x*l.x + l.y*l.y + l.z*l.z
		h2 := (c.x*c.x + c.y*c.y + c.z*c.z) / l2
		root := h2*h2 + core4
		if h2 > 0 {
			slope = core4 / (h2 * root * l2)
		}
		f *= h2 / math.Sqrt(root)
	}
	o.v.add(f, &c)
	alongP, alongQ := f*(k-ia)*ia, f*(k-ib)*ib
	slope *= 2 * f
	// d x l, and the change of F along d.
	if d != (direction{}) {
		dx, dy, dz := d.y*l.z-d.z*l.y, d.z*l.x-d.x*l.z, d.x*l.y-d.y*l.x
		g := d.dot(p)*alongP + d.dot(q)*alongQ + slope*(c.x*dx+c.y*dy+c.z*dz)
		o.d.x += f*dx + g*c.x
		o.d.y += f*dy + g*c.y
		o.d.z += f*dz + g*c.z
	}
	if e != (direction{}) {
		dx, dy, dz := e.y*l.z-e.z*l.y, e.z*l.x-e.x*l.z, e.x*l.y-e.y*l.x
		g := e.dot(p)*alongP + e.dot(q)*alongQ + slope*(c.x*dx+c.y*dy+c.z*dz)
		o.e.x += f*dx + g*c.x
		o.e.y += f*dy + g*c.y
		o.e.z += f*dz + g*c.z
	}
}

// toInfinity adds the part along the stream from an offset p, of length r, on.
func (o *pathVelocity) toInfinity(p vec, r, core4 float64, d, e direction) {
	flat := p.y*p.y + p.z*p.z
	ir := 1 / r
	cos := p.x * ir
	// f, and its derivatives with the point's x and with y and z, over those.
	var f, byX, byYZ float64
	switch {
	case core4 > 0:
		is := 1 / math.Sqrt(flat*flat+core4)
		f = (1 + cos) * is
		byX = (1 - cos*cos) * ir * is
		byYZ = -cos*ir*ir*is - f*2*flat*is*is
	case p.x < 0: // the same without 0/0 on the axis ahead
		far := 1 / (r - p.x)
		f = ir * far
		byX = f * (1 - cos) * ir
		byYZ = -f * ir * (ir + far)
	default:
		is := 1 / (flat + axisGuard)
		f = (1 + cos) * is
		byX = (1 - cos*cos) * ir * is
		byYZ = -cos*ir*ir*is - f*2*is
	}
	o.v.y -= p.z * f
	o.v.z += p.y * f
	df := d.x*byX + (d.y*p.y+d.z*p.z)*byYZ
	o.d.y -= d.z*f + p.z*df
	o.d.z += d.y*f + p.y*df
	df = e.x*byX + (e.y*p.y+e.z*p.z)*byYZ
	o.e.y -= e.z*f + p.z*df
	o.e.z += e.y*f + p.y*df
}

// bothSidesGo returns the velocity of a leg and its reflection in the plane of symmetry, at
// an offset from its node; directions lie in the plane of symmetry. The reflection's
// velocity is the leg's own at the reflected point, with the sign of y changed. bothSides
// does the same, with vector registers where there is code for them.
func (w path) bothSidesGo(p *nodeOffset, core4 float64, d, e direction) pathVelocity {
	out := w.at(p.x, p.y, p.z, core4, d, e)
	if math.Abs(p.ym) > noMirror/2 {
		return out
	}
	m := w.at(p.x, p.ym, p.z, core4, d, e)
	out.addReflected(&m)
	return out
}

func (o *pathVelocity) addReflected(m *pathVelocity) {
	o.v.addReflected(&m.v)
	o.d.addReflected(&m.d)
	o.e.addReflected(&m.e)
}

// addReflected adds what a reflection in the plane of symmetry has at the reflected point.
func (v *vec) addReflected(m *vec) {
	v.x += m.x
	v.y -= m.y
	v.z += m.z
}

func (k *velocityKernel) paths(i int, from []nodeOffset, _ int, _ []path) {
	clear(k.v[i : i+len(from)])
}

func (k *imageKernel) paths(i int, from []nodeOffset, _ int, paths []path) {
	for j := range from {
		k.v[i+j] = paths[j].bothSides(&from[j], 0, direction{}, direction{}).v
	}
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
		l := paths[j].bothSides(p, core4, direction{x: p.z, z: -p.x}, direction{})
		k.v[n] = l.v
		k.byPitch[n] = vec{l.d.x - l.v.z, l.d.y, l.d.z + l.v.x}
	}
}

func (k *aicKernel) paths(i int, from []nodeOffset, _ int, paths []path) {
	for j := range from {
		p := &from[j]
		l := paths[j].bothSides(p, 0, direction{z: 1}, direction{x: k.tx + p.z, z: k.tz - p.x})
		normal := func(v *vec) float64 { return k.nx*v.x + k.ny*v.y + k.nz*v.z }
		k.v[i+j] = vec{normal(&l.v), normal(&l.d), normal(&l.e) + k.nx*l.v.z - k.nz*l.v.x}
	}
}

func (k *gradientKernel) paths(i int, from []nodeOffset, _ int, paths []path) {
	for j := range from {
		p, g := &from[j], k.g[i+j]
		l := paths[j].bothSides(p, 0, direction{z: 1}, direction{x: k.tx + p.z, z: k.tz - p.x})
		k.leg.add(g, &l.v)
		k.legZ.add(g, &l.d)
		k.legT.add(g, &l.e)
		k.v[i+j] = l.v
	}
}
