package vlm_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

// The flow about thick wings of finite span, by another method: panels on the surface,
// each with a constant source and a constant doublet, the perturbation potential zero
// inside the wings, the wake a flat sheet along the stream from the closed trailing edge
// whose potential jump is that of the panels it leaves (Morino, NASA CR-2464, 1974; Katz
// and Plotkin, Low-Speed Aerodynamics, ch. 12). The water is a mirror in z, the plane of
// symmetry one in y. Loads come from the pressure, with the velocity as the potential's
// slope over the surface. Tips are closed by flat panels.

// thickPanel is one panel; its corners run round its outward normal.
type thickPanel struct {
	corner         [4]r3.Vec
	centre, normal r3.Vec
	area           float64
	leaves         int // +1 above the trailing edge, -1 below it, 0 elsewhere
	wake           int // that it sheds into, if it leaves
}

func newThickPanel(a, b, c, d r3.Vec) thickPanel {
	p := thickPanel{corner: [4]r3.Vec{a, b, c, d}}
	p.centre = r3.Scale(.25, r3.Add(r3.Add(a, b), r3.Add(c, d)))
	n := r3.Scale(.5, r3.Cross(r3.Sub(c, a), r3.Sub(d, b)))
	p.area = r3.Norm(n)
	p.normal = r3.Scale(1/p.area, n)
	return p
}

// solidAngle of a panel from p, positive where p lies on the inner side.
func (q *thickPanel) solidAngle(p r3.Vec) float64 {
	tri := func(a, b, c r3.Vec) float64 { // van Oosterom and Strackee 1983
		x, y, z := r3.Norm(a), r3.Norm(b), r3.Norm(c)
		return 2 * math.Atan2(r3.Dot(a, r3.Cross(b, c)), x*y*z+r3.Dot(a, b)*z+r3.Dot(b, c)*x+r3.Dot(c, a)*y)
	}
	var v [4]r3.Vec
	for i := range v {
		v[i] = r3.Sub(q.corner[i], p)
	}
	return tri(v[0], v[1], v[2]) + tri(v[0], v[2], v[3])
}

// inverseDistance is the integral of 1/r over the panel, taken as flat.
func (q *thickPanel) inverseDistance(p r3.Vec, solidAngle float64) float64 {
	sum := r3.Dot(q.normal, r3.Sub(p, q.centre)) * solidAngle
	for i := range q.corner {
		a, b := r3.Sub(q.corner[i], p), r3.Sub(q.corner[(i+1)%4], p)
		edge := r3.Sub(b, a)
		l := r3.Norm(edge)
		if l < 1e-9 {
			continue
		}
		out := r3.Cross(edge, q.normal)
		r := r3.Norm(a) + r3.Norm(b)
		sum += r3.Dot(out, a) / l * math.Log((r+l)/(r-l))
	}
	return sum
}

// thickFlow is what the panels find, per dynamic pressure: the lift, m2, and the nose-up
// moment about the datum, m3.
type thickFlow struct{ lift, moment float64 }

// thickWings solves for surfaces between their first and last station, with n panels a
// side along the chord and strips a half span.
func thickWings(t testing.TB, surfaces []vlm.Surface, at vlm.Attitude, n, strips int) thickFlow {
	ground := !math.IsInf(at.Height, 1)
	height := at.Height
	if !ground {
		height = 0
	}
	sinP, cosP := math.Sincos(at.Pitch)
	var panels []thickPanel
	var wakes []thickPanel
	var first []int // panel of each surface
	for _, s := range surfaces {
		root, tip := s.Stations[0], s.Stations[len(s.Stations)-1]
		require.Len(t, s.Stations, 2)
		point := func(k int, eta float64) r3.Vec { // k from the trailing edge below, over the nose, back above
			xi := (1 + math.Cos(math.Pi*float64(k)/float64(n))) / 2
			side := 1.
			if k < n {
				side = -1
			}
			on := func(st vlm.Station) r3.Vec {
				z := st.Camber.Ordinate(xi) + side*.5*st.Thickness*vlm.FourDigitThickness(xi)
				sin, cos := math.Sincos(st.Incidence)
				x := xi * st.Chord
				z *= st.Chord
				return r3.Add(st.LE, r3.Vec{X: x*cos + z*sin, Z: z*cos - x*sin})
			}
			p := r3.Add(r3.Scale(1-eta, on(root)), r3.Scale(eta, on(tip)))
			return r3.Vec{X: p.X*cosP + p.Z*sinP, Y: p.Y, Z: height + p.Z*cosP - p.X*sinP}
		}
		first = append(first, len(panels))
		eta := func(j int) float64 { return math.Sin(math.Pi / 2 * float64(j) / float64(strips)) }
		for j := range strips {
			wake := len(wakes)
			for k := range 2 * n {
				p := newThickPanel(point(k, eta(j)), point(k+1, eta(j)), point(k+1, eta(j+1)), point(k, eta(j+1)))
				switch k {
				case 0:
					p.leaves, p.wake = -1, wake
				case 2*n - 1:
					p.leaves, p.wake = 1, wake
				}
				panels = append(panels, p)
			}
			a, b := point(0, eta(j)), point(0, eta(j+1))
			far := r3.Vec{X: 2000}
			wakes = append(wakes, newThickPanel(a, r3.Add(a, far), r3.Add(b, far), b))
		}
		for k := range n {
			panels = append(panels, newThickPanel(point(k, 1), point(k+1, 1), point(2*n-k-1, 1), point(2*n-k, 1)))
		}
	}
	first = append(first, len(panels))

	mirrors := []r3.Vec{{X: 1, Y: 1, Z: 1}, {X: 1, Y: -1, Z: 1}}
	if ground {
		mirrors = append(mirrors, r3.Vec{X: 1, Y: 1, Z: -1}, r3.Vec{X: 1, Y: -1, Z: -1})
	}
	a, b := mat.NewDense(len(panels), len(panels), nil), mat.NewVecDense(len(panels), nil)
	for i := range panels {
		c := panels[i].centre
		var rhs float64
		for j := range panels {
			q := &panels[j]
			var doublet, source float64
			for m, f := range mirrors {
				p := r3.Vec{X: c.X, Y: c.Y * f.Y, Z: c.Z * f.Z}
				w := q.solidAngle(p)
				if m == 0 && i == j {
					w = 2 * math.Pi // just inside
				}
				doublet -= w
				source += q.inverseDistance(p, w)
			}
			a.Set(i, j, a.At(i, j)+doublet)
			rhs -= source * q.normal.X // the stream is 1 along x
			if q.leaves == 0 {
				continue
			}
			var jump float64
			for _, f := range mirrors {
				jump -= wakes[q.wake].solidAngle(r3.Vec{X: c.X, Y: c.Y * f.Y, Z: c.Z * f.Z})
			}
			a.Set(i, j, a.At(i, j)+float64(q.leaves)*jump)
			rhs -= float64(q.leaves) * jump * q.centre.X // the jump is of the whole potential
		}
		b.SetVec(i, rhs)
	}
	var phi mat.VecDense
	require.NoError(t, phi.SolveVec(a, b))

	var out thickFlow
	for s := range surfaces {
		at := func(k, j int) int { return first[s] + j*2*n + k }
		total := func(k, j int) float64 { i := at(k, j); return phi.AtVec(i) + panels[i].centre.X }
		// slope of the potential at the middle of three points, or at the end of them.
		slope := func(d1, d2, f0, f1, f2 float64) float64 { // f1 at 0, f0 at -d1, f2 at d2
			return (f2-f1)/d2*d1/(d1+d2) + (f1-f0)/d1*d2/(d1+d2)
		}
		dist := func(k, j, l, m int) float64 {
			return r3.Norm(r3.Sub(panels[at(k, j)].centre, panels[at(l, m)].centre))
		}
		for j := range strips {
			for k := range 2 * n {
				p := &panels[at(k, j)]
				along := r3.Unit(r3.Sub(r3.Add(p.corner[1], p.corner[2]), r3.Add(p.corner[0], p.corner[3])))
				across := r3.Unit(r3.Sub(r3.Add(p.corner[2], p.corner[3]), r3.Add(p.corner[0], p.corner[1])))
				var da, dc float64
				switch k {
				case 0:
					da = (total(1, j) - total(0, j)) / dist(0, j, 1, j)
				case 2*n - 1:
					da = (total(k, j) - total(k-1, j)) / dist(k, j, k-1, j)
				default:
					da = slope(dist(k, j, k-1, j), dist(k, j, k+1, j), total(k-1, j), total(k, j), total(k+1, j))
				}
				switch {
				case j == 0: // even across the plane of symmetry
					dc = slope(2*panels[at(k, 0)].centre.Y, dist(k, 0, k, 1), total(k, 0), total(k, 0), total(k, 1))
				case j == strips-1:
					dc = (total(k, j) - total(k, j-1)) / dist(k, j, k, j-1)
				default:
					dc = slope(dist(k, j, k, j-1), dist(k, j, k, j+1), total(k, j-1), total(k, j), total(k, j+1))
				}
				// The velocity in the tangent plane with these two components.
				dot := r3.Dot(along, across)
				x, y := (da-dot*dc)/(1-dot*dot), (dc-dot*da)/(1-dot*dot)
				v := r3.Add(r3.Scale(x, along), r3.Scale(y, across))
				f := r3.Scale(-2*(1-r3.Norm2(v))*p.area, p.normal) // both halves
				out.lift += f.Z
				out.moment += (p.centre.Z-height)*f.X - p.centre.X*f.Z
			}
		}
	}
	return out
}
