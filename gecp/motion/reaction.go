package motion

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// Reaction says how late a pilot may be at one clearance and speed after the
// StandardSpeedUp. A flight counts as saved only if it comes to rest below Limit and no
// float strikes the water.
type Reaction struct {
	Clearance, Speed float64 // m, m/s
	Limit            float64 // m
	Fixed            Outcome // of a pilot who does nothing
	// What a pilot of the calculation may know: Knowing sees the boat's speed and knows the
	// right position for each; Seeing sees height, pitch and their rates only.
	// Where Fixed is saved no reaction is needed: both are then MaxDelay, Beyond.
	Knowing, Seeing Margin
	// Where no reaction saves: whether travel, or speed of shifting, without end would.
	LacksTravel, LacksSpeed bool
	// Shift is the slowest top speed of shifting, m/s, and Travel the least travel,
	// m, that save the craft for a quick person's delay, DelayPosition, the other being
	// the craft's: looked for up to 2 m/s and up to 4 times the craft's travel, about the
	// steady position in its proportion. Both are for the pilot of the smaller margin.
	Shift, Travel Least
}

// Margin is a reaction margin: the delay of a pilot up to which all delays looked at
// save the craft.
type Margin struct {
	Law    PilotLaw // without delay, the best of several strengths
	Prompt Outcome  // of the law without delay
	Delay  float64  // s, to 0.01 s, rounded down
	OK     bool     // false: not even a pilot without delay saves it
	Beyond bool     // Delay is the longest that was looked at, and still saves
}

// Counts returns the smaller of the two margins, the one that counts.
func (r Reaction) Counts() Margin {
	if !r.Seeing.OK || r.Knowing.OK && r.Seeing.Delay <= r.Knowing.Delay {
		return r.Seeing
	}
	return r.Knowing
}

// Least is the least of something that saves a craft.
type Least struct {
	Looked bool // whether it was looked for
	Value  float64
	OK     bool // false: not even the most that was tried
	None   bool // none is needed; Value is 0
}

func (l Least) words(unit string) string {
	switch {
	case !l.OK:
		return "none saves"
	case l.None:
		return "none needed"
	}
	return fmt.Sprintf("%.2f %s", l.Value, unit)
}

// lawStrengths returns how strongly a pilot may answer, times the law: a margin is
// that of the best of them, so that it tells of the craft and not of the hand.
func lawStrengths() [3]float64 { return [3]float64{1, .5, 2} }

// DefaultLimit is the clearance below which a flight must stay to count as saved, m,
// where no other is given: the usual own limit of a builder (common practice, no
// source).
const DefaultLimit = tow.DefaultOwnLimit

// trial is a flight that is flown again and again from the same start.
type trial struct {
	ctx   context.Context
	first *Flight
	law   PilotLaw
	limit float64
}

func newTrial(ctx context.Context, t tow.SteadyTow, clearance, limit float64) (*trial, error) {
	limit = cmp.Or(limit, DefaultLimit)
	if !(limit > 0 && limit <= 100) {
		return nil, fmt.Errorf("the clearance to stay below is %v m; give one above 0 and up to 100 m", limit)
	}
	law, err := DesignPilotLaw(t, clearance)
	if err != nil {
		return nil, err
	}
	first, err := NewFlight(t, clearance, StandardSpeedUp())
	if err != nil {
		return nil, err
	}
	return &trial{ctx, first, law, limit}, nil
}

// fly flies once, after a change to the flight, which may be nil.
func (t *trial) fly(c Controller, change func(f *Flight)) (Outcome, error) {
	if err := t.ctx.Err(); err != nil {
		return Outcome{}, err
	}
	f := *t.first
	f.in.rates = f.rates
	if change != nil {
		change(&f)
	}
	return f.Settle(c, t.limit), nil
}

// margin returns the margin of one strength of the law, looking no further than
// MaxDelay.
func (t *trial) margin(l PilotLaw) (m Margin, err error) {
	m.Law = l
	saves := func(delay float64) (Outcome, error) {
		l.Delay = delay
		return t.fly(l, nil)
	}
	if m.Prompt, err = saves(0); err != nil || !m.Prompt.Saved() {
		return m, err
	}
	m.OK = true
	m.Delay, m.Beyond, err = lastBeforeFailure(func(delay float64) (bool, error) {
		o, err := saves(delay)
		return o.Saved(), err
	})
	return m, err
}

// best returns the largest margin of the law's strengths for a pilot who sees the
// motion only or not.
func (t *trial) best(motionOnly bool) (best Margin, err error) {
	for i, strength := range lawStrengths() {
		l := t.law.by(strength)
		l.SeesMotionOnly = motionOnly
		m, err := t.margin(l)
		if err != nil {
			return m, err
		}
		if i == 0 || m.OK && (!best.OK || m.Delay > best.Delay) {
			best = m
		}
		if best.Beyond {
			break
		}
	}
	return best, nil
}

// InTime reports whether a pilot of a delay, s, and every quicker one, saves the craft at
// a clearance, m, below a limit, m (0 is DefaultLimit): one who knows the right position
// for every speed of the boat, and one who sees the motion only; or whether the craft
// comes to rest with the pilot still. It is what [tow.Rules] wants to be told. The errors
// are those of MarginsAt.
func InTime(ctx context.Context, t tow.SteadyTow, clearance, limit, delay float64) (bool, error) {
	if !(delay >= 0 && delay <= MaxDelay) {
		return false, fmt.Errorf("the delay is %v s; give one from 0 to %d s", delay, MaxDelay)
	}
	tr, err := newTrial(ctx, t, clearance, limit)
	if err != nil {
		return false, err
	}
	still, err := tr.fly(FixedPilot{}, nil)
	if err != nil || still.Saved() {
		return err == nil, err
	}
	for _, motionOnly := range []bool{true, false} { // the harder one first
		ok, err := tr.anyInTime(motionOnly, delay)
		if err != nil || !ok {
			return false, err
		}
	}
	return true, nil
}

// anyInTime reports whether one of the law's strengths is in time.
func (t *trial) anyInTime(motionOnly bool, delay float64) (bool, error) {
	for _, strength := range lawStrengths() {
		l := t.law.by(strength)
		l.SeesMotionOnly = motionOnly
		if ok, err := t.inTime(l, delay); ok || err != nil {
			return ok, err
		}
	}
	return false, nil
}

// inTime reports whether a law saves the craft with a delay, s, and with all shorter
// ones.
func (t *trial) inTime(l PilotLaw, delay float64) (bool, error) {
	for _, l.Delay = range delaysUpTo(delay) {
		o, err := t.fly(l, nil)
		if err != nil || !o.Saved() {
			return false, err
		}
	}
	return true, nil
}

// MarginsAt measures the reaction margins at a clearance, m, with the craft to stay
// below a limit, m (0 is DefaultLimit), and leaves out what would save where they do
// not. The errors are those of NewFlight and DesignPilotLaw, that of a limit out of
// range, and the context's, which is looked at before each of the flights.
func MarginsAt(ctx context.Context, t tow.SteadyTow, clearance, limit float64) (Reaction, error) {
	tr, err := newTrial(ctx, t, clearance, limit)
	if err != nil {
		return Reaction{}, err
	}
	return tr.margins(clearance)
}

func (t *trial) margins(clearance float64) (out Reaction, err error) {
	out = Reaction{Clearance: clearance, Speed: t.first.speed, Limit: t.limit}
	if out.Fixed, err = t.fly(FixedPilot{}, nil); err != nil {
		return Reaction{}, err
	}
	if out.Fixed.Saved() {
		m := Margin{Law: t.law, Prompt: out.Fixed, Delay: MaxDelay, OK: true, Beyond: true}
		out.Knowing, out.Seeing = m, m
		return out, nil
	}
	if out.Knowing, err = t.best(false); err != nil {
		return Reaction{}, err
	}
	if out.Seeing, err = t.best(true); err != nil {
		return Reaction{}, err
	}
	return out, nil
}

// ReactionAt is MarginsAt with what would save a person of a quick delay: less travel or
// slower shifting than the craft gives, or more.
func ReactionAt(ctx context.Context, t tow.SteadyTow, clearance, limit float64) (Reaction, error) {
	tr, err := newTrial(ctx, t, clearance, limit)
	if err != nil {
		return Reaction{}, err
	}
	out, err := tr.margins(clearance)
	if err != nil {
		return Reaction{}, err
	}
	laws := []PilotLaw{out.Counts().Law}
	if !out.Counts().OK { // with more travel or speed another strength may be the one that saves
		laws = laws[:0]
		for _, strength := range lawStrengths() {
			l := tr.law.by(strength)
			l.SeesMotionOnly = out.Counts().Law.SeesMotionOnly
			laws = append(laws, l)
		}
		if out.LacksTravel, err = tr.anySaves(laws, func(f *Flight) { f.fwd, f.aft = -gecp.FarAway, gecp.FarAway }); err != nil {
			return Reaction{}, err
		}
		if out.LacksSpeed, err = tr.anySaves(laws, func(f *Flight) { f.maxShift = gecp.FarAway }); err != nil {
			return Reaction{}, err
		}
	}
	for i := range laws {
		laws[i].Delay = DelayPosition
	}
	p := tr.first.craft.Pilot
	travel := p.XAft - p.XForward
	if out.Shift, err = tr.least(laws, out.Fixed, tr.first.maxShift, 2, func(f *Flight, v float64) { f.maxShift = v }); err != nil {
		return Reaction{}, err
	}
	out.Travel, err = tr.least(laws, out.Fixed, travel, 4*travel, func(f *Flight, v float64) {
		f.fwd, f.aft = stretched(p, f.start.Pilot.X, v/travel)
	})
	if err != nil {
		return Reaction{}, err
	}
	return out, nil
}

// stretched returns the stops of a travel that is k times a pilot's about a position, m
// aft of the datum.
func stretched(p *gecp.Pilot, at, k float64) (fwd, aft float64) {
	return at + k*(p.XForward-at), at + k*(p.XAft-at)
}

// least looks for the least of something that saves a pilot, from the craft's own
// value down or, where that does not save, up to the most.
func (t *trial) least(laws []PilotLaw, fixed Outcome, own, most float64, set func(f *Flight, v float64)) (Least, error) {
	if fixed.Saved() {
		return Least{Looked: true, OK: true, None: true}, nil
	}
	return leastThatSaves(own, most, func(v float64) (bool, error) {
		return t.anySaves(laws, func(f *Flight) { set(f, v) })
	})
}

// anySaves reports whether one of several laws saves a craft after a change to the flight.
func (t *trial) anySaves(laws []PilotLaw, change func(f *Flight)) (bool, error) {
	for _, l := range laws {
		if o, err := t.fly(l, change); err != nil || o.Saved() {
			return err == nil, err
		}
	}
	return false, nil
}

// HumanRange says what people are known to need.
const HumanRange = "published delays of people are 0.33 to 0.50 s (McRuer et al., AFFDL-TR-65-15, from memory), more for the unpractised"

// Verdict says in a few words what the smaller margin means. It never says safe.
func (r Reaction) Verdict() string {
	m := r.Counts()
	switch {
	case r.Fixed.Saved():
		return "comes to rest with the pilot still"
	case r.LacksTravel:
		return "no reaction saves it: the pilot reaches the stop"
	case r.LacksSpeed:
		return "no reaction saves it: the pilot shifts too slowly"
	case !m.OK:
		return "no reaction saves it: " + m.Prompt.short()
	case m.Beyond:
		return fmt.Sprintf("runs away if left alone; a reaction within %d s saves it", MaxDelay)
	case m.Delay < DelayPosition:
		return "faster than people react"
	case m.Delay < tow.SlowestReaction+edgeOfHuman:
		return "at the edge of what people manage"
	}
	return fmt.Sprintf("%.2f s more than the slowest published delay", m.Delay-tow.SlowestReaction)
}

// edgeOfHuman is how much longer than the slowest published delay a margin must be to
// be called more than the edge of what people manage, s: a chosen figure.
const edgeOfHuman = .1

func (o Outcome) short() string {
	if o.Above {
		return "it rises over the let-go limit"
	}
	switch o.End.Cause {
	case CausePitchedUp:
		return "pitches up"
	case CausePitchedDown:
		return "pitches down"
	case CauseRoseOut:
		return "rises and rises"
	case CauseWingWet:
		return "a wing comes down to the water"
	case CauseFloatStruck:
		return "a float strikes the water"
	case CauseNoState:
		return "the calculation finds no state"
	}
	return fmt.Sprintf("still swings after %.0f s", o.Time)
}

// Words says the margin: "0.30 s", "none" or "over 2 s".
func (m Margin) Words() string {
	switch {
	case !m.OK:
		return "none"
	case m.Beyond:
		return fmt.Sprintf("over %.0f s", m.Delay)
	}
	return fmt.Sprintf("%.2f s", m.Delay)
}

// What the two pilots of the calculation know, for words beside their margins.
const (
	KnowingPilot = "a pilot who knows the right position for every speed of the boat"
	SeeingPilot  = "a pilot who sees only height, pitch and their rates"
)

// String says the whole in words.
func (r Reaction) String() string {
	up := StandardSpeedUp().SpeedUp
	s := fmt.Sprintf("%.2f m, %.1f m/s, the boat gains %.0f m/s in %.0f s: %s. Pilot still: %s. ", r.Clearance, r.Speed, up.By, up.Over, r.Verdict(), r.Fixed)
	if m := r.Counts(); !m.OK {
		s += fmt.Sprintf("Pilot at once: %s. ", m.Prompt)
	}
	s += fmt.Sprintf("Reaction margin, staying below %.2f m: %s for %s; %s for %s. ", r.Limit, r.Knowing.Words(), KnowingPilot, r.Seeing.Words(), SeeingPilot)
	if !r.Shift.Looked {
		return s + upper(HumanRange) + "."
	}
	return s + fmt.Sprintf("For a delay of %.2f s, speed of shifting: %s; travel: %s; %s.", DelayPosition, r.Shift.words("m/s"), r.Travel.words("m"), HumanRange)
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
