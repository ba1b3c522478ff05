package tow

import (
	"errors"
	"fmt"
	"iter"
	"math"

	"example.org/groundeffect/gecp"
)

// Trim is a craft in steady tow at one clearance: all forces and moments in
// balance, with the centre of gravity where that asks it to be.
type Trim struct {
	Clearance    float64       // m
	Height       float64       // of the datum, m
	Pitch        float64       // rad
	Lift         float64       // N
	InducedDrag  float64       // N
	FrictionDrag float64       // N
	ParasiteDrag float64       // N
	LineTension  float64       // at the craft's end, N; for the rest of the line see [SteadyTow.LineAt]
	LineAngle    float64       // of the line there over the level, from the craft towards the boat, rad
	CP           float64       // of lift and induced drag, m aft of the datum
	CG           float64       // needed, m aft of the datum
	Pilot        gecp.Position // needed position of the pilot; none without one
	// TravelMargin is how far inside the pilot's travel the needed position lies, m,
	// from the nearer stop; negative outside. 0 without a pilot.
	TravelMargin float64
	// Neutral points of all forces together: the line's tension, which changes with
	// height, and the weight, which swings about the datum, included.
	PitchNeutral, HeightNeutral gecp.Position
	// RequiredCGSlope is how much the needed centre of gravity moves aft as the craft
	// rises, m per m, the pitch following to carry the weight.
	RequiredCGSlope float64
	HeightStable    bool // with the pilot held in place; see [SteadyTow.Trim]
	// Close marks a trim so near to the water that neutral points and height stability are
	// not good; see gecp.CloseGap.
	Close bool
}

// Drag returns the whole drag, N.
func (b Trim) Drag() float64 { return b.InducedDrag + b.FrictionDrag + b.ParasiteDrag }

// LiftOverDrag returns the lift over the whole drag.
func (b Trim) LiftOverDrag() float64 { return b.Lift / b.Drag() }

// Reach says in words whether the pilot's travel covers the trim, and by how much.
func (b Trim) Reach(p *gecp.Pilot) string {
	switch {
	case p == nil || !b.Pilot.OK:
		return "the craft has no pilot to move"
	case b.Pilot.X < p.XForward:
		return fmt.Sprintf("out of reach: the pilot would have to be %.2f m further forward than the craft lets them", p.XForward-b.Pilot.X)
	case b.Pilot.X > p.XAft:
		return fmt.Sprintf("out of reach: the pilot would have to be %.2f m further aft than the craft lets them", b.Pilot.X-p.XAft)
	}
	return fmt.Sprintf("within reach: %.2f m of travel left forward, %.2f m aft", b.Pilot.X-p.XForward, p.XAft-b.Pilot.X)
}

// Trim returns the steady state at a clearance, m: the pitch from the upward forces, then the
// centre of gravity from the moments. It returns an error if the clearance lies outside the
// map (*gecp.RangeError), if the weight cannot be carried (ErrTooSlow, ErrTooFast), if the
// line is too short (ErrLineShort) or would have to push (ErrLinePushes), or if the induced drag
// comes out below zero (ErrInducedDrag).
//
// The state counts as height-stable if, the pilot staying where they are,
//   - the craft is stable in pitch: at a fixed height of its centre of gravity a
//     turn nose-up makes a moment nose-down;
//   - the upward force falls as the craft rises; and
//   - as the craft rises, the pitch following to carry the weight, the needed
//     centre of gravity moves aft, so that the craft is nose-heavy above its
//     height and tail-heavy below it. This is Irodov's criterion, that the height
//     neutral point lies ahead of the pitch neutral point, for all forces.
func (t SteadyTow) Trim(clearance float64) (Trim, error) {
	p, f, err := t.carry(clearance, t.middlePitch())
	if err != nil {
		return Trim{}, err
	}
	return t.trim(p, f), nil
}

func (t *SteadyTow) middlePitch() float64 { return (t.bounds.PitchMin + t.bounds.PitchMax) / 2 }

// TrimAlong yields what Trim returns for each of the clearances, m, in their order. It
// takes about half as long as asking for each if they follow each other in even steps,
// for each search begins where the last ones point.
func (t SteadyTow) TrimAlong(clearances []float64) iter.Seq2[Trim, error] {
	return func(yield func(Trim, error) bool) {
		middle := t.middlePitch()
		a, b, c := middle, middle, middle // the last three pitches
		for _, cl := range clearances {
			var found Trim
			p, f, err := t.carry(cl, min(max(3*(c-b)+a, t.bounds.PitchMin), t.bounds.PitchMax))
			if err == nil {
				found = t.trim(p, f)
			}
			if p.Clearance > 0 { // the map was asked
				a, b, c = b, c, p.Pitch
			}
			if !yield(found, err) {
				return
			}
		}
	}
}

// carry finds the pitch at which the upward forces cancel at a clearance, in a state
// that can be. It begins at the pitch given.
func (t *SteadyTow) carry(clearance, pitch float64) (p gecp.MapPoint, f forces, err error) {
	p, f, err = t.lowest(clearance, pitch)
	if err == nil && !p.DragPossible() {
		err = ErrInducedDrag
	}
	return p, f, err
}

// lowest finds the lowest pitch at which the upward forces cancel. Close to the water, where
// the lowest point jumps to another wing, a nose that rises at the clearance held takes lift
// away, and several pitches may carry the weight.
func (t *SteadyTow) lowest(clearance, pitch float64) (p gecp.MapPoint, f forces, err error) {
	p, f, err = t.newton(clearance, pitch, t.bounds.PitchMax)
	if err != nil && !errors.Is(err, ErrTooSlow) {
		return p, f, err
	}
	for _, k := range t.kinks {
		if k >= p.Pitch {
			break
		}
		// Below the corner the weight may be carried already.
		_, below, err := t.atPitch(clearance, k)
		if err != nil {
			return p, f, err
		}
		if below.up >= 0 {
			return t.newton(clearance, k, k)
		}
	}
	return p, f, err
}

// alongClearance returns the derivative of the upward force with pitch at the clearance
// held, N/rad.
func (f *forces) alongClearance(p gecp.MapPoint) float64 {
	return f.upByPitch + f.upByHeight*p.LowestPoint.DepthByPitch
}

// newton finds a pitch at which the upward forces cancel by Newton's method held between
// bounds: lift rises with pitch, up to the highest pitch to look at, most. The ends of
// the range are looked at only if a step reaches beyond them.
func (t *SteadyTow) newton(clearance, pitch, most float64) (p gecp.MapPoint, f forces, err error) {
	least := t.bounds.PitchMin
	lo, hi := least, most
	atLeast, atMost := pitch == least, pitch == most // the ends have been looked at
	for range 60 {
		p, f, err = t.atPitch(clearance, pitch)
		if err != nil || math.Abs(f.up) < 1e-10*t.weight {
			return p, f, err
		}
		if f.up < 0 {
			if pitch == most {
				return p, f, ErrTooSlow
			}
			lo = pitch
		} else {
			if pitch == least {
				return p, f, ErrTooFast
			}
			hi = pitch
		}
		next := pitch - f.up/f.alongClearance(p)
		switch {
		case next > lo && next < hi:
		case f.up < 0 && hi == most && !atMost:
			next, atMost = most, true
		case f.up > 0 && lo == least && !atLeast:
			next, atLeast = least, true
		default:
			next = (lo + hi) / 2
		}
		if math.Abs(next-pitch) < 1e-13 {
			break
		}
		pitch = next
	}
	return p, f, nil
}

// trim describes the state in which the upward forces cancel.
func (t *SteadyTow) trim(p gecp.MapPoint, f forces) Trim {
	turned := gecp.RotationAt(p.Pitch)
	sin, cos := turned.Sin, turned.Cos
	q := t.pressure
	gx := -f.moment / t.weight // of the centre of gravity, level from the datum
	b := Trim{
		Clearance: p.Clearance, Height: p.Height, Pitch: p.Pitch,
		Lift: q * p.Lift, InducedDrag: q * p.Drag, FrictionDrag: t.friction.Force, ParasiteDrag: t.parasite.Force,
		LineTension: f.lineTension, LineAngle: f.lineAngle,
		CP: p.CP().X, Close: p.Close(),
		CG: (gx - t.cgZ*sin) / cos,
	}
	if c := t.craft; c.Pilot != nil {
		b.Pilot = gecp.PositionAt((b.CG - t.cgX) / t.share)
		b.TravelMargin = math.Min(b.Pilot.X-c.Pilot.XForward, c.Pilot.XAft-b.Pilot.X)
	}
	// The weight's moment, weight times its lever, changes with pitch by its height.
	gz := t.cgZ*cos - b.CG*sin
	byP := f.momentByPitch + t.weight*gz
	b.PitchNeutral = gecp.PositionAt(-byP / f.upByPitch)
	b.HeightNeutral = gecp.PositionAt(-f.momentByHeight / f.upByHeight)
	b.RequiredCGSlope = (byP*f.upByHeight/f.upByPitch - f.momentByHeight) / (t.weight * cos)
	b.HeightStable = heightStable(f.stiffness(t.weight, gx, gz), f.upByHeight, b.RequiredCGSlope)
	return b
}

// stiffness returns the derivative with pitch of the moment about the centre of gravity,
// which lies gx aft of the datum and gz above it, level and upright, and stays at its
// height, Nm/rad: the datum rises as the nose does.
func (f *forces) stiffness(weight, gx, gz float64) float64 {
	return f.momentByPitch + weight*gz + gx*f.upByPitch + gx*(f.momentByHeight+gx*f.upByHeight)
}

// heightStable decides whether a craft holds its height with the pilot in place, from
// the derivative of the moment with pitch about the centre of gravity at its height,
// Nm/rad, that of the upward force with height, N/m, and the slope of the needed
// centre of gravity with height. See [SteadyTow.Trim].
func heightStable(momentByPitch, upByHeight, requiredCGSlope float64) bool {
	return momentByPitch < 0 && upByHeight < 0 && requiredCGSlope > 0
}
