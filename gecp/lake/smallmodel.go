package lake

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"strconv"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// surfaceTension is that of clean water against air at 20 degrees Celsius, N/m (IAPWS
// R1-76, from memory).
const surfaceTension = .0728

// softestLine is the least stiffness of a line that a craft file takes, N; a model whose
// line would be softer has a stiff one.
const softestLine = 500

// shortestBoat is the least length of a boat that a craft file takes, m.
const shortestBoat = 1

// ModelWing is a wing on the craft and on the model, at one speed of the model.
type ModelWing struct {
	Name                    string
	CraftReynolds, Reynolds float64 // of the mean aerodynamic chord
	CraftFriction, Friction float64 // drag coefficient of one side of a smooth plate
	CraftLimit, Limit       float64 // section lift; the model's is an estimate on the low side
}

// SmallModel is a model of a craft to a scale, what to build and what it can tell.
type SmallModel struct {
	Scale        Similarity
	Craft, Model *gecp.Craft
	Units        units.System // of the craft's figures; the model's are in Units.ForModel()
	Map          *gecp.Map    // of the model
	Card         *TowCard     // of the model

	// What does not scale is told for one speed, the lowest of the card's at which the model
	// flies, or else the card's last.
	Speed         float64 // of the model, m/s
	Flies         bool
	Wings         []ModelWing
	Friction      float64 // friction of the wings on the model, N
	FrictionExtra float64 // that part of it which the scale alone would not give, N
	LineTension   float64 // of the model's lowest trim at that speed, N; 0 if it does not fly
	// Capillary is by how much surface tension stiffens the water against waves as long as
	// the model's shortest mean chord, over what gravity does.
	Capillary float64
}

// ScaleCraft returns a craft's model to a scale: every length, and so on, by
// [Similarity]; a weight takes the pilot's place. The error is that of a scale out of
// range, or [gecp.Problems] where the model is too small to be calculated.
func ScaleCraft(c *gecp.Craft, s Similarity) (*gecp.Craft, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	l, area, mass := s.Length(), s.Area(), s.Mass()
	n := c.Clone()
	n.Name = fmt.Sprintf("%s, model at %.3g", short(c.Name), float64(s))
	scale := func(by float64, values ...*float64) {
		for _, v := range values { // with no more digits than a file needs
			*v, _ = strconv.ParseFloat(strconv.FormatFloat(*v*by, 'g', 12, 64), 64)
		}
	}
	for i := range n.Wings {
		w := &n.Wings[i]
		scale(l, &w.X, &w.Z, &w.TipPlates.Down, &w.TipPlates.Up)
		for j := range w.Stations {
			t := &w.Stations[j]
			scale(l, &t.Y, &t.Chord, &t.LEX, &t.LEZ)
		}
	}
	for i := range n.Weights {
		w := &n.Weights[i]
		scale(mass, &w.Mass)
		scale(l, &w.X, &w.Z, &w.Radius)
	}
	if p := n.Pilot; p != nil {
		// The defaults are those of a person, not of a weight.
		p.Radius, p.MaxShift = cmp.Or(p.Radius, motion.PilotRadius), cmp.Or(p.MaxShift, motion.DefaultShift)
		scale(mass, &p.Mass)
		scale(l, &p.XForward, &p.XAft, &p.Z, &p.Radius)
		scale(s.Speed(), &p.MaxShift)
	}
	if t := n.Tow; t != nil {
		scale(l, &t.X, &t.Z, &t.BoatHeight, &t.Line, &t.BoatLength)
		t.BoatLength = max(t.BoatLength, shortestBoat) // it tows a model smaller than itself
		if scale(mass, &t.LineStiffness); t.LineStiffness < softestLine {
			t.LineStiffness = 0
		}
		perM := t.LineWeight() / gecp.G // the default is that of a line of full size
		t.LineMass = &perM
		scale(area, t.LineMass)
	}
	for i := range n.Floats {
		scale(l, &n.Floats[i].X, &n.Floats[i].Z)
	}
	scale(area, &n.ParasiteArea)
	if k := n.Correction; k != nil {
		scale(l, &k.CPOffset, &k.CPOffsetError)
	}
	if err := n.Check(); err != nil {
		return nil, fmt.Errorf("no model of %s can be calculated at a scale of %.3g:\n%w", c.Name, float64(s), err)
	}
	return n, nil
}

// short keeps a name so short that the model's passes the check.
func short(name string) string {
	r := []rune(name)
	return string(r[:min(len(r), 60)])
}

// NewSmallModel works out a model of a map's craft: the model's own map, on the lattice of
// the craft's, its tow card, and what does not scale. The errors are those of ScaleCraft,
// of the map and of NewTowCard. progress is told the part of the map done; it may be nil.
func NewSmallModel(ctx context.Context, m *gecp.Map, s Similarity, o TowCardOptions, progress func(part float64)) (*SmallModel, error) {
	c := m.Model().Craft()
	if err := c.Require(gecp.BlockPilot, gecp.BlockWeights, gecp.BlockTow); err != nil {
		return nil, err
	}
	model, err := ScaleCraft(c, s)
	if err != nil {
		return nil, err
	}
	flow, err := gecp.NewModel(model, m.Model().Mesh())
	if err != nil {
		return nil, err
	}
	flow = flow.WithWake(m.Model().Wake())
	r := m.Range()
	out := &SmallModel{Scale: s, Craft: c, Model: model, Units: o.Units}
	if out.Map, err = flow.BuildMap(ctx, gecp.MapOptions{ClearanceMin: s.Length() * r.ClearanceMin, ClearanceMax: s.Length() * r.ClearanceMax, Progress: progress}); err != nil {
		return nil, err
	}
	o.Scale, o.Units = float64(s), o.Units.ForModel()
	if out.Card, err = NewTowCard(ctx, out.Map, o); err != nil {
		return nil, err
	}
	return out, out.losses(m)
}

// losses works out what does not scale.
func (m *SmallModel) losses(craft *gecp.Map) error {
	rungs := m.Card.Rungs
	at := &rungs[len(rungs)-1]
	for i := range rungs {
		if rungs[i].Range.Flies && !rungs[i].rests() {
			at, m.Flies = &rungs[i], true
			break
		}
	}
	m.Speed = at.Speed
	if m.Flies {
		m.LineTension = at.Range.LineTension
	}
	density := m.Card.Density
	big, err := tow.NewSteadyTow(craft, gecp.Freestream{Speed: m.Speed / m.Scale.Speed(), Density: density})
	if err != nil {
		return err
	}
	m.Friction = at.Range.Tow.FrictionDrag().Force
	m.FrictionExtra = m.Friction - big.FrictionDrag().Force*m.Scale.Mass()

	shape := m.Model.Shape()
	shortest := math.Inf(1)
	for i, w := range shape.Wings {
		re := m.Speed * w.MAC * density / (gecp.AirViscosity * gecp.AirDensity)
		of := re / m.Scale.Reynolds()
		limit := gecp.SectionLimit(m.Model.Wings[i].Thickness)
		m.Wings = append(m.Wings, ModelWing{
			Name: w.Name, CraftReynolds: of, Reynolds: re,
			CraftFriction: gecp.SkinFriction(of), Friction: gecp.SkinFriction(re),
			CraftLimit: limit, Limit: limit * lowReynolds(re),
		})
		shortest = min(shortest, w.MAC)
	}
	k := 2 * math.Pi / shortest
	m.Capillary = k * k * surfaceTension / (tow.WaterDensity * gecp.G)
	return nil
}

// lowReynolds returns the section limit at a Reynolds number over that of the large craft:
// 1 from a million up, falling with its logarithm to 0.7 at a hundred thousand, and 0.7
// below, where the flow over an ordinary section may leave it at any angle. It is a line on
// the low side of the measured fall of the largest lift of four-digit sections (Jacobs and
// Sherman, NACA Report 586, 1937; the trend from memory).
func lowReynolds(re float64) float64 {
	return min(1, max(.7, 1+.3*(math.Log10(re)-6)))
}

// Slowest wave on clean water, m/s: (4 G surfaceTension/density)^(1/4) (Lamb,
// Hydrodynamics, art. 267).
func slowestWave() float64 {
	return math.Pow(4*gecp.G*surfaceTension/tow.WaterDensity, .25)
}
