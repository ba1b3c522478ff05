package design

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/optimize"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/gecp/tow"
)

// Goal is what a craft is improved for.
type Goal int

// The goals.
const (
	WidestWindow Goal = iota // the widest speed window with the pilot in the middle of the travel
	LeastTravel              // the least travel of the pilot from the lowest clearance held up to the one required
	HighestLetGo             // the highest let-go height, the builder's own limit left out
	numGoals
)

// ParseGoal returns the goal of a name: window, travel or let_go.
func ParseGoal(name string) (Goal, error) {
	for g := range numGoals {
		if g.String() == name {
			return g, nil
		}
	}
	return 0, fmt.Errorf("%q is no goal; give window, travel or let_go", name)
}

// String returns the goal's name.
func (g Goal) String() string { return [...]string{"window", "travel", "let_go"}[g] }

// Requirements are what every craft of a search must do beside the goal: it lifts off and
// holds a height there by itself with the pilot in the middle of the travel; from its lowest
// clearance held up to SelfHolding the pilot's travel reaches and no strip is over its
// section's limit. Zero values stand for the defaults named; both are chosen figures.
//
// What depends on the speed is looked at a little above the lift-off: 2 m/s, or half of a
// window narrower than 4 m/s.
type Requirements struct {
	LiftOff     float64 // the speed that it lifts off at or below, m/s; 15
	SelfHolding float64 // the clearance up to which it holds itself at least, m; 0.3
}

// ImproveOptions choose what Improve searches. Zero values stand for the defaults named.
type ImproveOptions struct {
	Vary         []Variation // one to MaxVaried
	Goal         Goal
	Requirements Requirements
	Density      float64   // of the air, kg/m3; gecp.AirDensity
	Mesh         gecp.Mesh // of the end's full solutions; the search itself takes a coarser one
	Seed         uint64    // the same seed gives the same craft
	// Effort is how many craft are looked at, about; 400 for each dimension varied.
	Effort int
	// Progress is told the part done, 0..1, from one goroutine at a time; it may be nil.
	Progress func(part float64)
}

// MaxVaried is how many dimensions may be varied at once, and maxEffort how many craft are looked at at most.
const MaxVaried, maxEffort = 12, 100_000

// Requirement is one of the things that a craft of a search must do.
type Requirement int

// The requirements, in the order they are told.
const (
	RequireLiftOff Requirement = iota
	RequireWindow
	RequireSelfHolding
	RequireReach
	RequireSection
	numRequirements
)

// Candidate is one craft of a search, and what it does.
type Candidate struct {
	Values []float64   // of the dimensions varied, in the units of the craft file
	Craft  *gecp.Craft // nil if the values make no sound craft
	Err    error       // why nothing is known of the craft; nil otherwise
	Speed  float64     // m/s; see Requirements

	LiftOff, Window     Figure // m/s; of the pilot in the middle of the travel
	SelfHolding, LetGo  Figure // m, at Speed
	Travel, ReachMargin Figure // m, at Speed: needed, and left to the nearer stop where it is least
	StripShare          Figure // of the most loaded strip, over its section's limit, at Speed
	Broken              [numRequirements]float64
	merit               merit
}

// Meets reports whether the craft meets all requirements.
func (c *Candidate) Meets() bool { return c.merit.broken == 0 }

// goal returns the figure that the search is for.
func (c *Candidate) goal(g Goal) Figure {
	return [...]Figure{c.Window, c.Travel, c.LetGo}[g]
}

// VariedDimension is a dimension of a search as it ends, in the unit of the craft file.
type VariedDimension struct {
	Variation
	Step          float64 // that a builder would make, in the unit of the craft file
	Before        float64 // as in the file; 0 for a shift
	Best, Rounded float64
	AtFrom, AtTo  bool // whether the best lies at an end of what was allowed
	// Down and Up are the rounded craft with this dimension one step less and more; nil
	// outside of what was allowed.
	Down, Up *Candidate
	// FlatFrom and FlatTo bound where, this dimension changed alone from the best, nine
	// tenths of the goal are kept and no requirement is broken.
	FlatFrom, FlatTo float64
}

// Improvement is what a search ends with.
type Improvement struct {
	Options    ImproveOptions // with the defaults filled in
	Before     Candidate      // the craft as in the file
	Best       Candidate      // solved in full
	Rounded    Candidate      // the best in steps that a builder would make, solved in full
	Dimensions []VariedDimension
	// Binding are the requirements that the best craft just meets.
	Binding []Requirement
	// Looked is how many craft were looked at; of Starts searches Agree ended within 2 % of the best in the goal.
	Looked, Starts, Agree int
}

func (o *ImproveOptions) fill(c *gecp.Craft) error {
	r := &o.Requirements
	r.LiftOff, r.SelfHolding = cmp.Or(r.LiftOff, 15), cmp.Or(r.SelfHolding, .3)
	switch {
	case !(r.LiftOff > 0 && r.LiftOff <= tow.MaxLiftOff):
		return fmt.Errorf("the craft is to lift off at %v m/s or below; give above 0 and up to %v m/s", r.LiftOff, tow.MaxLiftOff)
	case !(r.SelfHolding > 0 && r.SelfHolding <= 2):
		return fmt.Errorf("the craft is to hold itself up to %v m; give above 0 and up to 2 m", r.SelfHolding)
	case o.Goal < 0 || o.Goal >= numGoals:
		return fmt.Errorf("there is no goal %d", o.Goal)
	}
	if len(o.Vary) == 0 || len(o.Vary) > MaxVaried {
		return fmt.Errorf("%d dimensions are to be varied; give 1 to %d", len(o.Vary), MaxVaried)
	}
	for i, v := range o.Vary {
		if err := v.check(c); err != nil {
			return err
		}
		for _, w := range o.Vary[:i] {
			if w.Path == v.Path {
				return fmt.Errorf("%s is given twice; give each dimension once", v.Path)
			}
		}
	}
	o.Effort = cmp.Or(o.Effort, 400*len(o.Vary))
	if o.Effort < 20 || o.Effort > maxEffort {
		return fmt.Errorf("%d craft are to be looked at; give 20 to %d", o.Effort, maxEffort)
	}
	if o.Mesh == (gecp.Mesh{}) {
		o.Mesh = gecp.DefaultMesh()
	}
	stream, err := gecp.Freestream{Speed: r.LiftOff, Density: o.Density}.Checked()
	o.Density = stream.Density
	o.Progress = rising(o.Progress)
	return err
}

// searchMesh is what a search takes, with searchNodes: a fifth of the time, lift within half a per cent.
var searchMesh = gecp.Mesh{Rows: 3, Strips: 6}

// searchNodes returns the nodes of a map that a search takes: few, and not at pitches to which craft do not
// rise on the way from their floats to flight.
func searchNodes(m *gecp.Model) gecp.MapOptions {
	least := m.MapRange().PitchMin
	o := gecp.MapOptions{Heights: 4, Pitches: 7, Tolerance: .05, PitchMin: least, PitchMax: least + gecp.Radians(18)}
	if rest, ok := m.Craft().Rest(); ok {
		o.PitchMax = max(o.PitchMax, rest.Pitch+gecp.Radians(2))
	}
	return o
}

// noFiner returns the mesh of a search whose end is solved with a mesh: not finer than that.
func noFiner(m gecp.Mesh) gecp.Mesh {
	return gecp.Mesh{Rows: min(m.Rows, searchMesh.Rows), Strips: min(m.Strips, searchMesh.Strips)}
}

// Improve searches the box of the dimensions varied for the craft that meets the requirements
// and is best for the goal: all over the box at first, then from several starts, then about
// the best of them with full solutions, and last in steps that a builder would make. Weights
// stay where the craft file has them, unless they are varied. It returns [gecp.Problems] if
// the craft fails Check or lacks weights, pilot, tow or floats, an error if an option is out
// of range, and the context's error if it is cancelled. Where no craft meets the requirements
// it returns the one that breaks them least.
func Improve(ctx context.Context, c *gecp.Craft, o ImproveOptions) (Improvement, error) {
	if err := c.Check(); err != nil {
		return Improvement{}, err
	}
	if err := c.Require(gecp.BlockWeights, gecp.BlockPilot, gecp.BlockTow, gecp.BlockFloats); err != nil {
		return Improvement{}, err
	}
	if err := o.fill(c); err != nil {
		return Improvement{}, err
	}
	im, err := improve(ctx, c.Clone(), o)
	if err != nil {
		return Improvement{}, err
	}
	im.Options.Progress = nil
	return im, nil
}

func improve(ctx context.Context, c *gecp.Craft, o ImproveOptions) (Improvement, error) {
	im := Improvement{Options: o}
	q := inquiry{craft: c, o: o}
	var err error
	before := make([]float64, len(o.Vary))
	for i, v := range o.Vary {
		if before[i], err = v.value(c); err != nil {
			return im, err
		}
	}
	if im.Before, err = q.ask(ctx, before, c, full); err != nil {
		return im, err
	}

	// The shares of the whole time that the parts take, about.
	const search, polish, flat = .5, .65, .7
	s := searchSpace{seed: o.Seed, first: before}
	for _, v := range o.Vary {
		s.from, s.to = append(s.from, v.From), append(s.to, v.To)
	}
	s.starts = 6
	s.scan = max(o.Effort/3, 8)
	s.each = max((o.Effort-s.scan)/s.starts, 2)
	s.progress = func(part float64) { o.Progress(search * part) }
	ends, err := s.minimise(ctx, func(ctx context.Context, x []float64) (merit, error) {
		k, err := q.at(ctx, x, coarsely)
		return k.merit, err
	})
	if err != nil {
		return im, err
	}
	im.Starts = len(ends)
	im.Looked = s.scan + 1 + len(ends)*s.each
	for _, e := range ends {
		if e.broken == 0 && math.Abs(e.cost-ends[0].cost) <= .02*math.Abs(ends[0].cost) {
			im.Agree++
		}
	}
	if im.Best, err = q.polish(ctx, ends, s, func(part float64) { o.Progress(search + (polish-search)*part) }); err != nil {
		return im, err
	}
	if im.Before.Err == nil && q.within(before) && im.Before.merit.less(im.Best.merit) {
		im.Best = im.Before
	}
	im.Binding = im.Best.binding(o.Requirements)
	if im.Dimensions, err = q.dimensions(ctx, before, &im.Best, func(part float64) { o.Progress(polish + (flat-polish)*part) }); err != nil {
		return im, err
	}
	if im.Rounded, err = q.round(ctx, im.Dimensions, s, &im.Best, func(part float64) { o.Progress(flat + (1-flat)*part) }); err != nil {
		return im, err
	}
	o.Progress(1)
	return im, nil
}

// inquiry asks what craft of a search do.
type inquiry struct {
	craft *gecp.Craft
	o     ImproveOptions
}

// depth is how exactly a craft is asked.
type depth bool

const (
	coarsely depth = false
	full     depth = true
)

// within reports whether values lie in the box.
func (q *inquiry) within(values []float64) bool {
	for i, v := range q.o.Vary {
		if !(values[i] >= v.From && values[i] <= v.To) {
			return false
		}
	}
	return true
}

// at asks the craft with the values set. Only a cancelled context is an error: a craft of
// which nothing is known is one of the worst.
func (q *inquiry) at(ctx context.Context, values []float64, d depth) (Candidate, error) {
	c := q.craft.Clone()
	for i, v := range q.o.Vary {
		if err := put(c, v.Path, values[i]); err != nil {
			return unknown(values, err, unsound), ctx.Err()
		}
	}
	return q.ask(ctx, values, c, d)
}

// How much craft break the requirements of which nothing is known: those that are no craft, and
// those that cannot be calculated.
const (
	unsound   = 20
	nothing   = 15
	absent    = 1 // of one requirement, where there is no figure
	noLiftOff = 2
)

func unknown(values []float64, err error, broken float64) Candidate {
	return Candidate{Values: slices.Clone(values), Err: err, merit: merit{broken: broken}}
}

func (q *inquiry) ask(ctx context.Context, values []float64, c *gecp.Craft, d depth) (Candidate, error) {
	mesh, nodes := q.o.Mesh, gecp.MapOptions{}
	if d == coarsely {
		mesh = noFiner(mesh)
	}
	model, err := gecp.NewModel(c, mesh)
	if err != nil {
		return unknown(values, err, unsound), ctx.Err()
	}
	if d == coarsely {
		nodes = searchNodes(model)
	}
	k := Candidate{Values: slices.Clone(values), Craft: c}
	m, err := model.BuildMap(ctx, nodes)
	if err == nil {
		err = k.fill(ctx, m, q.o)
	}
	switch {
	case ctx.Err() != nil:
		return Candidate{}, ctx.Err()
	case err != nil:
		k = unknown(values, err, nothing)
		k.Craft = c
	}
	return k, nil
}

// above is how far above its lift-off a craft is looked at, m/s.
const above = 2

// fill asks a map for the candidate's figures.
func (k *Candidate) fill(ctx context.Context, m *gecp.Map, o ImproveOptions) error {
	need := o.Requirements
	w, err := tow.FindFirstWindow(ctx, m, o.Density, k.Craft.Pilot.Middle())
	if err != nil {
		return err
	}
	k.Speed = need.LiftOff
	if w.LiftOff.OK {
		k.LiftOff, k.Speed = figure(w.LiftOff.Speed), w.LiftOff.SettleSpeed
	}
	if w.OK {
		k.Window, k.Speed = figure(w.Width()), w.From+math.Min(w.Width()/2, above)
	}
	t, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: k.Speed, Density: o.Density})
	if err != nil {
		return err
	}
	// The own limit would make every good craft equal for one goal.
	r, err := t.Range(ctx, tow.Rules{OwnLimit: m.Range().ClearanceMax})
	if err != nil {
		return err
	}
	if at, ok := selfHolding(r); ok {
		k.SelfHolding = figure(at)
	}
	if r.OK {
		k.LetGo = figure(r.High.Clearance)
	}
	if r.Flies {
		if err := k.along(m, r, need.SelfHolding); err != nil {
			return err
		}
	}
	k.judge(need, o.Goal)
	return nil
}

// leastDepth is how far above its lowest clearance a craft is looked at, at least, m.
const leastDepth = .1

// along fills in what is needed from the lowest clearance held up to the one required, or a
// little higher for a craft that holds none so low.
func (k *Candidate) along(m *gecp.Map, r tow.Range, top float64) error {
	p := k.Craft.Pilot
	forward, aft, share := math.Inf(1), math.Inf(-1), 0.
	add := func(b tow.Trim) error {
		forward, aft = math.Min(forward, b.Pilot.X), math.Max(aft, b.Pilot.X)
		s, ok, err := m.CriticalStrip(b.Clearance, b.Pitch)
		if ok {
			share = math.Max(share, s.ShareOfLimit())
		}
		return err
	}
	if err := add(r.Low); err != nil {
		return err
	}
	top = math.Max(top, r.Low.Clearance+leastDepth)
	for _, b := range r.Curve.States {
		if b.Clearance > r.Low.Clearance && b.Clearance <= top {
			if err := add(b); err != nil {
				return err
			}
		}
	}
	k.Travel = figure(aft - forward)
	k.ReachMargin = figure(math.Min(forward-p.XForward, p.XAft-aft))
	k.StripShare = figure(share)
	return nil
}

// judge fills in by how much the requirements are broken, and the merit.
func (k *Candidate) judge(need Requirements, g Goal) {
	part := func(f Figure, by float64) float64 {
		if !f.OK {
			return absent
		}
		return math.Max(0, by)
	}
	k.Broken = [numRequirements]float64{
		RequireLiftOff:     part(k.LiftOff, k.LiftOff.Value/need.LiftOff-1),
		RequireWindow:      part(k.Window, 0),
		RequireSelfHolding: part(k.SelfHolding, 1-k.SelfHolding.Value/need.SelfHolding),
		RequireReach:       part(k.ReachMargin, -k.ReachMargin.Value),
		RequireSection:     part(k.StripShare, k.StripShare.Value-1),
	}
	if !k.LiftOff.OK {
		k.Broken[RequireLiftOff] = noLiftOff
	}
	k.merit = merit{}
	for _, b := range k.Broken {
		k.merit.broken += b
	}
	f := k.goal(g)
	switch {
	case !f.OK:
		k.merit.broken += absent
	case g == LeastTravel:
		k.merit.cost = f.Value
	default:
		k.merit.cost = -f.Value
	}
}

// binding returns the requirements that a craft meets with little to spare.
func (k *Candidate) binding(need Requirements) []Requirement {
	var b []Requirement
	if !k.Meets() {
		return nil
	}
	for r, just := range [numRequirements]bool{
		RequireLiftOff:     k.LiftOff.Value > .99*need.LiftOff,
		RequireSelfHolding: k.SelfHolding.Value < 1.02*need.SelfHolding,
		RequireReach:       k.ReachMargin.Value < .005,
		RequireSection:     k.StripShare.Value > .99,
	} {
		if just {
			b = append(b, Requirement(r))
		}
	}
	return b
}

// polish solves the best ends of a search in full and closes in on the best of these.
func (q *inquiry) polish(ctx context.Context, ends []found, s searchSpace, progress func(float64)) (Candidate, error) {
	const tried = 3
	ends = ends[:min(tried, len(ends))]
	evaluations := 15 * len(q.o.Vary)
	done := counter(float64(len(ends)+evaluations), progress)
	best := Candidate{merit: worst}
	solved := make([]Candidate, len(ends))
	err := parallel.Each(ctx, len(ends), func(i int) (err error) {
		solved[i], err = q.at(ctx, ends[i].at, full)
		done(1)
		return err
	})
	if err != nil {
		return Candidate{}, err
	}
	for _, k := range solved {
		if k.merit.less(best.merit) {
			best = k
		}
	}
	var failed error
	problem := optimize.Problem{
		Func: func(u []float64) float64 {
			var k Candidate
			if failed == nil {
				k, failed = q.at(ctx, s.at(u), full)
			}
			if failed != nil {
				return math.Inf(1)
			}
			done(1)
			if k.merit.less(best.merit) {
				best = k
			}
			return k.merit.score()
		},
		Status: func() (optimize.Status, error) {
			if failed != nil {
				return optimize.Failure, failed
			}
			return optimize.NotTerminated, nil
		},
	}
	// How the method ends is of no account: best holds what it found.
	_, _ = optimize.Minimize(problem, s.scaled(best.Values), &optimize.Settings{FuncEvaluations: evaluations}, &optimize.NelderMead{SimplexSize: .02})
	return best, errors.Join(failed, ctx.Err())
}

// keeps reports whether a craft keeps nine tenths of the goal of another, and breaks the
// requirements by no more than a hundredth beyond it.
func (k *Candidate) keeps(best *Candidate, g Goal) bool {
	if k.merit.broken > best.merit.broken+.01 {
		return false
	}
	a, b := k.goal(g).Value, best.goal(g).Value
	if g == LeastTravel {
		return a <= b/.9
	}
	return a >= .9*b
}

// dimensions tells for each dimension how flat the optimum is.
func (q *inquiry) dimensions(ctx context.Context, before []float64, best *Candidate, progress func(float64)) ([]VariedDimension, error) {
	out := make([]VariedDimension, len(q.o.Vary))
	const paces, halvings = 8, 4
	done := counter(float64(2*len(out)), progress)
	// Against the best as the search itself sees it, so that like is held against like.
	like, err := q.at(ctx, best.Values, coarsely)
	if err != nil {
		return nil, err
	}
	err = parallel.Each(ctx, 2*len(out), func(i int) error {
		d, up := &out[i/2], i%2 == 1
		v := q.o.Vary[i/2]
		in, end := best.Values[i/2], v.From
		if up {
			end = v.To
		}
		keeps := func(x float64) (bool, error) {
			values := slices.Clone(best.Values)
			values[i/2] = x
			k, err := q.at(ctx, values, coarsely)
			return k.keeps(&like, q.o.Goal), err
		}
		pace := (end - in) / paces
		far := true
		for n := 0; n < paces && far; n++ {
			var err error
			if far, err = keeps(in + pace); err != nil {
				return err
			}
			if far {
				in += pace
			} else {
				end = in + pace
			}
		}
		for n := 0; n < halvings && !far; n++ {
			middle := (in + end) / 2
			ok, err := keeps(middle)
			if err != nil {
				return err
			}
			if ok {
				in = middle
			} else {
				end = middle
			}
		}
		if up {
			d.FlatTo = in
		} else {
			d.FlatFrom = in
		}
		done(1)
		return nil
	})
	if err != nil {
		return nil, err
	}
	for i := range out {
		d := &out[i]
		d.Variation, d.Step = q.o.Vary[i], q.o.Vary[i].step()
		d.Before, d.Best = before[i], best.Values[i]
		near := .005 * (d.To - d.From)
		d.AtFrom, d.AtTo = d.Best-d.From < near, d.To-d.Best < near
	}
	return out, nil
}

// round looks for the best craft in whole steps: by a search of its own over the box, for
// the best may lie where a step is too long, at the corners of the step that the best
// lies in, and then step by step from the best of these, solved in full. It fills in the dimensions' rounded
// values and neighbours.
func (q *inquiry) round(ctx context.Context, dims []VariedDimension, s searchSpace, best *Candidate, progress func(float64)) (Candidate, error) {
	n := len(dims)
	const share = .7 // of the time, for the search
	at, err := q.snapped(ctx, dims, s, best, func(part float64) { progress(share * part) })
	if err != nil {
		return Candidate{}, err
	}
	const most = 5 // dimensions of which all corners are looked at; of more only the nearest
	corners := 1
	if n <= most {
		corners = 1 << n
	}
	for i := range corners {
		values := make([]float64, n)
		for j := range dims {
			d := &dims[j]
			steps := math.Round(d.Best / d.Step)
			if corners > 1 {
				steps = math.Floor(d.Best/d.Step) + float64(i>>j&1)
			}
			values[j] = d.snap(steps)
		}
		at = append(at, values)
	}
	rounded, err := q.best(ctx, at)
	if err != nil {
		return Candidate{}, err
	}
	const rounds = 8
	for r := range rounds {
		progress(share + (1-share)*float64(r+1)/(rounds+1))
		at = nil
		for j := range dims {
			for _, by := range []float64{-1, 1} {
				values := slices.Clone(rounded.Values)
				values[j] = dims[j].snap(math.Round(values[j]/dims[j].Step) + by)
				if values[j] >= dims[j].From && values[j] <= dims[j].To {
					at = append(at, values)
				}
			}
		}
		// The neighbours are solved in full, for what a step costs is told of them.
		neighbours, err := q.all(ctx, at)
		if err != nil {
			return Candidate{}, err
		}
		next := rounded
		for _, k := range neighbours {
			if k.merit.less(next.merit) {
				next = k
			}
		}
		for j := range dims {
			dims[j].Down, dims[j].Up, dims[j].Rounded = nil, nil, rounded.Values[j]
			for i := range neighbours {
				switch v := neighbours[i].Values[j]; {
				case v < rounded.Values[j]:
					dims[j].Down = &neighbours[i]
				case v > rounded.Values[j]:
					dims[j].Up = &neighbours[i]
				}
			}
		}
		if !next.merit.less(rounded.merit) || r == rounds-1 {
			break
		}
		rounded = next
	}
	return rounded, nil
}

// snapped returns the ends of a search that sees whole steps only.
func (q *inquiry) snapped(ctx context.Context, dims []VariedDimension, s searchSpace, best *Candidate, progress func(float64)) ([][]float64, error) {
	s.first, s.progress = best.Values, progress
	s.scan, s.starts, s.each = max(q.o.Effort/4, 8), 3, max(q.o.Effort/8, 2)
	snap := func(x []float64) []float64 {
		values := make([]float64, len(dims))
		for j := range dims {
			values[j] = dims[j].snap(math.Round(x[j] / dims[j].Step))
		}
		return values
	}
	var known sync.Map // from values, as text, to merits: many points are the same craft
	ends, err := s.minimise(ctx, func(ctx context.Context, x []float64) (merit, error) {
		values := snap(x)
		key := fmt.Sprint(values)
		if m, ok := known.Load(key); ok {
			return m.(merit), ctx.Err()
		}
		k, err := q.at(ctx, values, coarsely)
		if err == nil {
			known.Store(key, k.merit)
		}
		return k.merit, err
	})
	if err != nil {
		return nil, err
	}
	out := make([][]float64, len(ends))
	for i, e := range ends {
		out[i] = snap(e.at)
	}
	return out, nil
}

// snap returns a whole number of steps as a value, the nearest one within what is allowed if there
// is one, without the rounding of binary fractions.
func (d *VariedDimension) snap(steps float64) float64 {
	if steps*d.Step < d.From {
		steps = math.Ceil(d.From/d.Step - 1e-9)
	}
	if steps*d.Step > d.To {
		steps = math.Floor(d.To/d.Step + 1e-9)
	}
	return math.Round(steps*d.Step*1e6) / 1e6
}

// all solves craft in full.
func (q *inquiry) all(ctx context.Context, at [][]float64) ([]Candidate, error) {
	k := make([]Candidate, len(at))
	err := parallel.Each(ctx, len(at), func(i int) (err error) {
		k[i], err = q.at(ctx, at[i], full)
		return err
	})
	if err != nil {
		return nil, err
	}
	return k, nil
}

// best solves craft in full and returns the best of them, of equal ones the first.
func (q *inquiry) best(ctx context.Context, at [][]float64) (Candidate, error) {
	k, err := q.all(ctx, at)
	if err != nil {
		return Candidate{}, err
	}
	out := k[0]
	for _, c := range k[1:] {
		if c.merit.less(out.merit) {
			out = c
		}
	}
	return out, nil
}
