package gecp

import (
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
