package solver

import (
	"context"
	"errors"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// towing is the answer to "towing" and "trust": the range as the tow card has it.
type towing struct {
	Lines    lines    `json:"lines"`
	OK       bool     `json:"ok_to_tow"`
	Sentence string   `json:"sentence"` // empty for a craft that lacks what a tow needs
	Window   string   `json:"window"`   // a sentence; empty where nothing is known
	Gains    []string `json:"gains"`    // at the lower and the upper end of the range
	Facts    []fact   `json:"facts"`    // for the first look
	Trust    *trusted `json:"trust"`    // how far to trust it; nil where that is not known
}

// fact is a figure with its name, in words of the question's units.
type fact struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// towing is the range as calculated; how far to trust it is another question, which takes
// longer.
func (v *Service) towing(ctx context.Context, q *question, progress func(float64)) (*towing, error) {
	s, err := v.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	return q.towing(ctx, s.fields, nil)
}

// towing works out the towing range of a map's craft with the reaction limit, and the speed
// window of the pilot's position. With variants, which are of the map, the range ends at the
// low end of what the height to let go may be.
func (q *question) towing(ctx context.Context, m *gecp.Map, left *tow.Variants) (*towing, error) {
	u := q.System()
	st, err := q.tow(m)
	var missing gecp.Problems
	if errors.As(err, &missing) { // a craft that cannot be towed yet: what it lacks stands in the notes
		return &towing{Lines: linesOf(&tow.Range{}, u), Gains: []string{}, Facts: []fact{}}, nil
	}
	if err != nil {
		return nil, err
	}
	rules := q.rules()
	if q.craft.Pilot != nil {
		rules.Reaction = motion.InTime
	}
	r, err := st.Range(ctx, rules)
	if err != nil {
		return nil, err
	}
	a := &towing{Gains: []string{}, Facts: []fact{}}
	var window *tow.Window
	if x, ok := q.pilotAt(&r); ok {
		w, err := tow.FindWindow(ctx, m, 0, x)
		switch {
		case ctx.Err() != nil:
			return nil, ctx.Err()
		case err != nil:
			a.Window = sentence("the speed window is not known: " + err.Error())
		default:
			window, a.Window = &w, sentence(w.Words(u))
		}
	}
	more := asCalculated(&r)
	if left != nil {
		if a.Trust, more, r, err = q.trusted(ctx, left, r, window); err != nil {
			return nil, err
		}
	}
	a.Lines, a.OK, a.Sentence = linesOf(&r, u), r.OK, q.rangeSentence(&r, "")+more
	if r.OK {
		for _, b := range []tow.Trim{r.Low, r.High} {
			gain, found, err := st.SpeedGain(ctx, b)
			if err != nil {
				return nil, err
			}
			text := u.SpeedGain(gain)
			if !found {
				text = "over " + text
			}
			a.Gains = append(a.Gains, text)
		}
	}
	if window != nil {
		a.Facts = speeds(window, u)
	}
	if q.craft.Pilot != nil && (r.OK || r.None == tow.NoneReaction) {
		late, err := q.reactions(ctx, st, &r)
		if err != nil {
			return nil, err
		}
		a.Facts = append(a.Facts, late...)
	}
	return a, nil
}

// pilotAt returns the position of the pilot whose speed window is told, m aft of the datum:
// the one set, or that of the lowest clearance of a range as calculated.
func (q *question) pilotAt(r *tow.Range) (x float64, ok bool) {
	switch {
	case q.PilotXM != nil:
		return *q.PilotXM, true
	case (r.OK || r.None == tow.NoneReaction) && r.Low.Pilot.OK:
		return r.Low.Pilot.X, true
	}
	return 0, false
}

// speeds are the ends of a window as facts.
func speeds(w *tow.Window, u units.System) []fact {
	off := fact{"Lifts off at", "not at all"}
	if w.LiftOff.OK {
		off.Text = u.FlyAbove(w.LiftOff.Speed)
	}
	to := fact{"Holds a height up to", "no speed"}
	switch {
	case w.OK && (w.Folds || w.Unstable):
		to.Text = u.StayBelow(w.To)
	case w.OK:
		to.Text = u.StayBelow(w.To) + " at least"
	}
	return []fact{off, to}
}

// reactions are the reaction margins at the ends of a range as facts, or at the lowest
// clearance where there is no range.
func (q *question) reactions(ctx context.Context, st tow.SteadyTow, r *tow.Range) ([]fact, error) {
	u := q.System()
	at := []tow.Trim{r.Low}
	if r.OK {
		at = append(at, r.High)
	}
	var out []fact
	for i, b := range at {
		m, err := motion.MarginsAt(ctx, st, b.Clearance, q.LimitM)
		if err != nil {
			return nil, err
		}
		name := "Time to react at " + u.Clearance().Words(b.Clearance, units.Nearest)
		if i == 1 {
			name = "Time to react at " + u.LetGo(b.Clearance)
		}
		out = append(out, fact{name, m.Counts().Words()})
	}
	return out, nil
}
