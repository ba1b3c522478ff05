package ask

import (
	"context"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/vlm"
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
	Clearance float64 `json:"clearance_m"`
	Lift      float64 `json:"lift_n"`
}

type peak struct {
	Surface string  `json:"surface"`
	Y       float64 `json:"y_m"`
	CL      float64 `json:"cl"`
	Limit   float64 `json:"limit"`
	Flag    string  `json:"flag"` // a sentence where the limit is passed
	Source  string  `json:"source"`
}

func (d *Desk) pose(ctx context.Context, q *question, progress func(float64)) (*pose, error) {
	s, err := d.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	c := q.craft
	a := &pose{Weight: c.Mass() * gecp.G}
	pitch, towed := plainPitch*math.Pi/180, false
	run, err := s.fields.Run(q.SpeedMPS, 0)
	var missing gecp.Problems
	switch {
	case q.PitchDeg != nil:
		pitch = *q.PitchDeg * math.Pi / 180
	case errors.As(err, &missing): // shown at the plain pitch
	case err != nil:
		return nil, &pathError{"speed_mps", err}
	default:
		b, err := run.Trim(q.ClearanceM)
		switch {
		case err == nil:
			pitch = b.Pitch
		case errors.Is(err, gecp.ErrTooSlow):
			pitch = maxPitch * math.Pi / 180
		case errors.Is(err, gecp.ErrTooFast):
			pitch = minPitch * math.Pi / 180
		}
		if err != nil {
			a.Sentence = sentence(err.Error())
		}
		a.point, towed = balanced(q.ClearanceM, b, err), true
	}
	if !towed {
		ps, err := q.atPitch(ctx, s, deg(pitch), q.ClearanceM)
		if err != nil {
			return nil, err
		}
		a.point = ps[0]
	}
	a.Clearance, a.PitchDeg = q.ClearanceM, some(deg(pitch))
	a.CG = a.CGNeeded
	if c.Pilot != nil && q.PilotXM != nil {
		x, _ := c.CG(*q.PilotXM)
		a.CG = some(x)
	}
	if err := q.fill(ctx, a, s, pitch); err != nil {
		return nil, err
	}
	if q.Fidelity != "coarse" {
		rows, err := c.Sweep(ctx, gecp.SweepQuestion{Speed: q.SpeedMPS, Pitch: pitch, Clearances: []float64{q.ClearanceM}, Mesh: q.mesh()})
		if err != nil {
			return nil, err
		}
		p := rows[0].CriticalStrip
		a.Peak = &peak{Surface: p.Wing, Y: p.Y, CL: p.LiftCoefficient, Limit: p.Limit, Source: gecp.SectionLimitSource}
		if p.Over() {
			a.Peak.Flag = fmt.Sprintf("Here the %s wing works at a section lift coefficient of %.2f, beyond the %.2f up to which the flow can be trusted to stay on it: the figures are too good to be true.", p.Wing, p.LiftCoefficient, p.Limit)
		}
	}
	return a, nil
}

// fill adds what the lattice says at the pitch, rad, and the question's clearance.
func (q *question) fill(ctx context.Context, a *pose, s *shape, pitch float64) error {
	pressure := gecp.AirDensity * q.SpeedMPS * q.SpeedMPS / 2
	for _, cl := range q.ladder(steps) {
		m, err := s.fields.At(cl, pitch)
		if err != nil {
			return err
		}
		a.Sweep = append(a.Sweep, liftPoint{cl, pressure * m.Lift})
	}
	height := q.craft.LowestPoints().HeightFor(q.ClearanceM, pitch)
	a.Height = some(height)
	if s.lattice == nil {
		l, err := vlm.New(q.craft.Surfaces(poseMesh), vlm.Options{})
		if err != nil {
			return err
		}
		s.lattice = l
	}
	sol, err := s.lattice.Solve(ctx, vlm.Attitude{Height: height, Pitch: pitch})
	if err != nil {
		return err
	}
	surfaces := q.craft.Surfaces(poseMesh)
	wing := 0
	cells, strips := 0, 0
	for _, sf := range surfaces {
		own := sol.Strips[strips : strips+sf.Strips]
		values := sol.Pressure[cells : cells+sf.Rows*sf.Strips]
		strips, cells = strips+sf.Strips, cells+sf.Rows*sf.Strips
		if wing < len(q.craft.Wings) && sf.Name == q.craft.Wings[wing].Name {
			wing++
			p, l := above(sf, own, values, pressure)
			a.Plan, a.Spans = append(a.Plan, p), append(a.Spans, l)
			for _, c := range p.Cells {
				a.Range[0], a.Range[1] = min(a.Range[0], c.Pressure), max(a.Range[1], c.Pressure)
			}
		}
	}
	return nil
}

// above lays out a wing's cells and strips as seen from above, craft axes.
func above(sf vlm.Surface, strips []vlm.Strip, values []float64, pressure float64) (plan, spanLoad) {
	p, l := plan{Surface: sf.Name, Rows: sf.Rows}, spanLoad{Surface: sf.Name}
	edges := make([]float64, sf.Strips+1)
	edges[0] = sf.Stations[0].LE.Y
	for j, st := range strips {
		l.Y = append(l.Y, st.Y)
		l.Lift = append(l.Lift, pressure*st.NormalForce/st.Width)
		l.CL = append(l.CL, st.SectionLiftCoefficient())
		if j > 0 {
			edges[j] = (strips[j-1].Y + st.Y) / 2
		}
	}
	edges[sf.Strips] = sf.Stations[len(sf.Stations)-1].LE.Y
	// Cell k lies between the control stations k and k+1 of Lan's semicircle.
	place := func(k int) float64 { return (1 - math.Cos(float64(k)*math.Pi/float64(sf.Rows))) / 2 }
	for j := range sf.Strips {
		for k := range sf.Rows {
			at := func(y float64, k int) [2]float64 {
				v := pointOf(sf, y, place(k))
				return [2]float64{v.X, v.Y}
			}
			p.Cells = append(p.Cells, cell{
				Corners:  [4][2]float64{at(edges[j], k), at(edges[j], k+1), at(edges[j+1], k+1), at(edges[j+1], k)},
				Pressure: pressure * values[k*sf.Strips+j],
			})
		}
	}
	return p, l
}

// pointOf returns the point of a ruled surface at y, m, and xi chords.
func pointOf(sf vlm.Surface, y, xi float64) r3.Vec {
	for j := 1; j < len(sf.Stations); j++ {
		a, b := sf.Stations[j-1], sf.Stations[j]
		if y > b.LE.Y && j < len(sf.Stations)-1 {
			continue
		}
		t := (y - a.LE.Y) / (b.LE.Y - a.LE.Y)
		return r3.Add(r3.Scale(1-t, a.Point(xi)), r3.Scale(t, b.Point(xi)))
	}
	return sf.Stations[0].Point(xi)
}

// sideOf draws the craft from the side.
func sideOf(c *gecp.Craft) side {
	s := side{Wings: []sideWing{}, Floats: [][2]float64{}, Weights: []sideWeight{}}
	for _, sf := range c.Surfaces(gecp.Mesh{Rows: 1, Strips: 1}) {
		n := len(s.Wings)
		if n < len(c.Wings) && sf.Name == c.Wings[n].Name {
			w := sideWing{Name: sf.Name, Plates: [][][2]float64{}}
			for _, st := range sf.Stations {
				w.Sections = append(w.Sections, meanLine(st))
			}
			s.Wings = append(s.Wings, w)
			continue
		}
		// A plate: down one side of its outline and back the other.
		from, to := meanLine(sf.Stations[0]), meanLine(sf.Stations[1])
		for i := len(to) - 1; i >= 0; i-- {
			from = append(from, to[i])
		}
		w := &s.Wings[n-1]
		w.Plates = append(w.Plates, from)
	}
	for _, f := range c.Floats {
		s.Floats = append(s.Floats, [2]float64{f.X, f.Z})
	}
	for _, w := range c.Weights {
		s.Weights = append(s.Weights, sideWeight{w.Name, w.X, w.Z, w.Mass})
	}
	if p := c.Pilot; p != nil {
		s.Pilot = &sidePilot{(p.XForward + p.XAft) / 2, p.Z, p.XForward, p.XAft}
	}
	if t := c.Tow; t != nil {
		s.Tow = &sidePoint{t.X, t.Z}
	}
	return s
}

const meanLinePoints = 17

func meanLine(st vlm.Station) [][2]float64 {
	l := make([][2]float64, meanLinePoints)
	for i := range l {
		// Closer together at the nose, where a section is round.
		xi := 1 - math.Cos(float64(i)/(meanLinePoints-1)*math.Pi/2)
		p := st.Point(xi)
		l[i] = [2]float64{p.X, p.Z}
	}
	return l
}
