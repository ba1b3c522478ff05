package gecp

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"example.org/groundeffect/vlm"
)

// DefaultClearances is the ladder of a sweep that names none, m.
var DefaultClearances = []float64{.05, .1, .15, .2, .25, .3, .35, .4, .5, .6, .7, .8, .9, 1, 1.25, 1.5}

// SweepQuestion asks for a craft's loads over a ladder of clearances at one
// speed and pitch.
type SweepQuestion struct {
	Speed            float64   // m/s, above 0
	Pitch            float64   // rad, nose-up, about the datum
	Density          float64   // of the air, kg/m3; 0 is Density
	Clearances       []float64 // m, each above 0; nil is DefaultClearances
	MomentX, MomentZ float64   // the point moments are taken about, craft axes, m; zero is the datum
	Mesh             Mesh      // zero is DefaultMesh
}

// SweepRow is the craft at one clearance.
type SweepRow struct {
	Clearance float64 // of the wings' lowest point, m
	Height    float64 // of the datum, m
	Pitch     float64 // rad
	Lift      float64 // N
	InducedDrag   float64 // drag, N
	FrictionDrag  float64 // drag of the wings' surfaces, N
	ParasiteDrag  float64 // drag of the rest, N
	Moment    float64 // about the point asked for, Nm, nose-up positive, of lift and induced drag
	CP        Position   // centre of pressure, of lift and induced drag
	// Neutral points, m aft of the datum: where the change of the lift acts, with
	// pitch about the datum at its height held, and with height at the pitch held.
	PitchNeutral  Position
	HeightNeutral Position
	// HeightStabilityMargin is how far the height neutral point lies ahead of the pitch neutral
	// point. Where the lift falls with height and the craft is stable in pitch, it
	// holds its height if this is positive (Irodov 1970, as in Rozhdestvensky,
	// Aerodynamics of a Lifting System in Extreme Ground Effect, 2000).
	HeightStabilityMargin Position
	LiftShares []float64 // each wing's part of the lift, plates included; empty for no lift
	CriticalStrip   CriticalStrip
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

// maxSpeed keeps the air incompressible, m/s: a third of the speed of sound.
const maxSpeed = 100

func checkSpeed(speed, density float64) (float64, error) {
	if !(speed > 0 && speed <= maxSpeed) {
		return 0, fmt.Errorf("the speed is %v m/s; give one above 0 and up to %v m/s", speed, float64(maxSpeed))
	}
	if density == 0 {
		density = AirDensity
	}
	if !(density > 0 && density <= 10) {
		return 0, fmt.Errorf("the air's density is %v kg/m3; give one above 0 and up to 10, about 1.2 near sea level", density)
	}
	return density, nil
}

// maxClearances bounds a ladder.
const maxClearances = 10000

// Sweep returns one row a clearance, in the order asked for. Heights are solved in
// parallel; a cancelled context stops the work and its error is returned. It is
// an error, in a sentence, if the craft does not pass Check, or if the speed, the
// pitch or a clearance lies outside its range.
func (c *Craft) Sweep(ctx context.Context, q SweepQuestion) ([]SweepRow, error) {
	density, err := checkSpeed(q.Speed, q.Density)
	if err != nil {
		return nil, err
	}
	if q.Clearances == nil {
		q.Clearances = DefaultClearances
	}
	if len(q.Clearances) > maxClearances {
		return nil, fmt.Errorf("the ladder has %d clearances; give at most %d", len(q.Clearances), maxClearances)
	}
	for i, v := range q.Clearances {
		if !(v > 0 && v <= 1e4) {
			return nil, fmt.Errorf("clearance %d of the ladder is %v m; the wings' lowest point must lie above the water and below 10,000 m", i+1, v)
		}
	}
	if !(math.Abs(q.MomentX) <= farAway && math.Abs(q.MomentZ) <= farAway) {
		return nil, fmt.Errorf("the point for moments is (%v, %v) m; give a place near the craft", q.MomentX, q.MomentZ)
	}
	m, err := NewModel(c, q.Mesh)
	if err != nil {
		return nil, err
	}
	pose, err := m.lattice.AtPitch(ctx, q.Pitch)
	if err != nil {
		return nil, err
	}
	pressure := density * q.Speed * q.Speed / 2
	friction := c.frictionArea(q.Speed, density)
	rows := make([]SweepRow, len(q.Clearances))
	err = each(ctx, len(rows), func(i int) error {
		s, err := pose.Solve(ctx, m.under.HeightFor(q.Clearances[i], q.Pitch))
		if err != nil {
			return err
		}
		rows[i] = m.row(s, q, pressure)
		rows[i].Clearance = q.Clearances[i]
		rows[i].FrictionDrag = pressure * friction
		return nil
	})
	if err != nil {
		return nil, err
	}
	return rows, nil
}

func (m *Model) row(s *vlm.Solution, q SweepQuestion, pressure float64) SweepRow {
	sin, cos := math.Sincos(q.Pitch)
	// The point, from the datum in the axes of the water.
	x, z := q.MomentX*cos+q.MomentZ*sin, q.MomentZ*cos-q.MomentX*sin
	t := s.Total
	r := SweepRow{
		Height:        s.Height,
		Pitch:         s.Pitch,
		Lift:          pressure * t.Lift(),
		InducedDrag:       pressure * t.Drag(),
		ParasiteDrag:      pressure * m.craft.ParasiteArea,
		Moment:        pressure * (t.Pitching() - z*t.Drag() + x*t.Lift()),
		CP:            centreOfPressure(t.Drag(), t.Lift(), t.Pitching(), q.Pitch),
		PitchNeutral:  PositionAt(-s.Derivatives.Pitch.Pitching() / s.Derivatives.Pitch.Lift()),
		HeightNeutral: PositionAt(-s.Derivatives.Height.Pitching() / s.Derivatives.Height.Lift()),
		CriticalStrip:          m.peak(s),
	}
	r.HeightStabilityMargin = r.HeightNeutral.ahead(r.PitchNeutral)
	if t.Lift() != 0 {
		for _, l := range m.wingLoads(s) {
			r.LiftShares = append(r.LiftShares, l.Lift()/t.Lift())
		}
	}
	return r
}

// each runs f for 0..n-1 on all processors and returns the first error by index
// or the context's.
func each(ctx context.Context, n int, f func(i int) error) error {
	errs := make([]error, n)
	var next, failed atomic.Int64
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for failed.Load() == 0 && ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				if errs[i] = f(i); errs[i] != nil {
					failed.Add(1)
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
