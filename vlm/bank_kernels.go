package vlm

import "gonum.org/v1/gonum/spatial/r3"

// Kernels for a lattice without a plane of symmetry: one side only. The formulas are those
// of filament.go and sources.go. As everywhere in banked flight the stream runs along +x,
// and the lattice lies in its axes.

// oneSideKernel computes the velocity of each filament.
type oneSideKernel struct {
	v []vec // per filament, velocity per unit circulation
}

func (k *oneSideKernel) segments(i int, from, to []nodeOffset) {
	v, to := k.v[i:i+len(from)], to[:len(from)]
	for j := range from {
		p, q, o := &from[j], &to[j], &v[j]
		ab := p.r * q.r
		s := ab + p.x*q.x + p.y*q.y + p.z*q.z
		if s <= onAxis*ab {
			s = onFilament
		}
		f := (p.r + q.r) / (ab * s)
		o.x, o.y, o.z = f*(p.y*q.z-p.z*q.y), f*(p.z*q.x-p.x*q.z), f*(p.x*q.y-p.y*q.x)
	}
}

func (k *oneSideKernel) legs(i int, from []nodeOffset, _ int) {
	for j := range from {
		p := &from[j]
		f := (1 + p.x*p.inv) / (p.y*p.y + p.z*p.z + axisGuard)
		k.v[i+j] = vec{0, -p.z * f, p.y * f}
	}
}

func (k *oneSideKernel) paths(i int, from []nodeOffset, _ int, paths []path) {
	for j := range from {
		p := &from[j]
		k.v[i+j] = paths[j].at(p.x, p.y, p.z, 0, direction{}, direction{}).v
	}
}

// axes are the axes of the stream, about which a banked craft turns.
const axes = 3

// turning returns the velocity of a point that turns with the craft about an axis of the
// stream at 1 rad/s: the axis x r.
func turning(axis int, r r3.Vec) r3.Vec {
	switch axis {
	case 0:
		return r3.Vec{Y: -r.Z, Z: r.Y}
	case 1:
		return r3.Vec{X: r.Z, Z: -r.X}
	}
	return r3.Vec{X: -r.Y, Y: r.X}
}

// imageMotion is how a point fixed in the craft sees its own reflection in the water move
// through the field of the craft, in axes that turn with the craft, as it turns about an
// axis: the point lies at (x, y, z) from the datum, the datum at the height, m. About the
// upright axis they do not move against each other.
func imageMotion(x, y, z, height float64) (m [axes]direction) {
	m[0] = direction{y: -2 * (z + height), z: -2 * y}
	m[1] = direction{x: 2 * (z + height), z: 2 * x}
	return m
}

// movingKernel computes each filament's velocity and, for given circulations, their total
// velocity with its derivatives as the point rises and as the craft turns about each axis,
// for the image in the water: the point is the one reflected.
//
// The filaments are closed rings, some of them at infinity, so that their whole field has
// neither rotation nor sources: its gradient is symmetric, its trace 0, and five of its nine
// components do.
type movingKernel struct {
	v []vec     // per filament, velocity per unit circulation
	g []float64 // per filament, circulation

	// Sums: the velocity; of its gradient the derivatives with x of all three components and
	// those with y of two; and how the legs' velocity changes, in axes that turn with the
	// craft, as that turns about each axis while they keep their direction.
	sum                vec
	xx, xy, xz, yy, yz float64
	legTurn            [axes]vec
}

func (k *movingKernel) segments(i int, from, to []nodeOffset) {
	v, g, to := k.v[i:i+len(from)], k.g[i:i+len(from)], to[:len(from)]
	var sx, sy, sz float64
	xx, xy, xz, yy, yz := k.xx, k.xy, k.xz, k.yy, k.yz
	for j := range from {
		p, q, o := &from[j], &to[j], &v[j]
		ab := p.r * q.r
		s := ab + p.x*q.x + p.y*q.y + p.z*q.z
		if s <= onAxis*ab {
			s = onFilament
		}
		// S/s, F and k of the comment of filament.go.
		t := p.r + q.r
		is := 1 / (s * t)
		t *= t * is
		f := t * (p.inv * q.inv)
		kk := s*is - t
		cx, cy, cz := f*(p.y*q.z-p.z*q.y), f*(p.z*q.x-p.x*q.z), f*(p.x*q.y-p.y*q.x)
		o.x, o.y, o.z = cx, cy, cz
		c := g[j]
		f, cx, cy, cz = c*f, c*cx, c*cy, c*cz
		sx += cx
		sy += cy
		sz += cz
		a, b := (kk-p.inv)*p.inv, (kk-q.inv)*q.inv
		d, e := p.x*a+q.x*b, p.y*a+q.y*b
		xx += d * cx
		xy += d*cy - f*(q.z-p.z)
		xz += d*cz + f*(q.y-p.y)
		yy += e * cy
		yz += e*cz - f*(q.x-p.x)
	}
	k.sum.x += sx
	k.sum.y += sy
	k.sum.z += sz
	k.xx, k.xy, k.xz, k.yy, k.yz = xx, xy, xz, yy, yz
}

func (k *movingKernel) legs(i int, from []nodeOffset, _ int) {
	for j := range from {
		p, g := &from[j], k.g[i+j]
		is2 := 1 / (p.y*p.y + p.z*p.z + axisGuard)
		f := (1 + p.x*p.inv) * is2
		fx := p.inv * p.inv * p.inv
		w := (-p.x*fx - 2*f) * is2
		fy, fz := p.y*w, p.z*w
		k.v[i+j] = vec{0, -p.z * f, p.y * f}
		k.sum.y -= g * p.z * f
		k.sum.z += g * p.y * f
		k.xy -= g * p.z * fx
		k.xz += g * p.y * fx
		k.yy -= g * p.z * fy
		k.yz += g * (f + p.y*fy)
		// The derivative along axis x r, less axis x velocity.
		d := p.z*fx - p.x*fz
		k.legTurn[1].x -= g * p.y * f
		k.legTurn[1].y += g * (p.x*f - p.z*d)
		k.legTurn[1].z += g * p.y * d
		d = p.x*fy - p.y*fx
		k.legTurn[2].x -= g * p.z * f
		k.legTurn[2].y -= g * p.z * d
		k.legTurn[2].z += g * (p.x*f + p.y*d)
	}
}

func (k *movingKernel) paths(i int, from []nodeOffset, _ int, paths []path) {
	for j := range from {
		p, g := &from[j], k.g[i+j]
		l := paths[j].at(p.x, p.y, p.z, 0, direction{x: 1}, direction{y: 1})
		k.v[i+j] = l.v
		k.sum.add(g, &l.v)
		k.xx += g * l.d.x
		k.xy += g * l.d.y
		k.xz += g * l.d.z
		k.yy += g * l.e.y
		k.yz += g * l.e.z
		f := paths[j].turning(p, 0)
		for a := range f.turn {
			k.legTurn[a].add(g, &f.turn[a])
		}
	}
}

// movingFlow is a velocity at a point that moves with the craft, and its derivatives as the
// craft rises and as it turns about each axis of the stream.
type movingFlow struct {
	v, rise r3.Vec
	turn    [axes]r3.Vec
}

func (m *movingFlow) add(f float64, o *movingFlow) {
	m.v = r3.Add(m.v, r3.Scale(f, o.v))
	m.rise = r3.Add(m.rise, r3.Scale(f, o.rise))
	for a := range m.turn {
		m.turn[a] = r3.Add(m.turn[a], r3.Scale(f, o.turn[a]))
	}
}

// flow returns the sums as the velocity of the image, reflected in the water; move is
// imageMotion at the point.
func (k *movingKernel) flow(move [axes]direction) (m movingFlow) {
	m = movingFrom(k.sum, k.xx, k.xy, k.xz, k.yy, k.yz, move)
	for a := range m.turn {
		m.turn[a] = r3.Add(m.turn[a], k.legTurn[a].r3())
	}
	return m.inWater()
}

// movingFrom returns the flow of a field fixed in the craft from its velocity and its
// gradient, which is symmetric and without a trace, not yet reflected.
func movingFrom(v vec, xx, xy, xz, yy, yz float64, move [axes]direction) (m movingFlow) {
	along := func(d direction) r3.Vec {
		return r3.Vec{X: xx*d.x + xy*d.y + xz*d.z, Y: xy*d.x + yy*d.y + yz*d.z, Z: xz*d.x + yz*d.y - (xx+yy)*d.z}
	}
	m.v = v.r3()
	m.rise = along(direction{z: -2})
	for a := range m.turn {
		m.turn[a] = r3.Add(turning(a, m.v), along(move[a]))
	}
	return m
}

// inWater reflects the flow in the water, with the factor 1/(4 pi).
func (m movingFlow) inWater() movingFlow {
	flip := func(v r3.Vec) r3.Vec { return r3.Vec{X: over4Pi * v.X, Y: over4Pi * v.Y, Z: -over4Pi * v.Z} }
	m.v, m.rise = flip(m.v), flip(m.rise)
	for a := range m.turn {
		m.turn[a] = flip(m.turn[a])
	}
	return m
}

// sourceRow computes the velocity of each source along a row of nodes, per unit strength.
func sourceRow(v []vec, row []nodeOffset) {
	for j := range v {
		p, q := &row[j], &row[j+1]
		d := 1 / (p.r*q.r + p.x*q.x + p.y*q.y + p.z*q.z)
		a, b := d*p.inv, d*q.inv
		v[j] = vec{a*p.x + b*q.x, a*p.y + b*q.y, a*p.z + b*q.z}
	}
}

// movingSources adds up the velocity of sources and its gradient, for two sets of strengths
// at once. Off the sources their field has neither rotation nor sources, see movingKernel.
type movingSources [2]struct {
	v                  vec
	xx, xy, xz, yy, yz float64
}

func (k *movingSources) row(first, second []float64, row []nodeOffset) {
	for j := range first {
		p, q := &row[j], &row[j+1]
		d := 1 / (p.r*q.r + p.x*q.x + p.y*q.y + p.z*q.z)
		ax, ay, az := p.x*p.inv, p.y*p.inv, p.z*p.inv
		bx, by, bz := q.x*q.inv, q.y*q.inv, q.z*q.inv
		fx, fy, fz := (ax+bx)*d, (ay+by)*d, (az+bz)*d
		ia, ib, s := p.inv*d, q.inv*d, p.r+q.r
		xx := ia + ib - ax*ax*ia - bx*bx*ib - s*fx*fx
		xy := -ax*ay*ia - bx*by*ib - s*fx*fy
		xz := -ax*az*ia - bx*bz*ib - s*fx*fz
		yy := ia + ib - ay*ay*ia - by*by*ib - s*fy*fy
		yz := -ay*az*ia - by*bz*ib - s*fy*fz
		for n, g := range [2]float64{first[j], second[j]} {
			o := &k[n]
			o.v.x += g * fx
			o.v.y += g * fy
			o.v.z += g * fz
			o.xx += g * xx
			o.xy += g * xy
			o.xz += g * xz
			o.yy += g * yy
			o.yz += g * yz
		}
	}
}

// flow returns a sum as the velocity of the image, reflected in the water; move is
// imageMotion at the point.
func (k *movingSources) flow(set int, move [axes]direction) movingFlow {
	o := &k[set]
	return movingFrom(o.v, o.xx, o.xy, o.xz, o.yy, o.yz, move).inWater()
}

// legFlow is the velocity of a trailing leg at a point of the craft, without 1/(4 pi), and
// how it changes, in axes that turn with the craft, as that turns about each axis of the
// stream: the leg keeps its direction. About the stream itself a straight leg turns along.
type legFlow struct {
	v    vec
	turn [axes]vec
}

// turning returns the flow of a leg at an offset from its node, with a core of a radius to
// the 4th, m4.
func (w path) turning(r *nodeOffset, core4 float64) (f legFlow) {
	// In axes that turn with the craft the point moves by axis x r against the leg, and the
	// velocity turns back.
	l := w.at(r.x, r.y, r.z, core4, direction{x: r.z, z: -r.x}, direction{x: -r.y, y: r.x})
	v := l.v
	f.v = v
	f.turn[1] = vec{l.d.x - v.z, l.d.y, l.d.z + v.x}
	f.turn[2] = vec{l.e.x + v.y, l.e.y - v.x, l.e.z}
	if len(w) > 1 {
		l = w.at(r.x, r.y, r.z, core4, direction{y: -r.z, z: r.y}, direction{})
		f.turn[0] = vec{l.d.x, l.d.y + v.z, l.d.z - v.y}
	}
	return f
}
