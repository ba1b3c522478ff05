package design

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync/atomic"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/gecp/units"
)

// AdviceOptions choose what is advised. Zero values stand for the defaults named.
type AdviceOptions struct {
	// LeastWindow is the narrowest speed window that a boat can hold, m/s; 4 km/h. A chosen
	// figure, for the owner of a boat to change. It is not asked of a craft without pilot or floats.
	LeastWindow float64
	Changes     int // how many to name; 3
	MaxSteps    int // how many steps of a dimension to go at most; 32, up to 256
	// Progress is told the part of the longest search that is done, 0..1, from one goroutine at a time; it may
	// be nil. The search ends as soon as it has enough.
	Progress func(part float64)
}

// Advice is what would give a craft a height to tow it at and a speed window that a boat can
// hold.
type Advice struct {
	Options AdviceOptions // with the defaults filled in
	// Needed is false for a craft that has both; there are then no changes.
	Needed bool
	// Changes are the smallest of a single dimension, counted in steps that a builder makes, the
	// smallest first; fewer than asked for where no more were found up to MaxSteps.
	Changes []Change
}

// Change is a change of one dimension that gives a craft what it lacks.
type Change struct {
	Dimension
	Steps   int         // that it is larger; below 0 smaller
	Craft   *gecp.Craft // as changed
	Answers Answers     // of the changed craft, by a full solution
}

// By returns the change of the dimension, in its unit of the craft file.
func (c *Change) By() float64 { return float64(c.Steps) * c.Step }

func (o *AdviceOptions) fill() error {
	o.LeastWindow = cmp.Or(o.LeastWindow, 4*units.KMH)
	o.Changes = cmp.Or(o.Changes, 3)
	o.MaxSteps = cmp.Or(o.MaxSteps, 32)
	o.Progress = rising(o.Progress)
	switch {
	case !(o.LeastWindow > 0 && o.LeastWindow <= 30):
		return fmt.Errorf("the narrowest speed window that a boat can hold is %v m/s; give one above 0 and up to 30 m/s", o.LeastWindow)
	case o.Changes < 0:
		return fmt.Errorf("%d changes are asked for; give 1 or more", o.Changes)
	case o.MaxSteps < 1 || o.MaxSteps > 256:
		return fmt.Errorf("a dimension may go %d steps; give 1 to 256", o.MaxSteps)
	}
	return nil
}

// Holds reports whether a craft has a height to tow it at and, with pilot and floats, a
// speed window at least so wide, m/s.
func (a *Answers) Holds(leastWindow float64) bool {
	if !a.Range.OK {
		return false
	}
	return a.Range.Tow.Craft().Require(gecp.BlockPilot, gecp.BlockFloats) != nil || a.Figures[AnswerWindow].OK && a.Figures[AnswerWindow].Value >= leastWindow
}

// direction is a dimension and the way it goes.
type direction struct {
	d   *Sensitivity
	way int // 1 larger, -1 smaller
	// near is how many steps the straight line asks for; 0 where it tells nothing.
	near   float64
	looked int  // steps, the most that it was looked at
	tried  int  // steps, the most that it was solved and did not hold
	dead   bool // it makes no sound craft any more
	// steps is the least number found, 0 for none.
	steps int
	// proven is that a full solution was asked, change what it gave: nil for none that holds.
	proven bool
	change *Change
}

// mayBeWrong is by how much the straight line may be wrong for a dimension still to be looked at.
const mayBeWrong = 3

// glanceShare is the share of the window asked for that a craft must show at a glance to be solved.
const glanceShare = .5

// Advise looks for the smallest changes of a single dimension that give the craft what it
// lacks: a height to tow it at, and a speed window that a boat can hold. All dimensions go
// further in steps of a builder, one, two, four and so on; one of which the straight line says
// that it lies more than three times further off waits, until it is near, or until the others
// do not give enough. Each is looked at roughly, by the derivatives of the lattice for few steps and by a coarse
// lattice for many; where that shows half of the window asked for, it is solved, and each change named
// was proven by the full map. It returns an error if an option is out of range, if s does not come from
// FindSensitivities, if the craft cannot be calculated, and the context's if it is cancelled.
func (s *Sensitivities) Advise(ctx context.Context, o AdviceOptions) (Advice, error) {
	a, err := s.advise(ctx, o)
	if ctx.Err() != nil {
		err = ctx.Err()
	}
	if err != nil {
		return Advice{}, err
	}
	return a, nil
}

func (s *Sensitivities) advise(ctx context.Context, o AdviceOptions) (Advice, error) {
	if err := o.fill(); err != nil {
		return Advice{}, err
	}
	a := Advice{Options: o, Needed: !s.Base.Holds(o.LeastWindow)}
	if !a.Needed {
		return a, nil
	}
	if s.near == nil {
		return Advice{}, errors.New("there are no sensitivities to advise from; FindSensitivities finds them")
	}
	q := &quest{s: s, least: o.LeastWindow}
	ways := s.directions(o.LeastWindow)
	rungs := 1
	for n := 1; n < o.MaxSteps; n *= 2 {
		rungs++
	}
	var done atomic.Int64
	tell := func() { o.Progress(float64(done.Add(1)) / float64(2*rungs*len(ways))) }
	// The straight line is no judge of what does not hold: where it leaves too few, all are looked at.
	for _, trust := range []bool{true, false} {
		for n := 1; len(a.Changes) < o.Changes; n = min(2*n, o.MaxSteps) {
			err := parallel.Each(ctx, len(ways), func(i int) error {
				defer tell()
				if trust && ways[i].near > mayBeWrong*float64(n) {
					return nil
				}
				return q.climb(ctx, ways[i], n)
			})
			if err != nil {
				return Advice{}, err
			}
			if a.Changes, err = q.changes(ctx, ways, o.Changes); err != nil {
				return Advice{}, err
			}
			if n == o.MaxSteps {
				break
			}
		}
	}
	o.Progress(1)
	return a, nil
}

// directions returns each dimension both ways, with what the straight line says.
func (s *Sensitivities) directions(leastWindow float64) []*direction {
	var all []*direction
	for i := range s.Dimensions {
		d := &s.Dimensions[i]
		if d.Motion || d.Err != nil {
			continue
		}
		for _, way := range []int{1, -1} {
			c := &direction{d: d, way: way}
			// Where the craft has a range and lacks only width, the change of width tells how far to go.
			if e := d.Effects[AnswerWindow]; s.Base.Range.OK && s.Base.Figures[AnswerWindow].OK && e.OK {
				gain := e.PerStep * float64(way)
				c.near = math.Inf(1)
				if gain > 0 {
					c.near = (leastWindow - s.Base.Figures[AnswerWindow].Value) / gain
				}
			}
			all = append(all, c)
		}
	}
	return all
}

// quest asks changed craft whether they hold.
type quest struct {
	s     *Sensitivities
	least float64
}

// climb looks at a direction n steps away, and if it holds there finds the least number of steps
// since it was solved last.
func (q *quest) climb(ctx context.Context, c *direction, n int) error {
	if c.dead || c.steps > 0 || c.looked >= n {
		return nil
	}
	c.looked = n
	a, err := q.s.near.glance(ctx, &c.d.Dimension, c.way*n)
	var unsound gecp.Problems
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err != nil:
		c.dead = errors.As(err, &unsound)
		return nil
	case !a.Holds(glanceShare * q.least):
		return nil
	}
	holds, err := q.holds(ctx, c, n)
	if err != nil {
		return err
	}
	if !holds {
		c.tried = n
		return nil
	}
	lo, hi := c.tried, n // does not hold, holds
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if holds, err = q.holds(ctx, c, mid); err != nil {
			return err
		}
		if holds {
			hi = mid
		} else {
			lo = mid
		}
	}
	c.steps = hi
	return nil
}

// value returns where the dimension stands after so many steps.
func (c *direction) value(steps int) float64 {
	return c.d.Value + float64(c.way*steps)*c.d.Step
}

// holds reports whether the craft holds after so many steps, solved as the neighbours are.
func (q *quest) holds(ctx context.Context, c *direction, steps int) (bool, error) {
	a, err := q.s.near.ask(ctx, &c.d.Dimension, c.way*steps)
	if ctx.Err() != nil {
		return false, ctx.Err()
	}
	return err == nil && a.Holds(q.least), nil
}

// ask asks a craft in full.
func (q *quest) ask(ctx context.Context, craft *gecp.Craft) (Answers, error) {
	model, err := gecp.NewModel(craft, q.s.Options.Mesh)
	if err != nil {
		return Answers{}, err
	}
	m, err := model.BuildMap(ctx, gecp.MapOptions{})
	if err != nil {
		return Answers{}, err
	}
	return q.s.Options.Question.Ask(ctx, m)
}

// changes returns the smallest of the changes found so far, each proven by a full solution.
func (q *quest) changes(ctx context.Context, ways []*direction, most int) ([]Change, error) {
	var found []*direction
	for _, c := range ways {
		if c.steps > 0 {
			found = append(found, c)
		}
	}
	slices.SortStableFunc(found, func(a, b *direction) int { return a.steps - b.steps })
	var out []Change
	for _, c := range found {
		if len(out) == most {
			break
		}
		if err := q.prove(ctx, c); err != nil {
			return nil, err
		}
		if c.change != nil {
			out = append(out, *c.change)
		}
	}
	slices.SortStableFunc(out, func(a, b Change) int { return max(a.Steps, -a.Steps) - max(b.Steps, -b.Steps) })
	return out, nil
}

// prove asks full solutions for the change found, once for a direction: from its steps on, one by one as far
// again at most, until one holds.
func (q *quest) prove(ctx context.Context, c *direction) error {
	if c.proven {
		return nil
	}
	for steps := c.steps; steps <= 2*c.steps; steps++ {
		craft, err := Set(q.s.Craft, c.d.Path, c.value(steps))
		if err != nil {
			break
		}
		a, err := q.ask(ctx, craft)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err == nil && a.Holds(q.least) {
			c.change = &Change{Dimension: c.d.Dimension, Steps: c.way * steps, Craft: craft, Answers: a}
			break
		}
	}
	c.proven = true
	return nil
}
