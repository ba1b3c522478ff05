package gecp

import (
	"fmt"
	"slices"
)

// LoadsPerQ is a lift, an induced drag (m2) and a pitching moment about the datum (m3,
// nose-up positive) per dynamic pressure, or their change with something.
type LoadsPerQ struct{ Lift, Drag, Moment float64 }

// MapPoint is what a Map says of one clearance and pitch, the craft at rest against
// its path: no heave, no turning.
type MapPoint struct {
	Clearance, Height, Pitch float64 // m, m, rad
	LoadsPerQ
	ByHeight    LoadsPerQ // per m of the datum's height, pitch held
	ByPitch     LoadsPerQ // per rad about the datum, its height held
	LowestPoint LowestPoint
}

// PitchNeutralPoint returns where the change of the lift with pitch about the datum
// acts, its height held.
func (p MapPoint) PitchNeutralPoint() Position {
	return PositionAt(-p.ByPitch.Moment / p.ByPitch.Lift)
}

// HeightNeutralPoint returns where the change of the lift with height acts, the
// pitch held.
func (p MapPoint) HeightNeutralPoint() Position {
	return PositionAt(-p.ByHeight.Moment / p.ByHeight.Lift)
}

// Close reports whether the point lies so near to the water that the derivatives are
// not good; see CloseGap.
func (p MapPoint) Close() bool { return p.LowestPoint.Close(p.Clearance) }

// CP returns the centre of pressure of lift and induced drag.
func (p MapPoint) CP() Position { return RotationAt(p.Pitch).CP(p.Drag, p.Lift, p.Moment) }

// UnsteadyLoads are the loads at one clearance and pitch and their changes with the
// rates, without slopes.
type UnsteadyLoads struct {
	Steady      LoadsPerQ
	ByHeaveRate LoadsPerQ // per (datum's upward speed / U)
	ByPitchRate LoadsPerQ // per 1/m: (nose-up pitch rate about the datum) / U
}

// MapRange is the clearances, m, and pitches, rad, between which a map answers.
type MapRange struct{ ClearanceMin, ClearanceMax, PitchMin, PitchMax float64 }

// MapRange returns the range of a map that is built with no option given.
func (m *Model) MapRange() MapRange {
	var o MapOptions
	o.fill(m)
	return MapRange{o.ClearanceMin, o.ClearanceMax, o.PitchMin, o.PitchMax}
}

// Range returns the map's range.
func (m *Map) Range() MapRange {
	o := &m.opt
	return MapRange{o.ClearanceMin, o.ClearanceMax, o.PitchMin, o.PitchMax}
}

// Kinks returns the pitches within the map, rad, rising, at which the lowest point jumps
// from one wing or edge to another: at a clearance held, lift and moment have a corner
// there.
func (m *Map) Kinks() []float64 { return slices.Clone(m.kinks) }

// Model returns the model that the map was made from.
func (m *Map) Model() *Model { return m.model }

// Clearances returns n clearances, 2 or more, from the lowest to the highest of the
// map, m, closer together near the water.
func (m *Map) Clearances(n int) []float64 {
	c := make([]float64, n)
	for i := range c {
		c[i] = m.clearances.from(2*float64(i)/float64(n-1) - 1)
	}
	return c
}

// Solves returns the number of solutions of the lattice that the map was fitted to.
func (m *Map) Solves() int { return m.solves }

// RangeError says that a question lies outside a map.
type RangeError struct {
	What            string  // "clearance" or "pitch"
	Value, Min, Max float64 // m or degrees
	Unit            string
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("a %s of %.4g %s lies outside the map, which runs from %.4g to %.4g %s", e.What, e.Value, e.Unit, e.Min, e.Max, e.Unit)
}

// slack lets a value on the border of the range count as inside.
const slack = 1e-12

// Check returns nil for a clearance, m, and a pitch, rad, within the range, and a
// *RangeError otherwise.
func (o MapRange) Check(clearance, pitch float64) error {
	if !(clearance >= o.ClearanceMin-slack && clearance <= o.ClearanceMax+slack) {
		return &RangeError{"clearance", clearance, o.ClearanceMin, o.ClearanceMax, "m"}
	}
	if !(pitch >= o.PitchMin-slack && pitch <= o.PitchMax+slack) {
		return &RangeError{"pitch", Degrees(pitch), Degrees(o.PitchMin), Degrees(o.PitchMax), "degrees"}
	}
	return nil
}

// At returns the loads at a clearance, m, and a pitch, rad. Outside the map's
// range it is a *RangeError; a map never extrapolates.
func (m *Map) At(clearance, pitch float64) (MapPoint, error) {
	if err := m.Range().Check(clearance, pitch); err != nil {
		return MapPoint{}, err
	}
	return m.model.correction.point(m.at(clearance, pitch)), nil
}

// AtHeight is At for a height of the datum instead of a clearance, both m.
func (m *Map) AtHeight(height, pitch float64) (MapPoint, error) {
	if err := m.Range().Check(m.opt.ClearanceMin, pitch); err != nil {
		return MapPoint{}, err
	}
	return m.At(m.model.low.ClearanceFor(height, pitch), pitch)
}

const maxCoef = 32

// at is At without the check and without a correction.
func (m *Map) at(clearance, pitch float64) MapPoint {
	low, p := m.model.low.At(pitch), &m.terms
	out := MapPoint{Clearance: clearance, Height: clearance + low.Depth, Pitch: pitch, LowestPoint: low}
	depth, slope := m.plane.depthAt(pitch)
	s, ds := m.plane.log(out.Height, depth)
	var sv, sd, tv, td [maxCoef]float64
	chebyshev(s, sv[:p.nh], sd[:p.nh])
	chebyshev(m.plane.scale(pitch), tv[:p.np], td[:p.np])
	dt := m.plane.byPitch()
	var v, byH, byP [withDerivatives]float64
	row := p.still
	for j := range p.nh {
		var r0, r1, r2, d0, d1, d2 float64 // along the pitch: sums and their slopes
		for k := range row[:p.np] {
			c, t, d := &row[k], tv[k&(maxCoef-1)], td[k&(maxCoef-1)]
			r0 += c[0] * t
			r1 += c[1] * t
			r2 += c[2] * t
			d0 += c[0] * d
			d1 += c[1] * d
			d2 += c[2] * d
		}
		row = row[p.np:]
		s, sl := sv[j], sd[j]
		for q, r := range [withDerivatives]float64{r0, r1, r2} {
			v[q] += s * r
			byH[q] += sl * r
		}
		for q, d := range [withDerivatives]float64{d0, d1, d2} {
			byP[q] += s * d
		}
	}
	for q := range v {
		byH[q] *= ds
		byP[q] = byP[q]*dt - byH[q]*slope
	}
	out.LoadsPerQ = LoadsPerQ{v[qLift], v[qDrag], v[qMoment]}
	out.ByHeight = LoadsPerQ{byH[qLift], byH[qDrag], byH[qMoment]}
	out.ByPitch = LoadsPerQ{byP[qLift], byP[qDrag], byP[qMoment]}
	return out
}

// UnsteadyAt returns the loads and their changes with the rates at a height of the datum, m, and
// a pitch, rad, which must lie within the map's range: it does not check, for a
// flight asks it some thousand times.
func (m *Map) UnsteadyAt(height, pitch float64) UnsteadyLoads {
	p := &m.terms
	var s, t [maxCoef]float64
	depth, _ := m.plane.depthAt(pitch)
	at, _ := m.plane.log(height, depth)
	chebyshev(at, s[:p.nh], nil)
	chebyshev(m.plane.scale(pitch), t[:p.np], nil)
	// All sums side by side, so that none waits for another.
	var v0, v1, v2 float64
	row := p.still
	for _, sj := range s[:p.nh] {
		for k := range row[:p.np] {
			c, w := &row[k], sj*t[k&(maxCoef-1)]
			v0 += c[0] * w
			v1 += c[1] * w
			v2 += c[2] * w
		}
		row = row[p.np:]
	}
	var r0, r1, r2, r3, r4, r5 float64
	rate := p.rates
	for _, sj := range s[:p.rh] {
		for k := range rate[:p.rp] {
			c, w := &rate[k], sj*t[k&(maxCoef-1)]
			r0 += c[0] * w
			r1 += c[1] * w
			r2 += c[2] * w
			r3 += c[3] * w
			r4 += c[4] * w
			r5 += c[5] * w
		}
		rate = rate[p.rp:]
	}
	v := [withDerivatives]float64{v0, v1, v2}
	r := [quantities - withDerivatives]float64{r0, r1, r2, r3, r4, r5}
	rates := func(lift int) LoadsPerQ {
		q := lift - withDerivatives
		return LoadsPerQ{Lift: r[q], Moment: r[q+1], Drag: r[q+2]}
	}
	u := UnsteadyLoads{
		Steady:      LoadsPerQ{Lift: v[qLift], Drag: v[qDrag], Moment: v[qMoment]},
		ByHeaveRate: rates(qLiftHeave),
		ByPitchRate: rates(qLiftTurn),
	}
	if !m.model.correction.on {
		return u
	}
	return m.model.correction.unsteady(u, m.model.low.ClearanceFor(height, pitch), pitch)
}

// CriticalStrip returns the strip nearest to its section's limit at a clearance, m, and
// a pitch, rad; ok is false for a map that was fitted to loads without strips.
// Outside the map's range it returns a *RangeError.
func (m *Map) CriticalStrip(clearance, pitch float64) (c CriticalStrip, ok bool, err error) {
	if err := m.Range().Check(clearance, pitch); err != nil {
		return CriticalStrip{}, false, err
	}
	p := &m.terms
	if p.strips == nil {
		return CriticalStrip{}, false, nil
	}
	var s, t [maxCoef]float64
	depth, _ := m.plane.depthAt(pitch)
	to, _ := m.plane.log(m.model.low.HeightFor(clearance, pitch), depth)
	chebyshev(to, s[:p.rh], nil)
	chebyshev(m.plane.scale(pitch), t[:p.rp], nil)
	lift := make([]float64, len(p.strips[0]))
	for j := range p.rh {
		for k := range p.rp {
			w := s[j] * t[k]
			for i, c := range p.strips[j*p.rp+k] {
				lift[i] += w * c
			}
		}
	}
	return m.model.criticalStrip(func(i int) float64 { return lift[i] }), true, nil
}
