package gecp

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// ErrOtherPanels says that maps cannot be combined, for they do not have the same number
// of panels and strips and the same clearances and pitches, or the model's craft has
// another number of kinks.
var ErrOtherPanels = errors.New("the maps are not made of the same panels")

// CombineMaps returns a map for the model's craft whose loads are a weighted sum of the
// loads of other maps, each taken at the same clearance and at the same place between
// the kinks. With maps of a craft and of the same craft with one dimension changed a
// little up and down, and the weights of an interpolation in that dimension, this is the map of the
// craft with any small change of it, without the lattice: see [QuadraticWeights].
// The wings' lowest points and the kinks are those of the model's craft, exactly, and so
// is its correction.
//
// There are as many weights as maps, one or more; the weights are finite and sum to 1. The maps have the same
// range and the same number of panels and strips, and the model's craft has as many
// kinks; otherwise the error wraps ErrOtherPanels. [Map.Error] of the result is that of
// the first map: it does not know of what the sum leaves out.
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
	kinks := m.low.kinks(first.opt.PitchMin, first.opt.PitchMax)
	if len(kinks)+1 != len(first.panels) {
		return nil, fmt.Errorf("%q has %d kinks, the maps %d: %w", m.craft.Name, len(kinks), len(first.panels)-1, ErrOtherPanels)
	}
	for _, o := range maps[1:] {
		if err := first.combines(o); err != nil {
			return nil, err
		}
	}
	if s := len(first.strips()); s != len(m.strips) && s != 0 {
		return nil, fmt.Errorf("the model has %d strips, the maps %d: %w", len(m.strips), s, ErrOtherPanels)
	}
	out := &Map{model: m, opt: first.opt, clearances: first.clearances, err: first.err, panels: make([]mapPanel, len(first.panels))}
	for i := range out.panels {
		p := &out.panels[i]
		p.from, p.to = first.opt.PitchMin, first.opt.PitchMax
		if i > 0 {
			p.from = kinks[i-1]
		}
		if i < len(kinks) {
			p.to = kinks[i]
		}
		// A map that took more nodes has more terms; the others' are then 0.
		for _, o := range maps {
			q := &o.panels[i]
			p.nh, p.np, p.rh, p.rp = max(p.nh, q.nh), max(p.np, q.np), max(p.rh, q.rh), max(p.rp, q.rp)
		}
		p.still = make([][withDerivatives]float64, p.nh*p.np)
		p.rates = make([][quantities - withDerivatives]float64, p.rh*p.rp)
		if n := len(first.strips()); n > 0 {
			flat := make([]float64, p.rh*p.rp*n)
			for j := range p.rh * p.rp {
				p.strips = append(p.strips, flat[j*n:(j+1)*n])
			}
		}
		for k, o := range maps {
			if weights[k] != 0 {
				p.addScaled(weights[k], &o.panels[i])
			}
		}
	}
	return out, nil
}

// strips returns one term of the strips' lifts of the first panel; nil for none.
func (m *Map) strips() []float64 {
	if s := m.panels[0].strips; s != nil {
		return s[0]
	}
	return nil
}

// combines returns an error if the panels of another map are not like those of m.
func (m *Map) combines(o *Map) error {
	switch {
	case len(o.panels) != len(m.panels):
		return fmt.Errorf("one map has %d panels, another %d: %w", len(m.panels), len(o.panels), ErrOtherPanels)
	case len(o.strips()) != len(m.strips()):
		return fmt.Errorf("one map has %d strips, another %d: %w", len(m.strips()), len(o.strips()), ErrOtherPanels)
	case o.clearances != m.clearances || o.opt.PitchMin != m.opt.PitchMin || o.opt.PitchMax != m.opt.PitchMax:
		return fmt.Errorf("the ranges of the maps are %+v and %+v: %w", m.Range(), o.Range(), ErrOtherPanels)
	}
	return nil
}

// addScaled adds w times the terms of another panel, which has as many terms or fewer.
func (p *mapPanel) addScaled(w float64, o *mapPanel) {
	for j := range o.nh {
		for k := range o.np {
			to, from := &p.still[j*p.np+k], &o.still[j*o.np+k]
			for q := range to {
				to[q] += w * from[q]
			}
		}
	}
	for j := range o.rh {
		for k := range o.rp {
			to, from := &p.rates[j*p.rp+k], &o.rates[j*o.rp+k]
			for q := range to {
				to[q] += w * from[q]
			}
			if p.strips == nil {
				continue
			}
			s := p.strips[j*p.rp+k]
			for i, c := range o.strips[j*o.rp+k] {
				s[i] += w * c
			}
		}
	}
}

// QuadraticWeights returns the weights by which the values of a function at 0, +1 and
// -1 give the parabola through them at x.
func QuadraticWeights(x float64) (at0, atPlus, atMinus float64) {
	return 1 - x*x, x * (x + 1) / 2, x * (x - 1) / 2
}

// BuildMapAs is BuildMap of the model's wings, with each clearance taken as another model's:
// at the height of the datum at which that craft has the clearance. The map returned is one of
// that other craft, with these loads. It serves changes that do not move what the wings hang
// on, such as a twist, for CombineMaps: the lowest point may then jump from one section to
// another without a corner in the loads. The wings of both have as many strips. It returns an error if an option is out of range, if a wing comes into
// the water, or if the context is cancelled.
func (m *Model) BuildMapAs(ctx context.Context, other *Model, o MapOptions) (*Map, error) {
	return m.buildMapAs(ctx, other, o)
}

// MoveTo returns the map with the same loads at the same height of the datum and the
// same pitch for a craft whose lowest points differ a little from the map's: the inverse
// of what [Model.BuildMapAs] does. Where the clearances of the new map reach below those of
// the old, it goes on from there; the two should not differ by more than a fraction of the least
// clearance. It returns an error that wraps ErrOtherPanels if the model has another number of strips.
func (m *Map) MoveTo(model *Model) (*Map, error) { return m.moveTo(model, nil, 0) }

// moveTo is MoveTo with the loads changed by so much of a change, if there is one.
func (m *Map) moveTo(model *Model, change *LoadChange, by float64) (*Map, error) {
	if s := len(m.strips()); s != len(model.strips) && s != 0 {
		return nil, fmt.Errorf("the model has %d strips, the map %d: %w", len(model.strips), s, ErrOtherPanels)
	}
	out := *m
	out.model, out.panels = model, nil
	edges := append([]float64{m.opt.PitchMin}, model.low.kinks(m.opt.PitchMin, m.opt.PitchMax)...)
	edges = append(edges, m.opt.PitchMax)
	terms := mapPanel{}
	for i := range m.panels {
		p := &m.panels[i]
		terms.nh, terms.np, terms.rh, terms.rp = max(terms.nh, p.nh), max(terms.np, p.np), max(terms.rh, p.rh), max(terms.rp, p.rp)
	}
	for i := 1; i < len(edges); i++ {
		p := terms
		p.from, p.to = edges[i-1], edges[i]
		m.interpolate(&p, model.low, change, by)
		out.panels = append(out.panels, p)
	}
	return &out, nil
}

// interpolate fills in the terms of a panel, whose edges and numbers of terms are given,
// by interpolation of the map, changed by so much of a change, at Chebyshev's nodes; low tells what
// the panel's clearances are.
func (m *Map) interpolate(p *mapPanel, low *LowestPoints, change *LoadChange, by float64) {
	r := reexpansion{m: m, low: low, change: change, by: by}
	p.still = make([][withDerivatives]float64, p.nh*p.np)
	r.fill(p, p.nh, p.np, withDerivatives, 0, func(i int) []float64 { return p.still[i][:] },
		func(old *mapPanel) (nh, np int, term func(i int) []float64) {
			return old.nh, old.np, func(i int) []float64 { return old.still[i][:] }
		})
	p.rates = make([][quantities - withDerivatives]float64, p.rh*p.rp)
	r.fill(p, p.rh, p.rp, quantities-withDerivatives, unchanged, func(i int) []float64 { return p.rates[i][:] },
		func(old *mapPanel) (nh, np int, term func(i int) []float64) {
			return old.rh, old.rp, func(i int) []float64 { return old.rates[i][:] }
		})
	n := len(m.strips())
	if n == 0 {
		return
	}
	flat := make([]float64, p.rh*p.rp*n)
	for i := range p.rh * p.rp {
		p.strips = append(p.strips, flat[i*n:(i+1)*n])
	}
	r.fill(p, p.rh, p.rp, n, withDerivatives, func(i int) []float64 { return p.strips[i] },
		func(old *mapPanel) (nh, np int, term func(i int) []float64) {
			return old.rh, old.rp, func(i int) []float64 { return old.strips[i] }
		})
}

// reexpansion takes the terms of a map's panels to other panels.
type reexpansion struct {
	m      *Map
	low    *LowestPoints // of the craft of the new panels
	change *LoadChange   // that the loads are changed by; may be nil
	by     float64
}

// unchanged marks quantities that a LoadChange does not have.
const unchanged = -1

// fill fills in the nh by np terms of n quantities of a new panel, which are 0, by interpolation at as many of
// Chebyshev's nodes; old gives the terms of the same quantities in a panel of the map, and first is the number of the
// first of them in a LoadChange.
func (r *reexpansion) fill(p *mapPanel, nh, np, n, first int, term func(i int) []float64, old func(*mapPanel) (nh, np int, term func(i int) []float64)) {
	var s, t, v, w [maxCoef]float64
	along := make([]float64, maxCoef*n) // terms in height of the map, at one pitch
	column := make([]float64, nh*n)     // and of the new panel
	at := make([]float64, n)
	var shift float64
	if r.change != nil {
		shift = r.by * r.change.shift
	}
	clearances := &r.m.clearances
	for k := range np {
		y := math.Cos(math.Pi * (float64(k) + .5) / float64(np))
		pitch := p.from + (y+1)/2*(p.to-p.from)
		pan := r.m.panel(pitch)
		oldNH, oldNP, oldTerm := old(pan)
		chebyshev(pan.scale(pitch), t[:max(2, oldNP)], nil)
		chebyshev(y, w[:max(2, np)], nil)
		clear(along)
		for a := range oldNH {
			for b := range oldNP {
				addTo(along[a*n:(a+1)*n], t[b], oldTerm(a*oldNP+b))
			}
		}
		down := r.low.At(pitch).Depth - r.m.model.low.At(pitch).Depth - shift
		clear(column)
		for j := range nh {
			x := math.Cos(math.Pi * (float64(j) + .5) / float64(nh))
			// Not nearer to the water than where the logarithm ends.
			place, _ := clearances.to(math.Max(clearances.from(x)+down, -.9*clearances.shift))
			chebyshev(place, s[:max(changeHeights, oldNH)], nil)
			chebyshev(x, v[:max(2, nh)], nil)
			clear(at)
			for a := range oldNH {
				addTo(at, s[a], along[a*n:(a+1)*n])
			}
			if r.change != nil && first != unchanged {
				r.change.add(at, first, r.by, s[:], pitch)
			}
			for a := range nh {
				addTo(column[a*n:(a+1)*n], v[a]*transformWeight(a, nh), at)
			}
		}
		for a := range nh {
			for b := range np {
				addTo(term(a*np+b), w[b]*transformWeight(b, np), column[a*n:(a+1)*n])
			}
		}
	}
}

// transformWeight is the weight of a node in the term of a degree, of n nodes in Chebyshev's transform.
func transformWeight(degree, n int) float64 {
	if degree == 0 {
		return 1 / float64(n)
	}
	return 2 / float64(n)
}

// addTo adds w times v to sum.
func addTo(sum []float64, w float64, v []float64) {
	v = v[:len(sum)]
	for i := range sum {
		sum[i] += w * v[i]
	}
}
