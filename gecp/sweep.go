package gecp

import (
	"context"
	"fmt"
	"math"

	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/vlm"
)

// DefaultClearances returns the ladder of a sweep that names none, m.
func DefaultClearances() []float64 {
	return []float64{.1, .15, .2, .25, .3, .35, .4, .5, .6, .7, .8, .9, 1, 1.25, 1.5}
}

// SweepQuestion asks for a craft's loads over a ladder of clearances at one
// speed and pitch.
type SweepQuestion struct {
	Speed            float64   // m/s, above 0
	Pitch            float64   // rad, nose-up, about the datum
	Density          float64   // of the air, kg/m3; 0 is AirDensity
	Clearances       []float64 // m, each above 0; nil is DefaultClearances
	MomentX, MomentZ float64   // the point moments are taken about, craft axes, m; zero is the datum
}

// SweepRow is the craft at one clearance.
type SweepRow struct {
	Clearance    float64  // of the wings' lowest point, m
	Height       float64  // of the datum, m
	Pitch        float64  // rad
	Lift         float64  // N
	InducedDrag  float64  // drag, N
	FrictionDrag float64  // drag of the wings' surfaces, N
	ParasiteDrag float64  // drag of the rest, N
	Moment       float64  // about the point asked for, Nm, nose-up positive, of lift and induced drag
	CP           Position // centre of pressure, of lift and induced drag
	// Neutral points, m aft of the datum: where the change of the lift acts, with
	// pitch about the datum at its height held, and with height at the pitch held.
	PitchNeutral  Position
	HeightNeutral Position
	// HeightStabilityMargin is how far the height neutral point lies ahead of the pitch neutral
	// point. Where the lift falls with height and the craft is stable in pitch, it
	// holds its height if this is positive (Irodov 1970, as in Rozhdestvensky,
	// Aerodynamics of a Lifting System in Extreme Ground Effect, 2000).
	HeightStabilityMargin Position
	// Close marks a row so near to the water that the neutral points are not good; see
	// CloseGap.
	Close bool
	// GapFill is the section that fills its gap to the water most.
	GapFill       GapFill
	LiftShares    []float64 // each wing's part of the lift, plates included; empty for no lift
	CriticalStrip CriticalStrip
}

// Drag returns the whole drag, N.
func (r SweepRow) Drag() float64 { return r.InducedDrag + r.FrictionDrag + r.ParasiteDrag }

// LiftOverDrag returns the lift over the whole drag, 0 where there is no drag.
func (r SweepRow) LiftOverDrag() float64 {
	if d := r.Drag(); d > 0 {
		return r.Lift / d
	}
	return 0
}

// maxClearances bounds a ladder.
const maxClearances = 10000

// Sweep is [Model.Sweep] with the default mesh. It also returns [Problems] if the
// craft fails Check.
func (c *Craft) Sweep(ctx context.Context, q SweepQuestion) ([]SweepRow, error) {
	m, err := NewModel(c, Mesh{})
	if err != nil {
		return nil, err
	}
	return m.Sweep(ctx, q)
}

// Sweep returns one row a clearance, in the order asked for. Heights are solved in
// parallel; a cancelled context stops the work and its error is returned. It
// returns an error if the speed, the pitch or a clearance is out of range, a *GapError
// if a wing would be too close to the water, and a *ResultError if what comes out
// cannot be.
func (m *Model) Sweep(ctx context.Context, q SweepQuestion) ([]SweepRow, error) {
	stream, err := Freestream{q.Speed, q.Density}.Checked()
	if err != nil {
		return nil, err
	}
	if q.Clearances == nil {
		q.Clearances = DefaultClearances()
	}
	if len(q.Clearances) > maxClearances {
		return nil, fmt.Errorf("the ladder has %d clearances; give at most %d", len(q.Clearances), maxClearances)
	}
	for i, v := range q.Clearances {
		if !(v > 0 && v <= 1e4) {
			return nil, fmt.Errorf("clearance %d of the ladder is %v m; the wings' lowest point must lie above the water and below 10,000 m", i+1, v)
		}
	}
	if !(math.Abs(q.MomentX) <= FarAway && math.Abs(q.MomentZ) <= FarAway) {
		return nil, fmt.Errorf("the point for moments is (%v, %v) m; give a place near the craft", q.MomentX, q.MomentZ)
	}
	pitched, err := m.lattice.AtPitch(ctx, q.Pitch)
	if err != nil {
		return nil, err
	}
	pressure := stream.DynamicPressure()
	friction := m.FrictionDrag(stream).Force
	low := m.low.At(q.Pitch)
	for _, cl := range q.Clearances {
		if err := low.checkGap(cl); err != nil {
			return nil, err
		}
	}
	rows := make([]SweepRow, len(q.Clearances))
	err = parallel.EachOf(ctx, len(rows), m.workers(), func(i int) error {
		s, err := m.totalFlow(ctx, pitched, m.low.HeightFor(q.Clearances[i], q.Pitch))
		if err != nil {
			return err
		}
		if err := m.checkResult(s, q.Clearances[i]); err != nil {
			return err
		}
		rows[i] = m.row(s, q, q.Clearances[i], pressure, low)
		rows[i].FrictionDrag = friction
		return nil
	})
	if err != nil {
		return nil, err
	}
	return rows, nil
}

// At returns what a map says of a clearance, m, and a pitch, rad, from the lattice itself:
// one solution instead of a map's many, and without what a map strays between its nodes. It
// returns a *GapError if a wing would be too close to the water, and an error if an argument
// is out of range or the context is cancelled.
func (m *Model) At(ctx context.Context, clearance, pitch float64) (MapPoint, error) {
	pitched, err := m.lattice.AtPitch(ctx, pitch)
	if err != nil {
		return MapPoint{}, err
	}
	low := m.low.At(pitch)
	if err := low.checkGap(clearance); err != nil {
		return MapPoint{}, err
	}
	s, err := m.totalFlow(ctx, pitched, m.low.HeightFor(clearance, pitch))
	if err != nil {
		return MapPoint{}, err
	}
	return m.pointOf(s, clearance, low), nil
}

// pointOf describes a solution as a map does.
func (m *Model) pointOf(s *vlm.Solution, clearance float64, low LowestPoint) MapPoint {
	return m.correction.point(MapPoint{
		Clearance: clearance, Height: s.Height, Pitch: s.Pitch,
		LoadsPerQ: loadsPerQ(s.Total), ByHeight: loadsPerQ(s.Derivatives.Height), ByPitch: loadsPerQ(s.Derivatives.Pitch),
		LowestPoint: low,
	})
}

// row describes a solution at a clearance, m, in a dynamic pressure, Pa.
func (m *Model) row(s *vlm.Solution, q SweepQuestion, clearance, pressure float64, low LowestPoint) SweepRow {
	x, z := RotationAt(q.Pitch).Level(q.MomentX, q.MomentZ)
	p := m.pointOf(s, clearance, low)
	r := SweepRow{
		Clearance:     p.Clearance,
		Height:        p.Height,
		Pitch:         p.Pitch,
		Lift:          pressure * p.Lift,
		InducedDrag:   pressure * p.Drag,
		ParasiteDrag:  pressure * m.craft.ParasiteArea,
		Moment:        pressure * (p.Moment - z*p.Drag + x*p.Lift),
		CP:            p.CP(),
		PitchNeutral:  p.PitchNeutralPoint(),
		HeightNeutral: p.HeightNeutralPoint(),
		Close:         p.Close(),
		GapFill:       m.low.GapFill(p.Clearance, p.Pitch),
	}
	cl := m.stripLift(s)
	r.CriticalStrip = m.criticalStrip(func(i int) float64 { return cl[i] })
	r.HeightStabilityMargin = r.HeightNeutral.Ahead(r.PitchNeutral)
	if total := s.Total.Lift(); total != 0 {
		for _, l := range m.wingLoads(s) {
			r.LiftShares = append(r.LiftShares, l.Lift()/total)
		}
	}
	return r
}
