// Package changes is the page's second solver: what to change in a craft, and what an inexact build
// does, by package design; what a craft does when a wing drops, by package bank. It is apart from package solver so that the page's first
// screen does not wait for it: its WebAssembly is loaded when it is first asked.
//
// Questions and answers are those of package exchange, of these kinds:
//
//	steps   {craft, speed_mps, limit_m, fidelity, stations}  what a step of each dimension does
//	advice  the same and least_window_mps                    the smallest changes that give the craft what it lacks
//	builds  {craft, speed_mps, limit_m, fidelity}            what craft do that are built to the file
//	bank    the same, {clearance_m, pitch_deg, units}         the craft banked at one clearance and pitch
//	righting  likewise                                       up to which clearance a dropped tip comes up again
//
// Words of what to change come in both systems of units, {"metric", "us"}, so that nothing is worked out again when the page
// changes its units. Its figures are by equilibrium: whether people can react in time
// is not asked.
package changes

import (
	"bytes"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/playground/exchange"
)

// Service answers questions. It keeps the sensitivities last found, for advice about the
// same craft. It is for one goroutine at a time.
type Service struct {
	of    asked // what found belongs to
	found *design.Sensitivities
}

type question struct {
	exchange.Question
	Stations    bool    `json:"stations"`         // one by one, too
	LeastWindow float64 `json:"least_window_mps"` // the narrowest speed window that the boat can hold
	ClearanceM  float64 `json:"clearance_m"`      // before banking
	PitchDeg    float64 `json:"pitch_deg"`

	craft *gecp.Craft
}

// asked is what sensitivities depend on.
type asked struct {
	craft        string
	speed, limit float64
	stations     bool
	mesh         gecp.Mesh
}

// Answer answers one question, in JSON. progress is told the part done, 0..1; it may be
// nil. A cancelled context makes the answer a problem.
func (v *Service) Answer(ctx context.Context, text []byte, progress func(part float64)) []byte {
	var q question
	return exchange.Answer(text, &q, func() (any, error) { return v.answer(ctx, &q, progress) }, func() { *v = Service{} })
}

func (v *Service) answer(ctx context.Context, q *question, progress func(float64)) (any, error) {
	c, err := gecp.Read(bytes.NewReader(q.Craft))
	if err != nil {
		return nil, err
	}
	q.craft = c
	if err := q.CheckSpeed(); err != nil {
		return nil, err
	}
	if err := q.CheckLimit(); err != nil {
		return nil, err
	}
	switch q.Ask {
	case "steps":
		return v.steps(ctx, q, progress)
	case "advice":
		return v.advice(ctx, q, progress)
	case "builds":
		return builds(ctx, q, progress)
	case "bank":
		return q.bank(ctx, progress)
	case "righting":
		return q.righting(ctx, progress)
	}
	return nil, fmt.Errorf("the solver of changes knows no question %q", q.Ask)
}

// words are a sentence in both systems of units.
type words struct {
	Metric string `json:"metric"`
	US     string `json:"us"`
}

// inBoth has a sentence written in both systems.
func inBoth(write func(u units.System) string) words {
	return words{write(units.Metric), write(units.Customary)}
}

// effect is what a step does to one answer.
type effect struct {
	PerStep *float64 `json:"per_step"` // in SI; absent where the craft has no such figure
	Words   words    `json:"words"`    // "+9.7 mm"
	Seen    bool     `json:"seen"`     // the figure is not 0 as shown
	Only    string   `json:"only"`     // why the figure is less than it seems; empty where it is not
}

// column is an answer whose changes are shown.
type column struct {
	Key   string `json:"key"`
	Name  string `json:"name"`
	Order []int  `json:"order"` // of the steps, the largest change first
}

// step is what a builder's step of one dimension does.
type step struct {
	Path     string      `json:"path"`
	Amount   words       `json:"amount"` // "0.5°"
	More     words       `json:"more"`   // what the step is: "turning wing "rear" by 0.5° nose-up"
	Less     words       `json:"less"`   // the contrary
	Effects  []effect    `json:"effects"`
	Larger   *gecp.Craft `json:"larger"`  // absent where it is no sound craft
	Smaller  *gecp.Craft `json:"smaller"` // likewise
	Sentence words       `json:"sentence"`
}

// steps is the answer to "steps".
type steps struct {
	Columns []column `json:"columns"` // the first is ranked by
	Steps   []step   `json:"steps"`   // in the order of the craft file
	// Window is the width of the speed window, m/s; absent where the craft has none. Range tells that it has
	// a height to tow it at, Whole that it has pilot and floats, so that a window is asked of it.
	Window *float64 `json:"window_mps"`
	Range  bool     `json:"range"`
	Whole  bool     `json:"whole"`
}

// find returns the sensitivities of a question, found now or kept from before.
func (v *Service) find(ctx context.Context, q *question, progress func(float64)) (*design.Sensitivities, error) {
	of := asked{string(q.Craft), q.SpeedMPS, q.LimitM, q.Stations, q.Mesh()}
	if v.found != nil && v.of == of {
		return v.found, nil
	}
	s, err := design.FindSensitivities(ctx, q.craft, design.SensitivityOptions{
		Question: design.Question{Speed: q.SpeedMPS, Rules: tow.Rules{OwnLimit: q.LimitM}}, Mesh: q.Mesh(), Details: q.Stations, Progress: progress,
	})
	if err != nil {
		return nil, err
	}
	v.of, v.found = of, &s
	return v.found, nil
}

// columns are the answers shown: let-go height and window, and what is ranked by where it is another.
func columns(s *design.Sensitivities) []design.Answer {
	shown := []design.Answer{design.AnswerLetGo, design.AnswerWindow}
	if i := slices.Index(shown, s.Options.Rank); i >= 0 {
		shown[0], shown[i] = shown[i], shown[0]
		return shown
	}
	return append([]design.Answer{s.Options.Rank}, shown...)
}

func (v *Service) steps(ctx context.Context, q *question, progress func(float64)) (*steps, error) {
	s, err := v.find(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	a := &steps{Range: s.Base.Range.OK, Whole: q.craft.Require(gecp.BlockPilot, gecp.BlockFloats) == nil, Columns: []column{}, Steps: []step{}}
	if f := s.Base.Figures[design.AnswerWindow]; f.OK {
		a.Window = &f.Value
	}
	shown := columns(s)
	number := map[string]int{}
	for i := range s.Dimensions {
		d := &s.Dimensions[i]
		number[d.Path] = i
		w := step{
			Path:     d.Path,
			Amount:   inBoth(func(u units.System) string { return d.Amount(d.Step, u) }),
			More:     inBoth(func(u units.System) string { return d.ChangeWords(s.Craft, d.Step, u) }),
			Less:     inBoth(func(u units.System) string { return d.ChangeWords(s.Craft, -d.Step, u) }),
			Sentence: inBoth(func(u units.System) string { return d.Words(s, u) }),
		}
		// A craft that a step makes unsound is left out; its row says so by having no press.
		w.Larger, _ = design.Set(s.Craft, d.Path, d.Value+d.Step)
		w.Smaller, _ = design.Set(s.Craft, d.Path, d.Value-d.Step)
		for _, at := range shown {
			w.Effects = append(w.Effects, effectOf(at, d.Effects[at]))
		}
		a.Steps = append(a.Steps, w)
	}
	for _, at := range shown {
		c := column{Key: at.String(), Name: at.Words()}
		for _, d := range s.By(at) {
			c.Order = append(c.Order, number[d.Path])
		}
		a.Columns = append(a.Columns, c)
	}
	return a, nil
}

// effectOf is an effect on an answer in words.
func effectOf(at design.Answer, e design.Effect) effect {
	if !e.OK {
		return effect{}
	}
	out := effect{PerStep: &e.PerStep, Words: inBoth(func(u units.System) string {
		f := at.FineUnit(u)
		return f.Signed(e.PerStep) + " " + f.Name
	})}
	out.Seen = at.FineUnit(units.Metric).Rounded(e.PerStep, units.Nearest) != 0
	switch {
	case e.OneSided:
		out.Only = "one way only: the other way there is none"
	case e.Bends:
		out.Only = "the mean of both ways, which differ"
	}
	return out
}

// advised is the answer to "advice".
type advised struct {
	Needed   bool     `json:"needed"`
	Sentence words    `json:"sentence"` // what the craft lacks, and whether a change was found
	Changes  []change `json:"changes"`
}

// change gives the craft what it lacks.
type change struct {
	Path  string      `json:"path"`
	Words words       `json:"words"`
	Craft *gecp.Craft `json:"craft"`
}

func (v *Service) advice(ctx context.Context, q *question, progress func(float64)) (*advised, error) {
	if err := exchange.Within("least_window_mps", "the speed window that your boat can hold", q.LeastWindow, .1*units.KMH, 30, q.System().FineSpeed()); err != nil {
		return nil, err
	}
	s, err := v.find(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	d, err := s.Advise(ctx, design.AdviceOptions{LeastWindow: q.LeastWindow, Progress: progress})
	if err != nil {
		return nil, err
	}
	a := &advised{Needed: d.Needed, Changes: []change{}, Sentence: inBoth(func(u units.System) string { return firstLine(d.Words(s, u)) })}
	for i := range d.Changes {
		c := &d.Changes[i]
		a.Changes = append(a.Changes, change{c.Path, inBoth(func(u units.System) string { return withoutPath(c.Words(s, u)) }), c.Craft})
	}
	return a, nil
}

// firstLine returns a text up to its first line's end.
func firstLine(text string) string {
	line, _, _ := strings.Cut(text, "\n")
	return line
}

// pathOfChange is how a change names its key of the craft file, which the page says by its control.
var pathOfChange = regexp.MustCompile(` \([\w.\[\]]+=[^)]*\)`)

func withoutPath(text string) string { return pathOfChange.ReplaceAllString(text, "") }
