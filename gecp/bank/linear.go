package bank

import (
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
)

// small is a small sideways state of the craft about its level flight, about the centre of
// gravity and in axes that keep the boat's way: as the fields of motion.LateralDerivatives.
type small struct {
	bank, rollRate, heading, yawRate, offset, drift float64
}

// reaction is the change of what acts on the craft in a small state: a force to starboard, N,
// and moments about the centre of gravity along the level axis, which raises starboard, and
// the upright axis, the nose to port, Nm.
type reaction struct{ side, x, z float64 }

// at is a point of the craft: level from the centre of gravity, m aft and up.
type point struct{ aft, up float64 }

func (f *Flight) point(x, z float64) point {
	aft, up := gecp.RotationAt(f.Level.Pitch).Level(x-f.cgX, z-f.cgZ)
	return point{aft, up}
}

// moved returns how far to starboard a small state moves a point, and how fast.
func (p point) moved(s small) (by, speed float64) {
	return s.offset - s.heading*p.aft + s.bank*p.up, s.drift - s.yawRate*p.aft + s.rollRate*p.up
}

// add adds a force at a point: steadily (aft, 0, up), and side to starboard in the small state.
// by is how far the point has moved against the centre of gravity.
func (r *reaction) add(p point, aft, up, side, by float64) {
	r.side += side
	r.x += by*up - p.up*side
	r.z += p.aft*side - by*aft
}

// sideways returns what acts in a small state, the weight left out, which acts at the centre
// of gravity.
func (f *Flight) sideways(s small) (r reaction) {
	sp, cp := math.Sincos(f.Level.Pitch)
	q, u := f.pressure, f.stream.Speed
	// A turn about the level axis is one about the datum line and one about the upright axis.
	bank := s.bank / cp
	heading := s.heading + s.bank*sp/cp
	datum := f.point(0, 0)
	by, speed := datum.moved(s)
	slip := speed/u - heading
	roll, yaw := (cp*s.rollRate-sp*s.yawRate)/u, (sp*s.rollRate+cp*s.yawRate)/u
	l := f.Level
	sum := func(of func(gecp.SidewaysPerQ) float64) float64 {
		return q * (of(l.ByBank)*bank + of(l.BySlip)*slip + of(l.ByRollRate)*roll + of(l.ByYawRate)*yaw)
	}
	// The loads follow the heading: drag and pitching moment turn with it.
	side := sum(func(d gecp.SidewaysPerQ) float64 { return d.Side }) - heading*q*l.Drag
	r.x += sum(func(d gecp.SidewaysPerQ) float64 { return d.Roll }) + heading*q*l.Moment
	r.z -= sum(func(d gecp.SidewaysPerQ) float64 { return d.Yaw })
	r.add(datum, q*l.Drag, q*l.Lift, side, by-s.offset)
	for _, d := range [...]gecp.Drag{f.friction, f.parasite} {
		p := f.point(d.X, d.Z)
		by, speed := p.moved(s)
		r.add(p, d.Force, 0, -d.Force*speed/u, by-s.offset)
	}
	t := f.towPoint()
	by, _ = t.moved(s)
	r.add(t, -f.pull, f.lift, -f.pull*by/f.span, by-s.offset)
	return r
}

func (f *Flight) towPoint() point { return f.point(f.craft.Tow.X, f.craft.Tow.Z) }

// Linear returns the sideways motion about the level flight, the pilot still and the line
// straight, with the inertia of the air that rolls along.
func (f *Flight) Linear() motion.LateralModel {
	in := motion.LateralInertiaOf(f.craft, f.pilotX, f.Level.Pitch)
	l := motion.LateralModel{
		Speed: f.stream.Speed, Mass: in.Mass, Roll: in.Roll + motion.AirRollInertia(f.craft, f.Level.Height, f.Level.Pitch, f.stream.Density),
		Yaw: in.Yaw, Cross: in.Cross,
	}
	for _, d := range [...]struct {
		state            small
		side, down, nose *float64
	}{
		{small{bank: 1}, &l.Side.Bank, &l.StarboardDown.Bank, &l.NoseStarboard.Bank},
		{small{rollRate: 1}, &l.Side.RollRate, &l.StarboardDown.RollRate, &l.NoseStarboard.RollRate},
		{small{heading: 1}, &l.Side.Heading, &l.StarboardDown.Heading, &l.NoseStarboard.Heading},
		{small{yawRate: 1}, &l.Side.YawRate, &l.StarboardDown.YawRate, &l.NoseStarboard.YawRate},
		{small{offset: 1}, &l.Side.Offset, &l.StarboardDown.Offset, &l.NoseStarboard.Offset},
		{small{drift: 1}, &l.Side.Drift, &l.StarboardDown.Drift, &l.NoseStarboard.Drift},
	} {
		r := f.sideways(d.state)
		*d.side, *d.down, *d.nose = r.side, -r.x, -r.z
	}
	return l
}

// Modes returns the sideways modes, the fastest growing first. Its errors are those of
// motion.LateralModel.Modes.
func (f *Flight) Modes() ([]motion.LateralMode, error) { return f.Linear().Modes() }
