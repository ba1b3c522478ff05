package motion

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/bisect"
	"example.org/groundeffect/gecp/tow"
)

// What counts as settled: for settledFor seconds the clearance stays within
// settledHeight and the pitch within settledPitch, at settledFrom seconds or later.
// A flight that still swings at settledBy, as on an elastic line, counts as settled
// if its last quarter stays within four times these bounds and swings less than
// the quarter before. The sizes are this project's choice.
const (
	settledFor    = 3.                 // s
	settledHeight = .05                // m, from lowest to highest
	settledPitch  = .5 * math.Pi / 180 // rad, likewise
	settledFrom   = 5.                 // s
	settledBy     = 24.                // s
	settledBlock  = .5                 // s; the bounds are looked at this often
)

// Outcome is what became of a flight.
type Outcome struct {
	Settled bool
	Swings  bool    // to the end; if settled, dying away
	Afloat  bool    // it came down softly, no float striking the water, and rests on its floats
	End     End     // how it was lost, if it was
	Time    float64 // when it had settled or ended, or the flight was left, s
	Top     float64 // highest clearance, m
	Nose    float64 // highest pitch, rad
	Touch   Touch
	// Above is true if the craft rose over the limit of the question, where it was left: not
	// settled.
	Above bool
}

// Saved reports whether the craft came to rest in the air, or softly on its floats,
// without rising over the limit and without a float striking the water.
func (o Outcome) Saved() bool { return o.Settled || o.Afloat }

// String says it in words.
func (o Outcome) String() string {
	var s string
	switch {
	case o.Settled && o.Swings:
		s = fmt.Sprintf("swings, dying away within %.0f s, at most %.2f m up", o.Time, o.Top)
	case o.Settled:
		s = fmt.Sprintf("settles within %.0f s, at most %.2f m up", o.Time, o.Top)
	case o.Afloat:
		s = fmt.Sprintf("comes down onto its floats within %.0f s", o.Time)
	case o.Above:
		s = fmt.Sprintf("rises over the let-go limit, past %.2f m after %.1f s", o.Top, o.Time)
	case o.End.Cause != CauseNone:
		return o.End.String()
	default:
		s = fmt.Sprintf("still swings after %.0f s, up to %.2f m", o.Time, o.Top)
	}
	if o.Touch.OK {
		s += fmt.Sprintf("; float %d touched the water after %.1f s, sinking %.1f m/s", o.Touch.Float+1, o.Touch.Time, o.Touch.Sink)
	}
	return s
}

// span is the range of a clearance, m, or a pitch, rad, over some time.
type span struct{ low, high float64 }

func (s span) and(t span) span { return span{math.Min(s.low, t.low), math.Max(s.high, t.high)} }

var nowhere = span{math.Inf(1), math.Inf(-1)}

// Settle flies on until the flight has settled, has ended, has risen over a limit of
// clearance, m, or 24 s have passed. It counts as settled only if it stays below the
// limit and no float strikes the water.
func (f *Flight) Settle(s Controller, limit float64) Outcome {
	const blocks = int(settledBy / settledBlock)
	var height, pitch [blocks]span
	n := 0
	during := func(from, to int) (h, p float64) {
		a, b := nowhere, nowhere
		for i := from; i < to; i++ {
			a, b = a.and(height[i]), b.and(pitch[i])
		}
		return a.high - a.low, b.high - b.low
	}
	o := Outcome{Top: math.Inf(-1), Nose: math.Inf(-1)}
	for ; n < blocks && f.end.Cause == CauseNone && !o.Settled && !o.Above; n++ {
		h, p := nowhere, nowhere
		for range int(settledBlock / Tick) {
			f.Step(Tick, s.Position(f))
			_, c, _ := f.over()
			h, p = h.and(span{c, c}), p.and(span{f.y[2], f.y[2]})
			if o.Above = c > limit; o.Above {
				break
			}
		}
		height[n], pitch[n] = h, p
		o.Top, o.Nose = math.Max(o.Top, h.high), math.Max(o.Nose, p.high)
		if f.end.Cause == CauseNone && !o.Above && f.t > settledFrom-Tick/2 {
			dh, dp := during(n+1-int(settledFor/settledBlock), n+1)
			if o.Settled = dh < settledHeight && dp < settledPitch; o.Settled && f.wet != 0 {
				o.Settled, o.Afloat = false, true
				break
			}
		}
	}
	if f.end.Cause == CauseNone && !o.Settled && !o.Afloat && !o.Above {
		h1, p1 := during(blocks/2, blocks*3/4)
		h2, p2 := during(blocks*3/4, blocks)
		o.Settled = h2 < 4*settledHeight && p2 < 4*settledPitch && h2 < h1 && p2 < p1
		o.Swings = true
	}
	o.End, o.Time, o.Touch = f.end, f.t, f.touch
	return o
}

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

// Delays are looked at every coarseDelay, s, and every fineDelay behind the last that
// saves: the margin ends at the first delay that fails, whether or not a longer one
// saves again.
const (
	coarseDelay = .05
	fineDelay   = .01
)

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
	// Delays as whole steps, so that their sums have no rounding.
	most := int(math.Round(MaxDelay / fineDelay))
	stride := int(math.Round(coarseDelay / fineDelay))
	last := 0
	for last < most {
		next := min(last+stride, most)
		o, err := saves(float64(next) * fineDelay)
		if err != nil {
			return m, err
		}
		if o.Saved() {
			last = next
			continue
		}
		for n := last + 1; n < next; n++ {
			o, err := saves(float64(n) * fineDelay)
			if err != nil {
				return m, err
			}
			if !o.Saved() {
				break
			}
			last = n
		}
		m.Delay = float64(last) * fineDelay
		return m, nil
	}
	m.Delay, m.Beyond = MaxDelay, true
	return m, nil
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

// inTime reports whether a law saves the craft with a delay, s, and with all shorter ones
// at steps of coarseDelay. It begins with the longest, which is the first to fail.
func (t *trial) inTime(l PilotLaw, delay float64) (bool, error) {
	n := int(math.Ceil(delay/coarseDelay - 1e-9))
	for i := n; i >= 0; i-- {
		l.Delay = math.Min(delay, float64(i)*coarseDelay)
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
	law := out.Counts().Law
	if !out.Counts().OK {
		far, err := tr.fly(law, func(f *Flight) { f.fwd, f.aft = -gecp.FarAway, gecp.FarAway })
		if err != nil {
			return Reaction{}, err
		}
		fast, err := tr.fly(law, func(f *Flight) { f.maxShift = gecp.FarAway })
		if err != nil {
			return Reaction{}, err
		}
		out.LacksTravel, out.LacksSpeed = far.Saved(), fast.Saved()
	}
	law.Delay = DelayPosition
	p := tr.first.craft.Pilot
	travel := p.XAft - p.XForward
	if out.Shift, err = tr.least(law, out.Fixed, tr.first.maxShift, 2, func(f *Flight, v float64) { f.maxShift = v }); err != nil {
		return Reaction{}, err
	}
	out.Travel, err = tr.least(law, out.Fixed, travel, 4*travel, func(f *Flight, v float64) {
		k, at := v/travel, f.start.Pilot.X
		f.fwd, f.aft = at+k*(p.XForward-at), at+k*(p.XAft-at)
	})
	if err != nil {
		return Reaction{}, err
	}
	return out, nil
}

// least looks for the least of something that saves a pilot, from the craft's own
// value down or, where that does not save, up to the most.
func (t *trial) least(person PilotLaw, fixed Outcome, own, most float64, set func(f *Flight, v float64)) (Least, error) {
	if fixed.Saved() {
		return Least{Looked: true, OK: true, None: true}, nil
	}
	const step = .8
	saves := func(v float64) (bool, error) {
		o, err := t.fly(person, func(f *Flight) { set(f, v) })
		return o.Saved(), err
	}
	v := own
	for {
		ok, err := saves(v)
		if err != nil {
			return Least{}, err
		}
		if ok {
			break
		}
		if v /= step; v > most {
			return Least{Looked: true}, nil
		}
	}
	for v > fineDelay {
		ok, err := saves(v * step)
		if err != nil {
			return Least{}, err
		}
		if !ok {
			_, v, err = bisect.Edge(v*step, v, .01, saves)
			return Least{Looked: true, Value: v, OK: true}, err
		}
		v *= step
	}
	return Least{Looked: true, Value: v, OK: true}, nil
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
