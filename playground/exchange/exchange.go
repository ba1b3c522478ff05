// Package exchange is what the page's solvers have in common: what every question about
// a craft carries, and how a question is read, and its answer or refusal written, as JSON.
//
// A question is {"id": n, "ask": KIND, …}, its answer {"id": n, "ok": true, …} or
// {"id": n, "ok": false, "problems": [{"path", "text"}]}. A path is that of the
// craft file (wings[0].stations[1].chord_m) or the question's own key
// (speed_mps); empty concerns the whole.
package exchange

import (
	"encoding/json"
	"errors"
	"fmt"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// Question is what every question about a craft carries, in SI units.
type Question struct {
	ID       int             `json:"id"`
	Ask      string          `json:"ask"`
	Craft    json.RawMessage `json:"craft"`
	SpeedMPS float64         `json:"speed_mps"`
	LimitM   float64         `json:"limit_m"`  // the owner's own let-go height
	Fidelity string          `json:"fidelity"` // of the lattice: "coarse", or else as for the tow card
	Units    string          `json:"units"`    // of sentences: "metric" or "us"
}

// Number returns the question's number, which its answer repeats.
func (q *Question) Number() int { return q.ID }

// System returns the units of sentences.
func (q *Question) System() units.System {
	if q.Units == "us" {
		return units.Customary
	}
	return units.Metric
}

// Mesh returns the lattice of the question's fidelity.
func (q *Question) Mesh() gecp.Mesh {
	if q.Fidelity == "coarse" {
		return gecp.Mesh{Rows: 2, Strips: 4}
	}
	return gecp.DefaultMesh()
}

// Lowest is the least clearance that the page speaks of, m.
const Lowest = .05

// CheckSpeed returns an error for the control of the speed unless that lies between 1 and
// 60 m/s.
func (q *Question) CheckSpeed() error {
	u := q.System().FineSpeed()
	return Within("speed_mps", "the speed", q.SpeedMPS, 1, 60, u)
}

// CheckLimit returns an error for the control of the owner's own let-go height unless that
// lies between Lowest and 5 m.
func (q *Question) CheckLimit() error {
	return Within("limit_m", "your own let-go height", q.LimitM, Lowest, 5, q.System().Clearance())
}

// Within returns nil for a value between two others, all in SI units, and else an error for a key of the
// question that names the figures in a unit.
func Within(key, what string, v, lo, hi float64, u units.Unit) error {
	if v >= lo && v <= hi {
		return nil
	}
	return &PathError{key, fmt.Errorf("%s is %.4g %s; give a value between %.4g and %.4g %s", what, v/u.Size, u.Name, lo/u.Size, hi/u.Size, u.Name)}
}

// PathError is an error that concerns one key of a question.
type PathError struct {
	Path string
	Err  error
}

// Error returns the error's own text: the page puts it beside the key's control.
func (e *PathError) Error() string { return e.Err.Error() }

// Unwrap returns the error itself.
func (e *PathError) Unwrap() error { return e.Err }

// Problem is one thing wrong with a question, for the page to put beside its control.
type Problem struct {
	Path string `json:"path"`
	Text string `json:"text"`
}

// GaveUp begins the text of a refusal for a question at which a solver has panicked.
const GaveUp = "the solver gave up on this craft"

// Leader is an answer whose first keys are written by itself, since [json.Marshal] would go through every
// byte of them once more.
type Leader interface {
	// AppendLead appends them to b, with a comma after the last.
	AppendLead(b []byte) []byte
}

// Answer reads a question from its text into q, has it answered and returns the answer or
// the refusal as JSON. A panic of answer becomes a refusal, too; forget is called after
// one.
func Answer(text []byte, q interface{ Number() int }, answer func() (any, error), forget func()) (out []byte) {
	// One question that goes wrong must not take the page's solver with it.
	defer func() {
		if p := recover(); p != nil {
			forget()
			out = refusal(q.Number(), fmt.Errorf("%s: %v; please keep the craft file and tell those who look after this page", GaveUp, p))
		}
	}()
	if err := json.Unmarshal(text, q); err != nil {
		return refusal(q.Number(), fmt.Errorf("the page asked in a way the solver does not understand: %w", err))
	}
	a, err := answer()
	if err != nil {
		return refusal(q.Number(), err)
	}
	body, err := json.Marshal(a)
	if err != nil {
		return refusal(q.Number(), fmt.Errorf("the answer cannot be written: %w", err))
	}
	out = fmt.Appendf(make([]byte, 0, 2*len(body)+16<<10), `{"id":%d,"ok":true,`, q.Number())
	if l, ok := a.(Leader); ok {
		out = l.AppendLead(out)
	}
	return append(out, body[1:]...)
}

// refusal puts an error beside the control it concerns.
func refusal(id int, err error) []byte {
	var ps []Problem
	var many gecp.Problems
	var at *PathError
	switch {
	case errors.As(err, &many):
		for _, p := range many {
			ps = append(ps, Problem{p.Path, p.Text})
		}
	case errors.As(err, &at):
		ps = []Problem{{at.Path, at.Err.Error()}}
	default:
		ps = []Problem{{"", err.Error()}}
	}
	b, err := json.Marshal(struct {
		ID       int       `json:"id"`
		OK       bool      `json:"ok"`
		Problems []Problem `json:"problems"`
	}{id, false, ps})
	if err != nil {
		panic(err) // strings and numbers only
	}
	return b
}
