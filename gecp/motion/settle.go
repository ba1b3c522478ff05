package motion

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

// over returns how far the highest of several lies over the lowest.
func over(spans []span) float64 {
	all := nowhere
	for _, s := range spans {
		all = all.and(s)
	}
	return all.high - all.low
}

// swing is how far clearance, m, and pitch, rad, went from lowest to highest.
type swing struct{ height, pitch float64 }

// still reports whether a craft that swung so is taken to be at rest.
func (s swing) still() bool { return s.height < settledHeight && s.pitch < settledPitch }

// diesAway reports whether a swing that has not come to rest is small, and smaller than
// that before it.
func (s swing) diesAway(before swing) bool {
	return s.height < 4*settledHeight && s.pitch < 4*settledPitch && s.height < before.height && s.pitch < before.pitch
}

// Settle flies on until the flight has settled, has ended, has risen over a limit of
// clearance, m, or 24 s have passed. It counts as settled only if it stays below the
// limit and no float strikes the water.
func (f *Flight) Settle(s Controller, limit float64) Outcome {
	const blocks = int(settledBy / settledBlock)
	var height, pitch [blocks]span
	n := 0
	during := func(from, to int) swing { return swing{over(height[from:to]), over(pitch[from:to])} }
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
			const recent = int(settledFor / settledBlock)
			if o.Settled = during(n+1-recent, n+1).still(); o.Settled && f.wet != 0 {
				o.Settled, o.Afloat = false, true
				break
			}
		}
	}
	if f.end.Cause == CauseNone && !o.Settled && !o.Afloat && !o.Above {
		o.Settled = during(blocks*3/4, blocks).diesAway(during(blocks/2, blocks*3/4))
		o.Swings = true
	}
	o.End, o.Time, o.Touch = f.end, f.t, f.touch
	return o
}
