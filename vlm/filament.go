package vlm

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// The field of straight vortex filaments. A lattice's filaments are indexed by
// node: filament i runs across the stream from node i to its neighbour, filament
// nodes+i from node i to its neighbour downstream, and on the trailing edge from
// node i along +x to infinity. This way a node's distance from the point is found
// once and serves the four filaments that meet there.
//
// For a filament from A to B, r1 and r2 the vectors from A and from B to the
// point, a and b their lengths, S = a + b and s = ab + r1.r2,
//
//	v = G/(4 pi) c F,  c = r1 x r2,  F = S / (ab s),
//
// for one from A along x to infinity, with s the distance from its axis,
//
//	v = G/(4 pi) (x x r1) (1 + r1.x/a) / s^2
//
// (Katz and Plotkin, sec. 10.4.5, rearranged so that nothing cancels far away).
// As the point moves by d, c changes by d x (r2 - r1) and F by F d.grad ln F,
//
//	grad ln F = r1 (k - 1/a)/a + r2 (k - 1/b)/b,  k = 1/S - S/s,
//
// so that the gradient costs no further root or division: 1/(s S) serves both.
// Nothing here cancels either, since S^2 >= 2s. Everything in this file leaves out
// the factor 1/(4 pi), which the callers apply once.

// onAxis is the value of 1 + cos(angle between r1 and r2) below which a point is
// taken to lie on the filament, where it induces nothing on itself; the angle to
// the axis is then below 1e-6, closer than any lattice brings a point that is
// not on the line by construction.
const onAxis = 1e-12

// axisGuard keeps the wake's 0/0 on its own axis at 0, m2.
const axisGuard = 1e-24

// nodeGuard keeps 1/r finite at a node, m2; nothing else is small enough to feel it.
const nodeGuard = 1e-200

// vec is a plain vector for the kernels' sums.
type vec struct{ x, y, z float64 }

func (v vec) r3() r3.Vec { return r3.Vec{X: v.x, Y: v.y, Z: v.z} }

// noMirror is where the mirrored point is put if there is no mirror image, m: so
// far off that what it adds is lost in rounding, and no product overflows.
const noMirror = 1e60

// never stands for s at a point on the filament: nothing that it divides counts.
const never = 1e200

// seen is a node as seen from the point and from the point's mirror image in the
// plane of symmetry (the m's): the vector from it, its length and the inverse of that.
// What differs lies side by side, for registers that hold two numbers.
type seen struct {
	x, z      float64 // the same for both
	y, ym     float64
	r, rm     float64
	inv, invm float64
}

// field is one lattice turned to a pitch, as a source of velocity.
type field struct {
	grids  []grid
	node   points
	mirror bool
}

// kernel is what is to be found at the point, for the filaments and their mirror
// images together: the image's velocity is the filament's own at the mirrored
// point, with y turned back. It gets the filaments row by row: filament i+j runs
// from node from[j] to node to[j], or to infinity as leg i+j of the body.
type kernel interface {
	segments(i int, from, to []seen)
	legs(i int, from []seen, body int)
}

// sight is scratch for two rows of nodes.
type sight [2][]seen

// look shows the kernel all filaments as seen from (x, y, z).
func (f *field) look(x, y, z float64, k kernel, r *sight) {
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
			f.see(row, o, x, y, z, ym)
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
		k.legs(chordwise+o+g.first, row[g.first:g.end], g.body)
	}
}

// seeGo fills in a row of nodes, from node o on, as seen from (x, y, z) and (x, ym, z);
// see does the same, with vector registers where there is code for them.
func (f *field) seeGo(row []seen, o int, x, y, z, ym float64) {
	nx, ny, nz := f.node.x[o:o+len(row)], f.node.y[o:o+len(row)], f.node.z[o:o+len(row)]
	ny, nz = ny[:len(nx)], nz[:len(nx)]
	row = row[:len(nx)]
	for j := range row {
		dx, dy, dz, dm := x-nx[j], y-ny[j], z-nz[j], ym-ny[j]
		flat := dx*dx + dz*dz + nodeGuard
		d, m := math.Sqrt(flat+dy*dy), math.Sqrt(flat+dm*dm)
		// Field by field: a whole seen would be built aside and copied.
		to := &row[j]
		to.x, to.z = dx, dz
		inv := 1 / (d * m) // one division for 1/d and 1/m
		to.y, to.r, to.inv = dy, d, m*inv
		to.ym, to.rm, to.invm = dm, m, d*inv
	}
}

// trail shows the wakes' kernel all legs as seen from (x, y, z).
func (f *field) trail(x, y, z float64, k *wakes, r *sight) {
	ym := -y
	if !f.mirror {
		ym = noMirror
	}
	for i := range f.grids {
		g := &f.grids[i]
		o := g.node + g.rows*(g.strips+1)
		row := r[0][:g.strips+1]
		f.see(row, o, x, y, z, ym)
		k.legs(o+g.first, row[g.first:g.end], g.body)
	}
}

// velocities is the kernel of the velocity of each filament of the craft itself, which
// turns with it; its legs do not, and are left to wakes.
type velocities struct {
	v []vec // per filament, velocity per unit circulation; 0 for a leg
}

func (k *velocities) segments(i int, from, to []seen) {
	v, to := k.v[i:i+len(from)], to[:len(from)]
	for j := range from {
		p, q, o := &from[j], &to[j], &v[j]
		flat := p.x*q.x + p.z*q.z
		ab, abm := p.r*q.r, p.rm*q.rm
		s, sm := ab+flat+p.y*q.y, abm+flat+p.ym*q.ym
		if s <= onAxis*ab {
			s = never
		}
		if sm <= onAxis*abm {
			sm = never
		}
		f, fm := (p.r+q.r)/(ab*s), (p.rm+q.rm)/(abm*sm)
		o.x = f*(p.y*q.z-p.z*q.y) + fm*(p.ym*q.z-p.z*q.ym)
		o.y = (f - fm) * (p.z*q.x - p.x*q.z)
		o.z = f*(p.x*q.y-p.y*q.x) + fm*(p.x*q.ym-p.ym*q.x)
	}
}

func (k *velocities) legs(i int, from []seen, _ int) { clear(k.v[i : i+len(from)]) }

// wakes finds the velocity of each leg, and what pitching adds to it beyond turning
// with the lattice.
type wakes struct {
	v     []vec     // per node, velocity per unit circulation of the leg that leaves there
	twist []vec     // per node, d/dpitch of that as seen from the turning lattice
	core  []float64 // per node, radius of the leg's core to the 4th, m4
	body  int       // whose point this is: wakes of others have their core
}

// legs takes the legs that leave from node i on.
func (k *wakes) legs(i int, from []seen, body int) {
	cored := body != k.body
	for j := range from {
		p, n := &from[j], i+j
		y, inv, side := p.y, p.inv, 1.0
		var v, twist vec
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
			// The leg keeps its direction while its root turns: seen from the lattice the
			// point moves by (z, 0, -x) against it, and the velocity turns back.
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
			twist.x -= y * f
			twist.y -= side * (p.z*t - p.x*f)
			twist.z += y * t
			y, inv, side = p.ym, p.invm, -1
		}
		k.v[n], k.twist[n] = v, twist
	}
}

// washes is the kernel of each filament's velocity along a normal, and of its
// derivatives with the lattice's height and pitch, for the image in the water: the
// point is the one mirrored in the water and the normal too.
type washes struct {
	v          []vec // per filament: velocity along n; its derivative with the point's z; and with pitch
	nx, ny, nz float64
	tx, tz     float64 // how the point moves with pitch, seen from the turning lattice: (tx, 0, tz)
}

func (k *washes) segments(i int, from, to []seen) {
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
			s = never
		}
		if sm <= onAxis*abm {
			sm = never
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
		// The mirrored normal turns against the lattice: hence twice.
		o.z = tx*(p.x*a+q.x*b) + tz*gz + even*dy*uy + odd*(dx*ux+dz*uz) + 2*(f*(nx*cz-nz*cx)+fm*(nx*mz-nz*mx))
	}
}

func (k *washes) legs(i int, from []seen, _ int) {
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

// jets is the kernel of each filament's velocity and, for given circulations, of
// the whole velocity's derivatives with the lattice's height and pitch, for the
// image in the water: the point is the one mirrored in the water.
type jets struct {
	v      []vec     // per filament, velocity per unit circulation
	g      []float64 // per filament, circulation
	tx, tz float64   // as in washes

	// Sums: of the segments' derivatives with the point's x and z by way of F; of what
	// is multiplied by the point's motion by way of c; of the legs' velocity, its
	// derivative with the point's z, and that with pitch.
	gx, gz, arm     vec
	leg, legZ, legT vec
}

func (k *jets) segments(i int, from, to []seen) {
	v, g, to := k.v[i:i+len(from)], k.g[i:i+len(from)], to[:len(from)]
	gx, gz, arm := k.gx, k.gz, k.arm
	for j := range from {
		p, q, o := &from[j], &to[j], &v[j]
		flat := p.x*q.x + p.z*q.z
		ab, abm := p.r*q.r, p.rm*q.rm
		s, sm := ab+flat+p.y*q.y, abm+flat+p.ym*q.ym
		if s <= onAxis*ab {
			s = never
		}
		if sm <= onAxis*abm {
			sm = never
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

func (k *jets) legs(i int, from []seen, _ int) {
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
