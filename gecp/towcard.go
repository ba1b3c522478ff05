package gecp

import (
	"cmp"
	"context"
	"fmt"
	"math"
)

// TowCardOptions choose the ladder and the limits of a TowCard. Zero values stand
// for the defaults named.
type TowCardOptions struct {
	Units   Units   // of the ladder and of all words
	Density float64 // of the air, kg/m3; Density
	Top     float64 // highest speed, m/s; one step past the last that can be flown
	Limit   float64 // the builder's own let-go height, m; 0.6 (common practice, no source)
	Margin  float64 // left under the end of the pilot's reach, m; 0.05 (a chosen figure)
	// Flights is a map of the same craft over FlightRange, for the reaction margins; nil
	// leaves them out, which spares a second or two.
	Flights *Map
}

// Steps of the ladder: 5 mph from 5 mph up is common practice; 5 km/h is the round
// step below it.
func (u Units) ladder() (first, step float64) {
	if u == Customary {
		return 5 * mph, 5 * mph
	}
	return 10 * kmh, 5 * kmh
}

func (o *TowCardOptions) fill() error {
	o.Density = cmp.Or(o.Density, AirDensity)
	o.Limit = cmp.Or(o.Limit, .6)
	o.Margin = cmp.Or(o.Margin, .05)
	if first, _ := o.Units.ladder(); o.Top != 0 && !(o.Top >= first && o.Top <= maxSpeed) {
		return fmt.Errorf("the card's highest speed is %v m/s; give one between %.1f and %d m/s", o.Top, first, maxSpeed)
	}
	if !(o.Limit > 0 && o.Limit <= 100) {
		return fmt.Errorf("your own let-go height is %v m; give one above 0 and up to 100 m", o.Limit)
	}
	if !(o.Margin > 0 && o.Margin <= 100) {
		return fmt.Errorf("the margin under the end of the pilot's reach is %v m; give one above 0", o.Margin)
	}
	return nil
}

// Stop is one of the three places of the pilot that a tow card looks at.
type Stop int

// The stops, in the order of the card.
const (
	Aft Stop = iota
	Middle
	Forward
	stops
)

func (s Stop) String() string { return [stops]string{"aft", "middle", "forward"}[s] }

// At returns the stop's place for a pilot, m aft of the datum.
func (s Stop) At(p *Pilot) float64 {
	return [stops]float64{p.XAft, (p.XForward + p.XAft) / 2, p.XForward}[s]
}

// TowCard is what a crew takes to the lake: speed by speed where the craft rides,
// where the pilot sits and when to let go.
type TowCard struct {
	TowCardOptions // with the defaults filled in
	Craft          *Craft
	// Start is the place of the pilot for the run up, m aft of the datum: one from
	// which the craft settles after lifting off if there is one among that where both
	// floats leave the water at once, that of the first let-go height, and the stops.
	// The state on the floats is told for it.
	Start    float64
	LiftOffs []LiftOff // from Start, then from the stops; empty without floats
	NoFloats string    // why there is no word of the floats
	Folds    []Fold    // where they exist, for Start and the stops
	Wake     WakeLines // at the highest speed that has a let-go height, or of the ladder
	WakeAt   float64   // that speed, m/s
	Rungs    []TowRung // rising speeds
}

// TowRung is one speed of a TowCard.
type TowRung struct {
	Speed float64 // m/s
	// Water is the craft on its floats; if it is not Known, Why.
	Water struct {
		OnFloats
		Known bool
		Why   string
	}
	// Flies tells whether there are clearances with the weight carried and the floats
	// clear of the water; if not, Grounded is why.
	Flies    bool
	Grounded string
	// Low is the lowest state, floats clear, that the craft holds by itself within the
	// pilot's travel; without one, the lowest with the floats clear.
	Low Trim
	// Usable tells whether there is a let-go height: Low up to High, by Bound.
	Usable      bool
	High        Trim
	Bound       Bound
	SelfHolding Ceiling // going up from Low
	Reach       Ceiling
	Holds       [stops][]Equilibrium // floats clear
	// Late is how late the pilot may be after the StandardLeap, at Low and at High, where
	// a flight can begin there.
	Late       [2]Late
	Pull       float64 // largest between Low and High, or on the floats without the water's drag, N
	Peak       CriticalStrip
	Depression Depression // at Low, where the craft flies
	Verdict    string     // in plain words and the card's units
}

// Late is a reaction margin that may not exist.
type Late struct {
	Reaction
	Told bool
}

// Bound is what a let-go height comes from.
type Bound int

// From the craft's own to the builder's.
const (
	BoundSelf  Bound = iota // above it the craft no longer holds its height
	BoundReach              // above it, less a margin, the pilot's travel ends
	BoundOwn                // the builder's own limit
	BoundMap                // the end of the calculation
)

// letGo returns the lowest of the ceilings over a state that the craft holds, each a
// clearance, m: self-holding, reach less a margin, the builder's own, and the top
// of the calculation.
func letGo(self, reach Ceiling, margin, own, top float64) (float64, Bound) {
	height, why := top, BoundMap
	lower := func(h float64, b Bound) {
		if h <= height {
			height, why = h, b
		}
	}
	lower(own, BoundOwn)
	if reach.OK {
		lower(reach.Clearance-margin, BoundReach)
	}
	if self.OK {
		lower(self.Clearance, BoundSelf)
	}
	return height, why
}

// TowCard returns the tow card of the map's craft. It is an error if the craft file
// lacks pilot, weights or tow, if an option is out of range, or if the context is
// cancelled. Without floats the card says so and leaves out the water.
func (m *Map) TowCard(ctx context.Context, o TowCardOptions) (*TowCard, error) {
	if err := o.fill(); err != nil {
		return nil, err
	}
	c := m.model.craft
	if err := c.Require(BlockPilot, BlockWeights, BlockTow); err != nil {
		return nil, err
	}
	t := &TowCard{TowCardOptions: o, Craft: c}
	first, step := o.Units.ladder()
	top := o.Top
	if top == 0 {
		top = liftOffMost
	}
	for i := 0; ; i++ {
		v := first + float64(i)*step
		if v > top*(1+1e-9) {
			break
		}
		t.Rungs = append(t.Rungs, TowRung{Speed: v})
	}
	err := each(ctx, len(t.Rungs), func(i int) error { return t.fly(m, &t.Rungs[i]) })
	if err != nil {
		return nil, err
	}
	if err := t.liftOff(m); err != nil {
		return nil, err
	}
	if o.Top == 0 {
		t.trim()
	}
	err = each(ctx, len(t.Rungs), func(i int) error { return t.float(ctx, m, &t.Rungs[i]) })
	if err != nil {
		return nil, err
	}
	if err := t.fold(ctx, m); err != nil {
		return nil, err
	}
	if err := t.late(ctx); err != nil {
		return nil, err
	}
	for i := range t.Rungs {
		t.Rungs[i].Verdict = t.verdict(&t.Rungs[i])
	}
	t.WakeAt = t.Rungs[len(t.Rungs)-1].Speed
	for _, r := range t.Rungs {
		if r.Usable {
			t.WakeAt = r.Speed
		}
	}
	t.Wake, err = c.WakeLines(t.WakeAt)
	return t, err
}

// fly fills in what a rung tells of flight.
func (t *TowCard) fly(m *Map, r *TowRung) error {
	run, err := m.Run(r.Speed, t.Density)
	if err != nil {
		return err
	}
	all, err := run.TrimCurve()
	if err != nil {
		r.Grounded = err.Error()
		return nil
	}
	c, ok := all.AboveFloats()
	if !ok {
		r.Grounded = "the wings carry the weight only at heights where a float still lies in the water"
		return nil
	}
	r.Flies = true
	for s := range stops {
		if r.Holds[s], err = c.Equilibria(s.At(t.Craft.Pilot)); err != nil {
			return err
		}
	}
	held, ok := c.from(func(b Trim) bool { return b.HeightStable && b.TravelMargin >= 0 })
	if ok {
		c = held
	}
	r.Low = c.States[0]
	r.SelfHolding = c.SelfHolding()
	if r.Reach, err = c.Reach(); err != nil {
		return err
	}
	r.Pull = r.Low.LineTension
	r.Depression = run.Depression(r.Low)
	if !ok {
		return nil
	}
	height, bound := letGo(r.SelfHolding, r.Reach, t.Margin, t.Limit, c.States[len(c.States)-1].Clearance)
	if height <= r.Low.Clearance {
		return nil
	}
	if r.High, err = run.Trim(height); err != nil {
		return err
	}
	r.Usable, r.Bound = true, bound
	r.Pull = math.Max(r.Pull, r.High.LineTension)
	for _, b := range c.States {
		if b.Clearance < height {
			r.Pull = math.Max(r.Pull, b.LineTension)
		}
	}
	return nil
}

// liftOff chooses the place for the run up and finds the lift-offs.
func (t *TowCard) liftOff(m *Map) error {
	p := t.Craft.Pilot
	t.Start = p.XForward // slow to leave the water, where nothing better is known
	for _, r := range t.Rungs {
		if r.Usable {
			t.Start = r.Low.Pilot.X
			break
		}
	}
	if err := t.Craft.Require(BlockFloats); err != nil {
		t.NoFloats = err.Error()
		return nil
	}
	find := func(x float64) (LiftOff, bool) {
		l, err := m.LiftOff(x, t.Density)
		if err != nil {
			t.NoFloats = err.Error()
		}
		return l, err == nil
	}
	var at [stops]LiftOff
	for s := range stops {
		var ok bool
		if at[s], ok = find(s.At(p)); !ok {
			return nil
		}
	}
	start, _ := find(t.Start)
	best := start
	if x, ok := m.evenLiftOff(t.Density); ok && x >= p.XForward && x <= p.XAft {
		best, _ = find(x)
	}
	for _, l := range []LiftOff{start, at[Forward], at[Middle], at[Aft], start} {
		if best.Holds {
			break
		}
		best = l
	}
	t.Start = best.Pilot
	t.LiftOffs = append([]LiftOff{best}, at[:]...)
	return nil
}

// trim ends the ladder one step past the last speed that can be flown, or else past
// the last lift-off.
func (t *TowCard) trim() {
	last := -1
	for i, r := range t.Rungs {
		if r.Usable {
			last = i
		}
	}
	if last < 0 {
		for i, r := range t.Rungs {
			for _, l := range t.LiftOffs {
				if l.OK && l.Speed > r.Speed {
					last = i
				}
			}
		}
		last++
	}
	t.Rungs = t.Rungs[:min(last+2, len(t.Rungs))]
}

// float fills in what a rung tells of the water, and its hardest strip.
func (t *TowCard) float(ctx context.Context, m *Map, r *TowRung) error {
	if t.NoFloats != "" {
		r.Water.Why = t.NoFloats
	} else {
		run, err := m.Run(r.Speed, t.Density)
		if err != nil {
			return err
		}
		switch s, err := run.OnFloats(t.Start); {
		case err != nil:
			r.Water.Why = err.Error()
		default:
			r.Water.OnFloats, r.Water.Known = s, true
		}
	}
	height, pitch := r.Low.Height, r.Low.Pitch
	switch {
	case r.rests():
		height, pitch = r.Water.Height, r.Water.Pitch
		r.Pull = r.Water.LineTension
	case !r.Flies:
		return nil
	case r.Usable && r.High.Pitch > pitch:
		height, pitch = r.High.Height, r.High.Pitch
	}
	pose, err := m.model.lattice.AtPitch(ctx, pitch)
	if err != nil {
		return err
	}
	s, err := pose.Solve(ctx, height)
	if err != nil {
		return err
	}
	r.Peak = m.model.peak(s)
	return nil
}

// late fills in the reaction margins.
func (t *TowCard) late(ctx context.Context) error {
	if t.Flights == nil {
		return nil
	}
	return each(ctx, 2*len(t.Rungs), func(i int) error {
		r := &t.Rungs[i/2]
		if !r.Usable {
			return nil
		}
		run, err := t.Flights.Run(r.Speed, t.Density)
		if err != nil {
			return err
		}
		// A touch inside: at the very end the pilot's stop and the map's last digits meet.
		in := .02 * (r.High.Clearance - r.Low.Clearance)
		at := [2]float64{r.Low.Clearance + in, r.High.Clearance - in}[i%2]
		if x, err := run.Reaction(at); err == nil {
			r.Late[i%2] = Late{x, true}
		}
		return nil
	})
}

// samePlace reports whether two places of the pilot are one to a crew.
func samePlace(a, b float64) bool { return math.Abs(a-b) < .005 }

// fold finds the folds for the start and the stops over the ladder's speeds.
func (t *TowCard) fold(ctx context.Context, m *Map) error {
	from := t.Rungs[0].Speed
	for _, r := range t.Rungs { // none before there is a balance
		if !r.Flies {
			from = r.Speed
			continue
		}
		break
	}
	cs, err := m.crests(t.Density, from, t.Rungs[len(t.Rungs)-1].Speed)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	places := []float64{t.Start}
	for s := range stops {
		if x := s.At(t.Craft.Pilot); !samePlace(x, t.Start) {
			places = append(places, x)
		}
	}
	for _, x := range places {
		f, found, err := cs.fold(x)
		if err != nil {
			return err
		}
		if found {
			t.Folds = append(t.Folds, f)
		}
	}
	return nil
}
