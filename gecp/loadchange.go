package gecp

import (
	"context"
	"errors"
	"math"

	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/vlm"
)

// WingChange is a craft with one dimension of its wings changed, by a little and by as much as
// is asked for.
type WingChange struct {
	// Slight is the craft with a part of the change, so small that nothing moves by
	// much more than 2e-8 of a chord, and not by less than a tenth of that; nil if there is no such craft.
	Slight *Craft
	Part   float64 // of the whole change, not 0
	// Whole is the craft with the whole change, or nil: it is looked at where the lattice of Slight is of another
	// layout than that of the craft itself, as with the first tip plate.
	Whole *Craft
}

// LoadChange is how the loads of a map's craft change with one dimension of its wings, per whole change of
// it, to first order: the height of the datum and the pitch are held. It is smooth, and so it is a
// polynomial with few terms, in the coordinates of the map. What the craft does when it heaves or pitches, and what free
// wakes add, are left as they are. LoadChange is immutable and safe for use by several goroutines.
type LoadChange struct {
	plane mapPlane // the map's
	terms mapTerms // without rates
	// shift is by how much the height is not held, m: the loads of the changed craft are taken so much higher.
	shift float64
}

// The clearances and pitches at which the lattice is solved for a LoadChange, whose
// slopes are not known there.
const changeHeights, changePitches = 6, 5

// changeColumn is the nodes of one pitch.
type changeColumn struct {
	pitch, t float64
	s        [changeHeights]float64
	height   [changeHeights]float64 // of the datum
}

// changeNodes returns the columns of nodes of a LoadChange within a range.
func (m *Map) changeNodes(r MapRange) []changeColumn {
	columns := make([]changeColumn, changePitches)
	for k := range columns {
		c := &columns[k]
		c.pitch = r.PitchMin + (chebyshevNode(k, changePitches)+1)/2*(r.PitchMax-r.PitchMin)
		c.t = m.plane.scale(c.pitch)
		depth, _ := m.plane.depthAt(c.pitch)
		low := m.model.low.At(c.pitch).Depth
		for j := range c.s {
			c.height[j] = m.plane.between(low+r.ClearanceMin, low+r.ClearanceMax, chebyshevNode(j, changeHeights), c.pitch)
			c.s[j], _ = m.plane.log(c.height[j], depth)
		}
	}
	return columns
}

// wholeChange is a craft of which the loads themselves are asked.
type wholeChange struct {
	model   *Model
	deeper  float64 // m, that its lowest point lies deeper than the craft's own at most
	pitched []*vlm.PitchedLattice
}

// LoadChanges returns how the loads change with dimensions of the wings. They come from the derivatives
// of the lattice with its shape, all from the factors of one solution at each node; where a changed lattice is of
// another layout they are the difference of both craft's solutions, the craft so much higher that no wing comes nearer to
// the water. A change whose wings have another number of strips is not known: ok is then false.
//
// The nodes lie within a range that is part of the map's, where the change is asked for; further away it is
// less exact. It returns an error if a part is 0, if a craft fails Check or makes no lattice, and the context's if it is cancelled.
func (m *Map) LoadChanges(ctx context.Context, r MapRange, changes []WingChange) (of []LoadChange, ok []bool, err error) {
	mo := m.model
	columns := m.changeNodes(r)
	var slight []vlm.ShapeChange
	var whole []wholeChange
	var order, wholeOrder []int // of which change each of these is
	for i, c := range changes {
		if c.Slight != nil {
			shape := vlm.ShapeChange{Surfaces: c.Slight.Surfaces(mo.mesh), By: c.Part}
			_, err := mo.lattice.ShapeDerivatives([]vlm.ShapeChange{shape})
			if err == nil {
				slight, order = append(slight, shape), append(order, i)
				continue
			}
			if !errors.Is(err, vlm.ErrOtherLayout) {
				return nil, nil, err
			}
		}
		if c.Whole == nil {
			continue
		}
		changed, err := NewModel(c.Whole, mo.mesh)
		if err != nil {
			return nil, nil, err
		}
		if len(changed.strips) == len(mo.strips) {
			whole, wholeOrder = append(whole, wholeChange{model: changed, deeper: math.Inf(-1), pitched: make([]*vlm.PitchedLattice, len(columns))}), append(wholeOrder, i)
		}
	}
	order = append(order, wholeOrder...)
	of, ok = make([]LoadChange, len(changes)), make([]bool, len(changes))
	if len(order) == 0 {
		return of, ok, ctx.Err()
	}
	derivatives, err := mo.lattice.ShapeDerivatives(slight)
	if err != nil {
		return nil, nil, err
	}
	pitched := make([]*vlm.PitchedShapeDerivatives, len(columns))
	for k, c := range columns {
		if pitched[k], err = derivatives.AtPitch(ctx, c.pitch); err != nil {
			return nil, nil, err
		}
		for i := range whole {
			w := &whole[i]
			w.deeper = math.Max(w.deeper, w.model.low.At(c.pitch).Depth-mo.low.At(c.pitch).Depth)
			if w.pitched[k], err = w.model.lattice.AtPitch(ctx, c.pitch); err != nil {
				return nil, nil, err
			}
		}
	}
	width := withDerivatives + len(mo.strips)
	rows := make([]fitRow, len(columns)*changeHeights)
	err = parallel.EachOf(ctx, len(rows), mo.workers(), func(i int) error {
		k, j := i/changeHeights, i%changeHeights
		row, height := &rows[i], columns[k].height[j]
		row.s, row.t = columns[k].s[j], columns[k].t
		own, by, err := pitched[k].Solve(ctx, height)
		if err != nil {
			return err
		}
		for _, d := range by {
			row.strips = mo.changeValues(row.strips, d.Total, func(strip int) float64 { return d.SectionLift[strip] })
		}
		was := mo.changeValues(nil, own.Total, func(strip int) float64 { return own.Strips[strip].SectionLiftCoefficient() })
		for i := range whole {
			w := &whole[i]
			s, err := w.pitched[k].Solve(ctx, height+w.deeper)
			if err != nil {
				return err
			}
			is := w.model.changeValues(nil, s.Total, func(strip int) float64 { return s.Strips[strip].SectionLiftCoefficient() })
			for q := range is {
				row.strips = append(row.strips, is[q]-was[q])
			}
		}
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	fitted := mapTerms{nh: changeHeights, np: changePitches, rh: changeHeights, rp: changePitches}
	terms, err := fitted.leastSquares(rows, fitted.nh, fitted.np, len(order)*width, func(r *fitRow) []float64 { return r.strips }, nil)
	if err != nil {
		return nil, nil, err
	}
	for n, i := range order {
		of[i], ok[i] = LoadChange{plane: m.plane, terms: fitted}, true
		to := &of[i].terms
		for _, term := range terms {
			own := term[n*width : (n+1)*width]
			to.still = append(to.still, [withDerivatives]float64(own))
			if len(mo.strips) > 0 {
				to.strips = append(to.strips, own[withDerivatives:])
			}
		}
		if n >= len(slight) {
			of[i].shift = whole[n-len(slight)].deeper
		}
	}
	return of, ok, nil
}

// changeValues appends the quantities of a LoadChange.
func (m *Model) changeValues(v []float64, total vlm.Load, sectionLift func(strip int) float64) []float64 {
	l, from := loadsPerQ(total), len(v)
	v = append(v, make([]float64, withDerivatives)...)
	v[from+qLift], v[from+qMoment], v[from+qDrag] = l.Lift, l.Moment, l.Drag
	for _, st := range m.strips {
		v = append(v, sectionLift(st.index))
	}
	return v
}

var errOtherScale = errors.New("the change of the loads is not one of this map")

// Changed returns the map of a craft whose wings differ from the map's by so much of a LoadChange of this map, 1 for the
// whole of it. The lowest points and kinks are those of the model's craft, exactly. The change should bring a
// wing nearer to the water by no more than a fraction of its clearance. It returns an error that
// wraps ErrUnlikeMaps if the model has another number of strips, and an error if the change is one of another map.
func (m *Map) Changed(model *Model, l *LoadChange, by float64) (*Map, error) {
	if l.plane != m.plane {
		return nil, errOtherScale
	}
	out, err := m.MoveTo(model)
	if err != nil {
		return nil, err
	}
	out.terms = m.terms.clone()
	change := l.terms
	if m.strips() == 0 {
		change.strips = nil
	}
	out.terms.add(by, &change)
	out.plane.shift -= by * l.shift
	return out, nil
}
