package solver

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/playground/exchange"
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

// AppendLead appends the points, which json.Marshal would write too slowly.
func (a *heights) AppendLead(b []byte) []byte {
	return append(a.Points.append(append(b, `"points":`...)), ',')
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

// lines are the clearances that bound the use of the craft: those of its towing range.
type lines struct {
	Low         *float64 `json:"low_m"` // the lowest to tow it at; nil where there is no range
	SelfHolding *float64 `json:"self_holding_m"`
	Reach       *float64 `json:"reach_m"`
	Reaction    *float64 `json:"reaction_m"`
	Section     *float64 `json:"section_m"`
	LetGo       *float64 `json:"let_go_m"`
	// Words are those of the lines that there are, by their keys, rounded as the tow card
	// rounds them.
	Words map[string]string `json:"words"`
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

func somePosition(p gecp.Position) *float64 {
	if !p.OK {
		return nil
	}
	return some(p.X)
}

// ladder is n clearances over the picture's height, m.
func (q *question) ladder(s *shape, n int) []float64 {
	c := make([]float64, n)
	low := s.floor()
	for i := range c {
		c[i] = low + (q.TopM-low)*float64(i)/float64(n-1)
	}
	return c
}

func (v *Service) heights(ctx context.Context, q *question, progress func(float64)) (*heights, error) {
	s, err := v.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	c := q.craft
	plan := s.fields.Model().Shape()
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
	st, err := q.tow(s.fields)
	var missing gecp.Problems
	if err != nil && !errors.As(err, &missing) {
		return nil, &exchange.PathError{Path: "speed_mps", Err: err}
	}
	for _, p := range missing {
		a.Notes = append(a.Notes, sentence(p.Text))
	}
	if missing != nil || q.PitchDeg != nil {
		pitch := plainPitch
		if q.PitchDeg != nil {
			pitch = *q.PitchDeg
		}
		if a.Points, err = q.atPitch(ctx, s, pitch, q.ladder(s, steps)...); err != nil {
			return nil, err
		}
		a.Sentence = q.pitchSentence(a, pitch)
		return a, nil
	}
	ladder := q.ladder(s, steps)
	a.Points = make([]point, 0, steps)
	for b, err := range st.TrimAlong(ladder) {
		a.Points = append(a.Points, balanced(ladder[len(a.Points)], b, err))
	}
	r, err := st.Range(ctx, q.rules())
	if err != nil {
		return nil, err
	}
	if c.Pilot == nil {
		a.Notes = append(a.Notes, sentence(c.Require(gecp.BlockPilot).Error()))
	} else if q.PilotXM != nil {
		hs, err := r.Curve.Equilibria(*q.PilotXM)
		if err != nil {
			return nil, err
		}
		for _, h := range hs {
			a.Held = append(a.Held, held{h.Clearance, gecp.Degrees(h.Pitch), h.HeightStable})
		}
	}
	a.Lines = linesOf(&r, q.System())
	but := ""
	if r.OK && c.Pilot != nil {
		but = unasked
	}
	a.Sentence = q.rangeSentence(&r, but) + asCalculated(&r)
	a.Sentence += q.shiftSentence(a)
	return a, nil
}

// tow is a map's craft in tow at the question's speed.
func (q *question) tow(m *gecp.Map) (tow.SteadyTow, error) {
	return tow.NewSteadyTow(m, gecp.Freestream{Speed: q.SpeedMPS})
}

// rules are those of a range that is shown while a hand moves: without the reaction
// limit, which takes a second and follows when the hand rests.
func (q *question) rules() tow.Rules { return tow.Rules{OwnLimit: q.LimitM} }

// nearby says where the pilot has to sit a little slower and faster.
func (v *Service) nearby(ctx context.Context, q *question, progress func(float64)) (*nearby, error) {
	a := &nearby{Speeds: []neighbour{}}
	s, err := v.shape(ctx, q, progress)
	if err != nil || q.PitchDeg != nil {
		return a, err
	}
	ladder := q.ladder(s, steps/2) // a thin grey line needs no more
	for _, k := range []float64{.9, 1.1} {
		st, err := tow.NewSteadyTow(s.fields, gecp.Freestream{Speed: q.SpeedMPS * k})
		if err != nil {
			continue // beyond the range of speeds, or no tow to speak of
		}
		n := neighbour{SpeedMPS: q.SpeedMPS * k}
		for b, err := range st.TrimAlong(ladder) {
			p := balanced(ladder[len(n.Points)], b, err)
			n.Points = append(n.Points, pilotPoint{p.Clearance, p.PilotNeeded, p.Stable})
		}
		a.Speeds = append(a.Speeds, n)
	}
	return a, nil
}

func linesOf(r *tow.Range, u units.System) lines {
	at := func(k tow.LimitKind) *float64 {
		if r.Limits == nil || !r.Limits[k].OK {
			return nil
		}
		return some(r.Limits[k].At)
	}
	l := lines{SelfHolding: at(tow.LimitSelfHolding), Reach: at(tow.LimitReach), Reaction: at(tow.LimitReaction), Section: at(tow.LimitSection), Words: map[string]string{}}
	if r.OK {
		l.Low, l.LetGo = some(r.Low.Clearance), some(r.High.Clearance)
		l.Words["low_m"] = u.TowAbove(r.Low.Clearance)
	}
	for key, at := range map[string]*float64{
		"self_holding_m": l.SelfHolding, "reach_m": l.Reach, "reaction_m": l.Reaction, "section_m": l.Section, "let_go_m": l.LetGo,
	} {
		if at != nil {
			l.Words[key] = u.LetGo(*at)
		}
	}
	return l
}

// balanced is the point of steady tow at a clearance; empty where there is none.
func balanced(clearance float64, b tow.Trim, err error) point {
	if err != nil {
		return point{Clearance: clearance}
	}
	p := point{
		Clearance: clearance, Height: some(b.Height), PitchDeg: some(gecp.Degrees(b.Pitch)),
		Lift: some(b.Lift), Drag: some(b.Drag()), Induced: some(b.InducedDrag), Friction: some(b.FrictionDrag), Parasite: some(b.ParasiteDrag),
		LiftOverDrag: some(b.LiftOverDrag()), CP: some(b.CP), PitchNeutral: somePosition(b.PitchNeutral), HeightNeutral: somePosition(b.HeightNeutral),
		CGNeeded: some(b.CG), Stable: &b.HeightStable, Line: some(b.LineTension), LineDeg: some(gecp.Degrees(b.LineAngle)),
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
	stream, err := gecp.Freestream{Speed: q.SpeedMPS}.Checked()
	if err != nil {
		return nil, &exchange.PathError{Path: "speed_mps", Err: err}
	}
	mo := s.fields.Model()
	friction, parasite := mo.FrictionDrag(stream).Force, mo.ParasiteDrag(stream).Force
	pressure := stream.DynamicPressure()
	out := make([]point, 0, len(clearances))
	for _, cl := range clearances {
		m, err := s.fields.At(cl, gecp.Radians(pitch))
		if err != nil {
			return nil, err
		}
		lift, induced := pressure*m.Lift, pressure*m.Drag
		drag := induced + friction + parasite
		out = append(out, point{
			Clearance: cl, Height: some(m.Height), PitchDeg: some(pitch), Lift: some(lift), Drag: some(drag),
			Induced: some(induced), Friction: some(friction), Parasite: some(parasite), LiftOverDrag: some(lift / drag), CP: somePosition(m.CP()),
			PitchNeutral: somePosition(m.PitchNeutralPoint()), HeightNeutral: somePosition(m.HeightNeutralPoint()),
		})
	}
	return out, nil
}

// accuracy is how far the map of the question's craft strays.
func (v *Service) accuracy(ctx context.Context, q *question, progress func(float64)) (*accuracy, error) {
	s, err := v.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	a, err := measure(ctx, s.fields)
	return &a, err
}

// measure compares the map with direct solutions at places between its nodes.
func measure(ctx context.Context, m *gecp.Map) (accuracy, error) {
	var off accuracy
	mo := m.Model()
	chord := mo.Shape().MAC
	for _, at := range [][2]float64{{.083, 3.1}, {.29, 5.3}, {.61, 1.7}} { // m, deg: where craft fly
		rows, err := mo.Sweep(ctx, gecp.SweepQuestion{Speed: 10, Pitch: gecp.Radians(at[1]), Clearances: at[:1]})
		if err != nil {
			return off, err
		}
		p, err := m.At(at[0], gecp.Radians(at[1]))
		if err != nil {
			return off, err
		}
		r := rows[0]
		lift := gecp.AirDensity * 10 * 10 / 2 * p.Lift
		off.LiftPct = max(off.LiftPct, 100*math.Abs(lift/r.Lift-1))
		if r.CP.OK {
			off.CPPct = max(off.CPPct, 100*math.Abs(p.CP().X-r.CP.X)/chord)
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

// unasked stands before a range that was worked out while a hand moves.
const unasked = ", but for whether anyone can react in time, which is not yet looked at"

// rangeSentence leads with what to do, and then says what ends it; but is what it leaves
// out.
func (q *question) rangeSentence(r *tow.Range, but string) string {
	corrected := ""
	if words, ok := q.craft.CorrectionWords(); ok {
		corrected = ", " + words
	}
	return "At " + q.System().FineSpeed().Words(q.SpeedMPS, units.Nearest) + corrected + but + ": " + r.Words(q.System())
}

// shiftSentence says how far the lift moves as the craft rises, with a space before it;
// empty where that is not known.
func (q *question) shiftSentence(a *heights) string {
	h := q.System().Clearance()
	i := a.lowestBalanced()
	top := a.Points[len(a.Points)-1].CP
	if i < 0 || top == nil {
		return ""
	}
	run, way := *top-*a.Points[i].CP, "aft"
	if run < 0 {
		way = "forward"
	}
	return fmt.Sprintf(" From %s up to %s the lift moves %s %s.", h.Words(a.Points[i].Clearance, units.Nearest), h.Words(q.TopM, units.Nearest), q.System().Position().Words(math.Abs(run), units.Nearest), way)
}

func (a *heights) lowestBalanced() int {
	for i, p := range a.Points {
		if p.CP != nil {
			return i
		}
	}
	return -1
}

func (q *question) pitchSentence(a *heights, pitch float64) string {
	u := q.System()
	f, h := u.Force(), u.Clearance()
	lo, hi := a.Points[0], a.Points[len(a.Points)-1]
	return fmt.Sprintf("At %s, with the pitch held at %.1f degrees, %s lifts %s at %s of clearance and %s at %s; it weighs %s.",
		u.FineSpeed().Words(q.SpeedMPS, units.Nearest), pitch, q.name(), f.Words(*lo.Lift, units.Nearest), h.Words(lo.Clearance, units.Nearest), f.Words(*hi.Lift, units.Nearest), h.Words(hi.Clearance, units.Nearest), f.Words(a.Weight, units.Nearest))
}
