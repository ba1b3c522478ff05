package gecp

import (
	"fmt"
	"math"
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
	Afloat  bool    // it came down softly and rides on its floats: not settled
	End     End     // how it was lost, if it was
	Time    float64 // when it had settled or ended, or the flight was left, s
	Top     float64 // highest clearance, m
	Nose    float64 // highest pitch, rad
	Touch   Touch
}

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

// Settle flies on until the flight has settled, has ended, or 24 s have passed.
func (f *Flight) Settle(s Controller) Outcome {
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
	for ; n < blocks && f.end.Cause == CauseNone && !o.Settled; n++ {
		h, p := nowhere, nowhere
		for range int(settledBlock / Tick) {
			f.Step(Tick, s.Position(f))
			_, c, _ := f.over()
			h, p = h.and(span{c, c}), p.and(span{f.y[2], f.y[2]})
		}
		height[n], pitch[n] = h, p
		o.Top, o.Nose = math.Max(o.Top, h.high), math.Max(o.Nose, p.high)
		if f.end.Cause == CauseNone && f.t > settledFrom-Tick/2 {
			dh, dp := during(n+1-int(settledFor/settledBlock), n+1)
			if o.Settled = dh < settledHeight && dp < settledPitch; o.Settled && f.wet != 0 {
				o.Settled, o.Afloat = false, true
				break
			}
		}
	}
	if f.end.Cause == CauseNone && !o.Settled && !o.Afloat {
		h1, p1 := during(blocks/2, blocks*3/4)
		h2, p2 := during(blocks*3/4, blocks)
		o.Settled = h2 < 4*settledHeight && p2 < 4*settledPitch && h2 < h1 && p2 < p1
		o.Swings = true
	}
	o.End, o.Time, o.Touch = f.end, f.t, f.touch
	return o
}

// Reaction says how late a pilot may be at one clearance and speed after the
// StandardLeap.
type Reaction struct {
	Clearance, Speed float64  // m, m/s
	Law              PilotLaw // the best of several strengths
	Frozen           Outcome  // of a pilot who does nothing
	Prompt           Outcome  // of the law without delay
	// Margin is the reaction margin: the longest delay, s to 0.01 s, with which the law
	// still settles the craft, all shorter ones doing so too. Known is false if the law
	// does not even without delay. Beyond says that MaxDelay still settles, Again that
	// some longer delay does so where Margin plus a little does not.
	Margin               float64
	Known, Beyond, Again bool
	// Where Known is false: whether travel, or speed of shifting, without end would save.
	LacksTravel, LacksSpeed bool
	// Shift is the slowest top speed of shifting, m/s, and Travel the least travel,
	// m, that settle the craft for a quick person's delay, DelayPosition, the other being the
	// craft's: looked for up to 2 m/s and up to 4 times the craft's travel, about the
	// steady place in its proportion.
	Shift, Travel Least
}

// Least is the least of something that saves a craft.
type Least struct {
	Value float64
	Found bool // false: not even the most that was tried
	Any   bool // true: none is needed; Value is 0
}

func (l Least) words(unit string) string {
	switch {
	case !l.Found:
		return "none saves"
	case l.Any:
		return "none needed"
	}
	return fmt.Sprintf("%.2f %s", l.Value, unit)
}

// lawStrengths are how strongly a pilot may answer, times the law: the margin is
// that of the best of them, so that it tells of the craft and not of the hand.
var lawStrengths = []float64{.5, 1, 2}

// Reaction measures the reaction margin at a clearance, m. The errors are those of
// Flight and PilotLaw.
func (r SteadyTow) Reaction(clearance float64) (Reaction, error) {
	law, err := r.PilotLaw(clearance)
	if err != nil {
		return Reaction{}, err
	}
	first, err := r.Flight(clearance, StandardLeap)
	if err != nil {
		return Reaction{}, err
	}
	out := Reaction{Clearance: clearance, Speed: r.speed}
	fly := func(s Controller, change func(f *Flight)) Outcome {
		f := *first
		f.in.rates = f.rates
		if change != nil {
			change(&f)
		}
		return f.Settle(s)
	}
	out.Frozen = fly(FixedPilot{}, nil)

	const coarse, fine = .1, .01
	var delays []float64
	for i := range int(MaxDelay/coarse) + 1 {
		delays = append(delays, float64(i)*coarse)
	}
	for i, strength := range lawStrengths {
		l := law.by(strength)
		late := func(delay float64) Outcome {
			l.Delay = delay
			return fly(l, nil)
		}
		e := edge(delays, fine, func(d float64) bool { return late(d).Settled })
		margin := math.Floor(e.last/fine+1e-6) / 100
		if i > 0 && !(e.any && (!out.Known || margin > out.Margin)) {
			continue
		}
		out.Margin, out.Known, out.Beyond, out.Again = margin, e.any, e.all, e.again
		out.Prompt = late(0)
		l.Delay = 0
		out.Law = l
	}
	law = out.Law
	if !out.Known {
		far := fly(law, func(f *Flight) { f.fwd, f.aft = -farAway, farAway })
		fast := fly(law, func(f *Flight) { f.maxShift = farAway })
		out.LacksTravel, out.LacksSpeed = far.Settled, fast.Settled
	}

	person := law
	person.Delay = DelayPosition
	least := func(own, most float64, set func(f *Flight, v float64)) Least {
		if out.Frozen.Settled {
			return Least{Found: true, Any: true}
		}
		const step = .8
		saves := func(v float64) bool {
			return fly(person, func(f *Flight) { set(f, v) }).Settled
		}
		vs := []float64{own}
		for !saves(vs[0]) { // up to the first that saves
			if v := vs[0] / step; v <= most {
				vs[0] = v
				continue
			}
			return Least{}
		}
		for v := vs[0] * step; v > fine; v *= step {
			vs = append(vs, v)
		}
		return Least{Value: edge(vs, fine, saves).last, Found: true}
	}
	p := r.m.model.craft.Pilot
	travel := p.XAft - p.XForward
	out.Shift = least(first.maxShift, 2, func(f *Flight, v float64) { f.maxShift = v })
	out.Travel = least(travel, 4*travel, func(f *Flight, v float64) {
		k, at := v/travel, f.start.Pilot.X
		f.fwd, f.aft = at+k*(p.XForward-at), at+k*(p.XAft-at)
	})
	return out, nil
}

// stretch is what edge found.
type stretch struct {
	last            float64 // the last value that saves
	any, all, again bool    // the first does; the whole list does; one after the end does
}

// edge follows a list from its easiest value on as long as the values save, and
// then closes in on where they cease to, to within tol.
func edge(values []float64, tol float64, saves func(float64) bool) stretch {
	for i, v := range values {
		if saves(v) {
			continue
		}
		if i == 0 {
			return stretch{}
		}
		s := stretch{any: true}
		ok, lost := values[i-1], v
		for math.Abs(lost-ok) > tol*(1+1e-9) {
			if m := (ok + lost) / 2; saves(m) {
				ok = m
			} else {
				lost = m
			}
		}
		s.last = ok
		for _, v := range values[i+1:] {
			if saves(v) {
				s.again = true
				break
			}
		}
		return s
	}
	return stretch{last: values[len(values)-1], any: true, all: true}
}

// HumanRange says what people are known to need.
const HumanRange = "published delays of people are 0.33 to 0.50 s (McRuer et al., AFFDL-TR-65-15, from memory), more for the unpractised"

// Verdict says in a few words what the margin means. It never says safe.
func (r Reaction) Verdict() string {
	switch {
	case r.Frozen.Settled:
		return "settles with the pilot frozen"
	case r.LacksTravel:
		return "no reaction saves it: the pilot reaches the stop"
	case r.LacksSpeed:
		return "no reaction saves it: the pilot shifts too slowly"
	case !r.Known:
		return "no reaction saves it: " + r.Prompt.End.short(r.Prompt)
	case r.Beyond:
		return fmt.Sprintf("runs away if left alone; a reaction within %d s saves it", MaxDelay)
	case r.Margin < DelayPosition:
		return "faster than people react"
	case r.Margin < DelayAcceleration+.1:
		return "at the edge of what people manage"
	}
	return fmt.Sprintf("%.2f s more than the slowest published delay", r.Margin-DelayAcceleration)
}

func (e End) short(o Outcome) string {
	switch e.Cause {
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
	}
	if o.Afloat {
		return "comes down onto its floats"
	}
	return fmt.Sprintf("still swings after %.0f s", o.Time)
}

// String says the whole in words.
func (r Reaction) String() string {
	s := fmt.Sprintf("%.2f m, %.1f m/s, the boat gains %.0f m/s in %.0f s: %s. Pilot frozen: %s. ", r.Clearance, r.Speed, StandardLeap.SpeedUp.By, StandardLeap.SpeedUp.Over, r.Verdict(), r.Frozen)
	switch {
	case !r.Known:
		s += fmt.Sprintf("Pilot at once: %s. ", r.Prompt)
	case r.Beyond:
		s += fmt.Sprintf("Reaction margin over %d s. ", MaxDelay)
	default:
		s += fmt.Sprintf("Reaction margin %.2f s. ", r.Margin)
	}
	return s + fmt.Sprintf("For a delay of %.2f s, speed of shifting: %s; travel: %s; %s.", DelayPosition, r.Shift.words("m/s"), r.Travel.words("m"), HumanRange)
}
