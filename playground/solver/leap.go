package solver

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// leap is a flight that the page plays in real time. The service holds one.
type leap struct {
	flight    *motion.Flight
	law       motion.Controller // nil: the page's hand
	low, high float64           // clearances flown, m
}

// leapSeconds is how long a flight is played.
const leapSeconds = 15.

// The upsets come after a second of steady flight.
const (
	upsetAfter   = 1.  // s
	boatOver     = 1.  // s in which the boat changes its speed, as in gecp.StandardLeap
	gustGradient = 30. // m; the short end of the codes', see motion.Gust
	waveLength   = 50. // m; the water under a craft of up to 10 m then counts as flat, see motion.Wave
)

// leapState is the flight at one time.
type leapState struct {
	Time      float64 `json:"t_s"`
	Clearance float64 `json:"clearance_m"`
	PitchDeg  float64 `json:"pitch_deg"`
	Pilot     float64 `json:"pilot_x_m"`
	Speed     float64 `json:"speed_mps"`
	Line      float64 `json:"line_n"`
	Over      bool    `json:"over"`
	Verdict   string  `json:"verdict"` // when it is over
}

// leapStart is the answer to "leap".
type leapStart struct {
	leapState
	Forward float64 `json:"forward_m"`
	Aft     float64 `json:"aft_m"`
	Seconds float64 `json:"lasts_s"`
}

// leap begins a flight in the steady state at the question's clearance.
func (v *Service) leap(ctx context.Context, q *question, progress func(float64)) (*leapStart, error) {
	v.flight = nil
	st, err := v.tow(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	switch {
	case q.Upset == "wave" && !(q.Size >= 0 && q.Size <= 2):
		return nil, fmt.Errorf("the wave is %v m high; give a height from trough to crest up to 2 m", q.Size)
	case !(math.Abs(q.Size) <= 10):
		return nil, fmt.Errorf("the upset is %v m/s; give up to 10 m/s either way", q.Size)
	}
	var u motion.Disturbance
	switch q.Upset {
	case "boat":
		u.SpeedUp = motion.SpeedUp{Start: upsetAfter, By: q.Size, Over: boatOver}
	case "gust":
		u.Gust = motion.Gust{Start: upsetAfter, Head: q.Size, Gradient: gustGradient}
	case "wave":
		u.Wave = motion.Wave{Start: upsetAfter, Height: q.Size, Length: waveLength}
	case "none":
	default:
		return nil, fmt.Errorf("there is no upset %q", q.Upset)
	}
	f, err := motion.NewFlight(st, q.ClearanceM, u)
	if err != nil {
		return nil, err
	}
	l := &leap{flight: f, low: q.ClearanceM, high: q.ClearanceM}
	switch q.Hand {
	case "yours":
	case "none":
		l.law = motion.FixedPilot{}
	case "law":
		law, err := motion.DesignPilotLaw(st, q.ClearanceM)
		if err != nil {
			return nil, err
		}
		law.Delay = motion.DelayRate
		l.law = law
	default:
		return nil, fmt.Errorf("there is no hand %q", q.Hand)
	}
	v.flight = l
	p := q.craft.Pilot
	return &leapStart{l.state(), p.XForward, p.XAft, leapSeconds}, nil
}

// tow is the craft in tow at the question's speed.
func (v *Service) tow(ctx context.Context, q *question, progress func(float64)) (tow.SteadyTow, error) {
	s, err := v.shape(ctx, q, progress)
	if err != nil {
		return tow.SteadyTow{}, err
	}
	return q.tow(s.fields)
}

// step flies on by the question's time, the pilot making for its place.
func (v *Service) step(q *question) (*leapState, error) {
	l := v.flight
	if l == nil {
		return nil, errors.New("no flight is under way; begin one")
	}
	if !(q.DT > 0 && q.DT <= 1) {
		return nil, fmt.Errorf("the time to fly on by is %v s; give one above 0 and up to 1 s", q.DT)
	}
	for left := q.DT; left > 1e-9; left -= motion.Tick {
		place := q.Place
		if l.law != nil {
			place = l.law.Position(l.flight)
		}
		if !l.flight.Step(min(left, motion.Tick), place) {
			break
		}
		c := l.flight.State().Clearance
		l.low, l.high = min(l.low, c), max(l.high, c)
	}
	s := l.state()
	switch end := l.flight.End(); {
	case end.Cause != motion.CauseNone:
		s.Over, s.Verdict = true, sentence(end.String())
	case s.Time >= leapSeconds:
		h := q.System().Clearance()
		s.Over = true
		s.Verdict = fmt.Sprintf("Still flying after %.0f s, between %s and %s of clearance.", s.Time, h.Words(l.low, units.Nearest), h.Words(l.high, units.Nearest))
		if t := l.flight.Touch(); t.OK {
			s.Verdict += fmt.Sprintf(" Float %d touched the water after %.1f s.", t.Float+1, t.Time)
		}
	}
	if s.Over {
		v.flight = nil
	}
	return &s, nil
}

func (l *leap) state() leapState {
	s := l.flight.State()
	return leapState{Time: s.Time, Clearance: s.Clearance, PitchDeg: gecp.Degrees(s.Pitch), Pilot: s.Pilot, Speed: s.Speed, Line: s.LineTension}
}

// marginAnswer is the answer to "margin", in words of the question's units.
type marginAnswer struct {
	Title string      `json:"title"`
	Rows  []marginRow `json:"rows"`
	Close string      `json:"close"`
}

type marginRow struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// margin says how late a pilot may be at the question's clearance, and how slow and
// short of travel.
func (v *Service) margin(ctx context.Context, q *question, progress func(float64)) (*marginAnswer, error) {
	st, err := v.tow(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	r, err := motion.ReactionAt(ctx, st, q.ClearanceM, q.LimitM)
	if err != nil {
		return nil, err
	}
	u := q.System()
	least := func(l motion.Least, own float64, unit units.Unit) string {
		switch {
		case !l.OK:
			return "none saves it; the craft file's is " + unit.Words(own, units.Nearest)
		case l.None:
			return "none needed"
		}
		return unit.Words(l.Value, units.Up) + "; the craft file's is " + unit.Words(own, units.Nearest)
	}
	p := q.craft.Pilot
	shift := cmp.Or(p.MaxShift, motion.DefaultShift)
	up := motion.StandardSpeedUp().SpeedUp
	person := fmt.Sprintf(" that saves it, %.2f\u00a0s late", motion.DelayPosition)
	return &marginAnswer{
		Title: fmt.Sprintf("How late the pilot may be at %s of clearance and %s when the boat gains %s within %.0f\u00a0s, to stay below %s", u.Clearance().Words(r.Clearance, units.Nearest), u.FineSpeed().Words(r.Speed, units.Nearest), u.Pace().Words(up.By, units.Nearest), up.Over, u.LetGo(r.Limit)),
		Rows: []marginRow{
			{"Reaction margin", r.Counts().Words() + ": " + r.Verdict()},
			{"For " + motion.KnowingPilot, r.Knowing.Words()},
			{"For " + motion.SeeingPilot, r.Seeing.Words()},
			{"Slowest shifting" + person, least(r.Shift, shift, u.Pace())},
			{"Least travel" + person, least(r.Travel, p.XAft-p.XForward, u.Position())},
			{"People", motion.HumanRange},
		},
		Close: strings.TrimSpace(motion.GuessedRadii(q.craft) + " A simulation teaches, it does not train."),
	}, nil
}
