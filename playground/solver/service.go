// Package solver is the one surface between the page and the library: questions
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
//	towing   as heights                the towing range with the reaction limit, the speed window
//	nearby   as heights                where the pilot sits a little slower and faster
//	pose     the same and clearance_m  one attitude: pressures, span loads
//	accuracy as heights                how far the map strays from full solutions
//	csv      as heights                text
//	card     {craft, limit_m, units}   text and html of the tow card, html and csv of its log sheet
//	weigh    {craft, scales, raised, angle_deg, swing_s, pivot_m, units}  what scales say beside the file
//	log      as heights, {text}        a log of runs (CSV) beside the craft, and the correction fitted to it
//	leap     as pose, {upset, size, hand}  begins a flight to be played: its first state
//	leapStep {dt_s, place_m, units}    flies on: the state, and a verdict once it is over
//	margin   as pose                   how late the pilot may be, how slow and how short of travel
//
// pitch_deg null is the pitch that carries the weight. fidelity is "coarse" or
// "fine", units "metric" or "us" (for sentences; figures stay SI).
package solver

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/units"
)

// Service answers questions. It keeps what was built for the shapes it was asked
// about last, so that questions about speed, weights and pilot never wait for the
// lattice. It is for one goroutine at a time.
type Service struct {
	shapes []*shape    // the last used first
	flight *leap       // under way, or nil
	text   string      // the craft as last asked about,
	craft  *gecp.Craft // and as read; nothing changes it
}

const keptShapes = 6

// shape is what depends on the wings alone, at one fidelity.
type shape struct {
	mesh   gecp.Mesh
	wings  []gecp.Wing
	text   string      // of the craft as last asked about
	fields *gecp.Map   // for that craft
	shown  *gecp.Model // whose pressures are shown, nil until they are asked for
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
	Scales     string          `json:"scales"`  // as lake.ParseScales reads them
	Raised     string          `json:"raised"`
	AngleDeg   float64         `json:"angle_deg"`
	SwingS     float64         `json:"swing_s"` // ten swings
	PivotM     float64         `json:"pivot_m"`

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
func (v *Service) Answer(ctx context.Context, text []byte, progress func(part float64)) (out []byte) {
	var q question
	// One question that goes wrong must not take the page's solver with it.
	defer func() {
		if p := recover(); p != nil {
			*v = Service{}
			out = refusal(q.ID, fmt.Errorf("%s: %v; please keep the craft file and tell those who look after this page", gaveUp, p))
		}
	}()
	if err := json.Unmarshal(text, &q); err != nil {
		return refusal(q.ID, fmt.Errorf("the page asked in a way the solver does not understand: %w", err))
	}
	a, err := v.answer(ctx, &q, progress)
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

func (v *Service) answer(ctx context.Context, q *question, progress func(float64)) (any, error) {
	switch q.Ask {
	case "ready":
		return ready(), nil
	case "read":
		c, err := gecp.Read(bytes.NewReader([]byte(q.Text)))
		if err != nil {
			return nil, err
		}
		return struct {
			Craft *gecp.Craft `json:"craft"`
		}{c}, nil
	case "leapStep":
		return v.step(q)
	}
	if v.craft == nil || v.text != string(q.Craft) {
		c, err := gecp.Read(bytes.NewReader(q.Craft))
		if err != nil {
			return nil, err
		}
		v.craft, v.text = c, string(q.Craft)
	}
	q.craft = v.craft
	switch q.Ask {
	case "card":
		return v.card(ctx, q, progress)
	case "weigh":
		return weigh(q)
	}
	if err := q.check(); err != nil {
		return nil, err
	}
	switch q.Ask {
	case "heights":
		return v.heights(ctx, q, progress)
	case "towing":
		return v.towing(ctx, q, progress)
	case "nearby":
		return v.nearby(ctx, q, progress)
	case "pose":
		return v.pose(ctx, q, progress)
	case "accuracy":
		return v.accuracy(ctx, q, progress)
	case "csv":
		return v.csv(ctx, q, progress)
	case "leap":
		return v.leap(ctx, q, progress)
	case "margin":
		return v.margin(ctx, q, progress)
	case "log":
		return v.runLog(ctx, q, progress)
	}
	return nil, fmt.Errorf("the solver knows no question %q", q.Ask)
}

// Limits of a question, beside those of the craft file.
const (
	lowest   = .05 // m of clearance
	highest  = 2.  // m of clearance
	minPitch = -4. // deg
	maxPitch = 12. // deg
)

type readyCrafts struct {
	Crafts []readyCraft `json:"crafts"`
}

type readyCraft struct {
	Key      string      `json:"key"`
	Title    string      `json:"title"`
	SpeedMPS float64     `json:"speed_mps"` // to begin with
	Craft    *gecp.Craft `json:"craft"`
}

// ready returns the craft that ship with the library, the demo first.
func ready() *readyCrafts {
	a := new(readyCrafts)
	for _, r := range crafts.All() {
		a.Crafts = append(a.Crafts, readyCraft{r.Key, r.Craft.Name + ", " + r.Kind, r.Speed, r.Craft})
	}
	return a
}

// within returns nil for a value between two others, units as shown, and else an
// error for the key.
func within(key, what string, v, lo, hi float64, unit string) error {
	if v >= lo && v <= hi {
		return nil
	}
	return &pathError{key, fmt.Errorf("%s is %.4g %s; give a value between %.4g and %.4g %s", what, v, unit, lo, hi, unit)}
}

func (q *question) check() error {
	speed, length := q.system().FineSpeed(), q.system().Clearance()
	in := func(u units.Unit, key, what string, v, lo, hi float64) error {
		return within(key, what, v/u.Size, lo/u.Size, hi/u.Size, u.Name)
	}
	errs := []error{
		in(speed, "speed_mps", "the speed", q.SpeedMPS, 1, 60),
		in(length, "limit_m", "your own let-go height", q.LimitM, lowest, 5),
		in(length, "top_m", "the top of the picture", q.TopM, .2, highest),
	}
	if q.PitchDeg != nil {
		errs = append(errs, within("pitch_deg", "the pitch", *q.PitchDeg, minPitch, maxPitch, "degrees"))
	}
	if q.PilotXM != nil {
		errs = append(errs, in(length, "pilot_x_m", "the pilot's position", *q.PilotXM, -50, 50))
	}
	if q.Ask == "pose" || q.Ask == "leap" || q.Ask == "margin" {
		errs = append(errs, in(length, "clearance_m", "the clearance", q.ClearanceM, lowest, highest))
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// system returns the units of sentences.
func (q *question) system() units.System {
	if q.Units == "us" {
		return units.Customary
	}
	return units.Metric
}

// floor is the lowest clearance that is shown of a craft, m: one with long chords can be
// calculated down to less close to the water.
func (s *shape) floor() float64 { return max(lowest, s.fields.Range().ClearanceMin) }

// mesh returns the lattice of a fidelity.
func (q *question) mesh() gecp.Mesh {
	if q.Fidelity == "coarse" {
		return gecp.Mesh{Rows: 2, Strips: 4}
	}
	return gecp.DefaultMesh()
}

// shape returns the map of the question's craft, built now or kept from before.
func (v *Service) shape(ctx context.Context, q *question, progress func(float64)) (*shape, error) {
	if len(v.shapes) > 0 && v.shapes[0].mesh == q.mesh() && v.shapes[0].text == string(q.Craft) {
		return v.shapes[0], nil
	}
	for i, s := range v.shapes {
		if s.mesh != q.mesh() || !reflect.DeepEqual(s.wings, q.craft.Wings) {
			continue
		}
		copy(v.shapes[1:i+1], v.shapes[:i])
		v.shapes[0] = s
		if s.text != string(q.Craft) {
			v.flight = nil // it was another craft's
			m, err := s.fields.For(q.craft)
			if err != nil {
				return nil, err
			}
			s.fields, s.text = m, string(q.Craft)
		}
		return s, nil
	}
	model, err := gecp.NewModel(q.craft, q.mesh())
	if err != nil {
		return nil, err
	}
	o := gecp.MapOptions{Progress: progress}
	if q.Fidelity == "coarse" {
		o.Heights, o.Pitches = 4, 4
	}
	m, err := model.BuildMap(ctx, o)
	if err != nil {
		return nil, err
	}
	s := &shape{mesh: q.mesh(), wings: q.craft.Wings, text: string(q.Craft), fields: m}
	v.shapes = append([]*shape{s}, v.shapes[:min(len(v.shapes), keptShapes-1)]...)
	return s, nil
}
