package gecp

import (
	"fmt"
)

// LoadsPerQ is a lift, an induced drag (m2) and a pitching moment about the datum (m3,
// nose-up positive) per dynamic pressure, or their change with something.
type LoadsPerQ struct{ Lift, Drag, Moment float64 }

// MapPoint is what a Map says of one clearance and pitch.
type MapPoint struct {
	Clearance, Height, Pitch float64 // m, m, rad
	LoadsPerQ
	ByHeight    LoadsPerQ // per m of the datum's height, pitch held
	ByPitch     LoadsPerQ // per rad about the datum, its height held
	ByHeaveRate LoadsPerQ // per (datum's upward speed / U)
	ByPitchRate LoadsPerQ // per 1/m: (nose-up turning speed about the datum) / U

	keel keel
}

// Range returns the clearances (m) and pitches (rad) between which the map answers.
func (m *Map) Range() (clearanceMin, clearanceMax, pitchMin, pitchMax float64) {
	return m.opt.ClearanceMin, m.opt.ClearanceMax, m.opt.PitchMin, m.opt.PitchMax
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

func (m *Map) check(clearance, pitch float64) error {
	o := &m.opt
	if !(clearance >= o.ClearanceMin-slack && clearance <= o.ClearanceMax+slack) {
		return &RangeError{"clearance", clearance, o.ClearanceMin, o.ClearanceMax, "m"}
	}
	if !(pitch >= o.PitchMin-slack && pitch <= o.PitchMax+slack) {
		return &RangeError{"pitch", deg(pitch), deg(o.PitchMin), deg(o.PitchMax), "degrees"}
	}
	return nil
}

// At returns the loads at a clearance, m, and a pitch, rad. Outside the map's
// range it is a *RangeError; a map never extrapolates.
func (m *Map) At(clearance, pitch float64) (MapPoint, error) {
	if err := m.check(clearance, pitch); err != nil {
		return MapPoint{}, err
	}
	p := m.at(clearance, pitch)
	m.rates(&p)
	return p, nil
}

// AtHeight is At for a height of the datum instead of a clearance, both m.
func (m *Map) AtHeight(height, pitch float64) (MapPoint, error) {
	if err := m.check(m.opt.ClearanceMin, pitch); err != nil {
		return MapPoint{}, err
	}
	return m.At(m.model.under.ClearanceFor(height, pitch), pitch)
}

const maxCoef = 16

func (m *Map) panel(pitch float64) *mapPanel {
	i := 0
	for i < len(m.panels)-1 && pitch > m.panels[i].to {
		i++
	}
	return &m.panels[i]
}

// at is At without the check and without the rates' part.
func (m *Map) at(clearance, pitch float64) MapPoint {
	pan := m.panel(pitch)
	low := m.model.under.keel(pitch)
	s, ds := m.opt.scale(clearance)
	var sv, sd, tv, td [maxCoef]float64
	chebyshev(s, sv[:pan.nh], sd[:pan.nh])
	chebyshev(pan.scale(pitch), tv[:pan.np], td[:pan.np])
	dt := 2 / (pan.to - pan.from)
	out := MapPoint{Clearance: clearance, Height: clearance + low.depth, Pitch: pitch, keel: low}
	var v, byH, byP [withDerivatives]float64
	row := pan.still
	for j := range pan.nh {
		var r0, r1, r2, d0, d1, d2 float64 // along the pitch: sums and their slopes
		for k := range row[:pan.np] {
			c, t, d := &row[k], tv[k&(maxCoef-1)], td[k&(maxCoef-1)]
			r0 += c[0] * t
			r1 += c[1] * t
			r2 += c[2] * t
			d0 += c[0] * d
			d1 += c[1] * d
			d2 += c[2] * d
		}
		row = row[pan.np:]
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
		byP[q] = byP[q]*dt - byH[q]*low.slope
	}
	out.LoadsPerQ = LoadsPerQ{v[qLift], v[qDrag], v[qMoment]}
	out.ByHeight = LoadsPerQ{byH[qLift], byH[qDrag], byH[qMoment]}
	out.ByPitch = LoadsPerQ{byP[qLift], byP[qDrag], byP[qMoment]}
	return out
}

// rates fills in the derivatives with the rates.
func (m *Map) rates(p *MapPoint) {
	pan := m.panel(p.Pitch)
	s, _ := m.opt.scale(p.Clearance)
	var sv, tv, slope [maxCoef]float64
	nh, np := pan.rh, pan.rp
	chebyshev(s, sv[:nh], slope[:nh])
	chebyshev(pan.scale(p.Pitch), tv[:np], slope[:np])
	var v [quantities - withDerivatives]float64
	for j := range nh {
		for k, c := range pan.rates[j*np : (j+1)*np] {
			w := sv[j] * tv[k]
			for q, x := range c {
				v[q] += x * w
			}
		}
	}
	at := func(q int) LoadsPerQ {
		q -= withDerivatives
		return LoadsPerQ{Lift: v[q], Moment: v[q+1], Drag: v[q+2]}
	}
	p.ByHeaveRate, p.ByPitchRate = at(qLiftHeave), at(qLiftTurn)
}
