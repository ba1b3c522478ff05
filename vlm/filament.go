package vlm

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// The field of straight vortex filaments. A lattice's filaments are indexed by
// node: bound filament i runs from node i to its neighbour across the stream,
// chordwise filament i from node i to its neighbour downstream, and on the
// trailing edge from node i along +x to infinity. This way a node's distance from
// the point is found once and serves the four filaments that meet there.
//
// For a filament from A to B, r1 and r2 the vectors from A and from B to the
// point,
//
//	v = G/(4 pi) (r1 x r2) (|r1|+|r2|) / (|r1||r2| (|r1||r2| + r1.r2)),
//
// for one from A along x to infinity, with s the distance from its axis,
//
//	v = G/(4 pi) (x x r1) (1 + r1.x/|r1|) / s^2
//
// (Katz and Plotkin, sec. 10.4.5, rearranged so that nothing cancels far away).
// Both leave out the factor 1/(4 pi), which the callers apply once.

// onAxis is the value of 1 + cos(angle between r1 and r2) below which a point is
// taken to lie on the filament, where it induces nothing on itself; the angle to
// the axis is then below 1e-6, closer than any lattice brings a point that is
// not on the line by construction.
const onAxis = 1e-12

// axisGuard keeps the wake's 0/0 on its own axis at 0, m2.
const axisGuard = 1e-24

// field is one lattice turned to a pitch, as a source of velocity.
type field struct {
	grids []grid
	node  points
	core  []float64
}

// rows is scratch for two rows of nodes: the vectors to the point and their lengths.
type rows struct{ x0, y0, z0, a0, x1, y1, z1, a1 []float64 }

func makeRows(n int) rows {
	b := make([]float64, 8*n)
	s := func(i int) []float64 { return b[i*n : (i+1)*n : (i+1)*n] }
	return rows{s(0), s(1), s(2), s(3), s(4), s(5), s(6), s(7)}
}

// next makes the last row the upper one and fills the lower with nodes o..o+w
// as seen from (px, py, pz).
func (r *rows) next(node points, o, w int, px, py, pz float64) {
	r.x0, r.y0, r.z0, r.a0, r.x1, r.y1, r.z1, r.a1 = r.x1, r.y1, r.z1, r.a1, r.x0, r.y0, r.z0, r.a0
	nx, ny, nz := node.x[o:o+w], node.y[o:o+w], node.z[o:o+w]
	x, y, z, a := r.x1[:len(nx)], r.y1[:len(nx)], r.z1[:len(nx)], r.a1[:len(nx)]
	ny, nz = ny[:len(nx)], nz[:len(nx)]
	for j := range nx {
		dx, dy, dz := px-nx[j], py-ny[j], pz-nz[j]
		x[j], y[j], z[j] = dx, dy, dz
		a[j] = math.Sqrt(dx*dx + dy*dy + dz*dz)
	}
}

// wash adds to b and l, per unit circulation of each bound and each chordwise
// filament, the velocity at (px, py, pz) resolved along (nx, ny, nz). A wake of a
// body other than `body` has its core; body -1 sees none.
func (f *field) wash(px, py, pz, nx, ny, nz float64, body int, b, l []float64, r *rows) {
	for _, g := range f.grids {
		w := g.strips + 1
		o := g.node
		for k := 0; k <= g.rows; k++ {
			r.next(f.node, o, w, px, py, pz)
			x1, y1, z1, a1 := r.x1[:w], r.y1[:w], r.z1[:w], r.a1[:w]
			if k < g.rows {
				bo := b[o : o+w-1]
				ax, ay, az, a := x1[0], y1[0], z1[0], a1[0]
				for j := range bo {
					bx, by, bz, bb := x1[j+1], y1[j+1], z1[j+1], a1[j+1]
					ab := a * bb
					s := ab + ax*bx + ay*by + az*bz
					if s > onAxis*ab {
						bo[j] += (nx*(ay*bz-az*by) + ny*(az*bx-ax*bz) + nz*(ax*by-ay*bx)) * (a + bb) / (ab * s)
					}
					ax, ay, az, a = bx, by, bz, bb
				}
			}
			if k > 0 {
				lo := l[o-w : o]
				x0, y0, z0, a0 := r.x0[:len(lo)], r.y0[:len(lo)], r.z0[:len(lo)], r.a0[:len(lo)]
				x1, y1, z1, a1 := x1[:len(lo)], y1[:len(lo)], z1[:len(lo)], a1[:len(lo)]
				for j := range lo {
					ax, ay, az, a := x0[j], y0[j], z0[j], a0[j]
					bx, by, bz, bb := x1[j], y1[j], z1[j], a1[j]
					ab := a * bb
					s := ab + ax*bx + ay*by + az*bz
					if s > onAxis*ab {
						lo[j] += (nx*(ay*bz-az*by) + ny*(az*bx-ax*bz) + nz*(ax*by-ay*bx)) * (a + bb) / (ab * s)
					}
				}
			}
			o += w
		}
		o -= w
		lo := l[o : o+w]
		for j := range lo {
			x, y, z := r.x1[j], r.y1[j], r.z1[j]
			lo[j] += (nz*y - ny*z) * (1 + x/r.a1[j]) / f.axis2(y, z, o+j, body >= 0 && body != g.body)
		}
	}
}

// axis2 returns the squared distance (y, z) from the wake filament of node i, as
// the core has it: (s^4 + core^4)^(1/2), Vatistas's profile for n = 2, which three
// radii out differs from s^2 by less than a per cent.
func (f *field) axis2(y, z float64, i int, cored bool) float64 {
	s2 := y*y + z*z
	if cored {
		return math.Sqrt(s2*s2 + f.core[i])
	}
	return s2 + axisGuard
}

// velocity adds to b and l, per unit circulation of each filament, the three
// parts of the velocity at the point; the y and z parts are multiplied by sy and
// sz, -1 where the caller mirrors the field.
func (f *field) velocity(px, py, pz, sy, sz float64, body int, b, l points, r *rows) {
	for _, g := range f.grids {
		w := g.strips + 1
		o := g.node
		for k := 0; k <= g.rows; k++ {
			r.next(f.node, o, w, px, py, pz)
			x1, y1, z1, a1 := r.x1[:w], r.y1[:w], r.z1[:w], r.a1[:w]
			if k < g.rows {
				vx, vy, vz := b.x[o:o+w-1], b.y[o:o+w-1], b.z[o:o+w-1]
				vy, vz = vy[:len(vx)], vz[:len(vx)]
				ax, ay, az, a := x1[0], y1[0], z1[0], a1[0]
				for j := range vx {
					bx, by, bz, bb := x1[j+1], y1[j+1], z1[j+1], a1[j+1]
					ab := a * bb
					s := ab + ax*bx + ay*by + az*bz
					if s > onAxis*ab {
						q := (a + bb) / (ab * s)
						vx[j] += (ay*bz - az*by) * q
						vy[j] += (az*bx - ax*bz) * (q * sy)
						vz[j] += (ax*by - ay*bx) * (q * sz)
					}
					ax, ay, az, a = bx, by, bz, bb
				}
			}
			if k > 0 {
				vx, vy, vz := l.x[o-w:o], l.y[o-w:o], l.z[o-w:o]
				vy, vz = vy[:len(vx)], vz[:len(vx)]
				x0, y0, z0, a0 := r.x0[:len(vx)], r.y0[:len(vx)], r.z0[:len(vx)], r.a0[:len(vx)]
				x1, y1, z1, a1 := x1[:len(vx)], y1[:len(vx)], z1[:len(vx)], a1[:len(vx)]
				for j := range vx {
					ax, ay, az, a := x0[j], y0[j], z0[j], a0[j]
					bx, by, bz, bb := x1[j], y1[j], z1[j], a1[j]
					ab := a * bb
					s := ab + ax*bx + ay*by + az*bz
					if s > onAxis*ab {
						q := (a + bb) / (ab * s)
						vx[j] += (ay*bz - az*by) * q
						vy[j] += (az*bx - ax*bz) * (q * sy)
						vz[j] += (ax*by - ay*bx) * (q * sz)
					}
				}
			}
			o += w
		}
		o -= w
		for j := 0; j < w; j++ {
			x, y, z := r.x1[j], r.y1[j], r.z1[j]
			q := (1 + x/r.a1[j]) / f.axis2(y, z, o+j, body >= 0 && body != g.body)
			l.y[o+j] -= z * q * sy
			l.z[o+j] += y * q * sz
		}
	}
}

// vec is a plain vector for the kernels' sums.
type vec struct{ x, y, z float64 }

func (v *vec) add(s float64, x, y, z float64) { v.x += s * x; v.y += s * y; v.z += s * z }

func (v vec) r3() r3.Vec { return r3.Vec{X: v.x, Y: v.y, Z: v.z} }

// jet is the velocity of given circulations at a point, and how it changes as the
// point moves: what the derivatives with height and pitch are made of.
type jet struct {
	bound, wake vec // velocity of the filaments on the surfaces, and of the wakes
	dx, dz      vec // derivative of their sum with the point's x and z
	turn        vec // derivative of the wakes' part as r turns to r + (r.z, 0, -r.x)
}

// jetAt sums the jet of the filaments with circulations b and l.
func (f *field) jetAt(px, py, pz float64, b, l []float64, r *rows) (t jet) {
	for _, g := range f.grids {
		w := g.strips + 1
		o := g.node
		for k := 0; k <= g.rows; k++ {
			r.next(f.node, o, w, px, py, pz)
			if k < g.rows {
				for j, s := range b[o : o+w-1] {
					t.segment(s, r.x1[j], r.y1[j], r.z1[j], r.a1[j], r.x1[j+1], r.y1[j+1], r.z1[j+1], r.a1[j+1])
				}
			}
			if k > 0 {
				for j, s := range l[o-w : o] {
					t.segment(s, r.x0[j], r.y0[j], r.z0[j], r.a0[j], r.x1[j], r.y1[j], r.z1[j], r.a1[j])
				}
			}
			o += w
		}
		o -= w
		for j, s := range l[o : o+w] {
			t.leg(s, r.x1[j], r.y1[j], r.z1[j], r.a1[j], f.axis2(r.y1[j], r.z1[j], o+j, false), false)
		}
	}
	return t
}

// wakesAt sums the wakes' part alone; as in axis2 other bodies' wakes have cores.
func (f *field) wakesAt(px, py, pz float64, body int, l []float64) (t jet) {
	for _, g := range f.grids {
		w := g.strips + 1
		o := g.node + g.rows*w
		cored := body >= 0 && body != g.body
		for j := o; j < o+w; j++ {
			x, y, z := px-f.node.x[j], py-f.node.y[j], pz-f.node.z[j]
			t.leg(l[j], x, y, z, math.Sqrt(x*x+y*y+z*z), f.axis2(y, z, j, cored), cored)
		}
	}
	return t
}

// segment adds a straight filament from A to B: a and b are the lengths of the
// vectors from its ends to the point.
func (t *jet) segment(g, ax, ay, az, a, bx, by, bz, b float64) {
	ab, sum := a*b, a+b
	s := ab + ax*bx + ay*by + az*bz
	if s <= onAxis*ab {
		return
	}
	cx, cy, cz := ay*bz-az*by, az*bx-ax*bz, ax*by-ay*bx
	ia, ib := 1/a, 1/b
	q := 1 / (s * sum) // one division for 1/s and 1/sum
	f := g * sum * sum * q * ia * ib
	t.bound.add(f, cx, cy, cz)
	is, isum := q*sum, q*s
	// d(r1 x r2) = d x (r2 - r1); the rest is the logarithmic derivative of f.
	ux, uz, vx, vz := ax*ia, az*ia, bx*ib, bz*ib
	px, py, pz := bx-ax, by-ay, bz-az
	lx := f * ((ux+vx)*isum - ux*ia - vx*ib - (ux*b+a*vx+ax+bx)*is)
	lz := f * ((uz+vz)*isum - uz*ia - vz*ib - (uz*b+a*vz+az+bz)*is)
	t.dx.x += lx * cx
	t.dx.y += lx*cy - f*pz
	t.dx.z += lx*cz + f*py
	t.dz.x += lz*cx - f*py
	t.dz.y += lz*cy + f*px
	t.dz.z += lz * cz
}

// leg adds a filament from A along x to infinity; s2 is axis2.
func (t *jet) leg(g, x, y, z, a, s2 float64, cored bool) {
	ia, is2 := 1/a, 1/s2
	c := x * ia
	f := g * (1 + c) * is2
	vy, vz := -z*f, y*f
	t.wake.y += vy
	t.wake.z += vz
	// d(1 + x/a) = (1 - c^2)/a dx - c z/a^2 dz; d(1/s2) = -s'2/s2^2.
	ds := 2 * z * is2
	if cored {
		ds *= (y*y + z*z) * is2
	}
	fx := g * is2 * (1 - c*c) * ia
	fz := g*is2*(-c*z*ia*ia) - f*ds
	dxy, dxz := -z*fx, y*fx
	dzy, dzz := -z*fz-f, y*fz
	t.dx.y += dxy
	t.dx.z += dxz
	t.dz.y += dzy
	t.dz.z += dzz
	t.turn.y += dxy*z - dzy*x
	t.turn.z += dxz*z - dzz*x
}
