package gecp

import (
	"errors"
	"fmt"
	"iter"
	"math"
)

// SteadyTow is a craft in steady tow at one speed: its map with the weights, the line
// and the air put in. It is a small value; it never touches the lattice.
//
// The forces: lift and induced drag from the map, friction at the middle of the
// wings, parasite drag at the centre of gravity with the pilot in the middle, the
// weight, and the pull of the line, straight from the tow point to the boat. The
// line's own weight and drag are left out.
type SteadyTow struct {
	m                  *Map
	speed              float64 // m/s
	pressure           float64 // dynamic, Pa
	weight             float64 // N
	cgZ                float64 // of the centre of gravity, m; the pilot moves level
	cgX                float64 // the same lengthwise with the pilot at the datum, m
	share              float64 // the pilot's mass over the whole
	friction, parasite force
}

// force is a drag of fixed size, N, and the craft's point it acts at, m.
type force struct{ drag, x, z float64 }

// Run returns the craft in tow at a speed, m/s, in air of a density, kg/m3 (0 is
// Density). It is an error if the speed is out of range or the craft file has no
// weights or no tow.
func (m *Map) Run(speed, density float64) (SteadyTow, error) {
	density, err := checkSpeed(speed, density)
	if err != nil {
		return SteadyTow{}, err
	}
	c := m.model.craft
	if err := c.Require(BlockWeights, BlockTow); err != nil {
		return SteadyTow{}, err
	}
	r := SteadyTow{m: m, speed: speed, pressure: density * speed * speed / 2, weight: c.Mass() * G}
	middle := 0.
	if c.Pilot != nil {
		middle = (c.Pilot.XForward + c.Pilot.XAft) / 2
	}
	x, z := c.CG(middle)
	r.cgZ = z
	if c.Pilot != nil {
		r.cgX, _ = c.CG(0)
		r.share = c.Pilot.Mass / c.Mass()
	}
	r.parasite = force{r.pressure * c.ParasiteArea, x, z}
	r.friction = m.model.friction(r.pressure, speed, density)
	return r, nil
}

// friction returns the friction drag, at the wings' mean place weighted by area.
func (m *Model) friction(pressure, speed, density float64) force {
	f := force{drag: pressure * m.craft.frictionArea(speed, density)}
	for i, w := range m.shape.Wings {
		part := w.Area / m.shape.Area
		f.x += part * (w.MACX + w.MAC/2)
		f.z += part * m.craft.Wings[i].Z
	}
	return f
}

// Trim is a craft in steady tow at one clearance: all forces and moments in
// balance, with the centre of gravity where that asks it to be.
type Trim struct {
	Clearance float64 // m
	Height    float64 // of the datum, m
	Pitch     float64 // rad
	Lift      float64 // N
	InducedDrag   float64 // drag, N
	FrictionDrag  float64 // drag, N
	ParasiteDrag  float64 // drag, N
	LineTension      float64 // in the line, N
	LineAngle    float64 // angle of the line from the craft to the boat over the level, rad
	CP        float64 // of lift and induced drag, m aft of the datum
	CG        float64 // needed, m aft of the datum
	Pilot     Position   // needed place of the pilot; unknown without one
	// TravelMargin is how far inside the pilot's travel the needed place lies, m, from the
	// nearer stop; negative outside. 0 without a pilot.
	TravelMargin float64
	// Neutral points of all forces together: the line's pull, which changes with
	// height, and the weight, which swings about the datum, included.
	PitchNeutral, HeightNeutral Position
	// RequiredCGSlope is how much the needed centre of gravity moves aft as the craft rises, in
	// m per m, the pitch following to carry the weight.
	RequiredCGSlope  float64
	HeightStable bool // height-stable with the pilot held in place; see Run.Balance
}

// Drag returns the whole drag, N.
func (b Trim) Drag() float64 { return b.InducedDrag + b.FrictionDrag + b.ParasiteDrag }

// LiftOverDrag returns the lift over the whole drag.
func (b Trim) LiftOverDrag() float64 { return b.Lift / b.Drag() }

// Reach says in words whether the pilot's travel covers the balance, and by how
// much.
func (b Trim) Reach(p *Pilot) string {
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

// The reasons why a craft cannot be in steady flight at a clearance and speed.
var (
	ErrTooSlow   = errors.New("too slow: even at the highest pitch of the map the wings do not carry the weight")
	ErrTooFast   = errors.New("too fast: even at the lowest pitch of the map the wings carry more than the weight")
	ErrLineShort = errors.New("the line is too short to reach from the boat to the craft at this height")
)

// forces is the sum of all forces and moments on the craft, with derivatives: up,
// N, and nose-up about the datum, Nm, the weight's moment left out.
type forces struct {
	up, moment                 float64
	upByHeight, upByPitch      float64
	momentByHeight, momentByPt float64
	drag, pull, lineUp         float64
}

// at sums the forces at a point of the map.
func (r *SteadyTow) at(p MapPoint) (f forces, err error) {
	t := r.m.model.craft.Tow
	sin, cos := math.Sincos(p.Pitch)
	// Places from the datum in the axes of the water. As the craft pitches,
	// dX = Z dpitch and dZ = -X dpitch.
	turn := func(x, z float64) (float64, float64) { return x*cos + z*sin, z*cos - x*sin }
	tx, tz := turn(t.X, t.Z)
	fx, fz := turn(r.friction.x, r.friction.z)
	px, pz := turn(r.parasite.x, r.parasite.z)

	q := r.pressure
	f.drag = q*p.Drag + r.friction.drag + r.parasite.drag
	dragH, dragP := q*p.ByHeight.Drag, q*p.ByPitch.Drag
	rise := (t.BoatHeight - p.Height - tz) / t.Line
	if !(math.Abs(rise) < 1) {
		return f, ErrLineShort
	}
	level := math.Sqrt(1 - rise*rise)
	tan := rise / level
	// d tan = d rise / level^3; rise falls by dh/line and changes by X dpitch/line.
	tanH, tanP := -1/(t.Line*level*level*level), tx/(t.Line*level*level*level)
	up := f.drag * tan
	upH, upP := dragH*tan+f.drag*tanH, dragP*tan+f.drag*tanP
	f.pull, f.lineUp = f.drag/level, math.Asin(rise)

	f.up = q*p.Lift + up - r.weight
	f.upByHeight = q*p.ByHeight.Lift + upH
	f.upByPitch = q*p.ByPitch.Lift + upP
	// A force (F, 0, U) at (X, Z) turns the craft nose-up by Z F - X U.
	f.moment = q*p.Moment + fz*r.friction.drag + pz*r.parasite.drag - tz*f.drag - tx*up
	f.momentByHeight = q*p.ByHeight.Moment - tz*dragH - tx*upH
	f.momentByPt = q*p.ByPitch.Moment - fx*r.friction.drag - px*r.parasite.drag +
		tx*f.drag - tz*dragP - tz*up - tx*upP
	return f, nil
}

// Trim returns the steady state at a clearance, m: the pitch from the upward
// forces, then the centre of gravity from the moments. It is an error if the
// clearance lies outside the map (*RangeError), if the weight cannot be carried
// (ErrTooSlow, ErrTooFast), or if the line is too short.
//
// The state counts as height-stable if, the pilot staying where they are,
//   - the craft is stable in pitch: at a fixed height of its centre of gravity a
//     turn nose-up makes a moment nose-down;
//   - the upward force falls as the craft rises; and
//   - as the craft rises, the pitch following to carry the weight, the needed
//     centre of gravity moves aft, so that the craft is nose-heavy above its
//     height and tail-heavy below it. This is Irodov's criterion, that the height
//     neutral point lies ahead of the pitch neutral point, for all forces.
func (r SteadyTow) Trim(clearance float64) (Trim, error) {
	if err := r.m.check(clearance, r.m.opt.PitchMin); err != nil {
		return Trim{}, err
	}
	p, f, err := r.level(clearance, (r.m.opt.PitchMin+r.m.opt.PitchMax)/2)
	if err != nil {
		return Trim{}, err
	}
	return r.trim(p, f), nil
}

// TrimAlong yields what Balance returns for each of the clearances, m, in their order. It
// takes about half as long as asking for each if they follow each other in even steps,
// for each search begins where the last ones point.
func (r SteadyTow) TrimAlong(clearances []float64) iter.Seq2[Trim, error] {
	return func(yield func(Trim, error) bool) {
		middle := (r.m.opt.PitchMin + r.m.opt.PitchMax) / 2
		a, b, c := middle, middle, middle // the last three pitches
		for _, cl := range clearances {
			var found Trim
			err := r.m.check(cl, r.m.opt.PitchMin)
			if err == nil {
				var p MapPoint
				var f forces
				if p, f, err = r.level(cl, min(max(3*(c-b)+a, r.m.opt.PitchMin), r.m.opt.PitchMax)); err == nil {
					found = r.trim(p, f)
				}
				a, b, c = b, c, p.Pitch
			}
			if !yield(found, err) {
				return
			}
		}
	}
}

// level finds the pitch at which the upward forces cancel at a clearance, by
// Newton's method held between bounds: lift rises with pitch. It begins at the pitch
// given. The ends of the range are looked at only if a step reaches beyond them.
func (r SteadyTow) level(clearance, pitch float64) (MapPoint, forces, error) {
	least, most := r.m.opt.PitchMin, r.m.opt.PitchMax
	lo, hi := least, most
	atLeast, atMost := pitch == least, pitch == most // the ends have been looked at
	for range 60 {
		p, f, err := r.atPitch(clearance, pitch)
		if err != nil || math.Abs(f.up) < 1e-10*r.weight {
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
		next := pitch - f.up/(f.upByPitch+f.upByHeight*p.keel.slope)
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
			return p, f, nil
		}
		pitch = next
	}
	return r.atPitch(clearance, pitch)
}

func (r *SteadyTow) atPitch(clearance, pitch float64) (MapPoint, forces, error) {
	p := r.m.at(clearance, pitch)
	f, err := r.at(p)
	return p, f, err
}

// trim describes the state in which the upward forces cancel.
func (r SteadyTow) trim(p MapPoint, f forces) Trim {
	sin, cos := math.Sincos(p.Pitch)
	q := r.pressure
	gx := -f.moment / r.weight // of the centre of gravity, level from the datum
	b := Trim{
		Clearance: p.Clearance, Height: p.Height, Pitch: p.Pitch,
		Lift: q * p.Lift, InducedDrag: q * p.Drag, FrictionDrag: r.friction.drag, ParasiteDrag: r.parasite.drag,
		LineTension: f.pull, LineAngle: f.lineUp,
		CP: centreOfPressure(p.Drag, p.Lift, p.Moment, p.Pitch).X,
		CG: (gx - r.cgZ*sin) / cos,
	}
	if c := r.m.model.craft; c.Pilot != nil {
		b.Pilot = PositionAt((b.CG - r.cgX) / r.share)
		b.TravelMargin = math.Min(b.Pilot.X-c.Pilot.XForward, c.Pilot.XAft-b.Pilot.X)
	}
	// The weight's moment, weight times its lever, changes with pitch by its height.
	gz := r.cgZ*cos - b.CG*sin
	byP := f.momentByPt + r.weight*gz
	b.PitchNeutral = PositionAt(-byP / f.upByPitch)
	b.HeightNeutral = PositionAt(-f.momentByHeight / f.upByHeight)
	b.RequiredCGSlope = (byP*f.upByHeight/f.upByPitch - f.momentByHeight) / (r.weight * cos)
	// About the centre of gravity at its own height: the datum rises as the nose does.
	stiff := byP + gx*f.upByPitch + gx*(f.momentByHeight+gx*f.upByHeight)
	b.HeightStable = stiff < 0 && f.upByHeight < 0 && b.RequiredCGSlope > 0
	return b
}
