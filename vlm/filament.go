package vlm

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// The velocity field of straight vortex filaments. A lattice's filaments are
// indexed by node: filament i runs across the stream from node i to its
// neighbour, filament nodes+i from node i to its neighbour downstream, and on the
// trailing edge from node i along +x to infinity. This way a node's offset from the
// evaluation point is computed once and serves the four filaments that meet there.
//
// For a filament from A to B, r1 and r2 the vectors from A and from B to the
// evaluation point, a and b their lengths, S = a + b and s = ab + r1.r2,
//
//	v = G/(4 pi) c F,  c = r1 x r2,  F = S / (ab s),
//
// for one from A along x to infinity, with s the distance from its axis,
//
//	v = G/(4 pi) (x x r1) (1 + r1.x/a) / s^2
//
// (Katz and Plotkin, sec. 10.4.5, rearranged so that nothing cancels far away).
// When the point moves by d, c changes by d x (r2 - r1) and F by F d.grad ln F,
//
//	grad ln F = r1 (k - 1/a)/a + r2 (k - 1/b)/b,  k = 1/S - S/s,
//
// so that the gradient costs no further root or division: 1/(s S) serves both.
// Nothing here cancels either, since S^2 >= 2s. All velocities in this file lack
// the factor 1/(4 pi), which the callers apply once.

// onAxis is the value of 1 + cos(angle between r1 and r2) below which a point
// counts as lying on the filament, which induces nothing on itself. The angle to
// the axis is then below 1e-6: no lattice brings a point so close unless it is on
// the line by construction.
const onAxis = 1e-12

// axisGuard keeps the wake's 0/0 on its own axis at 0, m2.
const axisGuard = 1e-24

// nodeGuard keeps 1/r finite at a node, m2; it changes nothing else.
const nodeGuard = 1e-200

// vec is a plain vector for the kernels' sums.
type vec struct{ x, y, z float64 }

func (v vec) r3() r3.Vec { return r3.Vec{X: v.x, Y: v.y, Z: v.z} }

// noMirror is the y of the reflected point if there is no plane of symmetry, m: so
// far off that its contribution is lost in rounding, and no product overflows.
const noMirror = 1e60

// onFilament replaces s at a point on the filament, so that whatever is divided by it
// vanishes.
const onFilament = 1e200

// nodeOffset is the vector from a node to the evaluation point, its length and the
// inverse of that; and the same to the point's reflection in the plane of symmetry
// (suffix m). Values of both sides lie next to each other, for registers that hold
// two numbers.
type nodeOffset struct {
	x, z      float64 // the same for both
	y, ym     float64
	r, rm     float64
	inv, invm float64
}

// field is a lattice at one pitch as a source of velocity.
type field struct {
	grids  []grid
	node   points
	mirror bool
	bent   [][]path // per grid, of each column of nodes; nil for legs that run straight; may be nil
}

// kernel computes a quantity at the evaluation point, for the filaments and their
// reflections in the plane of symmetry together: the reflected filament's velocity
// is the filament's own at the reflected point, with the sign of y changed. It is
// called row by row: filament i+j runs from node from[j] to node to[j], or as
// trailing leg i+j of the body from node from[j] to infinity.
type kernel interface {
	segments(i int, from, to []nodeOffset)
	legs(i int, from []nodeOffset, body int)
	// The same for legs that do not run straight.
	paths(i int, from []nodeOffset, body int, paths []path)
}

// offsetRows is scratch for two rows of nodes.
type offsetRows [2][]nodeOffset

// evaluate calls the kernel with all filaments, for the evaluation point (x, y, z).
func (f *field) evaluate(x, y, z float64, k kernel, r *offsetRows) {
	chordwise := f.node.len()
	ym := -y
	if !f.mirror {
		ym = noMirror
	}
	for i := range f.grids {
		g := &f.grids[i]
		w, o := g.strips+1, g.node
		up, row := r[0][:w], r[1][:w]
		for n := 0; ; n++ {
			f.offsets(row, o, x, y, z, ym)
			if n > 0 {
				k.segments(chordwise+o-w+g.first, up[g.first:g.end], row[g.first:g.end])
			}
			if n == g.rows {
				break
			}
			k.segments(o, row[:w-1], row[1:])
			up, row = row, up
			o += w
		}
		if f.bent != nil && f.bent[i] != nil {
			k.paths(chordwise+o+g.first, row[g.first:g.end], g.body, f.bent[i][g.first:g.end])
			continue
		}
		k.legs(chordwise+o+g.first, row[g.first:g.end], g.body)
	}
}

// offsetsGo fills in a row, from node o on, for the evaluation points (x, y, z) and
// (x, ym, z); offsets does the same, with vector registers where there is code for them.
func (f *field) offsetsGo(row []nodeOffset, o int, x, y, z, ym float64) {
	nx, ny, nz := f.node.x[o:o+len(row)], f.node.y[o:o+len(row)], f.node.z[o:o+len(row)]
	ny, nz = ny[:len(nx)], nz[:len(nx)]
	row = row[:len(nx)]
	for j := range row {
		dx, dy, dz, dm := x-nx[j], y-ny[j], z-nz[j], ym-ny[j]
		flat := dx*dx + dz*dz + nodeGuard
		d, m := math.Sqrt(flat+dy*dy), math.Sqrt(flat+dm*dm)
		// Field by field: a composite literal would be built aside and copied.
		to := &row[j]
		to.x, to.z = dx, dz
		inv := 1 / (d * m) // one division for 1/d and 1/m
		to.y, to.r, to.inv = dy, d, m*inv
		to.ym, to.rm, to.invm = dm, m, d*inv
	}
}

// evaluateLegs calls the kernel with all trailing legs, for the evaluation point (x, y, z).
func (f *field) evaluateLegs(x, y, z float64, k *legKernel, r *offsetRows) {
	ym := -y
	if !f.mirror {
		ym = noMirror
	}
	for i := range f.grids {
		g := &f.grids[i]
		o := g.node + g.rows*(g.strips+1)
		row := r[0][:g.strips+1]
		f.offsets(row, o, x, y, z, ym)
		if f.bent != nil && f.bent[i] != nil {
			k.paths(o+g.first, row[g.first:g.end], g.body, f.bent[i][g.first:g.end])
			continue
		}
		k.legs(o+g.first, row[g.first:g.end], g.body)
	}
}

// velocityKernel computes the velocity of each filament on the craft, in craft axes.
// Trailing legs keep the direction of the stream and are left to legKernel.
type velocityKernel struct {
	v []vec // per filament, velocity per unit circulation; 0 for a leg
}

// segmentsGo is what segments does with vector registers where there is code for them.
func (k *velocityKernel) segmentsGo(i int, from, to []nodeOffset) {
	v, to := k.v[i:i+len(from)], to[:len(from)]
	for j := range from {
		p, q, o := &from[j], &to[j], &v[j]
		flat := p.x*q.x + p.z*q.z
		ab, abm := p.r*q.r, p.rm*q.rm
		s, sm := ab+flat+p.y*q.y, abm+flat+p.ym*q.ym
		if s <= onAxis*ab {
			s = onFilament
		}
		if sm <= onAxis*abm {
			sm = onFilament
		}
		f, fm := (p.r+q.r)/(ab*s), (p.rm+q.rm)/(abm*sm)
		o.x = f*(p.y*q.z-p.z*q.y) + fm*(p.ym*q.z-p.z*q.ym)
		o.y = (f - fm) * (p.z*q.x - p.x*q.z)
		o.z = f*(p.x*q.y-p.y*q.x) + fm*(p.x*q.ym-p.ym*q.x)
	}
}

func (k *velocityKernel) legs(i int, from []nodeOffset, _ int) { clear(k.v[i : i+len(from)]) }

// imageKernel computes the velocity of each filament, trailing legs included, for the image in
// the water.
type imageKernel struct{ velocityKernel }

func (k *imageKernel) legs(i int, from []nodeOffset, _ int) {
	for j := range from {
		p := &from[j]
		y, inv, side := p.y, p.inv, 1.0
		var v vec
		for range 2 {
			f := (1 + p.x*inv) / (y*y + p.z*p.z + axisGuard)
			v.y -= side * p.z * f
			v.z += y * f
			y, inv, side = p.ym, p.invm, -1
		}
		k.v[i+j] = v
	}
}

// legKernel computes the velocity of each trailing leg, and its derivative with pitch in
// craft axes: the legs keep the direction of the stream as the lattice pitches.
type legKernel struct {
	v       []vec     // per node, velocity per unit circulation of the leg that leaves there
	byPitch []vec     // per node, derivative of that with pitch, in craft axes
	core    []float64 // per node, radius of the leg's core to the 4th, m4
	body    int       // that the evaluation point belongs to: legs of other bodies have a core
}

// legs takes the legs that leave from node i on.
func (k *legKernel) legs(i int, from []nodeOffset, body int) {
	cored := body != k.body
	for j := range from {
		p, n := &from[j], i+j
		y, inv, side := p.y, p.inv, 1.0
		var v, byPitch vec
		for range 2 {
			flat := y*y + p.z*p.z
			s2 := flat + axisGuard
			if cored {
				// Vatistas's profile for n = 2; three radii out it differs from the bare
				// filament's by less than a per cent.
				s2 = math.Sqrt(flat*flat + k.core[n])
			}
			is2, c := 1/s2, p.x*inv
			f := (1 + c) * is2
			v.y -= side * p.z * f
			v.z += y * f
			// The leg keeps its direction while the lattice pitches: in craft axes the point
			// moves by (z, 0, -x) relative to it, and the velocity rotates back.
			d := 2 * p.z * is2
			if cored {
				d *= flat * is2
			}
			t := p.x*(c*p.z*inv*inv*is2+f*d) + p.z*(1-c*c)*inv*is2
			if p.x < 0 && !cored {
				// The same without 0/0 on the axis ahead of the leg, where a section that lies
				// along the stream has its filaments: (1 + c)/s2 = 1/(r (r - x)).
				far := 1 / (1/inv - p.x)
				f = inv * far
				t = p.z * inv * inv * (p.x*f*(1+far/inv) + inv)
			}
			byPitch.x -= y * f
			byPitch.y -= side * (p.z*t - p.x*f)
			byPitch.z += y * t
			y, inv, side = p.ym, p.invm, -1
		}
		k.v[n], k.byPitch[n] = v, byPitch
	}
}

// aicKernel computes each filament's aerodynamic influence coefficient, the velocity
// along a normal, and its derivatives with the lattice's height and pitch, for the
// image in the water: point and normal are those reflected in the water.
type aicKernel struct {
	v          []vec // per filament: velocity along n; its derivative with the point's z; and with pitch
	nx, ny, nz float64
	tx, tz     float64 // the point's motion with pitch, in craft axes: (tx, 0, tz)
}

func (k *aicKernel) segments(i int, from, to []nodeOffset) {
	v, to := k.v[i:i+len(from)], to[:len(from)]
	nx, ny, nz, tx, tz := k.nx, k.ny, k.nz, k.tx, k.tz
	// n . (t x d) = d . (n x t).
	ux, uy, uz := ny*tz, nz*tx-nx*tz, -ny*tx
	for j := range from {
		p, q, o := &from[j], &to[j], &v[j]
		flat := p.x*q.x + p.z*q.z
		ab, abm := p.r*q.r, p.rm*q.rm
		s, sm := ab+flat+p.y*q.y, abm+flat+p.ym*q.ym
		if s <= onAxis*ab {
			s = onFilament
		}
		if sm <= onAxis*abm {
			sm = onFilament
		}
		// S/s, F and k of the file's comment.
		sum, summ := p.r+q.r, p.rm+q.rm
		is, ism := 1/(s*sum), 1/(sm*summ)
		sum, summ = sum*sum*is, summ*summ*ism
		f, fm := sum*(p.inv*q.inv), summ*(p.invm*q.invm)
		kk, km := s*is-sum, sm*ism-summ

		cx, cz := p.y*q.z-p.z*q.y, p.x*q.y-p.y*q.x
		mx, mz := p.ym*q.z-p.z*q.ym, p.x*q.ym-p.ym*q.x
		across := ny * (p.z*q.x - p.x*q.z)
		w, wm := f*(nx*cx+nz*cz+across), fm*(nx*mx+nz*mz-across)
		a := w*(kk-p.inv)*p.inv + wm*(km-p.invm)*p.invm
		b := w*(kk-q.inv)*q.inv + wm*(km-q.invm)*q.invm
		gz := p.z*a + q.z*b
		dx, dy, dz := q.x-p.x, q.y-p.y, q.z-p.z
		even, odd := f+fm, f-fm
		o.x = w + wm
		o.y = gz + odd*dx*ny - even*dy*nx
		// In craft axes the reflected normal rotates at twice the pitch: hence 2.
		o.z = tx*(p.x*a+q.x*b) + tz*gz + even*dy*uy + odd*(dx*ux+dz*uz) + 2*(f*(nx*cz-nz*cx)+fm*(nx*mz-nz*mx))
	}
}

func (k *aicKernel) legs(i int, from []nodeOffset, _ int) {
	for j := range from {
		p := &from[j]
		y, inv, ny := p.y, p.inv, k.ny
		var v vec
		for range 2 {
			is2, c := 1/(y*y+p.z*p.z+axisGuard), p.x*inv
			f := (1 + c) * is2
			fz := -c*p.z*inv*inv*is2 - f*2*p.z*is2
			tx, tz := k.tx+p.z, k.tz-p.x // the leg keeps its direction
			ft := tx*(1-c*c)*inv*is2 + tz*fz
			cross := k.nz*y - ny*p.z
			v.x += f * cross
			v.y += fz*cross - ny*f
			v.z += ft*cross - ny*tz*f + k.nx*y*f
			y, inv, ny = p.ym, p.invm, -ny
		}
		k.v[i+j] = v
	}
}

// gradientKernel computes each filament's velocity and, for given circulations, the
// derivatives of their total velocity with the lattice's height and pitch, for the
// image in the water: the point is the one reflected in the water.
type gradientKernel struct {
	v      []vec     // per filament, velocity per unit circulation
	g      []float64 // per filament, circulation
	tx, tz float64   // as in aicKernel

	// Sums: of the segments' derivatives with the point's x and z through F; of the
	// factor of the point's motion through c; of the legs' velocity, its derivative
	// with the point's z, and that with pitch.
	gx, gz, arm     vec
	leg, legZ, legT vec
}

func (k *gradientKernel) segments(i int, from, to []nodeOffset) {
	v, g, to := k.v[i:i+len(from)], k.g[i:i+len(from)], to[:len(from)]
	gx, gz, arm := k.gx, k.gz, k.arm
	for j := range from {
		p, q, o := &from[j], &to[j], &v[j]
		flat := p.x*q.x + p.z*q.z
		ab, abm := p.r*q.r, p.rm*q.rm
		s, sm := ab+flat+p.y*q.y, abm+flat+p.ym*q.ym
		if s <= onAxis*ab {
			s = onFilament
		}
		if sm <= onAxis*abm {
			sm = onFilament
		}
		sum, summ := p.r+q.r, p.rm+q.rm
		is, ism := 1/(s*sum), 1/(sm*summ)
		sum, summ = sum*sum*is, summ*summ*ism
		f, fm := sum*(p.inv*q.inv), summ*(p.invm*q.invm)
		kk, km := s*is-sum, sm*ism-summ

		cx, cz := p.y*q.z-p.z*q.y, p.x*q.y-p.y*q.x
		mx, mz := p.ym*q.z-p.z*q.ym, p.x*q.ym-p.ym*q.x
		cy := p.z*q.x - p.x*q.z
		o.x = f*cx + fm*mx
		o.y = (f - fm) * cy
		o.z = f*cz + fm*mz
		f, fm = f*g[j], fm*g[j]
		odd := f - fm
		arm.x += odd * (q.x - p.x)
		arm.y += (f + fm) * (q.y - p.y)
		arm.z += odd * (q.z - p.z)
		a, b := f*(kk-p.inv)*p.inv, f*(kk-q.inv)*q.inv
		am, bm := fm*(km-p.invm)*p.invm, fm*(km-q.invm)*q.invm
		d, dm := p.x*a+q.x*b, p.x*am+q.x*bm
		gx.x += d*cx + dm*mx
		gx.y += (d - dm) * cy
		gx.z += d*cz + dm*mz
		d, dm = p.z*a+q.z*b, p.z*am+q.z*bm
		gz.x += d*cx + dm*mx
		gz.y += (d - dm) * cy
		gz.z += d*cz + dm*mz
	}
	k.gx, k.gz, k.arm = gx, gz, arm
}

func (k *gradientKernel) legs(i int, from []nodeOffset, _ int) {
	for j := range from {
		p, g := &from[j], k.g[i+j]
		y, inv, side := p.y, p.inv, 1.0
		var v vec
		for range 2 {
			is2, c := 1/(y*y+p.z*p.z+axisGuard), p.x*inv
			f := (1 + c) * is2
			v.y -= side * p.z * f
			v.z += y * f
			fz := -c*p.z*inv*inv*is2 - f*2*p.z*is2
			tx, tz := k.tx+p.z, k.tz-p.x // the leg keeps its direction
			ft := tx*(1-c*c)*inv*is2 + tz*fz
			k.legZ.y -= g * side * (p.z*fz + f)
			k.legZ.z += g * y * fz
			k.legT.y -= g * side * (p.z*ft + tz*f)
			k.legT.z += g * y * ft
			y, inv, side = p.ym, p.invm, -1
		}
		k.leg.y += g * v.y
		k.leg.z += g * v.z
		k.v[i+j] = v
	}
}
