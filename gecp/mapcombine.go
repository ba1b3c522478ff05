package gecp

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// ErrUnlikeMaps says that maps cannot be combined, for they do not have the same clearances,
// pitches and number of strips.
var ErrUnlikeMaps = errors.New("the maps are not alike")

// CombineMaps returns a map for the model's craft whose loads are a weighted sum of the
// loads of other maps, each taken at the same pitch and at about the same clearance: where a
// smooth curve near the lowest point's depth has it. With maps of a craft and of the same craft
// with one dimension changed a little up and down, and the weights of an interpolation in that
// dimension, this is the map of the craft with any small change of it, without the lattice: see
// [QuadraticWeights]. The wings' lowest points and the kinks are those of the model's craft,
// exactly, and so is its correction.
//
// There are as many weights as maps, one or more; the weights are finite and sum to 1. The maps have the same
// range and the same number of strips, as many as the model; otherwise the error wraps ErrUnlikeMaps. [Map.Error] of
// the result is that of the first map: it does not know of what the sum leaves out.
func (m *Model) CombineMaps(weights []float64, maps []*Map) (*Map, error) {
	if len(maps) == 0 || len(weights) != len(maps) {
		return nil, fmt.Errorf("%d maps are to be combined by %d weights; give one weight a map, for one map or more", len(maps), len(weights))
	}
	var sum float64
	for _, w := range weights {
		sum += w
	}
	if !(math.Abs(sum-1) < 1e-9) { // also if one is not finite
		return nil, fmt.Errorf("the weights of the maps sum to %v; they must sum to 1", sum)
	}
	first := maps[0]
	for _, o := range maps[1:] {
		if err := first.combines(o); err != nil {
			return nil, err
		}
	}
	if s := first.strips(); s != len(m.strips) && s != 0 {
		return nil, fmt.Errorf("the model has %d strips, the maps %d: %w", len(m.strips), s, ErrUnlikeMaps)
	}
	plane := first.plane
	if m.low != first.model.low {
		var err error
		if plane, err = first.plane.of(m, &first.opt); err != nil {
			return nil, err
		}
	}
	out := m.newMap(first.opt, plane)
	out.err = first.err
	for k, o := range maps {
		if weights[k] != 0 {
			out.terms.add(weights[k], &o.terms)
		}
	}
	return out, nil
}

// of returns the plane of the same kind for another model.
func (p *mapPlane) of(m *Model, o *MapOptions) (mapPlane, error) {
	if p.exact != nil {
		return newExactPlane(m.low, o), nil
	}
	return newMapPlane(m.low, o, planeShift*m.shape.MAC)
}

// strips returns how many strips' lifts the map holds, 0 for none.
func (m *Map) strips() int { return m.terms.stripCount() }

// combines returns an error if another map is not like m.
func (m *Map) combines(o *Map) error {
	switch {
	case o.strips() != m.strips():
		return fmt.Errorf("one map has %d strips, another %d: %w", m.strips(), o.strips(), ErrUnlikeMaps)
	case o.Range() != m.Range() || (o.plane.exact == nil) != (m.plane.exact == nil):
		return fmt.Errorf("the ranges of the maps are %+v and %+v: %w", m.Range(), o.Range(), ErrUnlikeMaps)
	}
	return nil
}

// stripCount returns how many strips' lifts a term holds, 0 for none.
func (p *mapTerms) stripCount() int {
	if p.strips == nil {
		return 0
	}
	return len(p.strips[0])
}

// add adds w times other terms. A map that was made from more nodes has more terms; those of the
// others are then 0.
func (p *mapTerms) add(w float64, o *mapTerms) {
	g := mapTerms{nh: max(p.nh, o.nh), np: max(p.np, o.np), rh: max(p.rh, o.rh), rp: max(p.rp, o.rp)}
	strips := max(p.stripCount(), o.stripCount())
	if g.nh != p.nh || g.np != p.np || g.rh != p.rh || g.rp != p.rp || strips != p.stripCount() {
		g.still = make([][withDerivatives]float64, g.nh*g.np)
		g.rates = make([][quantities - withDerivatives]float64, g.rh*g.rp)
		flat := make([]float64, g.rh*g.rp*strips)
		for i := range g.rh * g.rp {
			if strips > 0 {
				g.strips = append(g.strips, flat[i*strips:(i+1)*strips])
			}
		}
		g.sum(1, p)
		*p = g
	}
	p.sum(w, o)
}

// sum is add for terms that are no more.
func (p *mapTerms) sum(w float64, o *mapTerms) {
	for j := range o.nh {
		for k := range o.np {
			to, from := &p.still[j*p.np+k], &o.still[j*o.np+k]
			addTo(to[:], w, from[:])
		}
	}
	for j := range o.rh {
		for k := range o.rp {
			if o.rates != nil { // a LoadChange has none
				to, from := &p.rates[j*p.rp+k], &o.rates[j*o.rp+k]
				addTo(to[:], w, from[:])
			}
			if o.strips != nil {
				addTo(p.strips[j*p.rp+k], w, o.strips[j*o.rp+k])
			}
		}
	}
}

// clone returns terms of their own.
func (p *mapTerms) clone() mapTerms {
	var c mapTerms
	c.add(1, p)
	return c
}

// QuadraticWeights returns the weights by which the values of a function at 0, +1 and
// -1 give the parabola through them at x.
func QuadraticWeights(x float64) (at0, atPlus, atMinus float64) {
	return 1 - x*x, x * (x + 1) / 2, x * (x - 1) / 2
}

// BuildMapAs is BuildMap of the model's wings, with each clearance taken as another model's:
// at the height of the datum at which that craft has the clearance. The map returned is one of
// that other craft, with these loads. It serves small changes of the wings, for CombineMaps: how deep
// the lowest point lies may have a corner in the change, which the loads do not have. The wings of both have as many strips. It returns an error if an option is out of range, if a wing comes into
// the water, or if the context is cancelled.
func (m *Model) BuildMapAs(ctx context.Context, other *Model, o MapOptions) (*Map, error) {
	return m.buildMapAs(ctx, other, o)
}

// MoveTo returns the map with the same loads at the same height of the datum and the
// same pitch for a craft whose lowest points differ a little from the map's: the inverse
// of what [Model.BuildMapAs] does. Where the clearances of the new map reach below those of
// the old, it goes on from there; the two should not differ by more than a fraction of the least
// clearance. It returns an error that wraps ErrUnlikeMaps if the model has another number of strips.
func (m *Map) MoveTo(model *Model) (*Map, error) {
	if s := m.strips(); s != len(model.strips) && s != 0 {
		return nil, fmt.Errorf("the model has %d strips, the map %d: %w", len(model.strips), s, ErrUnlikeMaps)
	}
	out := *m
	out.model, out.kinks = model, model.low.kinks(m.opt.PitchMin, m.opt.PitchMax)
	return &out, nil
}

// addTo adds w times v to sum.
func addTo(sum []float64, w float64, v []float64) {
	v = v[:len(sum)]
	for i := range sum {
		sum[i] += w * v[i]
	}
}
