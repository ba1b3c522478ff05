package gecp

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/vlm"
)

// WingChange is a craft whose wings differ from another's in one dimension.
type WingChange struct {
	Craft *Craft
	By    float64 // by how much, in a unit of the caller's choice; not 0
}

// LoadChange is how the loads of a map's craft change with one dimension of its wings, per unit of
// it, to first order: the height of the datum and the pitch are held, so that it has no kinks. It is smooth and
// small, and so it is a polynomial with few terms, of the pitch and of the map's own
// logarithm of the clearance. What the craft does when it heaves or pitches, and what free
// wakes add, are left as they are. LoadChange is immutable and safe for use by several goroutines.
type LoadChange struct {
	clearances logScale
	panel      mapPanel // its pitches and numbers of terms
	terms      [][]float64
	// shift is by how much the height is not held, per unit of the dimension: the changed loads are
	// those of a height that is so much larger.
	shift float64
}

// The clearances and pitches at which the lattice is solved for a LoadChange. It is known there
// without its slopes. More pitches than three follow the loads where wings come into the
// water, and are worse in between.
const changeHeights, changePitches = 5, 3

// changeColumn is the nodes of one pitch.
type changeColumn struct {
	pitch, t float64
	s        [changeHeights]float64
	height   [changeHeights]float64 // of the datum
}

// changeNodes returns the panel and the columns of nodes of a LoadChange within a range.
func (m *Map) changeNodes(r MapRange) (mapPanel, []changeColumn) {
	p := mapPanel{from: r.PitchMin, to: r.PitchMax, nh: changeHeights, np: changePitches, rh: changeHeights, rp: changePitches}
	lo, _ := m.clearances.to(r.ClearanceMin)
	hi, _ := m.clearances.to(r.ClearanceMax)
	columns := make([]changeColumn, changePitches)
	for k := range columns {
		c := &columns[k]
		c.t = -math.Cos(math.Pi * (float64(k) + .5) / changePitches)
		c.pitch = p.from + (c.t+1)/2*(p.to-p.from)
		for j := range c.s {
			c.s[j] = lo + (1-math.Cos(math.Pi*(float64(j)+.5)/changeHeights))/2*(hi-lo)
			c.height[j] = m.model.low.HeightFor(m.clearances.from(c.s[j]), c.pitch)
		}
	}
	return p, columns
}

// LoadChanges returns how the loads change with dimensions of the wings, from the derivatives of the lattice with
// its shape: all come from the factors of one solution at each node. The nodes lie within a
// range that is part of the map's, where the change is asked for; further away it is less exact. Each
// change is so small that nothing moves by much more than 2e-8 of a chord, and not by less than a tenth of that.
// Where a changed craft's lattice is of another layout, as with the first tip plate, ok is false.
//
// It returns an error if a change is by 0 or makes no lattice, and the context's if it is cancelled.
func (m *Map) LoadChanges(ctx context.Context, r MapRange, changes []WingChange) (of []LoadChange, ok []bool, err error) {
	mo := m.model
	ok = make([]bool, len(changes))
	var shapes []vlm.ShapeChange
	for i, c := range changes {
		shape := vlm.ShapeChange{Surfaces: c.Craft.Surfaces(mo.mesh), By: c.By}
		switch _, err := mo.lattice.ShapeDerivatives([]vlm.ShapeChange{shape}); {
		case errors.Is(err, vlm.ErrOtherLayout):
			continue
		case err != nil:
			return nil, nil, err
		}
		ok[i] = true
		shapes = append(shapes, shape)
	}
	derivatives, err := mo.lattice.ShapeDerivatives(shapes)
	if err != nil {
		return nil, nil, err
	}
	panel, columns := m.changeNodes(r)
	pitched := make([]*vlm.PitchedShapeDerivatives, len(columns))
	if err := parallel.EachOf(ctx, len(columns), mo.workers(), func(k int) (err error) {
		pitched[k], err = derivatives.AtPitch(ctx, columns[k].pitch)
		return err
	}); err != nil {
		return nil, nil, err
	}
	width := withDerivatives + len(mo.strips)
	terms, err := m.fitChange(ctx, panel, columns, len(shapes)*width, func(k int, height float64) ([]float64, error) {
		_, by, err := pitched[k].Solve(ctx, height)
		var v []float64
		for _, d := range by {
			v = mo.changeValues(v, d.Total, func(strip int) float64 { return d.SectionLift[strip] })
		}
		return v, err
	})
	if err != nil {
		return nil, nil, err
	}
	of = make([]LoadChange, len(changes))
	at := 0 // in the terms
	for i := range of {
		if !ok[i] {
			continue
		}
		of[i] = LoadChange{clearances: m.clearances, panel: panel, terms: make([][]float64, len(terms))}
		for j := range terms {
			of[i].terms[j] = terms[j][at : at+width]
		}
		at += width
	}
	return of, ok, nil
}

// LoadDifference is LoadChanges for one change as large as it is asked for, whose lattice may be of another layout: from
// solutions of the lattices of both craft. It returns an error that wraps ErrOtherPanels if the wings have another number of
// strips.
func (m *Map) LoadDifference(ctx context.Context, r MapRange, c WingChange) (LoadChange, error) {
	if c.By == 0 || math.IsNaN(c.By) || math.IsInf(c.By, 0) {
		return LoadChange{}, fmt.Errorf("the wings are changed by %v; give a number that is not 0", c.By)
	}
	mo := m.model
	changed, err := NewModel(c.Craft, mo.mesh)
	if err != nil {
		return LoadChange{}, err
	}
	if len(changed.strips) != len(mo.strips) {
		return LoadChange{}, fmt.Errorf("the wings have %d strips, changed %d: %w", len(mo.strips), len(changed.strips), ErrOtherPanels)
	}
	panel, columns := m.changeNodes(r)
	// So much lower the changed craft reaches, that nothing comes nearer to the water than before.
	deeper := math.Inf(-1)
	pitched := make([][2]*vlm.PitchedLattice, len(columns))
	for k, col := range columns {
		deeper = math.Max(deeper, changed.low.At(col.pitch).Depth-mo.low.At(col.pitch).Depth)
		for i, of := range []*Model{mo, changed} {
			if pitched[k][i], err = of.lattice.AtPitch(ctx, col.pitch); err != nil {
				return LoadChange{}, err
			}
		}
	}
	l := LoadChange{clearances: m.clearances, panel: panel, shift: deeper / c.By}
	l.terms, err = m.fitChange(ctx, panel, columns, withDerivatives+len(mo.strips), func(k int, height float64) ([]float64, error) {
		var v [2][]float64
		for i, of := range []*Model{mo, changed} {
			s, err := pitched[k][i].Solve(ctx, height+float64(i)*deeper)
			if err != nil {
				return nil, err
			}
			v[i] = of.changeValues(nil, s.Total, func(strip int) float64 { return s.Strips[strip].SectionLiftCoefficient() })
		}
		for i := range v[0] {
			v[0][i] = (v[1][i] - v[0][i]) / c.By
		}
		return v[0], nil
	})
	return l, err
}

// changeValues appends the quantities of a LoadChange.
func (m *Model) changeValues(v []float64, total vlm.Load, sectionLift func(strip int) float64) []float64 {
	l := loadsPerQ(total)
	from := len(v)
	v = append(v, make([]float64, withDerivatives)...)
	v[from+qLift], v[from+qMoment], v[from+qDrag] = l.Lift, l.Moment, l.Drag
	for _, st := range m.strips {
		v = append(v, sectionLift(st.index))
	}
	return v
}

// fitChange returns the terms of n quantities that are known at the nodes.
func (m *Map) fitChange(ctx context.Context, panel mapPanel, columns []changeColumn, n int, at func(column int, height float64) ([]float64, error)) ([][]float64, error) {
	rows := make([]fitRow, len(columns)*changeHeights)
	err := parallel.EachOf(ctx, len(rows), m.model.workers(), func(i int) (err error) {
		k, j := i/changeHeights, i%changeHeights
		rows[i].s, rows[i].t = columns[k].s[j], columns[k].t
		rows[i].strips, err = at(k, columns[k].height[j])
		return err
	})
	if err != nil {
		return nil, err
	}
	return panel.leastSquares(rows, panel.nh, panel.np, n, func(r *fitRow) []float64 { return r.strips }, nil)
}

// at returns the change of all quantities at a place whose clearance has the Chebyshev polynomials s.
func (l *LoadChange) at(s []float64, pitch float64) []float64 {
	var t [changePitches]float64
	chebyshev(l.panel.scale(pitch), t[:], nil)
	return sumTerms(l.panel.nh, l.panel.np, s, t[:], func(i int) []float64 { return l.terms[i] }, len(l.terms[0]))
}

var errOtherScale = errors.New("the change of the loads is not one of this map")

// Changed returns the map of a craft whose wings differ from the map's in the dimension of a LoadChange of this map, by so
// much in its unit. The lowest points and kinks are those of the model's craft, exactly. The dimension
// should change by no more than brings a wing nearer to the water by a fraction of its clearance. It returns an error that
// wraps ErrOtherPanels if the model has another number of strips, and an error if the change is one of another map.
func (m *Map) Changed(model *Model, l *LoadChange, by float64) (*Map, error) {
	if l.clearances != m.clearances {
		return nil, errOtherScale
	}
	return m.moveTo(model, l, by)
}
