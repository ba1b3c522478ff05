package design

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sync/atomic"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/parallel"
)

// SensitivityOptions choose what FindSensitivities looks at. Zero values stand for the defaults named.
type SensitivityOptions struct {
	Question Question
	Mesh     gecp.Mesh
	// Details takes in the stations of the wings one by one.
	Details bool
	// Rank is the answer by which the dimensions are ranked; AnswerWindow where the craft has one,
	// or else the height to let go, or else the first that it has. Ranked tells that Rank is given.
	Rank   Answer
	Ranked bool
	// Far is of how many dimensions, the first by rank, it is looked for how far the straight line
	// holds; 3. A negative number is none.
	Far int
	// Progress is told the part done, 0..1, from one goroutine at a time; it may be nil.
	Progress func(part float64)
}

// Sensitivities are what each dimension of a craft does to its answers.
type Sensitivities struct {
	Craft   *gecp.Craft
	Options SensitivityOptions // with the defaults filled in
	Base    Answers            // of the craft as it is
	// Dimensions stand in the order of the craft file.
	Dimensions []Sensitivity
	near       *neighbourhood
}

// Sensitivity is what one dimension does.
type Sensitivity struct {
	Dimension
	Effects [numAnswers]Effect
	// Far tells that it was looked for how far the straight lines hold.
	Far bool
	// Err is why there are no effects: a step either way makes no craft that can be calculated.
	Err error
}

// Effect is the change of an answer with a dimension.
type Effect struct {
	PerStep float64 // in the SI unit of the answer, for a step that makes the dimension larger
	OK      bool    // whether the craft has the answer, and with a step one way at least
	// OneSided marks an effect of which only one way is known: the other way the answer or the craft
	// ceases to be.
	OneSided bool
	// Bends marks an effect that differs between the two ways by more than the line may be off:
	// something else ends the range or the window there.
	Bends bool
	// Straight is up to how many steps, either way or the one that is known, the straight line
	// was found to hold: there the change differs by a fifth of it at most, or by less than
	// anyone can see; 0 if not even for one, or if Sensitivity.Far is false.
	Straight int
	way      int // of a one-sided effect: 1 with the dimension larger, -1 smaller
}

const (
	lineOff = .2 // share of a change by which it may differ from the straight line
	maxFar  = 16
)

// farSteps are how many steps away the straight line is looked at.
func farSteps() []int { return []int{2, 4, 8, maxFar} }

// unseen is the difference of each answer that nobody sees, in SI units: the figures' own
// resolution and the last digit shown.
func (a Answer) unseen() float64 {
	switch a {
	case AnswerLiftOff, AnswerWindow:
		return .02
	case AnswerPull:
		return .5
	case AnswerReaction:
		return .02
	}
	return 1e-3
}

func (o *SensitivityOptions) fill() error {
	if o.Mesh == (gecp.Mesh{}) {
		o.Mesh = gecp.DefaultMesh()
	}
	o.Far = max(0, cmp.Or(o.Far, 3))
	o.Progress = rising(o.Progress)
	stream, err := gecp.Freestream{Speed: o.Question.Speed, Density: o.Question.Density}.Checked()
	if err != nil {
		return err
	}
	o.Question.Density = stream.Density
	if o.Ranked && (o.Rank < 0 || o.Rank >= numAnswers || o.Rank == AnswerReaction && !o.Question.Reaction) {
		return fmt.Errorf("the dimensions cannot be ranked by %d, which is not asked for", o.Rank)
	}
	o.Question.Rules, err = o.Question.Rules.Checked()
	return err
}

// FindSensitivities finds what each dimension does: the answers of the craft with the
// dimension one step larger and one step smaller. What a step of a wing's dimension does to the loads comes from the
// derivatives of the lattice with its shape, to first order; where it changes the strips, as a first tip plate does, from
// solutions of the lattice. With the reaction asked for, all are solved. What free wakes add is held as that of the craft
// itself; where they follow, changes of heights may be half or twice as large. Where one way does not go the other stands for both. It returns [gecp.Problems] if
// the craft fails Check or lacks weights or tow, an error if an option is out of range or the craft
// itself cannot be calculated, and the context's if it is cancelled.
func FindSensitivities(ctx context.Context, c *gecp.Craft, o SensitivityOptions) (Sensitivities, error) {
	s, err := findSensitivities(ctx, c, o)
	if ctx.Err() != nil {
		err = ctx.Err()
	}
	if err != nil {
		return Sensitivities{}, err
	}
	return s, nil
}

func findSensitivities(ctx context.Context, c *gecp.Craft, o SensitivityOptions) (Sensitivities, error) {
	if err := o.fill(); err != nil {
		return Sensitivities{}, err
	}
	model, err := gecp.NewModel(c, o.Mesh)
	if err != nil {
		return Sensitivities{}, err
	}
	if err := c.Require(gecp.BlockWeights, gecp.BlockTow); err != nil {
		return Sensitivities{}, err
	}
	s := Sensitivities{Craft: model.Craft(), Options: o}
	var dims []Dimension
	for _, d := range Dimensions(s.Craft) {
		if d.Detail && !o.Details || d.Motion && !o.Question.Reaction {
			continue
		}
		dims = append(dims, d)
		s.Dimensions = append(s.Dimensions, Sensitivity{Dimension: d})
	}
	near, err := newNeighbourhood(ctx, model, o.Question, dims)
	if err != nil {
		return Sensitivities{}, err
	}
	s.Base, s.near = near.base, near
	// Both ways of each dimension, and then some further away.
	far := min(o.Far, len(s.Dimensions)) * 2 * len(farSteps())
	total := 2*len(s.Dimensions) + far
	var done atomic.Int64
	err = parallel.Each(ctx, len(s.Dimensions), func(i int) error {
		defer func() { o.Progress(float64(done.Add(2)) / float64(total)) }()
		return s.Dimensions[i].ask(ctx, near)
	})
	if err != nil {
		return Sensitivities{}, err
	}
	s.chooseRank()
	ranked := s.By(s.Options.Rank)
	ranked = ranked[:min(o.Far, len(ranked))]
	ladder := farSteps()
	further := make([][2]sample, len(ranked)*len(ladder))
	err = parallel.Each(ctx, 2*len(further), func(i int) (err error) {
		steps := ladder[i/2%len(ladder)]
		defer func() { o.Progress(float64(done.Add(1)) / float64(total)) }()
		d := &ranked[i/2/len(ladder)].Dimension
		further[i/2][i%2], err = near.at(ctx, d, (2*(i%2)-1)*steps)
		return err
	})
	if err != nil {
		return Sensitivities{}, err
	}
	for i, r := range ranked {
		r.straighten(sample{figures: near.base.Figures}, ladder, further[i*len(ladder):(i+1)*len(ladder)])
	}
	return s, nil
}

// ask works out the effects by asking the neighbours of a craft.
func (s *Sensitivity) ask(ctx context.Context, n *neighbourhood) (err error) {
	var sides [2]sample
	for i := range sides {
		if sides[i], err = n.at(ctx, &s.Dimension, 2*i-1); err != nil {
			return err
		}
	}
	s.fill(sides[0], sample{figures: n.base.Figures}, sides[1])
	return nil
}

// fill works out the effects from the craft with the dimension a step smaller, as it is, and a step
// larger.
func (s *Sensitivity) fill(smaller, base, larger sample) {
	if smaller.err != nil && larger.err != nil {
		s.Err = larger.err
		return
	}
	for a := range numAnswers {
		s.Effects[a] = effect(a, smaller.figures[a], base.figures[a], larger.figures[a])
	}
}

// effect returns the effect of one step on an answer.
func effect(a Answer, smaller, base, larger Figure) Effect {
	if !base.OK || !smaller.OK && !larger.OK {
		return Effect{}
	}
	down, up := base.Value-smaller.Value, larger.Value-base.Value
	switch {
	case !larger.OK:
		return Effect{PerStep: down, OK: true, OneSided: true, way: -1}
	case !smaller.OK:
		return Effect{PerStep: up, OK: true, OneSided: true, way: 1}
	}
	e := Effect{PerStep: (down + up) / 2, OK: true}
	e.Bends = math.Abs(up-down)/2 > lineOff*math.Abs(e.PerStep)+a.unseen()
	return e
}

// straighten finds how far the straight lines hold, from crafts further away: at each rung of
// a ladder, that with the dimension smaller and that with it larger.
func (s *Sensitivity) straighten(base sample, ladder []int, further [][2]sample) {
	s.Far = true
	for a := range numAnswers {
		e := &s.Effects[a]
		if !e.OK || e.Bends {
			continue
		}
		e.Straight = 1
		for i, steps := range ladder {
			if !e.holds(a, base.figures[a], float64(steps), further[i]) {
				break
			}
			e.Straight = steps
		}
	}
}

// holds reports whether the straight line tells the answer so many steps away, both ways or
// the one that is known.
func (e *Effect) holds(a Answer, base Figure, steps float64, far [2]sample) bool {
	for i, f := range far {
		way := 2*i - 1
		if e.way == -way {
			continue
		}
		v := f.figures[a]
		line := e.PerStep * steps * float64(way)
		if !v.OK || math.Abs(v.Value-base.Value-line) > lineOff*math.Abs(line)+a.unseen() {
			return false
		}
	}
	return true
}

// chooseRank fills in the answer to rank by where none is given.
func (s *Sensitivities) chooseRank() {
	if s.Options.Ranked {
		return
	}
	for _, a := range []Answer{AnswerWindow, AnswerLetGo, AnswerSelfHolding, AnswerLiftOff, AnswerReach, AnswerPull} {
		if s.Base.Figures[a].OK {
			s.Options.Rank, s.Options.Ranked = a, true
			return
		}
	}
}

// By returns the dimensions ranked by what a step of each does to an answer, the largest change
// first, those without an effect on it last.
func (s *Sensitivities) By(a Answer) []*Sensitivity {
	ranked := make([]*Sensitivity, len(s.Dimensions))
	for i := range s.Dimensions {
		ranked[i] = &s.Dimensions[i]
	}
	size := func(d *Sensitivity) float64 {
		if !d.Effects[a].OK {
			return -1
		}
		return math.Abs(d.Effects[a].PerStep)
	}
	slices.SortStableFunc(ranked, func(x, y *Sensitivity) int { return cmp.Compare(size(y), size(x)) })
	return ranked
}
