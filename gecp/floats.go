package gecp

import (
	"errors"
	"fmt"
	"math"
)

// Support says what carries a craft that runs on the water.
type Support int

// From both floats on the water to none.
const (
	SupportBothFloats Support = iota
	SupportAftFloat           // turned nose-up about the aft float, the fore one out of the water
	SupportForeFloat          // turned nose-down about the fore float, the aft one out of the water
	SupportNone            // the wings carry all: the craft flies
)

// OnFloats is a craft in steady tow on its foremost and its aftmost float. They
// are points that the water holds up: their draught, the way they plane and the
// water's drag on them are left out, so that the real pull is larger.
type OnFloats struct {
	Support   Support
	Pilot     float64 // place of the pilot, m aft of the datum
	Pitch     float64 // rad
	Height    float64 // of the datum, m
	Clearance float64 // m
	Fore, Aft float64 // push of the water on the two floats, N, 0 or more
	// Carried is the share of the weight that the floats do not carry, 0..1: the wings
	// do, but for the little that the line pulls up or down.
	Carried float64
	LineTension    float64 // in the line, N, without the water's drag on the floats
}

// String says what the floats do, in metric units.
func (s OnFloats) String() string {
	at := fmt.Sprintf("%s, the wings %.2f m over the water", tilt(s.Pitch, 1), s.Clearance)
	carry := fmt.Sprintf("the wings carry %.0f %% of the weight", 100*s.Carried)
	switch s.Support {
	case SupportAftFloat:
		return fmt.Sprintf("turned up on the aft float, %s: %s, the aft float %.0f N", at, carry, s.Aft)
	case SupportForeFloat:
		return fmt.Sprintf("turned down on the fore float, %s: %s, the fore float %.0f N", at, carry, s.Fore)
	case SupportNone:
		return fmt.Sprintf("off the floats, %s: the wings carry all of the weight", at)
	}
	return fmt.Sprintf("on both floats, %s: %s, the fore float %.0f N, the aft float %.0f N", at, carry, s.Fore, s.Aft)
}

// tilt says a pitch, rad, in degrees.
func tilt(pitch float64, decimals int) string {
	if pitch < 0 {
		return fmt.Sprintf("nose down %.*f°", decimals, deg(-pitch))
	}
	return fmt.Sprintf("nose up %.*f°", decimals, deg(pitch))
}

// outermost returns the foremost and the aftmost float.
func (c *Craft) outermost() (fore, aft Float) {
	fore, aft = c.Floats[0], c.Floats[0]
	for _, f := range c.Floats[1:] {
		if f.X < fore.X {
			fore = f
		}
		if f.X > aft.X {
			aft = f
		}
	}
	return fore, aft
}

// floatsOver returns how far the lowest float lies over the water, m, negative
// under it, with the datum at a height and a pitch; +Inf without floats.
func (c *Craft) floatsOver(height, pitch float64) float64 {
	over := math.Inf(1)
	for _, f := range c.Floats {
		_, up := ToWaterAxes(f.X, f.Z, height, pitch)
		over = math.Min(over, up)
	}
	return over
}

// contact is a craft that turns about one float on the water.
type contact struct {
	point MapPoint
	forces
	along  float64 // of the float, level from the datum, m
	centre float64 // of the centre of gravity, likewise
	// about is the moment about the float of all but the water's push on the other,
	// Nm, nose-up positive.
	about float64
}

// touching returns the craft with a float on the water, the nose up by a pitch and
// the pilot at a place. It is an error outside the map and with too short a line.
func (r *SteadyTow) touching(f Float, pilotX, pitch float64) (contact, error) {
	sin, cos := math.Sincos(pitch)
	height := f.X*sin - f.Z*cos
	clearance := r.m.model.under.ClearanceFor(height, pitch)
	if err := r.m.check(clearance, pitch); err != nil {
		return contact{}, err
	}
	t := contact{point: r.m.at(clearance, pitch), along: f.X*cos + f.Z*sin}
	var err error
	if t.forces, err = r.at(t.point); err != nil {
		return contact{}, err
	}
	t.centre = (r.cgX+r.share*pilotX)*cos + r.cgZ*sin
	t.about = t.moment + r.weight*t.centre + t.along*t.up
	return t, nil
}

// tipSteps is the number of steps over the map's pitches in which a float's
// balance is looked for.
const tipSteps = 80

// OnFloats returns the craft on its floats with the pilot at pilotX, m aft of the
// datum. Both touch the water, or the craft has turned about the one that bears a
// load until the other bears none. It is an error if the craft file lacks pilot
// or floats, if the floats stand at one place along the craft, or if the craft
// lies or turns outside the map.
func (r SteadyTow) OnFloats(pilotX float64) (OnFloats, error) {
	c := r.m.model.craft
	if err := c.Require(BlockPilot, BlockFloats); err != nil {
		return OnFloats{}, err
	}
	if !(math.Abs(pilotX) <= farAway) {
		return OnFloats{}, fmt.Errorf("the pilot is at %v m; give a place along the craft, m aft of the datum", pilotX)
	}
	fore, aft := c.outermost()
	if fore.X == aft.X {
		return OnFloats{}, Problems{{"floats", fmt.Sprintf("all stand %s m aft of the datum, where the craft cannot rest; give two, one ahead of the other", num(fore.X))}}
	}
	rest, _ := c.restPitch()
	onFore, err := r.touching(fore, pilotX, rest)
	if err != nil {
		return OnFloats{}, fmt.Errorf("at rest on its floats: %w", err)
	}
	onAft, err := r.touching(aft, pilotX, rest)
	if err != nil {
		return OnFloats{}, fmt.Errorf("at rest on its floats: %w", err)
	}
	// A push N at X turns the craft nose-up by -X N.
	pushFore := onAft.about / (onFore.along - onAft.along)
	pushAft := onFore.about / (onAft.along - onFore.along)
	state := func(t contact, s Support, fore, aft float64) OnFloats {
		if s == SupportNone {
			fore, aft = 0, 0
		}
		return OnFloats{
			Support: s, Pilot: pilotX, Pitch: t.point.Pitch, Height: t.point.Height, Clearance: t.point.Clearance,
			Fore: fore, Aft: aft, Carried: 1 - (fore+aft)/r.weight, LineTension: t.pull,
		}
	}
	switch {
	case pushFore >= 0 && pushAft >= 0:
		return state(onAft, SupportBothFloats, pushFore, pushAft), nil
	case pushFore < 0 && (pushAft >= 0 || onAft.about > (onAft.along-onAft.centre)*onAft.up):
		if pushAft < 0 { // lifted, and turning nose-up about its own centre
			return state(onAft, SupportNone, 0, 0), nil
		}
		t, err := r.tip(aft, pilotX, rest, r.m.opt.PitchMax, func(t contact) bool { return t.about > 0 && t.up < 0 })
		if err != nil {
			return OnFloats{}, fmt.Errorf("with the pilot at %.2f m the craft turns nose-up about its aft float until it leaves the calculation: %w", pilotX, err)
		}
		if t.up >= 0 {
			return state(t, SupportNone, 0, 0), nil
		}
		return state(t, SupportAftFloat, 0, -t.up), nil
	}
	// The nose goes down. Where the lift exceeds the weight at rest it may not once
	// the nose is lower.
	t, err := r.tip(fore, pilotX, rest, r.m.opt.PitchMin, func(t contact) bool { return t.about < 0 })
	switch {
	case err != nil && pushFore < 0:
		return state(onFore, SupportNone, 0, 0), nil
	case err != nil:
		return OnFloats{}, fmt.Errorf("with the pilot at %.2f m the craft turns nose-down about its fore float until it leaves the calculation: %w", pilotX, err)
	case t.up >= 0:
		return state(t, SupportNone, 0, 0), nil
	}
	return state(t, SupportForeFloat, -t.up, 0), nil
}

// tip turns the craft about a float, from one pitch towards another, until it no
// longer goes on turning. The other float clears the water all the way.
func (r *SteadyTow) tip(f Float, pilotX, from, to float64, goesOn func(contact) bool) (contact, error) {
	lo := from
	step := (r.m.opt.PitchMax - r.m.opt.PitchMin) / tipSteps
	n := int(math.Ceil(math.Abs(to-from) / step))
	for i := range n + 1 {
		hi := from + (to-from)*float64(i)/float64(max(n, 1))
		t, err := r.touching(f, pilotX, hi)
		if err != nil {
			return contact{}, err
		}
		if goesOn(t) {
			lo = hi
			continue
		}
		for range 40 {
			m := (lo + hi) / 2
			tm, err := r.touching(f, pilotX, m)
			if err != nil {
				return contact{}, err
			}
			if goesOn(tm) {
				lo = m
			} else {
				hi, t = m, tm
			}
		}
		return t, nil
	}
	return contact{}, &RangeError{"pitch", deg(to), deg(r.m.opt.PitchMin), deg(r.m.opt.PitchMax), "degrees"}
}

// LiftOff is where a craft leaves the water as the speed rises, the pilot staying
// in one place. Often one float unloads while the other still carries, and the
// craft turns up on that one, its lift growing, until it flies: all at one speed.
type LiftOff struct {
	Pilot float64 // m aft of the datum
	OK bool
	Speed float64  // m/s
	State OnFloats // there; the last one on the water if none was found
	// Holds tells whether the craft, a tenth of a metre per second faster, comes to
	// rest at a clearance To (m) that it holds by itself, the pilot staying in that
	// place. Where it does not, nothing but the pilot's moving stops its rise.
	Holds bool
	To    float64
	Why   string // why the craft does not lift off
}

// String says where the craft leaves the water, in metric units.
func (l LiftOff) String() string {
	switch {
	case !l.OK:
		return fmt.Sprintf("with the pilot at %.2f m it does not lift off: %s", l.Pilot, l.Why)
	case l.Holds:
		return fmt.Sprintf("with the pilot at %.2f m it lifts off at %.1f m/s and settles at a clearance of %.2f m", l.Pilot, l.Speed, l.To)
	}
	return fmt.Sprintf("with the pilot at %.2f m it lifts off at %.1f m/s and finds no clearance to hold", l.Pilot, l.Speed)
}

// The speeds among which LiftOff looks, and how far past it the craft is looked at,
// m/s.
const (
	liftOffStep = .5
	liftOffMost = 30
	pastLiftOff = .1
)

// LiftOff returns the lowest speed at which the wings carry the whole weight, with
// the pilot at pilotX, m aft of the datum, in air of a density, kg/m3 (0 is
// Density). It is not found if the craft turns out of the map before, or does
// not lift off up to 30 m/s. It is an error if the craft file lacks weights, tow,
// pilot or floats, or if the craft does not rest on its floats.
func (m *Map) LiftOff(pilotX, density float64) (LiftOff, error) {
	l := LiftOff{Pilot: pilotX}
	if err := m.model.craft.Require(BlockWeights, BlockTow, BlockPilot, BlockFloats); err != nil {
		return l, err
	}
	at := func(speed float64) (OnFloats, error) {
		r, err := m.Run(speed, density)
		if err != nil {
			return OnFloats{}, err
		}
		return r.OnFloats(pilotX)
	}
	lo, hi := 0., liftOffStep
	for ; ; lo, hi = hi, hi+liftOffStep {
		s, err := at(hi)
		if err != nil && lo == 0 {
			return l, err
		}
		if err != nil {
			l.Why = fmt.Sprintf("at %.1f m/s, %v", hi, err)
			return l, nil
		}
		l.State = s
		if s.Support == SupportNone {
			break
		}
		if hi >= liftOffMost {
			l.Why = fmt.Sprintf("at %.0f m/s it is still %v", hi, s)
			return l, nil
		}
	}
	for hi-lo > 1e-6 {
		v := (lo + hi) / 2
		s, err := at(v)
		if err != nil {
			l.Why = fmt.Sprintf("at %.1f m/s, %v", v, err)
			return l, nil
		}
		if s.Support == SupportNone {
			hi, l.State = v, s
		} else {
			lo = v
		}
	}
	l.OK, l.Speed = true, hi
	r, err := m.Run(hi+pastLiftOff, density)
	if err != nil {
		return l, err
	}
	all, err := r.TrimCurve()
	if err != nil { // too fast for the map: no height there
		return l, nil
	}
	c, _ := all.AboveFloats()
	holds, err := c.Equilibria(pilotX)
	if err != nil {
		return l, err
	}
	for _, h := range holds {
		if h.HeightStable {
			l.Holds, l.To = true, h.Clearance
			break
		}
	}
	return l, nil
}

// evenLiftOff returns the place of the pilot, m aft of the datum, from which both
// floats leave the water at once, the craft in balance; false if there is none up
// to the highest speed that LiftOff looks at. The craft has all that LiftOff needs.
func (m *Map) evenLiftOff(density float64) (pilotX float64, ok bool) {
	rest, height := m.model.craft.restPitch()
	clearance := m.model.under.ClearanceFor(height, rest)
	at := func(speed float64) (Trim, error) {
		r, err := m.Run(speed, density)
		if err != nil {
			return Trim{}, err
		}
		return r.Trim(clearance)
	}
	// The faster, the lower the nose.
	lo, hi := liftOffStep, float64(liftOffMost)
	for hi-lo > 1e-4 {
		v := (lo + hi) / 2
		if b, err := at(v); errors.Is(err, ErrTooSlow) || err == nil && b.Pitch > rest {
			lo = v
		} else {
			hi = v
		}
	}
	b, err := at(hi)
	return b.Pilot.X, err == nil && math.Abs(b.Pitch-rest) < 1e-3
}

// AboveFloats returns the part of the curve in which all floats are clear of the
// water, from the lowest such state up; false if there is none. Below it the
// water would hold the craft up and the balance means nothing. Without floats it
// is the whole curve.
func (c TrimCurve) AboveFloats() (TrimCurve, bool) {
	craft := c.Run.m.model.craft
	return c.from(func(b Trim) bool { return craft.floatsOver(b.Height, b.Pitch) >= 0 })
}

// from returns the part of the curve above the lowest state that is ok, itself
// included.
func (c TrimCurve) from(ok func(Trim) bool) (TrimCurve, bool) {
	for i, b := range c.States {
		if !ok(b) {
			continue
		}
		part := TrimCurve{Run: c.Run, States: c.States[i:]}
		if i > 0 {
			// cross returns the side on which it starts, here the water's, up to 0.1 mm.
			edge := c.cross(i-1, func(b Trim) float64 {
				if ok(b) {
					return 1
				}
				return -1
			})
			if e, err := c.Run.Trim(edge.Clearance + 1e-4); err == nil && ok(e) && e.Clearance < b.Clearance {
				part.States = append([]Trim{e}, part.States...)
			}
		}
		return part, true
	}
	return TrimCurve{}, false
}
