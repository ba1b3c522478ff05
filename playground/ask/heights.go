package ask

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp"
)

// heights is the answer to "heights"; its "points" are written apart from the rest.
type heights struct {
	Side      side     `json:"side"`
	Points    table    `json:"-"`     // bottom to top
	Band      *between `json:"band"`  // of the CG, the pilot at the stops
	Pilot     *between `json:"pilot"` // the stops
	Held      []held   `json:"held"`  // where the pilot's place, as set, holds the craft
	Lines     lines    `json:"lines"`
	Weight    float64  `json:"weight_n"`
	MeanChord float64  `json:"mean_chord_m"`
	Area      float64  `json:"reference_area_m2"`
	Top       float64  `json:"top_m"`
	Sentence  string   `json:"sentence"`
	Notes     []string `json:"notes"`
}

// nearby is the answer to "nearby".
type nearby struct {
	Speeds []neighbour `json:"speeds"`
}

type neighbour struct {
	SpeedMPS float64      `json:"speed_mps"`
	Points   []pilotPoint `json:"points"`
}

type pilotPoint struct {
	Clearance   float64  `json:"clearance_m"`
	PilotNeeded *float64 `json:"pilot_needed_m"`
	Stable      *bool    `json:"stable"`
}

type between struct {
	Forward float64 `json:"forward_m"`
	Aft     float64 `json:"aft_m"`
}

type held struct {
	Clearance float64 `json:"clearance_m"`
	PitchDeg  float64 `json:"pitch_deg"`
	Stable    bool    `json:"stable"`
}

type lines struct {
	Low         *float64 `json:"low_m"` // the lowest that it holds by itself; nil where there is no let-go height
	SelfHolding *float64 `json:"self_holding_m"`
	Reach       *float64 `json:"reach_m"`
	LetGo       *float64 `json:"let_go_m"`
}

// accuracy is the answer to "accuracy": how far a map strays from direct solutions of
// the same lattice.
type accuracy struct {
	LiftPct float64 `json:"lift_pct"` // of the lift
	CPPct   float64 `json:"cp_pct"`   // of the mean chord
}

// steps is the number of points over the picture's height.
const steps = 48

// plainPitch is shown where nothing says what the craft weighs or how it is
// towed, deg.
const plainPitch = 4.

// some returns a pointer to v, nil where v is not finite.
func some(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func somePlace(p gecp.Position) *float64 {
	if !p.OK {
		return nil
	}
	return some(p.X)
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }

// ladder is n clearances over the picture's height, m.
func (q *question) ladder(n int) []float64 {
	c := make([]float64, n)
	for i := range c {
		c[i] = lowest + (q.TopM-lowest)*float64(i)/float64(n-1)
	}
	return c
}

func (d *Desk) heights(ctx context.Context, q *question, progress func(float64)) (*heights, error) {
	s, err := d.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	c := q.craft
	plan := c.Shape()
	a := &heights{
		Side: sideOf(c), Weight: c.Mass() * gecp.G, MeanChord: plan.MAC, Area: plan.Area, Top: q.TopM,
		Held: []held{}, Notes: []string{},
	}
	if p := c.Pilot; p != nil {
		a.Pilot = &between{p.XForward, p.XAft}
		if c.EmptyMass() > 0 {
			f, _ := c.CG(p.XForward)
			b, _ := c.CG(p.XAft)
			a.Band = &between{f, b}
		}
	}
	u := unitsOf(q.Units)
	run, err := s.fields.Run(q.SpeedMPS, 0)
	var missing gecp.Problems
	if err != nil && !errors.As(err, &missing) {
		return nil, &pathError{"speed_mps", err}
	}
	for _, p := range missing {
		a.Notes = append(a.Notes, sentence(p.Text))
	}
	if missing != nil || q.PitchDeg != nil {
		pitch := plainPitch
		if q.PitchDeg != nil {
			pitch = *q.PitchDeg
		}
		if a.Points, err = q.atPitch(ctx, s, pitch, q.ladder(steps)...); err != nil {
			return nil, err
		}
		a.Sentence = q.pitchSentence(a, pitch)
		return a, nil
	}
	ladder := q.ladder(steps)
	a.Points = make([]point, 0, steps)
	for b, err := range run.TrimAlong(ladder) {
		a.Points = append(a.Points, balanced(ladder[len(a.Points)], b, err))
	}
	curve, err := run.TrimCurve()
	if err != nil {
		a.Sentence = q.groundedSentence(s.fields, err)
		return a, nil
	}
	off, ok := curve.AboveFloats()
	if !ok {
		a.Sentence = fmt.Sprintf("At %s the wings carry %s only at heights where a float still lies in the water.", u.mps(q.SpeedMPS), q.name())
		return a, nil
	}
	if c.Pilot == nil {
		a.Notes = append(a.Notes, sentence(c.Require(gecp.BlockPilot).Error()))
	} else if q.PilotXM != nil {
		hs, err := off.Equilibria(*q.PilotXM)
		if err != nil {
			return nil, err
		}
		for _, h := range hs {
			a.Held = append(a.Held, held{h.Clearance, deg(h.Pitch), h.HeightStable})
		}
	}
	r, err := q.ride(off)
	if err != nil {
		return nil, err
	}
	a.Lines = r.lines()
	a.Sentence = q.steadySentence(a, r)
	return a, nil
}

// nearby says where the pilot has to sit a little slower and faster.
func (d *Desk) nearby(ctx context.Context, q *question, progress func(float64)) (*nearby, error) {
	a := &nearby{Speeds: []neighbour{}}
	s, err := d.shape(ctx, q, progress)
	if err != nil || q.PitchDeg != nil {
		return a, err
	}
	ladder := q.ladder(steps / 2) // a thin grey line needs no more
	for _, k := range []float64{.9, 1.1} {
		run, err := s.fields.Run(q.SpeedMPS*k, 0)
		if err != nil {
			continue // beyond the range of speeds, or no tow to speak of
		}
		n := neighbour{SpeedMPS: q.SpeedMPS * k}
		for b, err := range run.TrimAlong(ladder) {
			p := balanced(ladder[len(n.Points)], b, err)
			n.Points = append(n.Points, pilotPoint{p.Clearance, p.PilotNeeded, p.Stable})
		}
		a.Speeds = append(a.Speeds, n)
	}
	return a, nil
}

// ride is the range of clearances in which the craft can be towed.
type ride struct {
	low, high   gecp.Trim // high is where to let go
	usable      bool
	self, reach gecp.Ceiling
	pilot       bool
	why         string // of high
}

// margin is left under the end of the pilot's reach, m, as on the tow card.
const margin = .05

// ride finds it on the curve with the floats clear, as the tow card does: from the
// lowest state that the craft holds by itself within the pilot's travel, up to the
// lowest of the ceilings over that state.
func (q *question) ride(c gecp.TrimCurve) (r ride, err error) {
	r.pilot = q.craft.Pilot != nil
	ok := func(b gecp.Trim) bool { return b.HeightStable && b.TravelMargin >= 0 }
	for i, b := range c.States {
		if ok(b) {
			c, r.usable = gecp.TrimCurve{Run: c.Run, States: c.States[i:]}, true
			break
		}
	}
	r.low, r.self, r.reach = c.States[0], c.SelfHolding(), gecp.Ceiling{Always: true}
	if r.pilot {
		if r.reach, err = c.Reach(); err != nil {
			return r, err
		}
	}
	if !r.usable {
		return r, nil
	}
	height, why := c.States[len(c.States)-1].Clearance, "the calculation ends there"
	lower := func(h float64, w string) {
		if h <= height {
			height, why = h, w
		}
	}
	lower(q.LimitM, "that is your own limit")
	if r.reach.OK {
		lower(r.reach.Clearance-margin, "higher up the pilot's travel soon ends")
	}
	if r.self.OK {
		lower(r.self.Clearance, "higher up it no longer holds its height by itself")
	}
	if height <= r.low.Clearance {
		r.usable = false
		return r, nil
	}
	r.why = why
	r.high, err = c.Run.Trim(height)
	return r, err
}

func (r ride) lines() lines {
	var l lines
	if r.self.OK {
		l.SelfHolding = some(r.self.Clearance)
	}
	if r.reach.OK {
		l.Reach = some(r.reach.Clearance)
	}
	if r.usable {
		l.Low, l.LetGo = some(r.low.Clearance), some(r.high.Clearance)
	}
	return l
}

// balanced is the point of steady tow at a clearance; empty where there is none.
func balanced(clearance float64, b gecp.Trim, err error) point {
	if err != nil {
		return point{Clearance: clearance}
	}
	p := point{
		Clearance: clearance, Height: some(b.Height), PitchDeg: some(deg(b.Pitch)),
		Lift: some(b.Lift), Drag: some(b.Drag()), Induced: some(b.InducedDrag), Friction: some(b.FrictionDrag), Parasite: some(b.ParasiteDrag),
		LiftOverDrag: some(b.LiftOverDrag()), CP: some(b.CP), PitchNeutral: somePlace(b.PitchNeutral), HeightNeutral: somePlace(b.HeightNeutral),
		CGNeeded: some(b.CG), Stable: &b.HeightStable, Line: some(b.LineTension), LineDeg: some(deg(b.LineAngle)),
	}
	if b.Pilot.OK {
		in := b.TravelMargin >= 0
		p.PilotNeeded, p.Spare, p.Reachable = some(b.Pilot.X), some(b.TravelMargin), &in
	}
	return p
}

// atPitch is the points of the clearances with the pitch held, deg: the air's
// forces alone.
func (q *question) atPitch(ctx context.Context, s *shape, pitch float64, clearances ...float64) ([]point, error) {
	// Friction and parasite drag depend on the speed alone: one small solution tells.
	rows, err := q.craft.Sweep(ctx, gecp.SweepQuestion{Speed: q.SpeedMPS, Clearances: []float64{1}, Mesh: gecp.Mesh{Rows: 1, Strips: 2}})
	if err != nil {
		return nil, err
	}
	friction, parasite := rows[0].FrictionDrag, rows[0].ParasiteDrag
	pressure := gecp.AirDensity * q.SpeedMPS * q.SpeedMPS / 2
	out := make([]point, 0, len(clearances))
	for _, cl := range clearances {
		m, err := s.fields.At(cl, pitch*math.Pi/180)
		if err != nil {
			return nil, err
		}
		lift, induced := pressure*m.Lift, pressure*m.Drag
		drag := induced + friction + parasite
		out = append(out, point{
			Clearance: cl, Height: some(m.Height), PitchDeg: some(pitch), Lift: some(lift), Drag: some(drag),
			Induced: some(induced), Friction: some(friction), Parasite: some(parasite), LiftOverDrag: some(lift / drag), CP: some(crossing(m)),
			PitchNeutral: some(-m.ByPitch.Moment / m.ByPitch.Lift), HeightNeutral: some(-m.ByHeight.Moment / m.ByHeight.Lift),
		})
	}
	return out, nil
}

// crossing returns where the resultant of lift and induced drag crosses the datum
// line, m aft of the datum; NaN without lift.
func crossing(m gecp.MapPoint) float64 {
	sin, cos := math.Sincos(m.Pitch)
	n := m.Lift*cos + m.Drag*sin
	if math.Abs(n) < 1e-9 {
		return math.NaN()
	}
	return -m.Moment / n
}

// liftoff returns the slowest speed, m/s, at which the weight is carried at the
// lowest clearance, if there is one in range.
func liftoff(m *gecp.Map) (speed float64, ok bool) {
	carries := func(v float64) bool {
		r, err := m.Run(v, 0)
		if err != nil {
			return false
		}
		_, err = r.Trim(lowest)
		return err == nil || errors.Is(err, gecp.ErrTooFast)
	}
	lo, hi := 1., 60.
	if carries(lo) || !carries(hi) {
		return 0, false
	}
	for hi-lo > .01 {
		if mid := (lo + hi) / 2; carries(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true
}

// accuracy is how far the map of the question's craft strays.
func (d *Desk) accuracy(ctx context.Context, q *question, progress func(float64)) (*accuracy, error) {
	s, err := d.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	a, err := measure(ctx, q.craft, s.fields, q.mesh())
	return &a, err
}

// measure compares the map with direct solutions at places between its nodes.
func measure(ctx context.Context, c *gecp.Craft, m *gecp.Map, mesh gecp.Mesh) (accuracy, error) {
	var off accuracy
	chord := c.Shape().MAC
	for _, at := range [][2]float64{{.083, 3.1}, {.29, 5.3}, {.61, 1.7}} { // m, deg: where craft fly
		rows, err := c.Sweep(ctx, gecp.SweepQuestion{Speed: 10, Pitch: at[1] * math.Pi / 180, Clearances: at[:1], Mesh: mesh})
		if err != nil {
			return off, err
		}
		p, err := m.At(at[0], at[1]*math.Pi/180)
		if err != nil {
			return off, err
		}
		r := rows[0]
		lift := gecp.AirDensity * 10 * 10 / 2 * p.Lift
		off.LiftPct = max(off.LiftPct, 100*math.Abs(lift/r.Lift-1))
		if r.CP.OK {
			off.CPPct = max(off.CPPct, 100*math.Abs(crossing(p)-r.CP.X)/chord)
		}
	}
	if some(off.LiftPct) == nil || some(off.CPPct) == nil {
		return accuracy{}, errors.New("the solution between the map's nodes is not finite")
	}
	return off, nil
}

// sentence makes a sentence of an error's text.
func sentence(text string) string {
	if text == "" {
		return text
	}
	text = strings.ToUpper(text[:1]) + text[1:]
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}

func (q *question) name() string {
	if q.craft.Name == "" {
		return "the craft"
	}
	return "the " + q.craft.Name
}

func (q *question) steadySentence(a *heights, r ride) string {
	u := unitsOf(q.Units)
	text := fmt.Sprintf("At %s %s ", u.mps(q.SpeedMPS), q.name())
	switch {
	case !r.usable && r.pilot:
		text += "holds no height by itself with its floats clear and the pilot within reach, so there is no height to tow it at"
	case !r.usable:
		text += "holds no height by itself with its floats clear, so there is no height to tow it at"
	default:
		text += fmt.Sprintf("holds its height by itself between %s and %s of clearance", u.m(r.low.Clearance), u.m(r.high.Clearance))
		if r.pilot {
			text += fmt.Sprintf(", the pilot moving from %s to %s aft of the datum", u.m(r.low.Pilot.X), u.m(r.high.Pilot.X))
		}
		text += fmt.Sprintf(". Let go above %s: %s", u.m(r.high.Clearance), r.why)
	}
	if i := a.lowestBalanced(); i >= 0 && a.Points[len(a.Points)-1].CP != nil {
		run := *a.Points[len(a.Points)-1].CP - *a.Points[i].CP
		way := "aft"
		if run < 0 {
			way = "forward"
		}
		text += fmt.Sprintf(". From %s up to %s the lift moves %s %s", u.m(a.Points[i].Clearance), u.m(q.TopM), u.m(math.Abs(run)), way)
	}
	return text + "."
}

func (a *heights) lowestBalanced() int {
	for i, p := range a.Points {
		if p.CP != nil {
			return i
		}
	}
	return -1
}

func (q *question) groundedSentence(m *gecp.Map, err error) string {
	u := unitsOf(q.Units)
	text := fmt.Sprintf("At %s %s does not fly: %s", u.mps(q.SpeedMPS), q.name(), err)
	if errors.Is(err, gecp.ErrTooSlow) {
		if v, ok := liftoff(m); ok {
			text += fmt.Sprintf(". It leaves the water from %s", u.mps(v))
		}
	}
	return text + "."
}

func (q *question) pitchSentence(a *heights, pitch float64) string {
	u := unitsOf(q.Units)
	lo, hi := a.Points[0], a.Points[len(a.Points)-1]
	return fmt.Sprintf("At %s, with the pitch held at %.1f degrees, %s lifts %s at %s of clearance and %s at %s; it weighs %s.",
		u.mps(q.SpeedMPS), pitch, q.name(), u.n(*lo.Lift), u.m(lo.Clearance), u.n(*hi.Lift), u.m(hi.Clearance), u.n(a.Weight))
}
