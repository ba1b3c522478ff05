// Package ask is the one surface between the page and the library: questions
// and answers as JSON, SI units and degrees, positions metres aft of the datum.
// It knows no browser; playground/wasm carries it there.
//
// A question is {"id": n, "ask": KIND, …}, its answer {"id": n, "ok": true, …} or
// {"id": n, "ok": false, "problems": [{"path", "text"}]}. A path is that of the
// craft file (wings[0].stations[1].chord_m) or the question's own key
// (speed_mps); empty concerns the whole. null stands for what does not exist.
//
//	ready    {}                        crafts: the ready craft, the demo first
//	read     {text}                    craft: the file's, checked
//	heights  {craft, speed_mps, pitch_deg|null, pilot_x_m|null, limit_m, top_m, fidelity, units}
//	nearby   as heights                where the pilot sits a little slower and faster
//	pose     the same and clearance_m  one attitude: pressures, span loads
//	accuracy as heights                how far the map strays from full solutions
//	csv      as heights                text
//	card     {craft, limit_m, units}   text and html of the tow card
//	leap     as pose, {upset, size, hand}  begins a flight to be played: its first state
//	leapStep {dt_s, place_m, units}    flies on: the state, and a verdict once it is over
//	margin   as pose                   how late the pilot may be, how slow and how short of travel
//
// pitch_deg null is the pitch that carries the weight. fidelity is "coarse" or
// "fine", units "metric" or "us" (for sentences; figures stay SI).
package ask

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/vlm"
)

// Desk answers questions. It keeps what was built for the shapes it was asked
// about last, so that questions about speed, weights and pilot never wait for the
// lattice. It is for one goroutine at a time.
type Desk struct {
	shapes []*shape    // the last used first
	flight *leap       // under way, or nil
	text   string      // the craft as last asked about,
	craft  *gecp.Craft // and as read; nothing changes it
}

const keptShapes = 6

// shape is what depends on the wings alone, at one fidelity.
type shape struct {
	mesh    gecp.Mesh
	wings   []gecp.Wing
	text    string       // of the craft as last asked about
	fields  *gecp.Map    // for that craft
	lattice *vlm.Lattice // for poses, nil until one is asked for
}

// question holds the keys of every kind of question.
type question struct {
	ID         int             `json:"id"`
	Ask        string          `json:"ask"`
	Text       string          `json:"text"`
	Craft      json.RawMessage `json:"craft"`
	SpeedMPS   float64         `json:"speed_mps"`
	PitchDeg   *float64        `json:"pitch_deg"`
	PilotXM    *float64        `json:"pilot_x_m"`
	LimitM     float64         `json:"limit_m"`
	TopM       float64         `json:"top_m"`
	ClearanceM float64         `json:"clearance_m"`
	Fidelity   string          `json:"fidelity"`
	Units      string          `json:"units"`
	Upset      string          `json:"upset"` // "boat", "gust", "wave" or "none"
	Size       float64         `json:"size"`  // of the upset, m/s; a wave's, trough to crest, m
	Hand       string          `json:"hand"`  // the pilot's: "yours", "none" or "law"
	DT         float64         `json:"dt_s"`
	Place      float64         `json:"place_m"` // that the pilot makes for

	craft *gecp.Craft
}

// problem is one thing wrong with a question, for the page to put beside its
// control.
type problem struct {
	Path string `json:"path"`
	Text string `json:"text"`
}

// Answer answers one question, in JSON. progress is told the part done, 0..1, of
// long work; it may be nil. A cancelled context makes the answer a problem.
func (d *Desk) Answer(ctx context.Context, text []byte, progress func(part float64)) (out []byte) {
	var q question
	// One question that goes wrong must not take the page's solver with it.
	defer func() {
		if p := recover(); p != nil {
			*d = Desk{}
			out = refusal(q.ID, fmt.Errorf("%s: %v; please keep the craft file and tell those who look after this page", gaveUp, p))
		}
	}()
	if err := json.Unmarshal(text, &q); err != nil {
		return refusal(q.ID, fmt.Errorf("the page asked in a way the solver does not understand: %w", err))
	}
	a, err := d.answer(ctx, &q, progress)
	if err != nil {
		return refusal(q.ID, err)
	}
	body, err := json.Marshal(a)
	if err != nil {
		return refusal(q.ID, fmt.Errorf("the answer cannot be written: %w", err))
	}
	out = fmt.Appendf(make([]byte, 0, 2*len(body)+16<<10), `{"id":%d,"ok":true,`, q.ID)
	if h, ok := a.(*heights); ok {
		out = append(h.Points.append(append(out, `"points":`...)), ',')
	}
	return append(out, body[1:]...)
}

const gaveUp = "the solver gave up on this craft"

// refusal puts an error beside the control it concerns.
func refusal(id int, err error) []byte {
	var ps []problem
	var many gecp.Problems
	var at *pathError
	switch {
	case errors.As(err, &many):
		for _, p := range many {
			ps = append(ps, problem{p.Path, p.Text})
		}
	case errors.As(err, &at):
		ps = []problem{{at.path, at.err.Error()}}
	default:
		ps = []problem{{"", err.Error()}}
	}
	b, err := json.Marshal(struct {
		ID       int       `json:"id"`
		OK       bool      `json:"ok"`
		Problems []problem `json:"problems"`
	}{id, false, ps})
	if err != nil {
		panic(err) // strings and numbers only
	}
	return b
}

// pathError is an error that concerns one key of a question.
type pathError struct {
	path string
	err  error
}

func (e *pathError) Error() string { return e.err.Error() }
func (e *pathError) Unwrap() error { return e.err }

func (d *Desk) answer(ctx context.Context, q *question, progress func(float64)) (any, error) {
	switch q.Ask {
	case "ready":
		return ready()
	case "read":
		c, err := gecp.Read(bytes.NewReader([]byte(q.Text)))
		if err != nil {
			return nil, err
		}
		return struct {
			Craft *gecp.Craft `json:"craft"`
		}{c}, nil
	case "leapStep":
		return d.step(q)
	}
	if d.craft == nil || d.text != string(q.Craft) {
		c, err := gecp.Read(bytes.NewReader(q.Craft))
		if err != nil {
			return nil, err
		}
		d.craft, d.text = c, string(q.Craft)
	}
	q.craft = d.craft
	if q.Ask == "card" {
		return d.card(ctx, q, progress)
	}
	if err := q.check(); err != nil {
		return nil, err
	}
	switch q.Ask {
	case "heights":
		return d.heights(ctx, q, progress)
	case "nearby":
		return d.nearby(ctx, q, progress)
	case "pose":
		return d.pose(ctx, q, progress)
	case "accuracy":
		return d.accuracy(ctx, q, progress)
	case "csv":
		return d.csv(ctx, q, progress)
	case "leap":
		return d.leap(ctx, q, progress)
	case "margin":
		return d.margin(ctx, q, progress)
	}
	return nil, fmt.Errorf("the solver knows no question %q", q.Ask)
}

// Limits of a question, beside those of the craft file.
const (
	lowest   = .05 // m of clearance; the map's floor
	highest  = 2.  // m of clearance; the map's ceiling
	minPitch = -4. // deg
	maxPitch = 12. // deg
)

// within returns nil for a value between two others, units as shown, and else an
// error for the key.
func within(key, what string, v, lo, hi float64, unit string) error {
	if v >= lo && v <= hi {
		return nil
	}
	return &pathError{key, fmt.Errorf("%s is %.4g %s; give a value between %.4g and %.4g %s", what, v, unit, lo, hi, unit)}
}

func (q *question) check() error {
	u := unitsOf(q.Units)
	errs := []error{
		within("speed_mps", "the speed", q.SpeedMPS*u.speed, u.speed, 60*u.speed, u.speedName),
		within("limit_m", "your own let-go height", q.LimitM*u.length, lowest*u.length, 5*u.length, u.lengthName),
		within("top_m", "the top of the picture", q.TopM*u.length, .2*u.length, highest*u.length, u.lengthName),
	}
	if q.PitchDeg != nil {
		errs = append(errs, within("pitch_deg", "the pitch", *q.PitchDeg, minPitch, maxPitch, "degrees"))
	}
	if q.PilotXM != nil {
		errs = append(errs, within("pilot_x_m", "the pilot's place", *q.PilotXM*u.length, -50*u.length, 50*u.length, u.lengthName))
	}
	if q.Ask == "pose" || q.Ask == "leap" || q.Ask == "margin" {
		errs = append(errs, within("clearance_m", "the clearance", q.ClearanceM*u.length, lowest*u.length, highest*u.length, u.lengthName))
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// units are the factors from SI and the names that a sentence uses.
type units struct {
	length, speed, force             float64
	lengthName, speedName, forceName string
}

func unitsOf(name string) units {
	if name == "us" {
		return units{1 / .3048, 3600 / 1609.344, 1 / (.45359237 * gecp.G), "ft", "mph", "lbf"}
	}
	return units{1, 3.6, 1, "m", "km/h", "N"}
}

// Figures with their unit, held together by a space that does not break.
func (u units) m(v float64) string   { return fmt.Sprintf("%.2f\u00a0%s", v*u.length, u.lengthName) }
func (u units) mps(v float64) string { return fmt.Sprintf("%.1f\u00a0%s", v*u.speed, u.speedName) }
func (u units) n(v float64) string   { return fmt.Sprintf("%.0f\u00a0%s", v*u.force, u.forceName) }

// mesh returns the lattice of a fidelity.
func (q *question) mesh() gecp.Mesh {
	if q.Fidelity == "coarse" {
		return gecp.Mesh{Rows: 2, Strips: 4}
	}
	return gecp.DefaultMesh
}

// shape returns the map of the question's craft, built now or kept from before.
func (d *Desk) shape(ctx context.Context, q *question, progress func(float64)) (*shape, error) {
	if len(d.shapes) > 0 && d.shapes[0].mesh == q.mesh() && d.shapes[0].text == string(q.Craft) {
		return d.shapes[0], nil
	}
	for i, s := range d.shapes {
		if s.mesh != q.mesh() || !reflect.DeepEqual(s.wings, q.craft.Wings) {
			continue
		}
		copy(d.shapes[1:i+1], d.shapes[:i])
		d.shapes[0] = s
		if s.text != string(q.Craft) {
			d.flight = nil // it was another craft's
			m, err := s.fields.For(q.craft)
			if err != nil {
				return nil, err
			}
			s.fields, s.text = m, string(q.Craft)
		}
		return s, nil
	}
	heights, pitches := 0, 0 // as many as usual
	if q.Fidelity == "coarse" {
		heights, pitches = 4, 4
	}
	m, err := q.craft.BuildMap(ctx, gecp.MapOptions{
		Mesh: q.mesh(), Heights: heights, Pitches: pitches, ClearanceMin: lowest, ClearanceMax: highest,
		PitchMin: minPitch * math.Pi / 180, PitchMax: maxPitch * math.Pi / 180,
		Progress: progress,
	})
	if err != nil {
		return nil, err
	}
	s := &shape{mesh: q.mesh(), wings: q.craft.Wings, text: string(q.Craft), fields: m}
	d.shapes = append([]*shape{s}, d.shapes[:min(len(d.shapes), keptShapes-1)]...)
	return s, nil
}
