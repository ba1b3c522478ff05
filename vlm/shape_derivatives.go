package vlm

import (
	"context"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// How the loads change with the shape of the surfaces. With R(p, G) = A(p) G - b(p) the flow
// through the control points of the lattice of a shape p and F(p, G) its loads, both with the
// circulations G given, the solution is R = 0, and
//
//	dG/dp = -A^-1 dR/dp,  dF/dp = dF/dp at G held + dF/dG dG/dp.
//
// The factors of A are those of the solution, so that each dimension of the shape costs one
// more right-hand side and not a lattice of its own. R and F of the changed shape are
// evaluated without matrices, see heldFlow; with G changed along with p
//
//	dF/dp = [F(p + e, G + e dG/dp) - F(p, G)]/e
//
// gives both terms at once.

// ShapeChange is a small change of the surfaces of a lattice in one dimension.
type ShapeChange struct {
	// Surfaces are all of the lattice's surfaces, the changed ones among them: as many, with the
	// same rows and strips, joined to each other as before.
	Surfaces []Surface
	// By is how much the dimension is changed, in its own unit, not 0. Derivatives are taken as
	// differences over it: so that these are exact to a few millionths, nothing should move by
	// much more than 2e-8 of a chord, and not by less than a tenth of that.
	By float64
}

// ShapeDerivatives answers how the loads of a lattice change with its shape. It is immutable and
// safe for use by several goroutines.
type ShapeDerivatives struct {
	l       *Lattice
	changed []*Lattice
	by      []float64
}

// ShapeDerivative is how the loads change with one dimension of the shape, per unit of it: the
// datum's height and the pitch are held, and the wakes run straight.
type ShapeDerivative struct {
	Total       Load
	SectionLift []float64 // the strips' section lift coefficients, in the order of Solution.Strips
}

// ShapeDerivatives prepares the derivatives of the lattice with several dimensions of its shape. It returns an
// error if changed surfaces make no lattice, or one of another layout.
func (l *Lattice) ShapeDerivatives(changes []ShapeChange) (*ShapeDerivatives, error) {
	s := &ShapeDerivatives{l: l}
	for i, c := range changes {
		if c.By == 0 || math.IsNaN(c.By) || math.IsInf(c.By, 0) {
			return nil, fmt.Errorf("shape change %d is by %v; give a small number that is not 0", i, c.By)
		}
		q, err := New(c.Surfaces, Options{Arrangement: l.rows, NoMirror: !l.mirror})
		if err != nil {
			return nil, fmt.Errorf("shape change %d: %w", i, err)
		}
		if !l.sameLayout(q) {
			return nil, fmt.Errorf("shape change %d: %w", i, ErrOtherLayout)
		}
		s.changed = append(s.changed, q)
		s.by = append(s.by, c.By)
	}
	return s, nil
}

// ErrOtherLayout says that changed surfaces have other rows or strips, meet at other edges, or
// have or lack a thickness where the lattice's own do not.
var ErrOtherLayout = errors.New("the changed surfaces make a lattice of another layout")

func (l *Lattice) sameLayout(q *Lattice) bool {
	if len(l.grids) != len(q.grids) || l.mid.len() != q.mid.len() {
		return false
	}
	for i := range l.grids {
		if l.grids[i] != q.grids[i] {
			return false
		}
	}
	return true
}

// PitchedShapeDerivatives are ShapeDerivatives at one pitch. It is immutable and safe for use by
// several goroutines.
type PitchedShapeDerivatives struct {
	p       *PitchedLattice
	changed []*PitchedLattice // without influence coefficients
	by      []float64
}

// AtPitch returns the derivatives with the nose up by pitch, rad. Its errors are those of
// Lattice.AtPitch.
func (s *ShapeDerivatives) AtPitch(ctx context.Context, pitch float64) (*PitchedShapeDerivatives, error) {
	p, err := s.l.AtPitch(ctx, pitch)
	if err != nil {
		return nil, err
	}
	out := &PitchedShapeDerivatives{p: p, by: s.by}
	for _, q := range s.changed {
		out.changed = append(out.changed, q.pitchedTo(pitch))
	}
	return out, nil
}

// Solve returns the flow with the datum at the height over the water, m, as
// PitchedLattice.Solve does, and its derivatives with each of the dimensions, in their order.
func (s *PitchedShapeDerivatives) Solve(ctx context.Context, height float64) (*Solution, []ShapeDerivative, error) {
	p, l := s.p, s.p.l
	ws := l.scratch.Get().(*workspace)
	defer l.scratch.Put(ws)
	c := &canceller{ctx: ctx}
	sol, err := p.solveIn(c, ws, height)
	if err != nil {
		return nil, nil, err
	}
	n := l.Cells()
	h := newHeldFlow(p, height)
	// How much the flow about the lattice itself misses zero is rounding, and so is how the
	// loads differ; both are taken off.
	none, own := make([]float64, n), ShapeDerivative{}
	if err := h.residual(c, p, sol.Gamma, none); err != nil {
		return nil, nil, err
	}
	if own, err = h.loads(c, p, sol.Gamma); err != nil {
		return nil, nil, err
	}
	out := make([]ShapeDerivative, len(s.changed))
	x, gamma := make([]float64, n), make([]float64, n)
	for i, q := range s.changed {
		if err := h.residual(c, q, sol.Gamma, x); err != nil {
			return nil, nil, err
		}
		for j := range x {
			x[j] = none[j] - x[j]
		}
		if err := c.spend(2 * n * n); err != nil {
			return nil, nil, err
		}
		ws.a.solve(x)
		for j := range x {
			gamma[j] = sol.Gamma[j] + x[j]
		}
		d, err := h.loads(c, q, gamma)
		if err != nil {
			return nil, nil, err
		}
		per := 1 / s.by[i]
		d.Total = Load{r3.Scale(per, r3.Sub(d.Total.Force, own.Total.Force)), r3.Scale(per, r3.Sub(d.Total.Moment, own.Total.Moment))}
		for j := range d.SectionLift {
			d.SectionLift[j] = per * (d.SectionLift[j] - own.SectionLift[j])
		}
		out[i] = d
	}
	return sol, out, nil
}

// heldFlow evaluates the flow about lattices of one layout, with the circulations given: no
// matrix, and no derivatives. The images have the refinements of the lattice itself, so
// that they do not change in steps.
type heldFlow struct {
	height float64
	water  bool

	rows     offsetRows
	filament []float64      // circulations of the lattice's filaments
	fine     []float64      // of the rings of an image
	images   []*imageSource // one for each kind of refinements
	imageOf  []int          // per grid, which of them acts on it
	image    []vec          // per cell, velocity of the images of the rings at the middle of its bound element
	source   []vec          // per cell, the same of the images of the sources
	stream   []float64      // per cell, local stream
	free     []float64      // per cell, local stream without images
}

// imageSource is one image of the lattice under way.
type imageSource struct {
	refinement []byte
	at         *pitchedImage
	filament   []float64 // circulations
	source     []float64 // strengths
}

func newHeldFlow(p *PitchedLattice, height float64) *heldFlow {
	l := p.l
	n, widest := l.Cells(), 0
	for _, g := range l.grids {
		widest = max(widest, g.strips+1)
	}
	h := &heldFlow{
		height: height, water: !math.IsInf(height, 1),
		rows:     offsetRows{make([]nodeOffset, widest), make([]nodeOffset, widest)},
		filament: make([]float64, 2*l.node.len()),
		image:    make([]vec, n), source: make([]vec, n), stream: make([]float64, n), free: make([]float64, n),
	}
	if !h.water {
		return h
	}
	for _, g := range l.grids {
		r := make([]byte, len(l.grids))
		p.refine(r, g.sheet, height)
		k := 0
		for k < len(h.images) && string(h.images[k].refinement) != string(r) {
			k++
		}
		if k == len(h.images) {
			h.images = append(h.images, &imageSource{refinement: r})
		}
		h.imageOf = append(h.imageOf, k)
	}
	return h
}

// begin takes the circulations of a lattice's rings.
func (h *heldFlow) begin(q *PitchedLattice, gamma []float64) {
	circulations(q.l.grids, gamma, h.filament)
	for _, im := range h.images {
		im.at = q.imageFor(im.refinement)
		h.fine = zeroed(h.fine, im.at.cells)
		im.filament = zeroed(im.filament, 2*im.at.node.len())
		im.at.prolong(q.l.grids, gamma, h.fine)
		circulations(im.at.grids, h.fine, im.filament)
	}
}

// own returns the velocity at a point of a body of the lattice's own filaments, legs included.
func (h *heldFlow) own(q *PitchedLattice, at r3.Vec, body int) vec {
	k := sumKernel{g: h.filament, first: q.l.node.len(), core: q.l.core, widen: 1, body: body}
	q.field.evaluate(at.X, at.Y, at.Z, &k, &h.rows)
	return vec{over4Pi * k.v.x, over4Pi * k.v.y, over4Pi * k.v.z}
}

// ofImages returns the velocity of the images of the rings, at a point as seen by a grid.
func (h *heldFlow) ofImages(grid int, at r3.Vec) vec {
	im := h.images[h.imageOf[grid]]
	k := sumKernel{g: im.filament}
	im.at.field.evaluate(at.X, at.Y, -at.Z-2*h.height, &k, &h.rows)
	return vec{over4Pi * k.v.x, over4Pi * k.v.y, -over4Pi * k.v.z}
}

// ofSources is ofImages for the sources.
func (h *heldFlow) ofSources(grid int, at r3.Vec) vec {
	im := h.images[h.imageOf[grid]]
	f := &im.at.field
	x, y, z, ym := at.X, at.Y, -at.Z-2*h.height, -at.Y
	if !f.mirror {
		ym = noMirror
	}
	var v vec
	for i := range f.grids {
		g := &f.grids[i]
		if !g.thick {
			continue
		}
		row := h.rows[0][:g.strips+1]
		for n := range g.rows {
			f.offsets(row, g.node+n*(g.strips+1), x, y, z, ym)
			s := im.source[g.cell+n*g.strips:][:g.strips]
			for j, strength := range s {
				p, q := &row[j], &row[j+1]
				flat := p.x*q.x + p.z*q.z
				d, dm := strength/(p.r*q.r+flat+p.y*q.y), strength/(p.rm*q.rm+flat+p.ym*q.ym)
				v.x += d*(p.x*p.inv+q.x*q.inv) + dm*(p.x*p.invm+q.x*q.invm)
				v.y += d*(p.y*p.inv+q.y*q.inv) - dm*(p.ym*p.invm+q.ym*q.invm)
				v.z += d*(p.z*p.inv+q.z*q.inv) + dm*(p.z*p.invm+q.z*q.invm)
			}
		}
	}
	return vec{over4Pi * v.x, over4Pi * v.y, -over4Pi * v.z}
}

// spread sets the strengths of the images' sources from the local stream at the lattice's cells.
func (h *heldFlow) spread(q *PitchedLattice, stream []float64) {
	for _, im := range h.images {
		im.source = zeroed(im.source, im.at.cells)
		im.at.sourceStrengths(q.l, stream, im.source)
	}
}

// atBound fills in the velocities of the images at the middles of the bound elements of a lattice, whose
// circulations have been begun with, and of a thick one the sources.
func (h *heldFlow) atBound(c *canceller, q *PitchedLattice) error {
	if !h.water {
		return nil
	}
	l := q.l
	for e, cell := range l.cell {
		if cell < 0 {
			continue
		}
		if err := h.spend(c, l); err != nil {
			return err
		}
		h.image[cell] = h.ofImages(l.grid[e], q.seenMid.at(e))
	}
	if !l.thick {
		return nil
	}
	for i := range h.free {
		h.free[i] = q.tangent.x[i]
	}
	h.spread(q, h.free)
	for i, e := range l.bound {
		if err := h.spend(c, l); err != nil {
			return err
		}
		t, v, s := q.tangent.at(i), h.image[i], h.ofSources(l.grid[e], q.seenMid.at(e))
		h.stream[i] = h.free[i] + t.X*(v.x+s.x) + t.Y*(v.y+s.y) + t.Z*(v.z+s.z)
	}
	h.spread(q, h.stream)
	return nil
}

// spend counts the operations of one point.
func (h *heldFlow) spend(c *canceller, l *Lattice) error {
	return c.spend(4 * l.node.len() * operationsPerFilament)
}

// residual fills in r with the flow through the surface at each control point.
func (h *heldFlow) residual(c *canceller, q *PitchedLattice, gamma, r []float64) error {
	l := q.l
	h.begin(q, gamma)
	if err := h.atBound(c, q); err != nil {
		return err
	}
	for gi, g := range l.grids {
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			if err := h.spend(c, l); err != nil {
				return err
			}
			v := h.own(q, q.ctrl.at(i), g.body)
			if h.water {
				w := h.ofImages(gi, q.seenCtrl.at(i))
				v.add(1, &w)
			}
			if h.water && l.thick {
				w := h.ofSources(gi, q.seenCtrl.at(i))
				v.add(1, &w)
			}
			n := q.normal.at(i)
			r[i] = n.X*(1+v.x) + n.Y*v.y + n.Z*v.z
		}
	}
	return nil
}

// loads returns the loads themselves, not their derivatives, as (*workspace).loads works
// them out.
func (h *heldFlow) loads(c *canceller, q *PitchedLattice, gamma []float64) (ShapeDerivative, error) {
	l := q.l
	h.begin(q, gamma)
	if err := h.atBound(c, q); err != nil {
		return ShapeDerivative{}, err
	}
	thick := h.water && l.thick
	if thick {
		for i, e := range l.bound {
			h.source[i] = h.ofSources(l.grid[e], q.seenMid.at(e))
		}
	}
	out := ShapeDerivative{SectionLift: make([]float64, len(l.stripGeometry))}
	for e, gi := range l.grid {
		if err := h.spend(c, l); err != nil {
			return ShapeDerivative{}, err
		}
		bound, seg, pos := l.cell[e], q.seg.at(e), q.mid.at(e)
		v := h.own(q, pos, l.grids[gi].body)
		var images, sources vec
		switch {
		case h.water && bound >= 0:
			images = h.image[bound]
		case h.water:
			images = h.ofImages(gi, q.seenMid.at(e))
		}
		switch {
		case thick && bound >= 0:
			sources = h.source[bound]
		case thick:
			about, n := l.about(e)
			for _, k := range about[:n] {
				sources.add(1/float64(n), &h.source[k])
			}
		}
		v.add(1, &images)
		v.add(1, &sources)
		v.x++
		var g float64
		if k := l.plus[e]; k >= 0 {
			g += gamma[k]
		}
		if k := l.minus[e]; k >= 0 {
			g -= gamma[k]
		}
		force := r3.Scale(2*g, r3.Cross(v.r3(), seg))
		if grid := l.grids[gi]; thick && bound >= 0 && grid.thick {
			force = r3.Sub(force, r3.Scale(2*l.strength(grid, bound, h.stream), r3.Add(images.r3(), sources.r3())))
		}
		out.Total.add(Load{force, r3.Cross(pos, force)})
		if bound >= 0 {
			out.SectionLift[l.strip[e][0]] += r3.Dot(force, q.normal.at(bound))
		}
	}
	for i := range out.SectionLift {
		st := &l.stripGeometry[i]
		out.SectionLift[i] /= st.Width * st.Chord
	}
	if l.mirror {
		out.Total = out.Total.bothSides()
	}
	return out, nil
}
