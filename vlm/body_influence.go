package vlm

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// bodyInfluence holds what the craft's rings, without the trailing legs, induce on the
// craft. In craft axes it is the same at every attitude; only the legs, which follow
// the stream, change with pitch.
type bodyInfluence struct {
	aic      []float64 // cells x cells: normal velocity at control point i of ring j
	u, t     points    // per element, craft axes: directions perpendicular to it, see loads
	velocity []pair    // elements x cells: velocity at the middle of element e of ring j
}

// bodyInfluence returns the lattice's, computed when first asked for. Whoever waits
// for another goroutine's computation stops waiting when its own context is done.
func (l *Lattice) bodyInfluence(c *canceller) (*bodyInfluence, error) {
	select {
	case l.bodyLock <- struct{}{}:
		defer func() { <-l.bodyLock }()
	case <-c.ctx.Done():
		return nil, c.ctx.Err()
	}
	if l.body == nil {
		b, err := l.newBodyInfluence(c)
		if err != nil {
			return nil, err
		}
		l.body = b
	}
	return l.body, nil
}

func (l *Lattice) newBodyInfluence(c *canceller) (*bodyInfluence, error) {
	n, elements := l.Cells(), l.mid.len()
	b := &bodyInfluence{
		aic: make([]float64, n*n), velocity: make([]pair, elements*n),
		u: makePoints(elements), t: makePoints(elements),
	}
	ws := l.scratch.Get().(*workspace)
	defer l.scratch.Put(ws)
	f := field{grids: l.grids, node: l.node, mirror: l.mirror}
	k := &velocityKernel{v: ws.filament}
	ringVelocities := func(p r3.Vec) error {
		if err := c.spend(len(ws.filament) * operationsPerFilament); err != nil {
			return err
		}
		f.evaluate(p.X, p.Y, p.Z, k, &ws.rows)
		rings(l.grids, ws.filament, ws.ring)
		return nil
	}
	for i := range n {
		if err := ringVelocities(l.ctrl.at(i)); err != nil {
			return nil, err
		}
		normal := r3.Scale(over4Pi, l.normal.at(i))
		for j, v := range ws.ring {
			b.aic[i*n+j] = r3.Dot(normal, v.r3())
		}
	}
	for e := range elements {
		seg := l.seg.at(e)
		u := r3.Unit(perpendicular(seg))
		t := r3.Cross(seg, u)
		b.u.set(e, u)
		b.t.set(e, t)
		if err := ringVelocities(l.mid.at(e)); err != nil {
			return nil, err
		}
		u, t = r3.Scale(over4Pi, u), r3.Scale(over4Pi, t)
		for j, v := range ws.ring {
			b.velocity[e*n+j] = pair{r3.Dot(u, v.r3()), r3.Dot(t, v.r3())}
		}
	}
	return b, nil
}

// perpendicular returns a vector perpendicular to v, not 0 unless v is.
func perpendicular(v r3.Vec) r3.Vec {
	if math.Abs(v.X) > math.Abs(v.Z) {
		return r3.Vec{X: v.Y, Y: -v.X}
	}
	return r3.Vec{Y: v.Z, Z: -v.Y}
}
