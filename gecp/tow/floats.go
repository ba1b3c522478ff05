package tow

import (
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/bisect"
)

// Support says what carries a craft that runs on the water.
type Support int

// From the floats on the water to none.
const (
	SupportTwoFloats Support = iota // two floats touch the water
	SupportAftFloat                 // turned nose-up about a float, all others out of the water
	SupportForeFloat                // turned nose-down about a float, all others out of the water
	SupportNone                     // the wings carry all: the craft flies
)

// OnFloats is a craft in steady tow on its floats. They are points that the water
// holds up: their draught, the way they plane and the water's drag on them are left
// out, so that the real line tension is larger.
type OnFloats struct {
	Support   Support
	Pilot     float64 // position of the pilot, m aft of the datum
	Pitch     float64 // rad
	Height    float64 // of the datum, m
	Clearance float64 // m
	// Fore and Aft are the water's push on the foremost and the aftmost float that touches
	// it, N, 0 or more; one alone is Fore nose-down and Aft nose-up.
	Fore, Aft float64
	// Carried is the share of the weight that the floats do not carry, 0..1: the wings
	// do, but for the little that the line pulls up or down.
	Carried     float64
	LineTension float64 // N, without the water's drag on the floats
}

// String says what the floats do, in metric units.
func (s OnFloats) String() string {
	at := fmt.Sprintf("%s, the wings %.2f m over the water", Tilt(s.Pitch, 1), s.Clearance)
	carry := fmt.Sprintf("the wings carry %.0f %% of the weight", 100*s.Carried)
	switch s.Support {
	case SupportAftFloat:
		return fmt.Sprintf("turned up on the aft float, %s: %s, the aft float %.0f N", at, carry, s.Aft)
	case SupportForeFloat:
		return fmt.Sprintf("turned down on the fore float, %s: %s, the fore float %.0f N", at, carry, s.Fore)
	case SupportNone:
		return fmt.Sprintf("off the floats, %s: the wings carry all of the weight", at)
	}
	return fmt.Sprintf("on two floats, %s: %s, the fore float %.0f N, the aft float %.0f N", at, carry, s.Fore, s.Aft)
}

// Tilt says a pitch, rad, in degrees: "nose up 3.1°", "level".
func Tilt(pitch float64, decimals int) string {
	d := gecp.Degrees(pitch)
	if math.Abs(d) < math.Pow10(-decimals)/2 {
		return "level"
	}
	if d < 0 {
		return fmt.Sprintf("nose down %.*f°", decimals, -d)
	}
	return fmt.Sprintf("nose up %.*f°", decimals, d)
}

// TipError says that a craft on its floats turns about one of them until it leaves
// the calculation.
type TipError struct {
	NoseUp bool    // about its aft float, and else nose-down about its fore float
	Pilot  float64 // m aft of the datum
	Err    error   // a *gecp.RangeError, or ErrLineShort
}

func (e *TipError) Error() string {
	if e.NoseUp {
		return fmt.Sprintf("with the pilot at %.2f m the craft turns nose-up about its aft float until it leaves the calculation: %v", e.Pilot, e.Err)
	}
	return fmt.Sprintf("with the pilot at %.2f m the craft turns nose-down about its fore float until it leaves the calculation: %v", e.Pilot, e.Err)
}

func (e *TipError) Unwrap() error { return e.Err }

// contact is a craft whose lowest float touches the water at a pitch.
type contact struct {
	point gecp.MapPoint
	forces
	float gecp.Float
	along float64 // of that float, level from the datum, m
	// momentAboutFloat is the moment about that float of all but the water's push on
	// others, Nm, nose-up positive; momentAboutCG of all forces but the water's.
	momentAboutFloat, momentAboutCG float64
}

// lifted reports whether the wings carry all of the weight, and more.
func (c *contact) lifted() bool { return c.up >= 0 }

// touching returns the craft with its lowest float on the water at a pitch, the pilot
// at a position. It returns an error outside the map and with too short a line.
func (t *SteadyTow) touching(pilotX, pitch float64) (contact, error) {
	f, depth, _ := t.craft.LowestFloat(pitch)
	turned := gecp.RotationAt(pitch)
	p, err := t.m.AtHeight(depth, pitch)
	if err != nil {
		return contact{}, err
	}
	c := contact{point: p, float: f}
	if c.forces, err = t.at(p); err != nil {
		return contact{}, err
	}
	c.along, _ = turned.Level(f.X, f.Z)
	x, z := t.CG(pilotX)
	centre, _ := turned.Level(x, z)
	c.momentAboutFloat = c.moment + t.weight*centre + c.along*c.up
	c.momentAboutCG = c.moment + t.weight*centre + centre*c.up
	return c, nil
}

// tipSteps is the number of steps over the map's pitches in which a balance on a
// float is looked for.
const tipSteps = 80

// OnFloats returns the craft on its floats with the pilot at pilotX, m aft of the
// datum: at rest on two of them, turned about one until it balances there or until
// another touches the water, or flying. It flies where the wings carry the weight and
// nothing turns it back onto a float. It returns [gecp.Problems] if the craft file
// lacks pilot or floats or if the floats stand at one place along the craft, a
// *TipError if the craft turns out of the map, and another error if it lies outside
// the map at rest.
func (t SteadyTow) OnFloats(pilotX float64) (OnFloats, error) {
	c := t.craft
	if err := c.Require(gecp.BlockPilot, gecp.BlockFloats); err != nil {
		return OnFloats{}, err
	}
	if !(math.Abs(pilotX) <= gecp.FarAway) {
		return OnFloats{}, fmt.Errorf("the pilot is at %v m; give a position along the craft, m aft of the datum", pilotX)
	}
	rest, _ := c.Rest()
	if rest.Fore.X == rest.Aft.X {
		return OnFloats{}, gecp.Problems{{Path: "floats", Text: fmt.Sprintf("all stand %v m aft of the datum, where the craft cannot rest; give two, one ahead of the other", rest.Fore.X)}}
	}
	at, err := t.touching(pilotX, rest.Pitch)
	if err != nil {
		return OnFloats{}, fmt.Errorf("at rest on its floats: %w", err)
	}
	turned := gecp.RotationAt(rest.Pitch)
	fore, _ := turned.Level(rest.Fore.X, rest.Fore.Z)
	aft, _ := turned.Level(rest.Aft.X, rest.Aft.Z)
	pushFore, pushAft := at.pushes(fore, aft)
	switch {
	case pushFore >= 0 && pushAft >= 0:
		return t.onFloats(at, SupportTwoFloats, pilotX, pushFore, pushAft), nil
	case at.lifted() && at.momentAboutCG >= 0: // and the nose rises, or stays
		return t.onFloats(at, SupportNone, pilotX, 0, 0), nil
	case pushFore < 0 && !at.lifted():
		return t.tip(at, pilotX, rest.Pitch, t.bounds.PitchMax)
	}
	return t.tip(at, pilotX, rest.Pitch, t.bounds.PitchMin)
}

// pushes returns the water's push on two floats at the given places, level from the
// datum, N, that closes forces and moments. A push N at X turns the craft nose-up by
// -X N.
func (c *contact) pushes(fore, aft float64) (pushFore, pushAft float64) {
	about := func(x float64) float64 { return c.momentAboutFloat + (x-c.along)*c.up }
	return about(aft) / (fore - aft), about(fore) / (aft - fore)
}

func (t *SteadyTow) onFloats(at contact, s Support, pilotX, fore, aft float64) OnFloats {
	return OnFloats{
		Support: s, Pilot: pilotX, Pitch: at.point.Pitch, Height: at.point.Height, Clearance: at.point.Clearance,
		Fore: fore, Aft: aft, Carried: 1 - (fore+aft)/t.weight, LineTension: at.lineTension,
	}
}

// tip turns the craft about its lowest float, from one pitch towards another, until
// the moment about that float no longer turns it on, or until the wings carry the
// weight with the nose free to rise. Where another float becomes the lowest, the craft
// goes on about that one or comes to rest on the two.
func (t *SteadyTow) tip(at contact, pilotX, from, to float64) (OnFloats, error) {
	noseUp := to > from
	goesOn := func(c contact) bool {
		if noseUp {
			return c.momentAboutFloat > 0 && !c.lifted()
		}
		return c.momentAboutFloat < 0
	}
	n := int(math.Ceil(math.Abs(to-from) / (t.bounds.PitchMax - t.bounds.PitchMin) * tipSteps))
	last := at
	lo := from
	for i := range n + 1 {
		hi := from + (to-from)*float64(i)/float64(max(n, 1))
		c, err := t.touching(pilotX, hi)
		if err != nil {
			return OnFloats{}, &TipError{noseUp, pilotX, err}
		}
		if i == 0 || goesOn(c) {
			lo, last = hi, c
			continue
		}
		stop := c
		_, _, err = bisect.Edge(lo, hi, 1e-12, func(pitch float64) (bool, error) {
			m, err := t.touching(pilotX, pitch)
			if err != nil {
				return false, err
			}
			if goesOn(m) {
				last = m
				return false, nil
			}
			stop = m
			return true, nil
		})
		if err != nil {
			return OnFloats{}, &TipError{noseUp, pilotX, err}
		}
		switch {
		case stop.lifted():
			return t.onFloats(stop, SupportNone, pilotX, 0, 0), nil
		case stop.float != last.float: // the next float has touched the water
			fore, aft := last, stop
			if !noseUp {
				fore, aft = stop, last
			}
			pushFore, pushAft := stop.pushes(fore.along, aft.along)
			return t.onFloats(stop, SupportTwoFloats, pilotX, math.Max(0, pushFore), math.Max(0, pushAft)), nil
		case noseUp:
			return t.onFloats(stop, SupportAftFloat, pilotX, 0, -stop.up), nil
		}
		return t.onFloats(stop, SupportForeFloat, pilotX, -stop.up, 0), nil
	}
	r := t.bounds
	return OnFloats{}, &TipError{noseUp, pilotX, r.Check(r.ClearanceMin, to+math.Copysign(1e-6, to-from))}
}
