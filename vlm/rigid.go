package vlm

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// rigid is what the craft's own rings, without their wakes, induce on the craft. It
// turns with the craft and so is the same at every placement; only the wakes keep
// their direction.
type rigid struct {
	wash []float64 // cells x cells: normal velocity at control point i of ring j
	u, t points    // per element, craft axes: directions square to it, see loads
	push []pair    // elements x cells: velocity at the middle of element e of ring j
}

// rigidly returns the lattice's, found when first asked for.
func (l *Lattice) rigidly() *rigid {
	l.rigidOnce.Do(func() {
		n, elements := l.Cells(), l.mid.len()
		r := &l.rigid
		r.wash, r.push = make([]float64, n*n), make([]pair, elements*n)
		r.u, r.t = makePoints(elements), makePoints(elements)
		ws := l.scratch.Get().(*workspace)
		defer l.scratch.Put(ws)
		f := field{grids: l.grids, node: l.node, mirror: l.mirror}
		k := &velocities{v: ws.filament}
		look := func(p r3.Vec) {
			f.look(p.X, p.Y, p.Z, k, &ws.sight)
			rings(l.grids, ws.filament, ws.ring)
		}
		for i := range n {
			look(l.ctrl.at(i))
			normal := r3.Scale(over4Pi, l.normal.at(i))
			for j, v := range ws.ring {
				r.wash[i*n+j] = r3.Dot(normal, v.r3())
			}
		}
		for e := range elements {
			seg := l.seg.at(e)
			u := r3.Unit(square(seg))
			t := r3.Cross(seg, u)
			r.u.set(e, u)
			r.t.set(e, t)
			look(l.mid.at(e))
			u, t = r3.Scale(over4Pi, u), r3.Scale(over4Pi, t)
			for j, v := range ws.ring {
				r.push[e*n+j] = pair{r3.Dot(u, v.r3()), r3.Dot(t, v.r3())}
			}
		}
	})
	return &l.rigid
}

// square returns a vector square to v, not 0 unless v is.
func square(v r3.Vec) r3.Vec {
	if math.Abs(v.X) > math.Abs(v.Z) {
		return r3.Vec{X: v.Y, Y: -v.X}
	}
	return r3.Vec{Y: v.Z, Z: -v.Y}
}
