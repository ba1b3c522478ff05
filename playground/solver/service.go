// Package solver is the one surface between the page and the library: questions
// and answers as JSON, SI units and degrees, positions metres aft of the datum.
// It knows no browser; playground/wasm carries it there. What a question, an answer and a
// refusal look like is package exchange's; these are the kinds, null for what does
// not exist:
//
//	ready    {}                        crafts: the ready craft, the demo first
//	read     {text}                    craft: the file's, checked
//	heights  {craft, speed_mps, pitch_deg|null, pilot_x_m|null, limit_m, top_m, fidelity, units}
//	towing   as heights                the towing range with the reaction limit, the speed window
//	leftOut  as heights                gets ready what tells how far to trust answers about the wings
//	trust    as heights                towing, with how far to trust it: the range ends where it is sure to be held
//	nearby   as heights                where the pilot sits a little slower and faster
//	pose     the same and clearance_m  one attitude: pressures, span loads
//	accuracy as heights                how far the map strays from full solutions
//	csv      as heights                text
//	card     {craft, limit_m, units}   text and html of the tow card, html and csv of its log sheet
//	weigh    {craft, scales, raised, angle_deg, swing_s, pivot_m, units}  what scales say beside the file
//	log      as heights, {text, log_accuracy}  a log of runs (CSV) beside the craft, and the correction fitted to it
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
	"fmt"
	"reflect"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/playground/exchange"
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
	text   string        // of the craft as last asked about
	fields *gecp.Map     // for that craft
	left   *tow.Variants // of some craft with the wings: what the calculation leaves out; nil until it is asked for
	shown  *gecp.Model   // whose pressures are shown, nil until they are asked for
}

// question holds the keys of every kind of question.
type question struct {
	exchange.Question
	Text       string      `json:"text"`
	PitchDeg   *float64    `json:"pitch_deg"`
	PilotXM    *float64    `json:"pilot_x_m"`
	TopM       float64     `json:"top_m"`
	ClearanceM float64     `json:"clearance_m"`
	Upset      string      `json:"upset"` // "boat", "gust", "wave" or "none"
	Size       float64     `json:"size"`  // of the upset, m/s; a wave's, trough to crest, m
	Hand       string      `json:"hand"`  // the pilot's: "yours", "none" or "law"
	DT         float64     `json:"dt_s"`
	Place      float64     `json:"place_m"` // that the pilot makes for
	Scales     string      `json:"scales"`  // as lake.ParseScales reads them
	Raised     string      `json:"raised"`
	AngleDeg   float64     `json:"angle_deg"`
	SwingS     float64     `json:"swing_s"`      // ten swings
	Accuracy   *accuracies `json:"log_accuracy"` // of the log's figures; absent: the usual ones
	PivotM     float64     `json:"pivot_m"`

	craft *gecp.Craft
}

// Answer answers one question, in JSON. progress is told the part done, 0..1, of
// long work; it may be nil. A cancelled context makes the answer a problem.
func (v *Service) Answer(ctx context.Context, text []byte, progress func(part float64)) []byte {
	var q question
	return exchange.Answer(text, &q, func() (any, error) { return v.answer(ctx, &q, progress) }, func() { *v = Service{} })
}

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
	case "leftOut":
		return v.leftOut(ctx, q, progress)
	case "trust":
		return v.trust(ctx, q, progress)
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

func (q *question) check() error {
	length := q.System().Clearance()
	errs := []error{q.CheckSpeed(), q.CheckLimit(), exchange.Within("top_m", "the top of the picture", q.TopM, .2, highest, length)}
	if q.PitchDeg != nil {
		errs = append(errs, exchange.Within("pitch_deg", "the pitch", *q.PitchDeg, minPitch, maxPitch, units.Unit{Name: "degrees", Size: 1}))
	}
	if q.PilotXM != nil {
		errs = append(errs, exchange.Within("pilot_x_m", "the pilot's position", *q.PilotXM, -50, 50, length))
	}
	if q.Ask == "pose" || q.Ask == "leap" || q.Ask == "margin" {
		errs = append(errs, exchange.Within("clearance_m", "the clearance", q.ClearanceM, exchange.Lowest, highest, length))
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// floor is the lowest clearance that is shown of a craft, m: one with long chords can be
// calculated down to less close to the water.
func (s *shape) floor() float64 { return max(exchange.Lowest, s.fields.Range().ClearanceMin) }

// shape returns the map of the question's craft, built now or kept from before.
func (v *Service) shape(ctx context.Context, q *question, progress func(float64)) (*shape, error) {
	if len(v.shapes) > 0 && v.shapes[0].mesh == q.Mesh() && v.shapes[0].text == string(q.Craft) {
		return v.shapes[0], nil
	}
	for i, s := range v.shapes {
		if s.mesh != q.Mesh() || !reflect.DeepEqual(s.wings, q.craft.Wings) {
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
	model, err := q.model(q.Mesh())
	if err != nil {
		return nil, err
	}
	o := gecp.MapOptions{Progress: progress}
	if q.Fidelity == "coarse" {
		// As many nodes whatever the map differs by between them: thick wings would have it take many more
		// while a hand waits, and the coarse lattice is off by more.
		o.Heights, o.Pitches, o.Tolerance = 4, 7, .05
	}
	m, err := model.BuildMap(ctx, o)
	if err != nil {
		return nil, err
	}
	s := &shape{mesh: q.Mesh(), wings: q.craft.Wings, text: string(q.Craft), fields: m}
	v.shapes = append([]*shape{s}, v.shapes[:min(len(v.shapes), keptShapes-1)]...)
	return s, nil
}

// model returns the lattice of the question's craft. A quick one has straight wakes, which
// take a tenth of the time; they put the height up to which a craft holds itself too high,
// and the page says so until the fine answers come.
func (q *question) model(mesh gecp.Mesh) (*gecp.Model, error) {
	m, err := gecp.NewModel(q.craft, mesh)
	if err != nil || q.Fidelity != "coarse" {
		return m, err
	}
	return m.WithWake(gecp.WakeStraight), nil
}
