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

// movingKernel computes each filament's velocity, where it is asked to, and for given
// circulations their total velocity with its derivatives as the point rises and as the
// craft turns about each axis, for the image in the water: the point is the one reflected.
type movingKernel struct {
	v    []vec     // per filament, velocity per unit circulation; nil if only sums are wanted
	g    []float64 // per filament, circulation
	move [axes]direction

	// Sums: the segments' velocity; the factor of the point's motion through c; the
	// derivatives with the point's x, y and z through F; the legs' velocity, its derivative
	// with the point's z, and those as the craft turns.
	segment, arm vec
	grad         [axes]vec
	leg, legZ    vec
	legTurn      [axes]vec
}

func (k *movingKernel) segments(i int, from, to []nodeOffset) {
	g, to := k.g[i:i+len(from)], to[:len(from)]
	var v []vec
	if k.v != nil {
		v = k.v[i : i+len(from)]
	}
	sum, arm := k.segment, k.arm
	gx, gy, gz := k.grad[0], k.grad[1], k.grad[2]
	for j := range from {
		p, q := &from[j], &to[j]
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
		cx, cy, cz := p.y*q.z-p.z*q.y, p.z*q.x-p.x*q.z, p.x*q.y-p.y*q.x
		if v != nil {
			o := &v[j]
			o.x, o.y, o.z = f*cx, f*cy, f*cz
		}
		f *= g[j]
		arm.x += f * (q.x - p.x)
		arm.y += f * (q.y - p.y)
		arm.z += f * (q.z - p.z)
		a, b := (kk-p.inv)*p.inv, (kk-q.inv)*q.inv
		cx, cy, cz = f*cx, f*cy, f*cz
		sum.x += cx
		sum.y += cy
		sum.z += cz
		d := p.x*a + q.x*b
		gx.x += d * cx
		gx.y += d * cy
		gx.z += d * cz
		d = p.y*a + q.y*b
		gy.x += d * cx
		gy.y += d * cy
		gy.z += d * cz
		d = p.z*a + q.z*b
		gz.x += d * cx
		gz.y += d * cy
		gz.z += d * cz
	}
	k.segment, k.arm = sum, arm
	k.grad[0], k.grad[1], k.grad[2] = gx, gy, gz
}

func (k *movingKernel) legs(i int, from []nodeOffset, _ int) {
	for j := range from {
		p, g := &from[j], k.g[i+j]
		is2 := 1 / (p.y*p.y + p.z*p.z + axisGuard)
		f := (1 + p.x*p.inv) * is2
		inv3 := p.inv * p.inv * p.inv
		w := (-p.x*inv3 - 2*f) * is2
		v := vec{0, -p.z * f, p.y * f}
		if k.v != nil {
			k.v[i+j] = v
		}
		k.leg.add(g, &v)
		along := func(to *vec, x, y, z float64) {
			df := inv3*x + (p.y*y+p.z*z)*w
			to.y -= g * (z*f + p.z*df)
			to.z += g * (y*f + p.y*df)
		}
		along(&k.legZ, 0, 0, 1)
		// The leg keeps its direction while its node turns with the craft.
		m := &k.move
		along(&k.legTurn[0], m[0].x, m[0].y-p.z, m[0].z+p.y)
		along(&k.legTurn[1], m[1].x+p.z, m[1].y, m[1].z-p.x)
		along(&k.legTurn[2], m[2].x-p.y, m[2].y+p.x, m[2].z)
	}
}

func (k *movingKernel) paths(i int, from []nodeOffset, _ int, paths []path) {
	m := &k.move
	for j := range from {
		p, g := &from[j], k.g[i+j]
		a := paths[j].at(p.x, p.y, p.z, 0, direction{z: 1}, direction{m[0].x, m[0].y - p.z, m[0].z + p.y})
		b := paths[j].at(p.x, p.y, p.z, 0, direction{m[1].x + p.z, m[1].y, m[1].z - p.x}, direction{m[2].x - p.y, m[2].y + p.x, m[2].z})
		if k.v != nil {
			k.v[i+j] = a.v
		}
		k.leg.add(g, &a.v)
		k.legZ.add(g, &a.d)
		k.legTurn[0].add(g, &a.e)
		k.legTurn[1].add(g, &b.d)
		k.legTurn[2].add(g, &b.e)
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

// flow returns the sums as the velocity of the image, reflected in the water. The field of
// the segments turns with the craft, that of the legs does not.
func (k *movingKernel) flow() (m movingFlow) {
	arm := k.arm.r3()
	along := func(d direction) r3.Vec {
		v := r3.Cross(r3.Vec{X: d.x, Y: d.y, Z: d.z}, arm)
		for i, s := range [axes]float64{d.x, d.y, d.z} {
			v = r3.Add(v, r3.Scale(s, k.grad[i].r3()))
		}
		return v
	}
	m.v = r3.Add(k.segment.r3(), k.leg.r3())
	m.rise = r3.Scale(-2, r3.Add(along(direction{z: 1}), k.legZ.r3()))
	for a := range m.turn {
		m.turn[a] = r3.Add(r3.Add(turning(a, k.segment.r3()), along(k.move[a])), k.legTurn[a].r3())
	}
	return m.inWater()
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

// movingSources adds up the velocity of sources and its gradient, which is symmetric, for
// two sets of strengths at once.
type movingSources [2]struct {
	v                      vec
	xx, xy, xz, yy, yz, zz float64
}

func (k *movingSources) row(first, second []float64, row []nodeOffset) {
	for j := range first {
		p, q := &row[j], &row[j+1]
		d := 1 / (p.r*q.r + p.x*q.x + p.y*q.y + p.z*q.z)
		ax, ay, az := p.x*p.inv, p.y*p.inv, p.z*p.inv
		bx, by, bz := q.x*q.inv, q.y*q.inv, q.z*q.inv
		fx, fy, fz := (ax+bx)*d, (ay+by)*d, (az+bz)*d
		ia, ib, s := p.inv*d, q.inv*d, p.r+q.r
		i := ia + ib
		xx := i - ax*ax*ia - bx*bx*ib - s*fx*fx
		yy := i - ay*ay*ia - by*by*ib - s*fy*fy
		zz := i - az*az*ia - bz*bz*ib - s*fz*fz
		xy := -ax*ay*ia - bx*by*ib - s*fx*fy
		xz := -ax*az*ia - bx*bz*ib - s*fx*fz
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
			o.zz += g * zz
		}
	}
}

// flow returns a sum as the velocity of the image, reflected in the water; move is
// imageMotion at the point.
func (k *movingSources) flow(set int, move [axes]direction) (m movingFlow) {
	o := &k[set]
	along := func(d direction) r3.Vec {
		return r3.Vec{X: o.xx*d.x + o.xy*d.y + o.xz*d.z, Y: o.xy*d.x + o.yy*d.y + o.yz*d.z, Z: o.xz*d.x + o.yz*d.y + o.zz*d.z}
	}
	m.v = o.v.r3()
	m.rise = along(direction{z: -2})
	for a := range m.turn {
		m.turn[a] = r3.Add(turning(a, m.v), along(move[a]))
	}
	return m.inWater()
}
