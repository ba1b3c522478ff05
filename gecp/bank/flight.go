package bank

import (
	"context"
	"errors"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// Flight is a craft in level flight over the water at one clearance, pitch and speed, from
// which it is banked. Its lift need not carry the weight: At takes any pitch, InTrim the one
// that does.
type Flight struct {
	// Level is the flow without bank and slip, with its derivatives.
	Level gecp.BankedPoint

	model    *gecp.Model
	craft    *gecp.Craft
	stream   gecp.Freestream
	pressure float64 // dynamic, Pa
	pilotX   float64 // m aft of the datum
	cgX, cgZ float64 // centre of gravity, m aft of and above the datum
	mass     float64 // kg
	friction gecp.Drag
	parasite gecp.Drag
	pull     float64 // of the line at the craft, level, N
	lift     float64 // of the line at the craft, N, upwards positive
	span     float64 // level distance from the tow point to the boat, m
}

// At returns the craft of a model in level flight at a clearance, m, and a pitch, rad, its
// pilot in the middle of the travel. It returns an error if the stream or the attitude is
// out of range, [gecp.Problems] if the craft file has no weights or no tow, and
// tow.ErrLineShort or tow.ErrLinePushes if the line does not reach or would have to push.
func At(ctx context.Context, m *gecp.Model, stream gecp.Freestream, clearance, pitch float64) (*Flight, error) {
	var pilotX float64
	if p := m.Craft().Pilot; p != nil {
		pilotX = p.Middle()
	}
	return at(ctx, m, stream, clearance, pitch, pilotX)
}

// InTrim returns the craft of a tow in its steady state at a clearance, m, the pilot where
// that asks them to be. Its errors are those of At and of tow.SteadyTow.Trim.
func InTrim(ctx context.Context, t tow.SteadyTow, clearance float64) (*Flight, error) {
	b, err := t.Trim(clearance)
	if err != nil {
		return nil, err
	}
	return at(ctx, t.Map().Model(), t.Freestream(), clearance, b.Pitch, b.Pilot.X)
}

// InSteadyTow gives the craft of a tow in its steady state, as [InTrim] does; there is none
// where the weight is not carried or the line does not reach.
func InSteadyTow(t tow.SteadyTow) FlightAt {
	return func(ctx context.Context, clearance float64) (*Flight, error) {
		f, err := InTrim(ctx, t, clearance)
		for _, none := range [...]error{tow.ErrTooSlow, tow.ErrTooFast, tow.ErrLineShort, tow.ErrLinePushes, tow.ErrInducedDrag} {
			if errors.Is(err, none) {
				return nil, nil
			}
		}
		return f, err
	}
}

func at(ctx context.Context, m *gecp.Model, stream gecp.Freestream, clearance, pitch, pilotX float64) (*Flight, error) {
	stream, err := stream.Checked()
	if err != nil {
		return nil, err
	}
	c := m.Craft()
	if err := c.Require(gecp.BlockWeights, gecp.BlockTow); err != nil {
		return nil, err
	}
	f := &Flight{model: m, craft: c, stream: stream, pressure: stream.DynamicPressure(), pilotX: pilotX, mass: c.Mass()}
	if f.Level, err = m.Banked(ctx, gecp.BankedAttitude{Clearance: clearance, Pitch: pitch}); err != nil {
		return nil, err
	}
	f.cgX, f.cgZ = c.CG(pilotX)
	f.friction, f.parasite = m.FrictionDrag(stream), m.ParasiteDrag(stream)
	f.pull = f.pressure*f.Level.Drag + f.friction.Force + f.parasite.Force
	if f.pull < 0 {
		return nil, tow.ErrLinePushes
	}
	_, towZ := gecp.RotationAt(pitch).Level(c.Tow.X, c.Tow.Z)
	rise := c.Tow.BoatHeight - f.Level.Height - towZ
	if !(math.Abs(rise) < c.Tow.Line) {
		return nil, tow.ErrLineShort
	}
	line := tow.Line{Length: c.Tow.Line, Weight: c.Tow.LineWeight()}
	f.lift, _, _ = line.Up(f.pull, rise)
	f.span = line.Span(f.pull, rise)
	return f, nil
}

// Craft returns a copy of the craft.
func (f *Flight) Craft() *gecp.Craft { return f.craft.Clone() }

// Freestream returns the speed and the air.
func (f *Flight) Freestream() gecp.Freestream { return f.stream }

// Lift returns the lift of the wings, N.
func (f *Flight) Lift() float64 { return f.pressure * f.Level.Lift }

// Weight returns the weight of craft and pilot, N.
func (f *Flight) Weight() float64 { return f.mass * gecp.G }

// Pull returns the level pull of the tow line, N: the whole drag.
func (f *Flight) Pull() float64 { return f.pull }
