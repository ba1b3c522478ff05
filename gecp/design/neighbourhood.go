package design

import (
	"context"
	"errors"
	"math"
	"sync"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/parallel"
)

// sample is what a changed craft answers; OK of all figures is false where Err is set.
type sample struct {
	figures [numAnswers]Figure
	err     error
}

// neighbourhood asks a craft's neighbours: the craft with one of its dimensions changed. A
// neighbour with the same wings has the craft's map. The map of one with wings changed by a step is the craft's
// own and what the change adds to it, which comes from the derivatives of the lattice with its shape; of
// one changed further the change comes from solutions of both lattices. What free wakes add is in all of them
// that of the craft itself.
type neighbourhood struct {
	model   *gecp.Model
	q       Question
	m       *gecp.Map // of the craft itself
	base    Answers
	changes map[string]gecp.LoadChange // by a step of a dimension of the wings
	few     gecp.MapOptions
	near    func() (*gecp.Map, error) // of the craft itself, with few nodes and straight wakes
}

// roomBelow is the share of a craft's lowest clearance down to which its neighbours' maps
// reach, since they may rest lower on their floats.
const roomBelow = .6

// nearHeights and nearPitches are the nodes of the maps whose differences are what a change of
// several steps does; nearTolerance keeps them from taking more.
const (
	nearHeights, nearPitches = 5, 8
	nearTolerance            = .05
)

// newNeighbourhood solves for the craft, and for what a step of each of the dimensions does to its
// loads.
func newNeighbourhood(ctx context.Context, model *gecp.Model, q Question, dims []Dimension) (*neighbourhood, error) {
	o := gecp.MapOptions{}
	r := model.MapRange()
	o.ClearanceMin, o.ClearanceMax, o.PitchMin, o.PitchMax = r.ClearanceMin*roomBelow, r.ClearanceMax, r.PitchMin, r.PitchMax
	n := &neighbourhood{model: model, q: q, changes: map[string]gecp.LoadChange{}}
	var err error
	if n.m, err = model.BuildMap(ctx, o); err != nil {
		return nil, err
	}
	if n.base, err = q.Ask(ctx, n.m); err != nil {
		return nil, err
	}
	n.few = o
	n.few.ClearanceMin = n.m.Range().ClearanceMin
	n.few.Heights, n.few.Pitches, n.few.Tolerance = nearHeights, nearPitches, nearTolerance
	n.near = sync.OnceValues(func() (*gecp.Map, error) {
		straight, err := model.WithWake(gecp.WakeStraight)
		if err != nil {
			return nil, err
		}
		return straight.BuildMap(ctx, n.few)
	})
	if q.Reaction {
		return n, nil // it asks for loads by the rates, too
	}
	return n, n.findChanges(ctx, dims)
}

// tiny is the part of a step that the derivatives of the lattice are taken over.
const tiny = 1e-6

// findChanges fills in the changes of those dimensions that change a wing, where they are known.
func (n *neighbourhood) findChanges(ctx context.Context, dims []Dimension) error {
	r := n.region()
	c := n.model.Craft()
	var small, whole []Dimension // of which the derivative is known, and of which not
	var near []gecp.WingChange
	for _, d := range dims {
		if wingOf(d.Path) < 0 {
			continue
		}
		changed, err := Set(c, d.Path, d.Value+tiny*d.Step)
		if err != nil { // as a first tip plate, which is not as small as that
			whole = append(whole, d)
			continue
		}
		small = append(small, d)
		near = append(near, gecp.WingChange{Craft: changed, By: tiny})
	}
	changes, ok, err := n.m.LoadChanges(ctx, r, near)
	if err != nil {
		return err
	}
	for i, d := range small {
		if ok[i] {
			n.changes[d.Path] = changes[i]
		} else {
			whole = append(whole, d)
		}
	}
	var mu sync.Mutex
	return parallel.Each(ctx, len(whole), func(i int) error {
		d := &whole[i]
		far, err := Set(c, d.Path, d.Value+d.Step)
		if err != nil {
			return nil
		}
		l, err := n.m.LoadDifference(ctx, r, gecp.WingChange{Craft: far, By: 1})
		if err == nil {
			mu.Lock()
			defer mu.Unlock()
			n.changes[d.Path] = l
		}
		return ctx.Err()
	})
}

// regionTop is the highest clearance at which changes of the loads are solved for, m; and
// regionPitch how far to both sides of the pitches at which the craft is towed, rad.
const (
	regionTop   = 1.5
	regionTrims = .6
	regionPitch = 4 * math.Pi / 180
)

// region returns the clearances and pitches at which changes of the loads are looked at.
func (n *neighbourhood) region() gecp.MapRange {
	r := n.m.Range()
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, s := range n.base.Range.Curve.States {
		if s.Clearance <= regionTrims {
			lo, hi = math.Min(lo, s.Pitch), math.Max(hi, s.Pitch)
		}
	}
	if lo > hi {
		lo, hi = 0, 0
	}
	r.ClearanceMax = math.Min(r.ClearanceMax, regionTop)
	r.PitchMin, r.PitchMax = math.Max(r.PitchMin, lo-regionPitch), math.Min(r.PitchMax, hi+regionPitch)
	return r
}

// straightSteps is how many steps away the derivatives of the loads serve.
const straightSteps = 1

// at asks the craft with a dimension changed by so many steps. Only a cancelled context is an error; a
// craft that cannot be calculated is a sample without figures.
func (n *neighbourhood) at(ctx context.Context, d *Dimension, steps int) (sample, error) {
	a, err := n.ask(ctx, d, steps)
	if ctx.Err() != nil {
		return sample{}, ctx.Err()
	}
	return sample{a.Figures, err}, nil
}

func (n *neighbourhood) ask(ctx context.Context, d *Dimension, steps int) (Answers, error) {
	c, err := Set(n.model.Craft(), d.Path, d.Value+float64(steps)*d.Step)
	if err != nil {
		return Answers{}, err
	}
	m, err := n.m.For(c)
	if errors.Is(err, gecp.ErrOtherWings) {
		m, err = n.mapOf(ctx, c, d, steps)
	}
	if err != nil {
		return Answers{}, err
	}
	return n.q.Ask(ctx, m)
}

// mapOf returns the map of a neighbour with other wings.
func (n *neighbourhood) mapOf(ctx context.Context, c *gecp.Craft, d *Dimension, steps int) (*gecp.Map, error) {
	model, err := gecp.NewModel(c, n.model.Mesh())
	if err != nil {
		return nil, err
	}
	if l, ok := n.changes[d.Path]; ok && max(steps, -steps) <= straightSteps {
		return n.m.Changed(model, &l, float64(steps))
	}
	return n.solved(ctx, model)
}

// solved is mapOf from solutions of the lattice.
func (n *neighbourhood) solved(ctx context.Context, model *gecp.Model) (*gecp.Map, error) {
	straight, err := model.WithWake(gecp.WakeStraight)
	if err != nil {
		return nil, err
	}
	m, err := straight.BuildMap(ctx, n.few)
	if err != nil {
		return nil, err
	}
	near, err := n.near()
	if err != nil {
		return nil, err
	}
	sum, err := model.CombineMaps([]float64{1, 1, -1}, []*gecp.Map{n.m, m, near})
	if errors.Is(err, gecp.ErrOtherPanels) { // its lowest points change otherwise with the pitch
		return m, nil
	}
	return sum, err
}
