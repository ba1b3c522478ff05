package solver

import (
	"context"
	"errors"
	"fmt"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/playground/exchange"
)

// poseMesh is the lattice whose pressures are shown. One for both fidelities, so
// that the picture does not flicker between them.
var poseMesh = gecp.Mesh{Rows: 4, Strips: 9}

// pose is the answer to "pose".
type pose struct {
	point
	CG       *float64    `json:"cg_m"` // with the pilot as set, or where needed
	Weight   float64     `json:"weight_n"`
	Plan     []plan      `json:"plan"` // starboard half
	Range    [2]float64  `json:"pressure_range_pa"`
	Spans    []spanLoad  `json:"spans"`
	Sweep    []liftPoint `json:"sweep"` // over clearance, this pitch held
	Peak     *peak       `json:"peak"`
	Sentence string      `json:"sentence"`
}

// side is the craft from the side in craft axes, [x aft, z up], m.
type side struct {
	Wings   []sideWing   `json:"wings"`
	Floats  [][2]float64 `json:"floats"`
	Weights []sideWeight `json:"weights"`
	Pilot   *sidePilot   `json:"pilot"`
	Tow     *sidePoint   `json:"tow"`
}

type sideWing struct {
	Name     string         `json:"name"`
	Sections [][][2]float64 `json:"sections"` // mean lines, root to tip
	Plates   [][][2]float64 `json:"plates"`   // outlines
}

type sideWeight struct {
	Name string  `json:"name"`
	X    float64 `json:"x"`
	Z    float64 `json:"z"`
	Mass float64 `json:"mass_kg"`
}

type sidePoint struct {
	X float64 `json:"x"`
	Z float64 `json:"z"`
}

type sidePilot struct {
	X       float64 `json:"x"`
	Z       float64 `json:"z"`
	Forward float64 `json:"forward"`
	Aft     float64 `json:"aft"`
}

type plan struct {
	Surface string `json:"surface"`
	Rows    int    `json:"rows"`  // of cells, nose to tail
	Cells   []cell `json:"cells"` // strip by strip from the root, each nose to tail
}

type cell struct {
	Corners  [4][2]float64 `json:"corners"` // [x, y]
	Pressure float64       `json:"pressure_pa"`
}

type spanLoad struct {
	Surface string    `json:"surface"`
	Y       []float64 `json:"y_m"`
	Lift    []float64 `json:"lift_n_per_m"`
	CL      []float64 `json:"cl"`
}

type liftPoint struct {
	Clearance float64  `json:"clearance_m"`
	Lift      float64  `json:"lift_n"`
	CP        *float64 `json:"cp_m"`
}

type peak struct {
	Surface string  `json:"surface"`
	Y       float64 `json:"y_m"`
	CL      float64 `json:"cl"`
	Limit   float64 `json:"limit"`
	Flag    string  `json:"flag"` // a sentence where the limit is passed
	Source  string  `json:"source"`
}

func (v *Service) pose(ctx context.Context, q *question, progress func(float64)) (*pose, error) {
	s, err := v.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	q.ClearanceM = max(q.ClearanceM, s.floor())
	c := q.craft
	a := &pose{Weight: c.Mass() * gecp.G}
	pitch, towed := gecp.Radians(plainPitch), false
	st, err := q.tow(s.fields)
	var missing gecp.Problems
	switch {
	case q.PitchDeg != nil:
		pitch = gecp.Radians(*q.PitchDeg)
	case errors.As(err, &missing): // shown at the plain pitch
	case err != nil:
		return nil, &exchange.PathError{Path: "speed_mps", Err: err}
	default:
		b, err := st.Trim(q.ClearanceM)
		switch {
		case err == nil:
			pitch = b.Pitch
		case errors.Is(err, tow.ErrTooSlow):
			pitch = gecp.Radians(maxPitch)
		case errors.Is(err, tow.ErrTooFast):
			pitch = gecp.Radians(minPitch)
		}
		if err != nil {
			a.Sentence = sentence(err.Error())
		}
		a.point, towed = balanced(q.ClearanceM, b, err), true
	}
	if !towed {
		ps, err := q.atPitch(ctx, s, gecp.Degrees(pitch), q.ClearanceM)
		if err != nil {
			return nil, err
		}
		a.point = ps[0]
	}
	a.Clearance, a.PitchDeg = q.ClearanceM, some(gecp.Degrees(pitch))
	a.CG = a.CGNeeded
	if c.Pilot != nil && q.PilotXM != nil {
		x, _ := c.CG(*q.PilotXM)
		a.CG = some(x)
	}
	if err := q.fill(ctx, a, s, pitch); err != nil {
		return nil, err
	}
	if q.Fidelity != "coarse" {
		p, err := s.fields.Model().CriticalStrip(ctx, q.ClearanceM, pitch)
		if err != nil {
			return nil, err
		}
		a.Peak = &peak{Surface: p.Wing, Y: p.Y, CL: p.LiftCoefficient, Limit: p.Limit, Source: gecp.SectionLimitSource}
		if p.Over() {
			a.Peak.Flag = fmt.Sprintf("Here the wing %q works at a section lift coefficient of %.2f, beyond the %.2f up to which the flow can be trusted to stay on it: the figures are too good to be true.", p.Wing, p.LiftCoefficient, p.Limit)
		}
	}
	return a, nil
}

// fill adds what the lattice says at the pitch, rad, and the question's clearance.
func (q *question) fill(ctx context.Context, a *pose, s *shape, pitch float64) error {
	pressure := gecp.Freestream{Speed: q.SpeedMPS, Density: gecp.AirDensity}.DynamicPressure()
	for _, cl := range q.ladder(s, steps) {
		m, err := s.fields.At(cl, pitch)
		if err != nil {
			return err
		}
		a.Sweep = append(a.Sweep, liftPoint{cl, pressure * m.Lift, somePosition(m.CP())})
	}
	if s.shown == nil {
		m, err := q.model(poseMesh)
		if err != nil {
			return err
		}
		s.shown = m
	}
	a.Height = some(s.shown.LowestPoints().HeightFor(q.ClearanceM, pitch))
	wings, err := s.shown.Pressures(ctx, q.ClearanceM, pitch)
	if err != nil {
		return err
	}
	for _, w := range wings {
		p, l := plan{Surface: w.Wing, Rows: w.Rows}, spanLoad{Surface: w.Wing}
		for _, c := range w.Cells {
			v := pressure * c.Coefficient
			p.Cells = append(p.Cells, cell{c.Corners, v})
			a.Range[0], a.Range[1] = min(a.Range[0], v), max(a.Range[1], v)
		}
		for _, st := range w.Spans {
			l.Y = append(l.Y, st.Y)
			l.Lift = append(l.Lift, pressure*st.ForcePerSpan)
			l.CL = append(l.CL, st.LiftCoefficient)
		}
		a.Plan, a.Spans = append(a.Plan, p), append(a.Spans, l)
	}
	return nil
}

// sideOf draws the craft from the side.
func sideOf(c *gecp.Craft) side {
	s := side{Wings: []sideWing{}, Floats: [][2]float64{}, Weights: []sideWeight{}}
	for _, o := range c.SideView().Wings {
		w := sideWing{Name: o.Name, Plates: [][][2]float64{}}
		for _, l := range o.MeanLines {
			w.Sections = append(w.Sections, l)
		}
		for _, p := range o.Plates {
			w.Plates = append(w.Plates, p)
		}
		s.Wings = append(s.Wings, w)
	}
	for _, f := range c.Floats {
		s.Floats = append(s.Floats, [2]float64{f.X, f.Z})
	}
	for _, w := range c.Weights {
		s.Weights = append(s.Weights, sideWeight{w.Name, w.X, w.Z, w.Mass})
	}
	if p := c.Pilot; p != nil {
		s.Pilot = &sidePilot{p.Middle(), p.Z, p.XForward, p.XAft}
	}
	if t := c.Tow; t != nil {
		s.Tow = &sidePoint{t.X, t.Z}
	}
	return s
}
