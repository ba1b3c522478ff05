package design

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync/atomic"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/gecp/tow"
)

// Unknowns are what a home builder does not know exactly of a craft. Each is how far 95
// of 100 craft built to the same file stay within, to either side: 1.96 standard
// deviations of a normal distribution (JCGM 100:2008, table G.2, from memory). 0 is for
// what is known.
//
// What belongs to one half of a wing, incidence and twist, is drawn for both halves, whose
// correlation is Halves: they come off the same jig but are not the same. The calculation is of
// symmetric craft and takes their mean; what differs between the halves rolls
// the craft, and is not looked at. Wings are drawn independently of each other.
type Unknowns struct {
	Incidence float64 // of each half wing, rad
	Twist     float64 // of each tip against its root, growing evenly from it, rad
	Position  float64 // of each wing lengthwise, and likewise its height, m
	Mass      float64 // of the craft with its pilot, kg; it goes into all weights in proportion
	CG        float64 // of the craft without its pilot, lengthwise, m
	// LiftFactor is the share of the calculated lift that the wings may have more or less.
	LiftFactor float64
	Speed      float64 // of the boat against its speedometer, m/s
	Halves     float64 // correlation of the halves of a wing, 0 to 1
}

// sigmas is how many standard deviations to either side hold 95 of 100 of a normal
// distribution.
const sigmas = 1.96

// DefaultUnknowns returns chosen figures for careful work at home: incidence and twist half a
// degree, position 10 mm, mass 2 kg, centre of gravity 20 mm, lift 3 %, speed 1 km/h, halves
// correlated by one half. Where the craft file carries a correction that is on, with a
// standard error of its lift factor, 1.96 times that stands in place of the 3 %.
func DefaultUnknowns(c *gecp.Craft) Unknowns {
	u := Unknowns{
		Incidence: gecp.Radians(.5), Twist: gecp.Radians(.5), Position: .01,
		Mass: 2, CG: .02, LiftFactor: .03, Speed: 1 / 3.6, Halves: .5,
	}
	if k := c.Correction; k != nil && k.On && k.LiftFactorError > 0 {
		u.LiftFactor = math.Min(sigmas*k.LiftFactorError/k.LiftFactor, maxUnknowns.LiftFactor)
	}
	return u
}

// maxUnknowns bounds Unknowns: past these it is another craft.
var maxUnknowns = Unknowns{Incidence: gecp.Radians(3), Twist: gecp.Radians(3), Position: .1, Mass: 50, CG: .3, LiftFactor: .3, Speed: 3, Halves: 1}

func (u Unknowns) check() error {
	most := maxUnknowns
	for _, c := range []struct {
		what    string
		v, most float64
		unit    string
		size    float64
	}{
		{"incidence", u.Incidence, most.Incidence, "degrees", gecp.Radians(1)},
		{"twist", u.Twist, most.Twist, "degrees", gecp.Radians(1)},
		{"wings' positions", u.Position, most.Position, "m", 1},
		{"mass", u.Mass, most.Mass, "kg", 1},
		{"centre of gravity", u.CG, most.CG, "m", 1},
		{"lift", u.LiftFactor, most.LiftFactor, "of the lift", 1},
		{"boat's speed", u.Speed, most.Speed, "m/s", 1},
	} {
		if !(c.v >= 0 && c.v <= c.most) {
			return fmt.Errorf("what is not known of the %s is %.4g %s; give 0 to %.4g %s", c.what, c.v/c.size, c.unit, c.most/c.size, c.unit)
		}
	}
	if !(u.Halves >= 0 && u.Halves <= 1) {
		return fmt.Errorf("the halves of a wing are correlated by %v; give 0 to 1", u.Halves)
	}
	return nil
}

// ToleranceOptions choose what Tolerance looks at. Zero values stand for the defaults named.
type ToleranceOptions struct {
	Speed    float64 // on the boat's speedometer, m/s; it has no default
	Density  float64 // of the air, kg/m3; gecp.AirDensity
	Builds   int     // 2000; up to MaxBuilds
	Seed     uint64  // the same seed gives the same builds
	Unknowns *Unknowns
	// Rules of the towing range. A reaction function is not asked: it would take minutes.
	Rules tow.Rules
	Mesh  gecp.Mesh
	// Checked is how many builds are solved in full and held against the rest: 50, or all
	// of fewer builds.
	Checked int
	// Progress is told the part done, 0..1, from one goroutine at a time; it may be nil.
	Progress func(part float64)
}

// MaxBuilds is how many builds are calculated at most: each takes some kilobytes.
const MaxBuilds = 100_000

// Quantity is one of the figures of a build that have a spread.
type Quantity int

// The quantities of a build.
const (
	LetGoClearance  Quantity = iota // highest towing clearance, m
	LowestClearance                 // lowest towing clearance, m
	SelfHolding                     // up to where it holds its height by itself, the pilot in reach further down, m
	PilotForward                    // foremost position needed in the towing range, m aft of the datum
	PilotAft                        // aftmost position needed in it
	LiftOffSpeed                    // as the boat shows it, m/s, the pilot in the middle of the travel
	WindowWidth                     // of the speed window of that position, m/s
	numQuantities
)

// String returns the quantity's name in a table.
func (q Quantity) String() string {
	return [...]string{"let_go", "lowest", "self_holding", "pilot_forward", "pilot_aft", "lift_off", "window"}[q]
}

// Unit returns the unit of the SI of the quantity.
func (q Quantity) Unit() string {
	if q == LiftOffSpeed || q == WindowWidth {
		return "m/s"
	}
	return "m"
}

// Figure is a value of a build; OK is false where the build has none.
type Figure struct {
	Value float64
	OK    bool
}

func figure(v float64) Figure { return Figure{v, true} }

// Build is one craft built to the file.
type Build struct {
	Figures [numQuantities]Figure
	// Pilot is the position needed at each of Tolerances.Clearances, m aft of the datum, where
	// the craft is in trim there with its floats clear.
	Pilot []Figure
	// Err is why a build has no figures at all: it makes no sound craft, or the calculation
	// fails. WindowErr is why its lift-off is not known, as where it rests too close to the water for the
	// calculation; it then has neither lift-off nor window.
	Err, WindowErr error
	// Solved tells that its map is a full solution.
	Solved bool
}

// Spread is how a quantity is spread over the builds.
type Spread struct {
	Quantity Quantity
	// P2_5, P50 and P97_5 are the percentiles of the builds that have the quantity; OK is
	// false if none has it.
	P2_5, P50, P97_5 float64
	OK               bool
	ShareNone        float64 // of all builds, those that do not have it
}

// BuildCheck is how far the builds whose wings were expanded about the craft's differ from full
// solutions of the same builds.
type BuildCheck struct {
	Builds int
	// Largest is the largest difference of each quantity where both have it, and Most what
	// nine of ten of those builds differ by at most: of fewer than ten, all of them.
	Largest, Most [numQuantities]float64
	// Disagree is of how many builds one has the quantity and the other does not.
	Disagree [numQuantities]int
}

// Tolerances are what craft do that are built to a file as exactly as their builder can.
type Tolerances struct {
	Craft    *gecp.Craft
	Options  ToleranceOptions // with the defaults filled in
	Unknowns Unknowns
	Nominal  Build // the craft as in the file
	Builds   []Build
	Spreads  [numQuantities]Spread
	// Clearances are where the pilot's position is known, m, and Pilot its spread there.
	Clearances []float64
	Pilot      []Spread
	Check      BuildCheck
	Solved     int // builds that had to be solved in full
	// Failed builds have no figures at all, and Unknown ones no lift-off; FirstErr and
	// FirstWindowErr are the reasons of the first of each.
	Failed, Unknown          int
	FirstErr, FirstWindowErr error
}

// DefaultChecked is how many builds are solved in full for the check.
const DefaultChecked = 50

func (o *ToleranceOptions) fill() error {
	o.Builds = cmp.Or(o.Builds, 2000)
	if o.Builds < 1 || o.Builds > MaxBuilds {
		return fmt.Errorf("%d builds are asked for; give 1 to %d", o.Builds, MaxBuilds)
	}
	o.Checked = cmp.Or(o.Checked, DefaultChecked)
	if o.Checked < 0 {
		return fmt.Errorf("%d builds are to be checked; give 0 or more", o.Checked)
	}
	o.Checked = min(o.Checked, o.Builds)
	if o.Mesh == (gecp.Mesh{}) {
		o.Mesh = gecp.DefaultMesh()
	}
	o.Rules.Reaction = nil
	o.Progress = rising(o.Progress)
	stream, err := gecp.Freestream{Speed: o.Speed, Density: o.Density}.Checked()
	if err != nil {
		return err
	}
	o.Density = stream.Density
	o.Rules, err = o.Rules.Checked()
	return err
}

// Tolerance calculates builds of a craft that differ from its file by what is unknown.
// The craft needs weights and a tow; with a pilot the positions are looked at, with a pilot
// and floats lift-off and speed window.
//
// The wings' loads of a build are expanded about those of the craft as it is, to the second order in each
// dimension; mass, centre of gravity, lift factor and speed enter exactly. Some builds are
// solved in full for a check. It returns [gecp.Problems] if the craft fails Check or lacks a
// section, an error if an option is out of range, and the context's error if it is cancelled.
func Tolerance(ctx context.Context, c *gecp.Craft, o ToleranceOptions) (Tolerances, error) {
	if err := c.Check(); err != nil {
		return Tolerances{}, err
	}
	if err := c.Require(gecp.BlockWeights, gecp.BlockTow); err != nil {
		return Tolerances{}, err
	}
	u := DefaultUnknowns(c)
	if o.Unknowns != nil {
		u = *o.Unknowns
	}
	if err := errors.Join(u.check(), o.fill()); err != nil {
		return Tolerances{}, err
	}
	t := Tolerances{Craft: c.Clone(), Options: o, Unknowns: u}
	t.Options.Progress = nil
	d, err := newDeviations(c, u)
	if err != nil {
		return Tolerances{}, err
	}
	// What each part takes of the whole, in maps of the lattice; a build takes about a
	// twentieth of one.
	maps, builds := float64(1+2*len(d.changes)), float64(o.Builds)/20
	whole := maps + builds + float64(o.Checked)
	f, err := newMapFamily(ctx, c, o.Mesh, d.changes, func(part float64) { o.Progress(part * maps / whole) })
	if err != nil {
		return Tolerances{}, err
	}
	for _, cl := range f.base.Clearances(60) {
		if cl <= pictureTop {
			t.Clearances = append(t.Clearances, cl)
		}
	}
	if t.Nominal, err = t.build(ctx, f.base, 0); err != nil {
		return Tolerances{}, err
	}
	var finished, checked atomic.Int64
	tell := func() { o.Progress((maps + float64(finished.Load())/20 + float64(checked.Load())) / whole) }
	t.Builds = make([]Build, o.Builds)
	err = parallel.Each(ctx, o.Builds, func(i int) (err error) {
		t.Builds[i], err = t.one(ctx, f, d.draw(o.Seed, i), false)
		finished.Add(1)
		tell()
		return err
	})
	if err != nil {
		return Tolerances{}, err
	}
	full := make([]Build, o.Checked)
	err = parallel.Each(ctx, o.Checked, func(i int) (err error) {
		full[i], err = t.one(ctx, f, d.draw(o.Seed, i), true)
		checked.Add(1)
		tell()
		return err
	})
	if err != nil {
		return Tolerances{}, err
	}
	t.summarise(full)
	return t, nil
}

// pictureTop is the highest clearance at which the pilot's position is kept, m.
const pictureTop = 1.

// one calculates one build, with a full solution if asked for or needed.
func (t *Tolerances) one(ctx context.Context, f *mapFamily, d deviation, full bool) (Build, error) {
	c := t.Craft.Clone()
	d.apply(c)
	var m *gecp.Map
	var err error
	solved := full
	if full {
		m, err = f.solve(ctx, c)
	} else {
		m, solved, err = f.at(ctx, c, d.wings)
	}
	var b Build
	if err == nil {
		b, err = t.build(ctx, m, d.speed)
	}
	if ctx.Err() != nil {
		return Build{}, ctx.Err()
	}
	if err != nil { // one build does not end the others
		b = Build{Err: err, Pilot: make([]Figure, len(t.Clearances))}
	}
	b.Solved = solved
	return b, nil
}

// build asks a map for the figures of a build whose boat runs by so much faster than it shows, m/s.
func (t *Tolerances) build(ctx context.Context, m *gecp.Map, faster float64) (Build, error) {
	o := &t.Options
	a, err := Question{Speed: math.Max(o.Speed+faster, leastSpeed), Density: o.Density, Rules: o.Rules}.Ask(ctx, m)
	if err != nil {
		return Build{}, err
	}
	b := Build{Pilot: make([]Figure, len(t.Clearances)), WindowErr: a.WindowErr}
	b.Figures[LetGoClearance], b.Figures[LowestClearance] = a.Figures[AnswerLetGo], a.Figures[AnswerLowest]
	b.Figures[SelfHolding], b.Figures[WindowWidth] = a.Figures[AnswerSelfHolding], a.Figures[AnswerWindow]
	if l := a.Figures[AnswerLiftOff]; l.OK {
		b.Figures[LiftOffSpeed] = figure(l.Value - faster)
	}
	if t.Craft.Pilot == nil {
		return b, nil
	}
	if r := a.Range; r.OK {
		b.Figures[PilotForward], b.Figures[PilotAft] = figure(r.PilotForward), figure(r.PilotAft)
	}
	b.positions(a.Range.Curve, t.Clearances)
	return b, nil
}

// leastSpeed keeps a slow boat, which shows more than it runs, from running backwards, m/s.
const leastSpeed = .1

// selfHolding returns the clearance up to which a craft holds its height by itself, m,
// the pilot being in reach of a lower clearance at which it does. ok is false if there is
// none.
func selfHolding(r tow.Range) (clearance float64, ok bool) {
	switch r.None {
	case tow.NoneNot, tow.NoneMargins, tow.NoneReaction, tow.NoneSection:
	default:
		return 0, false
	}
	if l := r.Limits[tow.LimitSelfHolding]; l.OK {
		return l.At, true
	}
	return r.Limits[tow.LimitMap].At, true
}

// positions fills in the pilot's position at each clearance, from a trim curve.
func (b *Build) positions(c tow.TrimCurve, clearances []float64) {
	j := 0
	for i, cl := range clearances {
		for j+1 < len(c.States) && c.States[j+1].Clearance < cl {
			j++
		}
		if j+1 >= len(c.States) {
			return
		}
		lo, hi := &c.States[j], &c.States[j+1]
		if cl < lo.Clearance {
			continue
		}
		x := (cl - lo.Clearance) / (hi.Clearance - lo.Clearance)
		b.Pilot[i] = figure(lo.Pilot.X + x*(hi.Pilot.X-lo.Pilot.X))
	}
}

// summarise fills in the spreads and the check.
func (t *Tolerances) summarise(full []Build) {
	for q := range numQuantities {
		t.Spreads[q] = spread(q, t.Builds, func(b *Build) Figure { return b.Figures[q] })
	}
	for i := range t.Clearances {
		t.Pilot = append(t.Pilot, spread(PilotForward, t.Builds, func(b *Build) Figure { return b.Pilot[i] }))
	}
	for i := range t.Builds {
		b := &t.Builds[i]
		if b.Solved {
			t.Solved++
		}
		if b.Err != nil {
			t.FirstErr = cmp.Or(t.FirstErr, b.Err)
			t.Failed++
		}
		if b.WindowErr != nil {
			t.FirstWindowErr = cmp.Or(t.FirstWindowErr, b.WindowErr)
			t.Unknown++
		}
	}
	t.Check = newBuildCheck(t.Builds[:len(full)], full)
}

// newBuildCheck holds builds against full solutions of the same.
func newBuildCheck(builds, full []Build) BuildCheck {
	c := BuildCheck{Builds: len(full)}
	for q := range numQuantities {
		var off []float64
		for i := range full {
			a, b := builds[i].Figures[q], full[i].Figures[q]
			switch {
			case a.OK != b.OK:
				c.Disagree[q]++
			case a.OK:
				off = append(off, math.Abs(a.Value-b.Value))
			}
		}
		if len(off) > 0 {
			slices.Sort(off)
			c.Largest[q], c.Most[q] = off[len(off)-1], off[(9*len(off)+9)/10-1]
		}
	}
	return c
}

// spread returns the percentiles of a figure over builds.
func spread(q Quantity, builds []Build, of func(*Build) Figure) Spread {
	var v []float64
	for i := range builds {
		if f := of(&builds[i]); f.OK {
			v = append(v, f.Value)
		}
	}
	s := Spread{Quantity: q, ShareNone: float64(len(builds)-len(v)) / float64(len(builds))}
	if len(v) == 0 {
		return s
	}
	slices.Sort(v)
	at := func(p float64) float64 { return stat.Quantile(p, stat.LinInterp, v, nil) }
	s.P2_5, s.P50, s.P97_5, s.OK = at(.025), at(.5), at(.975), true
	return s
}

// deviations is the distribution of what builds differ by.
type deviations struct {
	dist    *normal
	changes []shapeChange
	halves  []int // of each change: how many of the distribution's quantities it is the mean of
	u       Unknowns
	c       *gecp.Craft
}

// deviation is what one build differs by.
type deviation struct {
	changes                     []shapeChange
	wings                       []float64 // by how much, of each change
	mass, cg, liftFactor, speed float64   // kg, m, share, m/s
}

// newDeviations returns the distribution of the builds of a craft.
func newDeviations(c *gecp.Craft, u Unknowns) (*deviations, error) {
	d := &deviations{u: u, c: c}
	var sigma []float64
	pairs := map[int]bool{} // the first of two quantities that are the halves of a wing
	add := func(within float64, halves int, apply func(c *gecp.Craft, by float64)) {
		if within == 0 {
			return
		}
		s := within / sigmas
		if halves == 2 {
			pairs[len(sigma)] = true
		}
		for range halves {
			sigma = append(sigma, s)
		}
		// Most builds lie between the maps, and those beyond not far.
		d.changes = append(d.changes, shapeChange{1.5 * s, apply})
		d.halves = append(d.halves, halves)
	}
	for i := range c.Wings {
		add(u.Incidence, 2, func(c *gecp.Craft, by float64) { c.Wings[i].IncidenceDeg += gecp.Degrees(by) })
		add(u.Twist, 2, func(c *gecp.Craft, by float64) { twist(&c.Wings[i], gecp.Degrees(by)) })
		add(u.Position, 1, func(c *gecp.Craft, by float64) { c.Wings[i].X += by })
		add(u.Position, 1, func(c *gecp.Craft, by float64) { c.Wings[i].Z += by })
	}
	for _, within := range []float64{u.Mass, u.CG, u.LiftFactor, u.Speed} {
		sigma = append(sigma, within/sigmas)
	}
	covariance := mat.NewSymDense(len(sigma), nil)
	for i, s := range sigma {
		covariance.SetSym(i, i, s*s)
		if pairs[i] {
			covariance.SetSym(i, i+1, u.Halves*s*s)
		}
	}
	var err error
	d.dist, err = newNormal(covariance)
	return d, err
}

// draw returns what one build differs by.
func (d *deviations) draw(seed uint64, build int) deviation {
	x := d.dist.draw(seed, build)
	v := deviation{changes: d.changes, wings: make([]float64, len(d.changes))}
	for i, n := range d.halves {
		v.wings[i] = mean(x[:n])
		x = x[n:]
	}
	v.mass, v.cg, v.liftFactor, v.speed = x[0], x[1], x[2], x[3]
	return v
}

func mean(x []float64) float64 { return stat.Mean(x, nil) }

// twist adds to the twist of a wing, degrees at the tip, in proportion to the distance from the root.
func twist(w *gecp.Wing, by float64) {
	tip := w.Stations[len(w.Stations)-1].Y
	for i := range w.Stations {
		w.Stations[i].TwistDeg += by * w.Stations[i].Y / tip
	}
}

// apply changes a craft by what a build differs by.
func (d deviation) apply(c *gecp.Craft) {
	for i, ch := range d.changes {
		ch.apply(c, d.wings[i])
	}
	more := 1 + d.mass/c.EmptyMass()
	for i := range c.Weights {
		c.Weights[i].Mass *= more
		c.Weights[i].X += d.cg
	}
	if d.liftFactor == 0 {
		return
	}
	k := gecp.Correction{LiftFactor: 1, Runs: 1, On: true}
	if c.Correction != nil && c.Correction.On {
		k = *c.Correction
	}
	k.LiftFactor *= 1 + d.liftFactor
	c.Correction = &k
}
