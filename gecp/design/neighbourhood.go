package design

import (
	"context"
	"errors"
	"math"
	"sync"

	"example.org/groundeffect/gecp"
)

// sample is what a changed craft answers; OK of all figures is false where Err is set.
type sample struct {
	figures [numAnswers]Figure
	err     error
}

// neighbourhood asks a craft's neighbours: the craft with one of its dimensions changed. A
// neighbour with the same wings has the craft's map. The map of one with wings changed by a step is the craft's
// own and what the change adds to it, which comes from the derivatives of the lattice with its shape, the wakes
// straight: what free wakes add is held as that of the craft itself. Of one changed further the change comes from
// solutions of both lattices, the wakes as they are.
type neighbourhood struct {
	model   *gecp.Model
	q       Question
	m       *gecp.Map // of the craft itself
	base    Answers
	changes map[string]gecp.LoadChange // by a step of a dimension of the wings
	few     gecp.MapOptions

	mu     sync.Mutex
	fewOwn *gecp.Map // of the craft itself, with few nodes; nil until it is needed
}

// roomBelow is the share of a craft's lowest clearance down to which its neighbours' maps
// reach, since they may rest lower on their floats.
const roomBelow = .6

// nearHeights and nearPitches are the nodes of the maps whose differences are what a change does.
const nearHeights, nearPitches = 5, 10

// nearTolerance keeps maps from taking more nodes than they are asked for.
const nearTolerance = .05

// nearOptions are those of a map with few nodes on the range of another.
func nearOptions(o gecp.MapOptions) gecp.MapOptions {
	o.Heights, o.Pitches, o.Tolerance = nearHeights, nearPitches, nearTolerance
	return o
}

// newNeighbourhood solves for the craft, and for what a step of each of the dimensions does to its
// loads.
func newNeighbourhood(ctx context.Context, model *gecp.Model, q Question, dims []Dimension) (*neighbourhood, error) {
	o := gecp.MapOptions{}
	r := model.MapRange()
	o.ClearanceMin, o.ClearanceMax, o.PitchMin, o.PitchMax = r.ClearanceMin*roomBelow, r.ClearanceMax, r.PitchMin, r.PitchMax
	n := &neighbourhood{model: model, q: q, changes: map[string]gecp.LoadChange{}}
	var err error
	if n.m, err = model.BuildMap(ctx, o); err != nil {
		// So close to the water the loads may not go on a map.
		o.ClearanceMin = r.ClearanceMin
		if n.m, err = model.BuildMap(ctx, o); err != nil {
			return nil, err
		}
	}
	if n.base, err = q.Ask(ctx, n.m); err != nil {
		return nil, err
	}
	o.ClearanceMin = n.m.Range().ClearanceMin
	n.few = nearOptions(o)
	if q.Reaction {
		return n, nil // it asks for loads by the rates, too
	}
	return n, n.findChanges(ctx, dims)
}

// tiny is the part of a step that the derivatives of the lattice are taken over.
const tiny = 1e-6

// findChanges fills in the changes of those dimensions that change a wing, where they are known.
func (n *neighbourhood) findChanges(ctx context.Context, dims []Dimension) error {
	c := n.model.Craft()
	var paths []string
	var all []gecp.WingChange
	for _, d := range dims {
		if wingOf(d.Path) < 0 {
			continue
		}
		// Either may not be a sound craft: a first tip plate, say, is not as small as that.
		w := gecp.WingChange{Part: tiny}
		w.Slight, _ = Set(c, d.Path, d.Value+tiny*d.Step)
		w.Whole, _ = Set(c, d.Path, d.Value+d.Step)
		paths, all = append(paths, d.Path), append(all, w)
	}
	changes, ok, err := n.m.LoadChanges(ctx, n.region(), all)
	if err != nil {
		return err
	}
	for i, path := range paths {
		if ok[i] {
			n.changes[path] = changes[i]
		}
	}
	return nil
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

// straightSteps is how many steps away the derivatives of the loads serve, and glanceSteps how many for a glance.
const straightSteps, glanceSteps = 1, 4

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
	return n.with(ctx, d, steps, func(c *gecp.Craft) (*gecp.Map, error) {
		model, err := gecp.NewModel(c, n.model.Mesh())
		if err != nil {
			return nil, err
		}
		model = model.WithWake(n.model.Wake())
		if l, ok := n.changes[d.Path]; ok && max(steps, -steps) <= straightSteps {
			return n.m.Changed(model, &l, float64(steps))
		}
		return n.solved(ctx, model)
	})
}

// glance is ask with less care: from the derivatives of the loads further away, and then from a coarse lattice
// with straight wakes.
func (n *neighbourhood) glance(ctx context.Context, d *Dimension, steps int) (Answers, error) {
	return n.with(ctx, d, steps, func(c *gecp.Craft) (*gecp.Map, error) {
		mesh := n.model.Mesh()
		l, ok := n.changes[d.Path]
		near := ok && max(steps, -steps) <= glanceSteps
		if !near {
			mesh = noFiner(mesh)
		}
		model, err := gecp.NewModel(c, mesh)
		if err != nil {
			return nil, err
		}
		if near {
			return n.m.Changed(model, &l, float64(steps))
		}
		return model.WithWake(gecp.WakeStraight).BuildMap(ctx, searchNodes(model))
	})
}

// with asks the craft with a dimension changed by so many steps, by a map that is made for it if it
// has other wings. It returns [gecp.Problems] if it is no sound craft.
func (n *neighbourhood) with(ctx context.Context, d *Dimension, steps int, make func(c *gecp.Craft) (*gecp.Map, error)) (Answers, error) {
	c, err := Set(n.model.Craft(), d.Path, d.Value+float64(steps)*d.Step)
	if err != nil {
		return Answers{}, err
	}
	m, err := n.m.For(c)
	if errors.Is(err, gecp.ErrOtherWings) {
		m, err = make(c)
	}
	if err != nil {
		return Answers{}, err
	}
	return n.q.Ask(ctx, m)
}

// solved returns the map of a changed craft from solutions of both lattices with few nodes.
func (n *neighbourhood) solved(ctx context.Context, model *gecp.Model) (*gecp.Map, error) {
	m, err := model.BuildMap(ctx, n.few)
	if err != nil {
		return nil, err
	}
	own, err := n.own(ctx)
	if err != nil {
		return nil, err
	}
	sum, err := model.CombineMaps([]float64{1, 1, -1}, []*gecp.Map{n.m, m, own})
	if errors.Is(err, gecp.ErrUnlikeMaps) { // its wings have another number of strips
		return m, nil
	}
	return sum, err
}

// own returns the map of the craft itself with few nodes, solved when it is first asked for.
func (n *neighbourhood) own(ctx context.Context) (*gecp.Map, error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	var err error
	if n.fewOwn == nil {
		n.fewOwn, err = n.model.BuildMap(ctx, n.few)
	}
	return n.fewOwn, err
}
