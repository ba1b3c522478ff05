package motion

import (
	"cmp"
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// Choices of this project for what no craft file tells; estimates all.
const (
	// DefaultShift is the top speed of a pilot who shifts along the craft, m/s, where
	// the file gives none.
	DefaultShift = 0.5
	// FloatSink is how deep the floats stand in the water when together they carry
	// the whole weight, m: the stiffness of the contact.
	FloatSink = 0.1
	// HardTouch is the speed into the water, m/s, at which a float is taken to strike
	// it and the flight to be over: a craft that falls from 5 cm reaches twice that, but
	// at the speed of flight a float that digs in trips the craft.
	HardTouch = 0.5
	// floatDamping is the damping of that contact, as a share of the critical.
	floatDamping = 0.5
)

// Tick is the longest piece of time, s, over which a flight takes the pilot's speed
// along the craft as constant.
const Tick = 0.02

// Flight is a craft flying in time: heave, pitch and, on an elastic line, surge,
// with the full forces of its map. It begins in a steady state of a Run.
//
// The state is that of the centre of gravity of craft and pilot: height, upward
// speed, pitch, turning speed, the distance from there forward to the boat's end of
// the line, and the speed. The pilot slides along the craft at a constant speed
// within a tick, and the centre of gravity and the inertia follow. Upward and
// turning speed are integrated without the kick of the pilot's own start and stop
// and shown with it, so that both momenta are kept exactly.
//
// Forces: the map's at the momentary height, pitch and rates (quasi-steady: the
// wake's delay, which weakens and delays fast changes, is left out), friction and
// parasite drag with the square of the airspeed, the apparent mass of the wings
// with its position and size of the moment (the rate of that size is left out), the
// line, the weight, and the floats. A float in the water is a stiff damped spring
// that only pushes up (FloatSink); its drag is left out, so that little is to be
// learnt from a flight after it: one that meets the water faster than HardTouch
// ends there. The line hangs by its own weight, as in package tow, at every moment as if at
// rest; it stretches by its stiffness, without damping, where the file gives one, and
// hangs the deeper the shorter it is; else it is stiff and the craft keeps the boat's
// speed. Its length in the steady state is the file's. Its inertia, and the water where it
// hangs into it, are left out.
//
// A Flight belongs to one goroutine. Step allocates nothing.
type Flight struct {
	tow                tow.SteadyTow
	m                  *gecp.Map
	low                *gecp.LowestPoints
	craft              *gecp.Craft
	bounds             gecp.MapRange
	speed, pressure    float64 // of the steady state, m/s and Pa
	weight             float64 // N
	cgX, cgZ, share    float64 // the centre of gravity with the pilot at the datum, m; the pilot's share of the mass
	friction, parasite gecp.Drag
	start              tow.Trim
	dist               Disturbance
	half               float64 // half the air's density, kg/m3
	body               sliding
	slabs              []slab
	fwd, aft, maxShift float64 // the pilot's stops and top speed

	elastic   bool
	line      tow.Line    // of the steady state
	stretches elasticLine // where elastic
	spring    float64     // of one float, N/m
	damping   float64     // of one float, Ns/m

	in       integrator
	y        state
	begin    state
	t        float64
	tick     float64 // start of the present tick
	position float64 // of the pilot at that time
	shift    float64 // speed of the pilot aft along the craft, m/s
	end      End
	touch    Touch
	wet      uint64 // a bit a float in the water
	seen     [seenRing]Observation
	newest   int // the latest in the ring
	sights   int // taken so far
}

// Touch is the first time that a float meets the water.
type Touch struct {
	OK    bool
	Time  float64 // s into the flight
	Float int     // index in the craft file
	Sink  float64 // speed into the water, m/s
}

// FlightState is a flight at one time.
type FlightState struct {
	Time        float64 // s
	Clearance   float64 // m, over the water as the wave has moved it
	Height      float64 // of the datum over the flat water, m
	Pitch       float64 // rad
	ClimbRate   float64 // upward speed of the centre of gravity, m/s
	PitchRate   float64 // rad/s, nose-up
	Speed       float64 // over the water, m/s
	LineTension float64 // in the line at the craft, N
	Pilot       float64 // position, m aft of the datum
	Water       float64 // height of the water's surface, m
}

// NewFlight starts a flight from the steady state at a clearance, m. It returns an
// error if there is no such state, if the pilot cannot reach it or the
// craft file has no pilot, if a float is in the water there (the balance knows
// nothing of floats), or if the disturbance makes no sense.
func NewFlight(t tow.SteadyTow, clearance float64, d Disturbance) (*Flight, error) {
	c := t.Craft()
	if err := c.Require(gecp.BlockPilot); err != nil {
		return nil, err
	}
	b, err := t.Trim(clearance)
	if err != nil {
		return nil, err
	}
	if err := d.check(c); err != nil {
		return nil, err
	}
	if b.TravelMargin < 0 {
		return nil, fmt.Errorf("no flight can begin at a clearance of %.2f m and %.1f m/s: it is %s", clearance, t.Freestream().Speed, b.Reach(c.Pilot))
	}
	for i, fl := range c.Floats {
		if _, up := gecp.ToWaterAxes(fl.X, fl.Z, b.Height, b.Pitch); up < 0 {
			return nil, fmt.Errorf("no flight can begin at a clearance of %.2f m and %.1f m/s: float %d is still %.2f m in the water", clearance, t.Freestream().Speed, i+1, -up)
		}
	}
	f := undisturbed(t, b)
	f.dist = d
	if s := d.SpeedUp; !f.elastic && s.By < 0 && -s.By/s.Over*f.body.mass > b.Drag() {
		return nil, fmt.Errorf("the boat slows down by %.1f m/s within %.1f s, faster than the craft's drag stops the craft: the line goes slack, which only a line with line_stiffness_n can do here", -s.By, s.Over)
	}
	return f, nil
}

// undisturbed returns the flight that begins in b without a disturbance.
func undisturbed(t tow.SteadyTow, b tow.Trim) *Flight {
	c := t.Craft()
	stream := t.Freestream()
	f := &Flight{
		tow: t, m: t.Map(), low: t.Map().Model().LowestPoints(), craft: c, bounds: t.Map().Range(),
		speed: stream.Speed, pressure: stream.DynamicPressure(), weight: t.Weight(),
		friction: t.FrictionDrag(), parasite: t.ParasiteDrag(),
		start: b, half: stream.Density / 2, body: newSliding(c), slabs: newSlabs(c, stream.Density),
	}
	f.cgX, f.cgZ = t.CG(0)
	f.position = b.Pilot.X
	if p := c.Pilot; p != nil {
		f.share = p.Mass / c.Mass()
		f.fwd, f.aft, f.maxShift = p.XForward, p.XAft, cmp.Or(p.MaxShift, DefaultShift)
	} else {
		f.cgX = b.CG
	}
	if n := float64(len(c.Floats)); n > 0 {
		f.spring = f.weight / n / FloatSink
		f.damping = floatDamping * 2 * math.Sqrt(f.spring*f.body.mass/n)
	}
	turned := gecp.RotationAt(b.Pitch)
	gx, gz := turned.Level(b.CG, f.cgZ)
	tx, tz := turned.Level(c.Tow.X, c.Tow.Z)
	rise := c.Tow.BoatHeight - b.Height - tz
	f.line = t.Line()
	if c.Tow.LineStiffness > 0 {
		f.elastic, f.stretches = true, newElasticLine(f.line, c.Tow.LineStiffness, b.Drag(), rise)
	}
	f.y = state{b.Height + gz, 0, b.Pitch, 0, f.line.Span(b.Drag(), rise) - (tx - gx), f.speed}
	f.begin = f.y
	f.in = integrator{rates: f.rates, tol: [2]float64{1e-6, 1e-6}}
	f.seen[0], f.sights = f.observe(), 1
	return f
}

// loads is all force and moment on a craft: up with the weight, aft, and nose-up
// about the centre of gravity; and what resists.
type loads struct {
	up, aft, moment   float64 // N, N, Nm; aft without the line's pull
	pull, forward     float64 // of the line: whole and level, N
	heave, cross, rot float64 // the inertia with the apparent mass, kg, kg m, kg m2
	kickUp, kickTurn  float64 // speeds that the pilot's shift takes away, m/s and rad/s
}

// loads returns what acts in a state with the pilot at a position and shifting aft at
// a speed.
func (f *Flight) loads(t float64, y *state, position, shift float64) (p loads) {
	c := f.craft
	opt := &f.bounds
	speed := y[5]
	head, up := f.dist.Gust.at(t, f.speed)
	water, waterClimb := f.dist.Wave.at(t, f.speed)
	pitch := math.Min(opt.PitchMax, math.Max(opt.PitchMin, y[2]))
	turned := gecp.RotationAt(pitch)
	cgX := f.cgX + f.share*position
	gx, gz := turned.Level(cgX, f.cgZ)
	from := func(x, z float64) (float64, float64) { // the centre of gravity
		x, z = turned.Level(x, z)
		return x - gx, z - gz
	}

	wind := math.Max(0, speed+head) // wings blown at from behind carry nothing here
	inertia, byX := f.body.pitch(position)
	p.heave, p.rot = f.body.mass, inertia
	var munk, munkMoment float64 // apparent force a unit of turning speed
	for i := range f.slabs {
		s := &f.slabs[i]
		x, z := from(s.x, s.z)
		k := nearSurface((y[0] - water + z) / s.chord)
		m := k * s.mass
		p.heave += m
		p.cross -= m * x
		p.rot += m*x*x + k*s.own
		munk += m * wind
		munkMoment -= m * wind * x
	}
	det := p.heave*p.rot - p.cross*p.cross
	p.kickUp, p.kickTurn = -p.cross/det*f.body.kick*shift, p.heave/det*f.body.kick*shift
	climb, turn := y[1]-p.kickUp, y[3]-p.kickTurn

	height := y[0] - gz
	deep := f.low.At(pitch).Depth
	clearance := math.Min(opt.ClearanceMax, math.Max(opt.ClearanceMin, height-water-deep))
	a := f.m.UnsteadyAt(clearance+deep, pitch)
	h := f.half * wind // pressure over speed
	q := h * wind
	heave := climb + gx*turn + f.share*shift*turned.Sin - waterClimb - up // of the datum through the air
	lift := q*a.Steady.Lift + h*(a.ByHeaveRate.Lift*heave+a.ByPitchRate.Lift*turn)
	drag := q*a.Steady.Drag + h*(a.ByHeaveRate.Drag*heave+a.ByPitchRate.Drag*turn)
	moment := q*a.Steady.Moment + h*(a.ByHeaveRate.Moment*heave+a.ByPitchRate.Moment*turn)
	scale := q / f.pressure
	_, fz := from(f.friction.X, f.friction.Z)
	_, pz := from(f.parasite.X, f.parasite.Z)
	p.aft = drag + scale*(f.friction.Force+f.parasite.Force)
	p.up = lift - f.weight + munk*turn
	p.moment = moment + gx*lift - gz*drag +
		scale*(fz*f.friction.Force+pz*f.parasite.Force) +
		munkMoment*turn - byX*shift*y[3]

	tx, tz := from(c.Tow.X, c.Tow.Z)
	rise := c.Tow.BoatHeight - (y[0] + tz)
	var lineUp float64
	if f.elastic {
		var l tow.Line
		if p.forward, l = f.stretches.at(y[4]+tx, rise); l.Length > 0 {
			lineUp, _, _ = l.Up(math.Abs(p.forward), rise)
		}
	} else {
		_, accel := f.dist.SpeedUp.boat(t)
		p.forward = math.Max(0, p.aft+f.body.mass*accel)
		lineUp, _, _ = f.line.Up(p.forward, f.line.Length*math.Min(.99, math.Max(-.99, rise/f.line.Length)))
	}
	p.pull = math.Hypot(p.forward, lineUp)
	p.up += lineUp
	p.moment -= tz*p.forward + tx*lineUp

	for i := range c.Floats {
		x, z := from(c.Floats[i].X, c.Floats[i].Z)
		if wet := water - (y[0] + z); wet > 0 {
			n := math.Max(0, f.spring*wet-f.damping*(climb-x*turn-waterClimb))
			p.up += n
			p.moment -= x * n
		}
	}
	return p
}

// rates is the equation of motion.
func (f *Flight) rates(t float64, y, dy *state) {
	p := f.loads(t, y, f.position+f.shift*(t-f.tick), f.shift)
	det := p.heave*p.rot - p.cross*p.cross
	gain, _ := f.dist.SpeedUp.boat(t)
	dy[0] = y[1] - p.kickUp
	dy[1] = (p.rot*p.up - p.cross*p.moment) / det
	dy[2] = y[3] - p.kickTurn
	dy[3] = (p.heave*p.moment - p.cross*p.up) / det
	dy[4] = f.speed + gain - y[5]
	dy[5] = (p.forward - p.aft) / f.body.mass
}

// Step flies on by dt, s, 0 < dt <= 1, the pilot making for a position, m aft of the
// datum, as fast as they can and no further than the stops. It returns false,
// without moving on, once the flight has ended; a time out of range or a position
// that is no number changes nothing.
func (f *Flight) Step(dt, position float64) bool {
	if f.end.Cause != CauseNone {
		return false
	}
	if !(dt > 0 && dt <= 1) || math.IsNaN(position) {
		return true
	}
	n := math.Ceil(dt/Tick - 1e-9)
	t0 := f.t
	for i := 1.; i <= n && f.end.Cause == CauseNone; i++ {
		f.piece(t0+dt*i/n, position)
	}
	return f.end.Cause == CauseNone
}

// piece flies on to a time, at most a tick ahead.
func (f *Flight) piece(to, position float64) {
	dt := to - f.t
	position = math.Min(f.aft, math.Max(f.fwd, position))
	shift := math.Min(f.maxShift, math.Max(-f.maxShift, (position-f.position)/dt))
	changed := shift != f.shift
	f.tick, f.shift = f.t, shift
	f.in.advance(f.t, dt, &f.y, changed)
	f.position = math.Min(f.aft, math.Max(f.fwd, f.position+shift*dt))
	f.t, f.tick = to, to
	f.newest = (f.newest + 1) % seenRing
	f.sights++
	f.seen[f.newest] = f.observe()
	f.look()
}

// State returns the present state.
func (f *Flight) State() FlightState {
	p := f.loads(f.t, &f.y, f.position, f.shift)
	height, clearance, water := f.over()
	return FlightState{
		Time: f.t, Clearance: clearance, Height: height, Pitch: f.y[2],
		ClimbRate: f.y[1] - p.kickUp, PitchRate: f.y[3] - p.kickTurn,
		Speed: f.y[5], LineTension: p.pull, Pilot: f.position, Water: water,
	}
}

// over returns the datum's height, the clearance and the water's height, m.
func (f *Flight) over() (height, clearance, water float64) {
	_, gz := gecp.RotationAt(f.y[2]).Level(f.cgX+f.share*f.position, f.cgZ)
	water, _ = f.dist.Wave.at(f.t, f.speed)
	height = f.y[0] - gz
	return height, f.low.ClearanceFor(height-water, f.y[2]), water
}

// Start returns the steady state that the flight began in.
func (f *Flight) Start() tow.Trim { return f.start }

// Touch returns the first meeting of a float and the water.
func (f *Flight) Touch() Touch { return f.touch }

// End returns how the flight ended; its Cause is Flying while it goes on.
func (f *Flight) End() End { return f.end }

// look ends the flight where it has left the map, and notes a float that meets the
// water.
func (f *Flight) look() {
	opt := &f.bounds
	pitch := f.y[2]
	if math.IsNaN(pitch) {
		f.end = End{Cause: CauseNoState, Time: f.t}
		return
	}
	_, clearance, water := f.over()
	end := func(c Cause, limit float64) {
		f.end = End{Cause: c, Time: f.t, Clearance: clearance, Pitch: pitch, Limit: limit}
	}
	c := f.craft
	switch {
	case pitch >= opt.PitchMax:
		end(CausePitchedUp, opt.PitchMax)
	case pitch <= opt.PitchMin:
		end(CausePitchedDown, opt.PitchMin)
	case clearance >= opt.ClearanceMax:
		end(CauseRoseOut, opt.ClearanceMax)
	case clearance <= opt.ClearanceMin:
		end(CauseWingWet, opt.ClearanceMin)
		f.end.Wing = f.low.At(pitch).Wing
	}
	cgX := f.cgX + f.share*f.position
	turned := gecp.RotationAt(pitch)
	before := f.seen[(f.newest-1+seenRing)%seenRing]
	var wet uint64
	for i := range c.Floats {
		x, z := turned.Level(c.Floats[i].X-cgX, c.Floats[i].Z-f.cgZ)
		if f.y[0]+z > water {
			continue
		}
		wet |= 1 << i
		if f.wet&(1<<i) != 0 {
			continue
		}
		_, waterClimb := f.dist.Wave.at(f.t, f.speed)
		touch := Touch{true, f.t, i, math.Max(0, waterClimb-before.ClimbRate+x*before.PitchRate)}
		if !f.touch.OK {
			f.touch = touch
		}
		if touch.Sink > HardTouch && f.end.Cause == CauseNone {
			end(CauseFloatStruck, HardTouch)
			f.end.Touch = touch
		}
	}
	f.wet = wet
}

// Cause is why a flight ended.
type Cause int

// The causes.
const (
	CauseNone        Cause = iota // it has not ended
	CausePitchedUp                // the nose passed the map's highest pitch
	CausePitchedDown              // or its lowest
	CauseRoseOut                  // the clearance passed the map's highest
	CauseWingWet                  // a wing came down to the map's lowest clearance
	CauseFloatStruck              // a float met the water faster than HardTouch
	CauseNoState                  // the calculation found no state that means anything
)

// End is how a flight ended. A map's range is the end of what can be said, not of
// what can happen.
type End struct {
	Cause     Cause
	Time      float64 // s into the flight
	Clearance float64 // m
	Pitch     float64 // rad
	Limit     float64 // the limit passed, rad or m
	Wing      string  // the wing that came down, for WingWet
	Touch     Touch   // of the float, for Struck
}

// String says it in words.
func (e End) String() string {
	switch e.Cause {
	case CausePitchedUp:
		return fmt.Sprintf("pitched up past %.0f degrees at %.1f m after %.1f s", gecp.Degrees(e.Limit), e.Clearance, e.Time)
	case CausePitchedDown:
		return fmt.Sprintf("pitched down past %.0f degrees at %.1f m after %.1f s", gecp.Degrees(e.Limit), e.Clearance, e.Time)
	case CauseRoseOut:
		return fmt.Sprintf("rose past %.1f m with the nose at %.0f degrees after %.1f s", e.Limit, gecp.Degrees(e.Pitch), e.Time)
	case CauseWingWet:
		return fmt.Sprintf("came down with the wing %q to within %.2f m of the water after %.1f s, the nose at %.0f degrees", e.Wing, e.Limit, e.Time, gecp.Degrees(e.Pitch))
	case CauseFloatStruck:
		return fmt.Sprintf("struck the water with float %d, sinking %.1f m/s, after %.1f s, the nose at %.0f degrees", e.Touch.Float+1, e.Touch.Sink, e.Time, gecp.Degrees(e.Pitch))
	case CauseNoState:
		return fmt.Sprintf("the calculation found no further state after %.1f s", e.Time)
	}
	return "still flying"
}
