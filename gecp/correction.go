package gecp

import "fmt"

// Correction is what runs on the water have told of a craft's wings: the lift over the
// calculated one, and how far the centre of pressure lies aft of the calculated one. It
// belongs to the wings that it was fitted to; who changes a wing takes it out of the
// file.
//
// LiftFactor scales the induced drag as it does the lift. Wind, a speedometer that is off
// and thin air, which a lift factor often stands for, scale all forces alike. A loss of
// circulation alone would scale the drag by the factor's square; but wings that lose lift
// also lose suction at their leading edges, which adds drag. The difference is a few per
// cent of the induced drag. The factor alone also leaves every CP where it is, without
// exception, since the resultant keeps its direction.
type Correction struct {
	LiftFactor float64 `json:"lift_factor"`              // corrected over calculated lift
	CPOffset   float64 `json:"cp_offset_m"`              // m, aft positive, along the datum line
	CPPerM     float64 `json:"cp_offset_per_m,omitzero"` // growth of the offset, m per m of clearance
	// Standard errors of the three; 0 for what was not fitted.
	LiftFactorError float64 `json:"lift_factor_error,omitzero"`
	CPOffsetError   float64 `json:"cp_offset_error_m,omitzero"`
	CPPerMError     float64 `json:"cp_offset_per_m_error,omitzero"`
	Runs            int     `json:"runs"` // that it was fitted to
	On              bool    `json:"on"`   // false leaves the calculation as it is
}

// CorrectionWords returns the words that stand beside every figure of the craft, as in
// "corrected by 14 runs"; ok is false where nothing is corrected.
func (c *Craft) CorrectionWords() (words string, ok bool) {
	k := c.Correction
	switch {
	case k == nil || !k.On:
		return "", false
	case k.Runs == 1:
		return "corrected by 1 run", true
	}
	return fmt.Sprintf("corrected by %d runs", k.Runs), true
}

// Uncorrected returns a copy of the craft without its correction.
func (c *Craft) Uncorrected() *Craft {
	n := c.Clone()
	n.Correction = nil
	return n
}

// correction is what a model's loads are corrected by; the zero value corrects nothing.
type correction struct {
	on                   bool
	factor, offset, perM float64
}

// correction returns the craft's correction if it is on.
func (c *Craft) correction() correction {
	if k := c.Correction; k != nil && k.On {
		return correction{true, k.LiftFactor, k.CPOffset, k.CPPerM}
	}
	return correction{}
}

// shift is how far the correction moves the CP aft at a clearance, m.
func (k correction) shift(clearance float64) float64 { return k.offset + k.perM*clearance }

// loads corrects loads at an attitude that is held, or their changes with something at
// it. A force across the datum line that acts further aft by the shift turns the craft
// nose-down by as much more: M' = factor (M - shift N).
func (k correction) loads(l LoadsPerQ, r Rotation, shift float64) LoadsPerQ {
	return LoadsPerQ{
		Lift:   k.factor * l.Lift,
		Drag:   k.factor * l.Drag,
		Moment: k.factor * (l.Moment - shift*r.normal(l)),
	}
}

// normal returns the force of loads across the datum line, upwards.
func (r Rotation) normal(l LoadsPerQ) float64 { return l.Lift*r.Cos + l.Drag*r.Sin }

// point corrects a point with its derivatives. As the craft rises with its pitch held,
// the clearance, and with it the shift, grows as much; as it pitches with the datum's
// height held, the clearance changes by the lowest point, and the datum line leans in
// the stream.
func (k correction) point(p MapPoint) MapPoint {
	if !k.on {
		return p
	}
	r, shift := RotationAt(p.Pitch), k.shift(p.Clearance)
	normal := r.normal(p.LoadsPerQ)
	byHeight, byPitch := k.loads(p.ByHeight, r, shift), k.loads(p.ByPitch, r, shift)
	byHeight.Moment -= k.factor * k.perM * normal
	byPitch.Moment += k.factor * (k.perM*p.LowestPoint.DepthByPitch*normal - shift*(p.Drag*r.Cos-p.Lift*r.Sin))
	p.LoadsPerQ, p.ByHeight, p.ByPitch = k.loads(p.LoadsPerQ, r, shift), byHeight, byPitch
	return p
}

// unsteady corrects loads and their changes with the rates, at a clearance, m, and a
// pitch, rad. The correction is on.
func (k correction) unsteady(u UnsteadyLoads, clearance, pitch float64) UnsteadyLoads {
	r, shift := RotationAt(pitch), k.shift(clearance)
	return UnsteadyLoads{k.loads(u.Steady, r, shift), k.loads(u.ByHeaveRate, r, shift), k.loads(u.ByPitchRate, r, shift)}
}

// strip returns the load of a strip or a cell, corrected as the lift is.
func (k correction) strip(cl float64) float64 {
	if !k.on {
		return cl
	}
	return k.factor * cl
}
