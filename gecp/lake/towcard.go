package lake

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// TowCardOptions choose the ladder and the limits of a TowCard. Zero values stand
// for the defaults named.
type TowCardOptions struct {
	Units   units.System // of the ladder and of all words; Metric
	Density float64      // of the air, kg/m3; gecp.AirDensity
	Top     float64      // highest speed, m/s; one step past the last that can be flown
	// Scale is a small model's length over that of the craft it stands for; 1, no model. A
	// model has a weight in the pilot's place: nobody reacts, so that no reaction limits its
	// ranges. Ladder, margins, own limit and what counts as little are those of the craft,
	// by Froude's rule.
	Scale float64
	Rules tow.Rules // those of the ranges; Reaction is always motion.InTime, or nil for a model
	// Variants tell how far to trust the card; they are of the card's map, and are made for it,
	// which takes about as long as ten maps, if they are nil and the craft flies at any speed.
	Variants *tow.Variants
	// Progress is told the part of the card done, 0..1, from one goroutine at a time; it may be
	// nil.
	Progress func(part float64)
}

// model reports whether the card is that of a small model.
func (o *TowCardOptions) model() bool { return o.Scale != 1 }

// ladder returns the steps of a card, m/s: 5 mph from 5 mph up is common practice; 5
// km/h is the round step below it. A model has the whole km/h or mph nearest to a step of
// its own, 1 or more.
func (o *TowCardOptions) ladder() (first, step float64) {
	n := max(1, math.Round(5*Similarity(o.Scale).Speed()))
	if o.Units.IsCustomary() {
		return n * units.MPH, n * units.MPH
	}
	return 2 * n * units.KMH, n * units.KMH
}

func (o *TowCardOptions) check() (err error) {
	o.Density = cmp.Or(o.Density, gecp.AirDensity)
	o.Scale = cmp.Or(o.Scale, 1)
	if err := Similarity(o.Scale).check(); err != nil {
		return err
	}
	if first, _ := o.ladder(); o.Top != 0 && !(o.Top >= first && o.Top <= gecp.MaxSpeed) {
		return fmt.Errorf("the card's highest speed is %v m/s; give one between %.1f and %d m/s", o.Top, first, gecp.MaxSpeed)
	}
	o.Rules.Reaction = motion.InTime
	if o.model() {
		o.Rules.Reaction = nil
		s := Similarity(o.Scale)
		o.Rules.OwnLimit = cmp.Or(o.Rules.OwnLimit, s.Length()*tow.DefaultOwnLimit)
		o.Rules.SelfHoldingMargin = cmp.Or(o.Rules.SelfHoldingMargin, s.Length()*tow.DefaultMargin)
		o.Rules.ReachMargin = cmp.Or(o.Rules.ReachMargin, s.Length()*tow.DefaultMargin)
	}
	o.Rules, err = o.Rules.Checked()
	return err
}

// Stop is one of the three positions of the pilot that a tow card looks at.
type Stop int

// The stops, in the order of the card.
const (
	StopAft Stop = iota
	StopMiddle
	StopForward
	stops
)

func (s Stop) String() string { return [stops]string{"aft", "middle", "forward"}[s] }

// At returns the stop's position for a pilot, m aft of the datum.
func (s Stop) At(p *gecp.Pilot) float64 {
	return [stops]float64{p.XAft, p.Middle(), p.XForward}[s]
}

// TowCard is what a crew takes to the lake: speed by speed where the craft may be towed,
// where the pilot sits and when to let go.
type TowCard struct {
	TowCardOptions // with the defaults filled in
	Craft          *gecp.Craft
	// Start is the position of the pilot for the run up, m aft of the datum: of those in
	// the travel, the one with the widest speed window; if none has one, that from which
	// both floats leave the water at once, or else the forward stop. The state on the
	// floats is told for it. It does not depend on the ladder.
	Start float64
	// Windows are the speed windows from Start, then from the stops; empty without floats.
	Windows  []tow.Window
	LiftOff  tow.Trusted   // from Start, m/s; zero where it does not lift off or without floats
	NoFloats string        // why there is no word of the floats
	Wake     tow.WakeLines // at the highest speed that has a range, or of the ladder
	WakeAt   float64       // that speed, m/s
	Rungs    []TowRung     // rising speeds
}

// TowRung is one speed of a TowCard.
type TowRung struct {
	Speed float64 // m/s
	// Water is the craft on its floats with the pilot at the start; if it is not Known, Why.
	Water struct {
		tow.OnFloats
		Known bool
		Why   string
	}
	// Range ends at the low end of what the height to let go may be: that of Trust, which
	// has the range as calculated.
	Range tow.Range
	Trust tow.Trust
	Held  [stops][]tow.Trim // floats clear
	// Gains are by how much the boat may gain speed with the pilot still, and Margins the
	// reaction margins, at the lower and at the upper end of the range, or of what would
	// be the range if people reacted at once; not OK where there is none.
	Gains   [2]Gain
	Margins [2]ReactionMargins
	// Strip is the most loaded strip of the range, of the lowest trim or on the floats; of
	// no wing where none is known.
	Strip      gecp.CriticalStrip
	Depression tow.Depression // at the lowest clearance, where the craft flies
	Verdict    string         // in plain words and the card's units
}

// Gain is a gain of the boat's speed that a craft survives with its pilot still, m/s.
type Gain struct {
	Value float64
	OK    bool
	More  bool // the largest that was looked for
}

// ReactionMargins is a reaction at a clearance that may not have been told.
type ReactionMargins struct {
	motion.Reaction
	OK bool
}

// NewTowCard returns the tow card of a map's craft. It returns [gecp.Problems] if the
// craft file lacks pilot, weights or tow, and an error if an option is out of range or
// the context is cancelled. Without floats the card says so and leaves out the water.
func NewTowCard(ctx context.Context, m *gecp.Map, o TowCardOptions) (*TowCard, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	c := m.Model().Craft()
	if err := c.Require(gecp.BlockPilot, gecp.BlockWeights, gecp.BlockTow); err != nil {
		return nil, err
	}
	t := &TowCard{TowCardOptions: o, Craft: c}
	first, step := o.ladder()
	top := cmp.Or(o.Top, tow.MaxLiftOff)
	for i := 0; ; i++ {
		v := first + float64(i)*step
		if v > top*(1+1e-9) {
			break
		}
		t.Rungs = append(t.Rungs, TowRung{Speed: v})
	}
	progress := func(part float64) {
		if o.Progress != nil {
			o.Progress(part)
		}
	}
	if o.Variants != nil && o.Variants.Map() != m {
		return nil, errors.New("the card is of another map than what tells how far to trust it")
	}
	// The parts of the work are guessed.
	if err := t.windows(ctx, m); err != nil {
		return nil, err
	}
	progress(.05)
	if err := parallel.Each(ctx, len(t.Rungs), func(i int) error { return t.fly(ctx, m, &t.Rungs[i]) }); err != nil {
		return nil, err
	}
	if o.Top == 0 {
		t.trim()
	}
	progress(.1)
	if t.Variants == nil && t.promises() {
		var err error
		if t.Variants, err = tow.NewVariants(ctx, m, func(part float64) { progress(.1 + .5*part) }); err != nil {
			return nil, err
		}
	}
	progress(.6)
	if t.Variants != nil {
		if err := t.trust(ctx, func(part float64) { progress(.6 + .2*part) }); err != nil {
			return nil, err
		}
	}
	progress(.8)
	if err := parallel.Each(ctx, len(t.Rungs), func(i int) error { return t.complete(ctx, m, &t.Rungs[i]) }); err != nil {
		return nil, err
	}
	for i := range t.Rungs {
		t.Rungs[i].Verdict = t.verdict(&t.Rungs[i])
	}
	t.WakeAt = t.Rungs[len(t.Rungs)-1].Speed
	for _, r := range t.Rungs {
		if r.Range.OK {
			t.WakeAt = r.Speed
		}
	}
	var err error
	if t.Wake, err = tow.FindWakeLines(c, t.WakeAt); err != nil {
		return nil, err
	}
	progress(1)
	return t, nil
}

// promises reports whether the card has a range or a lift-off that is to be trusted or not.
func (t *TowCard) promises() bool {
	return len(t.Windows) > 0 && t.Windows[0].LiftOff.OK || slices.ContainsFunc(t.Rungs, func(r TowRung) bool { return r.Range.OK })
}

// trust finds how far to trust the ranges and the lift-off, and cuts the ranges accordingly.
// progress is told the part done, 0..1, from one goroutine at a time.
func (t *TowCard) trust(ctx context.Context, progress func(part float64)) error {
	var mu sync.Mutex
	done := 0
	err := parallel.Each(ctx, len(t.Rungs), func(i int) (err error) {
		r := &t.Rungs[i]
		if r.Trust, err = t.Variants.Trust(ctx, r.Range); err != nil {
			return err
		}
		if r.Range, err = r.Trust.Cut(); err != nil {
			return err
		}
		mu.Lock()
		defer mu.Unlock()
		done++
		progress(float64(done) / float64(len(t.Rungs)))
		return nil
	})
	if err == nil && t.NoFloats == "" {
		_, t.LiftOff, err = t.Variants.LiftOff(ctx, t.Density, t.Start)
	}
	return err
}

// startSteps is the number of steps over the pilot's travel in which a start is looked
// for.
const startSteps = 8

// windows chooses the position for the run up and finds the speed windows.
func (t *TowCard) windows(ctx context.Context, m *gecp.Map) error {
	p := t.Craft.Pilot
	t.Start = p.XForward // slow to leave the water, where nothing better is known
	even, ok, err := tow.EvenLiftOff(ctx, m, t.Density)
	switch {
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case err != nil:
		t.NoFloats = err.Error()
		return nil
	}
	var at []float64
	for s := range stops {
		at = append(at, s.At(p))
	}
	if ok && even >= p.XForward && even <= p.XAft {
		at = append(at, even)
		t.Start = even
	}
	for i := 1; i < startSteps; i++ {
		at = append(at, p.XForward+(p.XAft-p.XForward)*float64(i)/startSteps)
	}
	windows, err := tow.FindWindows(ctx, m, t.Density, at...)
	if err := ctx.Err(); err != nil {
		return err
	}
	if err != nil {
		t.NoFloats = err.Error()
		return nil
	}
	start := -1
	for i, w := range windows {
		if at[i] == t.Start && start < 0 || w.Width() > windows[max(start, 0)].Width() {
			start = i
		}
	}
	t.Start = at[start]
	t.Windows = append([]tow.Window{windows[start]}, windows[:stops]...)
	return nil
}

// fly fills in what a rung tells of flight.
func (t *TowCard) fly(ctx context.Context, m *gecp.Map, r *TowRung) error {
	st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: r.Speed, Density: t.Density})
	if err != nil {
		return err
	}
	if r.Range, err = st.Range(ctx, t.Rules); err != nil || !r.Range.Flies {
		return err
	}
	for s := range stops {
		if r.Held[s], err = r.Range.Curve.Equilibria(s.At(t.Craft.Pilot)); err != nil {
			return err
		}
	}
	return nil
}

// trim ends the ladder one step past the last speed that can be flown, or else past
// the last that would be but for people's reaction, or past the last lift-off.
func (t *TowCard) trim() {
	last := -1
	for i, r := range t.Rungs {
		if r.Range.OK || r.Range.None == tow.NoneReaction {
			last = i
		}
	}
	if last < 0 {
		for i, r := range t.Rungs {
			for _, w := range t.Windows {
				if w.LiftOff.OK && w.LiftOff.Speed > r.Speed {
					last = i
				}
			}
		}
		last++
	}
	t.Rungs = t.Rungs[:min(last+2, len(t.Rungs))]
}

// complete fills in what a rung tells of the water, of gains and reactions, and the most
// loaded strip.
func (t *TowCard) complete(ctx context.Context, m *gecp.Map, r *TowRung) error {
	st := r.Range.Tow
	if r.Range.Flies {
		r.Depression = st.Depression(r.Range.Low)
	}
	if t.NoFloats != "" {
		r.Water.Why = t.NoFloats
	} else {
		s, err := st.OnFloats(t.Start)
		r.Water.OnFloats, r.Water.Known = s, err == nil
		if err != nil {
			r.Water.Why = err.Error()
		}
	}
	if low, high, ok := r.Range.Bounds(); ok {
		for i, cl := range []float64{low, high} {
			b, err := st.Trim(cl)
			if err != nil {
				return err
			}
			v, found, err := st.SpeedGain(ctx, b)
			if err != nil {
				return err
			}
			r.Gains[i] = Gain{v, true, !found}
			if t.model() {
				continue
			}
			x, err := motion.MarginsAt(ctx, st, cl, t.Rules.OwnLimit)
			if err != nil {
				return err
			}
			r.Margins[i] = ReactionMargins{x, true}
		}
	}
	var err error
	switch {
	case r.Range.HasStrip:
		r.Strip = r.Range.Strip
	case r.rests():
		r.Strip, _, err = m.CriticalStrip(r.Water.Clearance, r.Water.Pitch)
	case r.Range.Flies:
		r.Strip, _, err = m.CriticalStrip(r.Range.Low.Clearance, r.Range.Low.Pitch)
	}
	return err
}

// rests reports whether the craft has no height to fly at and, with the pilot at the
// start, stays on its floats.
func (r *TowRung) rests() bool {
	return !r.Range.OK && r.Water.Known && r.Water.Support != tow.SupportNone
}
