package ask

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
)

// leap is a flight that the page plays in real time. The desk holds one.
type leap struct {
	flight    *gecp.Flight
	law       gecp.Controller // nil: the page's hand
	low, high float64       // clearances flown, m
}

// leapSeconds is how long a flight is played.
const leapSeconds = 15.

// The upsets come after a second of steady flight.
const (
	upsetAfter   = 1.  // s
	boatOver     = 1.  // s in which the boat changes its speed, as in gecp.StandardLeap
	gustGradient = 30. // m; the short end of the codes', see gecp.Gust
	waveLength   = 50. // m; the water under a craft of up to 10 m then counts as flat, see gecp.Wave
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
func (d *Desk) leap(ctx context.Context, q *question, progress func(float64)) (*leapStart, error) {
	d.flight = nil
	run, err := d.run(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	switch {
	case q.Upset == "wave" && !(q.Size >= 0 && q.Size <= 2):
		return nil, fmt.Errorf("the wave is %v m high; give a height from trough to crest up to 2 m", q.Size)
	case !(math.Abs(q.Size) <= 10):
		return nil, fmt.Errorf("the upset is %v m/s; give up to 10 m/s either way", q.Size)
	}
	var u gecp.Disturbance
	switch q.Upset {
	case "boat":
		u.SpeedUp = gecp.SpeedUp{Start: upsetAfter, By: q.Size, Over: boatOver}
	case "gust":
		u.Gust = gecp.Gust{Start: upsetAfter, Head: q.Size, Gradient: gustGradient}
	case "wave":
		u.Wave = gecp.Wave{Start: upsetAfter, Height: q.Size, Length: waveLength}
	case "none":
	default:
		return nil, fmt.Errorf("there is no upset %q", q.Upset)
	}
	f, err := run.Flight(q.ClearanceM, u)
	if err != nil {
		return nil, err
	}
	l := &leap{flight: f, low: q.ClearanceM, high: q.ClearanceM}
	switch q.Hand {
	case "yours":
	case "none":
		l.law = gecp.FixedPilot{}
	case "law":
		law, err := run.PilotLaw(q.ClearanceM)
		if err != nil {
			return nil, err
		}
		law.Delay = gecp.DelayRate
		l.law = law
	default:
		return nil, fmt.Errorf("there is no hand %q", q.Hand)
	}
	d.flight = l
	p := q.craft.Pilot
	return &leapStart{l.state(), p.XForward, p.XAft, leapSeconds}, nil
}

// run is the craft in tow at the question's speed.
func (d *Desk) run(ctx context.Context, q *question, progress func(float64)) (gecp.SteadyTow, error) {
	s, err := d.shape(ctx, q, progress)
	if err != nil {
		return gecp.SteadyTow{}, err
	}
	return s.fields.Run(q.SpeedMPS, 0)
}

// step flies on by the question's time, the pilot making for its place.
func (d *Desk) step(q *question) (*leapState, error) {
	l := d.flight
	if l == nil {
		return nil, errors.New("no flight is under way; begin one")
	}
	if !(q.DT > 0 && q.DT <= 1) {
		return nil, fmt.Errorf("the time to fly on by is %v s; give one above 0 and up to 1 s", q.DT)
	}
	for left := q.DT; left > 1e-9; left -= gecp.Tick {
		place := q.Place
		if l.law != nil {
			place = l.law.Position(l.flight)
		}
		if !l.flight.Step(min(left, gecp.Tick), place) {
			break
		}
		c := l.flight.State().Clearance
		l.low, l.high = min(l.low, c), max(l.high, c)
	}
	s := l.state()
	switch end := l.flight.End(); {
	case end.Cause != gecp.CauseNone:
		s.Over, s.Verdict = true, sentence(end.String())
	case s.Time >= leapSeconds:
		u := unitsOf(q.Units)
		s.Over = true
		s.Verdict = fmt.Sprintf("Still flying after %.0f s, between %s and %s of clearance.", s.Time, u.m(l.low), u.m(l.high))
		if t := l.flight.Touch(); t.OK {
			s.Verdict += fmt.Sprintf(" Float %d touched the water after %.1f s.", t.Float+1, t.Time)
		}
	}
	if s.Over {
		d.flight = nil
	}
	return &s, nil
}

func (l *leap) state() leapState {
	s := l.flight.State()
	return leapState{Time: s.Time, Clearance: s.Clearance, PitchDeg: deg(s.Pitch), Pilot: s.Pilot, Speed: s.Speed, Line: s.LineTension}
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
func (d *Desk) margin(ctx context.Context, q *question, progress func(float64)) (*marginAnswer, error) {
	run, err := d.run(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	r, err := run.Reaction(q.ClearanceM)
	if err != nil {
		return nil, err
	}
	u := unitsOf(q.Units)
	pace, perSecond := 1., "m/s"
	if q.Units == "us" {
		pace, perSecond = u.length, "ft/s"
	}
	least := func(l gecp.Least, factor, own float64, unit string) string {
		switch {
		case !l.Found:
			return fmt.Sprintf("none saves it; the craft file's is %.2f\u00a0%s", own*factor, unit)
		case l.Any:
			return "none needed"
		}
		return fmt.Sprintf("%.2f\u00a0%s; the craft file's is %.2f\u00a0%s", l.Value*factor, unit, own*factor, unit)
	}
	p := q.craft.Pilot
	shift := cmp.Or(p.MaxShift, gecp.DefaultShift)
	late := "none"
	switch {
	case r.Beyond:
		late = fmt.Sprintf("over %d\u00a0s", gecp.MaxDelay)
	case r.Known:
		late = fmt.Sprintf("%.2f\u00a0s", r.Margin)
	}
	leap := gecp.StandardLeap.SpeedUp
	person := fmt.Sprintf(" that saves it, %.2f\u00a0s late", gecp.DelayPosition)
	return &marginAnswer{
		Title: fmt.Sprintf("How late the pilot may be at %s of clearance and %s when the boat gains %.2g\u00a0%s within %.0f\u00a0s", u.m(r.Clearance), u.mps(r.Speed), leap.By*pace, perSecond, leap.Over),
		Rows: []marginRow{
			{"Reaction margin", late + ": " + r.Verdict()},
			{"Slowest shifting" + person, least(r.Shift, pace, shift, perSecond)},
			{"Least travel" + person, least(r.Travel, u.length, p.XAft-p.XForward, u.lengthName)},
			{"People", gecp.HumanRange},
		},
		Close: "A simulation teaches, it does not train.",
	}, nil
}
