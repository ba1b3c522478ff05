package tow

import (
	"errors"
	"math"

	"example.org/groundeffect/gecp"
)

// SteadyTow is a craft in steady tow at one speed: its map with the weights, the
// line and the air put in. It is a small value; it never touches the lattice.
//
// The forces: lift and induced drag from the map, friction at the middle of the
// wings, parasite drag at the centre of gravity with the pilot in the middle, the
// weight, and the tension of the [Line], which hangs by its own weight between the tow
// point and the boat. The air's drag on the line is left out.
type SteadyTow struct {
	m                  *gecp.Map
	craft              *gecp.Craft
	bounds             gecp.MapRange
	kinks              []float64 // see gecp.Map.Kinks
	stream             gecp.Freestream
	pressure           float64 // dynamic, Pa
	weight             float64 // N
	cgZ                float64 // of the centre of gravity, m; the pilot moves level
	cgX                float64 // the same lengthwise with the pilot at the datum, m
	share              float64 // the pilot's mass over the whole
	friction, parasite gecp.Drag
	line               Line
}

// NewSteadyTow returns the craft of a map in tow in a stream. It returns an error if
// the stream is out of range, and [gecp.Problems] if the craft file has no weights or
// no tow.
func NewSteadyTow(m *gecp.Map, stream gecp.Freestream) (SteadyTow, error) {
	return newSteadyTow(m, m.Model().Craft(), stream)
}

func newSteadyTow(m *gecp.Map, c *gecp.Craft, stream gecp.Freestream) (SteadyTow, error) {
	stream, err := stream.Checked()
	if err != nil {
		return SteadyTow{}, err
	}
	if err := c.Require(gecp.BlockWeights, gecp.BlockTow); err != nil {
		return SteadyTow{}, err
	}
	t := SteadyTow{
		m: m, craft: c, bounds: m.Range(), kinks: m.Kinks(), stream: stream,
		pressure: stream.DynamicPressure(), weight: c.Mass() * gecp.G,
		friction: m.Model().FrictionDrag(stream), parasite: m.Model().ParasiteDrag(stream),
		line: Line{Length: c.Tow.Line, Weight: c.Tow.LineWeight()},
	}
	t.cgX, t.cgZ = c.CG(0)
	if c.Pilot != nil {
		t.share = c.Pilot.Mass / c.Mass()
	}
	return t, nil
}

// At returns the same craft in the same air at another speed, m/s. It returns an
// error if the speed is out of range.
func (t SteadyTow) At(speed float64) (SteadyTow, error) {
	return newSteadyTow(t.m, t.craft, t.stream.At(speed))
}

// Map returns the map that the loads come from.
func (t SteadyTow) Map() *gecp.Map { return t.m }

// Craft returns a copy of the craft.
func (t SteadyTow) Craft() *gecp.Craft { return t.craft.Clone() }

// Freestream returns the speed and the air.
func (t SteadyTow) Freestream() gecp.Freestream { return t.stream }

// Weight returns the weight of craft and pilot, N.
func (t SteadyTow) Weight() float64 { return t.weight }

// CG returns the centre of gravity with the pilot at pilotX, metres aft of and above
// the datum. Without a pilot pilotX is not looked at.
func (t SteadyTow) CG(pilotX float64) (x, z float64) { return t.cgX + t.share*pilotX, t.cgZ }

// FrictionDrag returns the drag of the wings' surfaces.
func (t SteadyTow) FrictionDrag() gecp.Drag { return t.friction }

// ParasiteDrag returns the drag of all but the wings.
func (t SteadyTow) ParasiteDrag() gecp.Drag { return t.parasite }

// The reasons why a craft cannot be in steady flight at a clearance and speed.
var (
	ErrTooSlow   = errors.New("too slow: even at the highest pitch of the map the wings do not carry the weight")
	ErrTooFast   = errors.New("too fast: even at the lowest pitch of the map the wings carry more than the weight")
	ErrLineShort = errors.New("the line is too short to reach from the boat to the craft at this height")
	// ErrLinePushes says that the drag comes out below zero, which the lattice gives only
	// where a wing is too close to the water for it.
	ErrLinePushes = errors.New("the drag comes out below zero, so that the line would have to push: too close to the water for this calculation")
	// ErrInducedDrag says that the mesh is too coarse for the state.
	ErrInducedDrag = errors.New("the induced drag comes out below zero, which cannot be: a wing is too close to the water or to another wing for this mesh")
)

// cannotFly reports whether an error means that there is no steady flight at a
// clearance, and not that something is wrong with the question.
func cannotFly(err error) bool {
	return errors.Is(err, ErrTooSlow) || errors.Is(err, ErrTooFast) || errors.Is(err, ErrLineShort) || errors.Is(err, ErrLinePushes) || errors.Is(err, ErrInducedDrag)
}

// forces is the sum of all forces and moments on the craft, with derivatives: up,
// N, and nose-up about the datum, Nm, the weight's moment left out.
type forces struct {
	up, moment                    float64
	upByHeight, upByPitch         float64
	momentByHeight, momentByPitch float64
	drag, lineTension, lineAngle  float64
}

// at sums the forces at a point of the map.
func (t *SteadyTow) at(p gecp.MapPoint) (f forces, err error) {
	// Positions from the datum in the axes of the water. As the craft pitches,
	// dX = Z dpitch and dZ = -X dpitch.
	turned := gecp.RotationAt(p.Pitch)
	tx, tz := t.towPoint(p.Pitch)
	fx, fz := turned.Level(t.friction.X, t.friction.Z)
	px, pz := turned.Level(t.parasite.X, t.parasite.Z)

	q := t.pressure
	f.drag = q*p.Drag + t.friction.Force + t.parasite.Force
	if f.drag < 0 {
		return f, ErrLinePushes
	}
	dragH, dragP := q*p.ByHeight.Drag, q*p.ByPitch.Drag
	rise := t.craft.Tow.BoatHeight - p.Height - tz
	if !(math.Abs(rise) < t.line.Length) {
		return f, ErrLineShort
	}
	// The rise falls by dh and grows by X dpitch.
	up, byPull, byRise := t.line.Up(f.drag, rise)
	upH, upP := dragH*byPull-byRise, dragP*byPull+tx*byRise
	f.lineTension, f.lineAngle = math.Hypot(f.drag, up), math.Atan2(up, f.drag)

	f.up = q*p.Lift + up - t.weight
	f.upByHeight = q*p.ByHeight.Lift + upH
	f.upByPitch = q*p.ByPitch.Lift + upP
	// A force (F, 0, U) at (X, Z) turns the craft nose-up by Z F - X U.
	f.moment = q*p.Moment + fz*t.friction.Force + pz*t.parasite.Force - tz*f.drag - tx*up
	f.momentByHeight = q*p.ByHeight.Moment - tz*dragH - tx*upH
	f.momentByPitch = q*p.ByPitch.Moment - fx*t.friction.Force - px*t.parasite.Force +
		tx*f.drag - tz*dragP - tz*up - tx*upP
	return f, nil
}

// towPoint returns where the tow point lies from the datum at a pitch, level and upright,
// m.
func (t *SteadyTow) towPoint(pitch float64) (x, z float64) {
	return gecp.RotationAt(pitch).Level(t.craft.Tow.X, t.craft.Tow.Z)
}

func (t *SteadyTow) atPitch(clearance, pitch float64) (gecp.MapPoint, forces, error) {
	p, err := t.m.At(clearance, pitch)
	if err != nil {
		return p, forces{}, err
	}
	f, err := t.at(p)
	return p, f, err
}
