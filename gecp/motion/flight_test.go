package motion

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

func start(t testing.TB, r tow.SteadyTow, clearance float64, d Disturbance) *Flight {
	f, err := NewFlight(r, clearance, d)
	require.NoError(t, err)
	return f
}

// Undisturbed, a stable craft stays where it is balanced, line and all.
func TestFlightStaysInBalance(t *testing.T) {
	for _, r := range []tow.SteadyTow{stiffRun(t, 14), elasticRun(t, 14), straightRun(t, 14)} {
		f := start(t, r, .25, Disturbance{})
		first := f.State()
		assert.InDelta(t, .25, first.Clearance, 1e-12)
		assert.InEpsilon(t, f.Start().LineTension, first.LineTension, 1e-9)
		for f.State().Time < 20 {
			require.True(t, f.Step(.1, f.Start().Pilot.X))
		}
		last := f.State()
		assert.InDelta(t, first.Clearance, last.Clearance, 1e-5)
		assert.InDelta(t, first.Pitch, last.Pitch, 1e-5)
		assert.InDelta(t, first.Speed, last.Speed, 1e-5)
		assert.InDelta(t, 20, last.Time, .11)
	}
}

// A small upset in the shape of one mode must grow or die away, and swing, as the
// linear motion says, to 1 %, over two seconds and more.
func TestSmallMotionIsLinear(t *testing.T) {
	for _, tc := range []struct {
		r                tow.SteadyTow
		clearance, after float64
	}{
		{stiffRun(t, 15), .2, 4}, {stiffRun(t, 14), .25, 3}, {stiffRun(t, 14), .8, 3}, {elasticRun(t, 14), .4, 4},
	} {
		a := start(t, tc.r, tc.clearance, Disturbance{}).linear().matrix()
		var e mat.Eigen
		require.True(t, e.Factorize(a, mat.EigenRight))
		var v mat.CDense
		e.VectorsTo(&v)
		for i, root := range e.Values(nil) {
			// Fast modes are gone at once; slow ones show little in the time.
			if imag(root) < 0 || real(root) < -1 || cmplx.Abs(root) < .2 {
				continue
			}
			f := start(t, tc.r, tc.clearance, Disturbance{})
			const size = 2e-5
			n := 4
			if f.elastic {
				n = 6
			}
			// z = Re(c v) = Re(c) Re(v) - Im(c) Im(v), solved for c.
			shape := mat.NewDense(n, 2, nil)
			for k := range n {
				shape.Set(k, 0, real(v.At(k, i)))
				shape.Set(k, 1, -imag(v.At(k, i)))
			}
			if imag(root) == 0 {
				shape = mat.DenseCopyOf(shape.Slice(0, n, 0, 1))
			}
			part := func() complex128 {
				z := mat.NewVecDense(n, nil)
				for k := range n {
					z.SetVec(k, f.y[k]-f.begin[k])
				}
				var c mat.VecDense
				require.NoError(t, c.SolveVec(shape, z))
				if c.Len() == 1 {
					return complex(c.AtVec(0), 0)
				}
				return complex(c.AtVec(0), c.AtVec(1))
			}
			for k := range n {
				f.y[k] += size * real(v.At(k, i))
			}
			f.in.tol = [2]float64{1e-11, 1e-11}
			c0 := part()
			var turned float64
			last := c0
			for f.t < tc.after {
				require.True(t, f.Step(.02, f.start.Pilot.X))
				c := part()
				turned += cmplx.Phase(c / last)
				last = c
			}
			got := complex(math.Log(cmplx.Abs(last)/cmplx.Abs(c0)), turned) / complex(f.t, 0)
			assert.LessOrEqual(t, cmplx.Abs(got-root), .01*cmplx.Abs(root), "%v m, %v m/s: flown %.4v, linear %.4v", tc.clearance, tc.r.Freestream().Speed, got, root)
			t.Logf("%v m, %v m/s: flown %.5v, linear %.5v", tc.clearance, tc.r.Freestream().Speed, got, root)
		}
	}
}

// still takes the air away from a flight, and the weight of a stiff line, which would hang
// from the craft.
func still(f *Flight) *Flight {
	f.half, f.slabs, f.line.Weight = 0, nil, 0
	return f
}

// energy returns the energy of a flight without air, J, in axes that move with the
// boat.
func energy(f *Flight) float64 {
	s := f.State()
	inertia, _ := f.body.pitch(f.position)
	du := s.Speed - f.speed
	e := f.body.mass*(s.ClimbRate*s.ClimbRate+du*du)/2 + inertia*s.PitchRate*s.PitchRate/2 + f.weight*f.y[0]
	if f.elastic { // without weight, for only then is its tension the same all along
		stretch := s.LineTension / f.stretches.stiffness * f.stretches.rest
		e += f.stretches.stiffness / f.stretches.rest * stretch * stretch / 2
	}
	turned := gecp.RotationAt(s.Pitch)
	for _, fl := range f.craft.Floats {
		_, z := turned.Level(fl.X-f.cgX-f.share*f.position, fl.Z-f.cgZ)
		if wet := -(f.y[0] + z); wet > 0 {
			e += f.spring * wet * wet / 2
		}
	}
	return e
}

// Without air nothing makes energy: falling, turning and pulling on the line keep
// it, the floats take some.
func TestNoEnergyIsMade(t *testing.T) {
	f := still(start(t, straightRun(t, 14), 1, Disturbance{}))
	f.spring, f.damping = 0, 0
	f.y[3] = .2
	e0 := energy(f)
	for range 20 {
		f.Step(.02, f.position)
		assert.InDelta(t, e0, energy(f), 1e-4)
	}

	f = still(start(t, stiffRun(t, 14), .25, Disturbance{}))
	last := energy(f)
	for range 100 {
		if !f.Step(.005, f.position) {
			f.end = End{} // the floats' blow is what is looked at
		}
		now := energy(f)
		require.LessOrEqual(t, now, last+1e-3)
		last = now
	}
	assert.Less(t, last, energy(start(t, stiffRun(t, 14), .25, Disturbance{}))-10)
	require.True(t, f.Touch().OK)
	assert.Positive(t, f.Touch().Sink)
}

// A pilot who slides kicks the craft round, but adds no turning momentum, and the
// common centre of gravity falls as it would.
func TestShiftingPilotKeepsMomentum(t *testing.T) {
	f := still(start(t, stiffRun(t, 14), 1, Disturbance{}))
	f.spring, f.damping = 0, 0
	f.y[3] = .1
	p := f.craft.Pilot
	momentum := func() float64 {
		inertia, _ := f.body.pitch(f.position)
		return inertia*f.State().PitchRate + f.body.kick*f.shift
	}
	l0, z0 := momentum(), f.y[0]
	turn := f.State().PitchRate
	f.Step(Tick, p.XAft)
	assert.NotEqual(t, turn, f.State().PitchRate)
	for range 20 {
		f.Step(Tick, p.XAft)
		assert.InDelta(t, l0, momentum(), 1e-7)
		assert.InDelta(t, z0-gecp.G*f.t*f.t/2, f.y[0], 1e-9)
	}
	assert.NotEqual(t, f.start.Pilot.X, f.position)
}

func TestPilotKeepsStopsAndSpeed(t *testing.T) {
	f := start(t, stiffRun(t, 14), .25, Disturbance{})
	p := f.craft.Pilot
	rng := rand.New(rand.NewPCG(5, 6))
	wild := []float64{-1e9, math.Inf(1), math.Inf(-1), 0, p.XForward, p.XAft, 99}
	last := f.State()
	for f.End().Cause == CauseNone && f.t < 30 {
		dt := .001 + .06*rng.Float64()
		f.Step(dt, wild[rng.IntN(len(wild))])
		now := f.State()
		require.GreaterOrEqual(t, now.Pilot, p.XForward)
		require.LessOrEqual(t, now.Pilot, p.XAft)
		require.LessOrEqual(t, math.Abs(now.Pilot-last.Pilot), p.MaxShift*(now.Time-last.Time)+1e-12)
		last = now
	}
	// At a stop it stays; a command of no meaning changes nothing.
	f = start(t, stiffRun(t, 14), .25, Disturbance{})
	was := *f
	assert.True(t, f.Step(.1, math.NaN()))
	assert.True(t, f.Step(-1, 1))
	assert.True(t, f.Step(math.NaN(), 1))
	assert.Equal(t, was.y, f.y)
	assert.Equal(t, was.t, f.t)
}

// A pilot with a delay does what they would have done to the upset a delay later,
// and not a tick sooner.
func TestDelayIsKept(t *testing.T) {
	r := stiffRun(t, 14)
	for _, delay := range []float64{0, .1, .34, .5, 1.2} {
		law, err := DesignPilotLaw(r, .25)
		require.NoError(t, err)
		law.Delay = delay
		const begins = .5
		f := start(t, r, .25, Disturbance{SpeedUp: SpeedUp{Start: begins, By: 1, Over: .5}})
		moved := math.NaN()
		for f.t < 3 && math.IsNaN(moved) {
			before := f.t
			f.Step(Tick, law.Position(f))
			if math.Abs(f.position-f.start.Pilot.X) > 1e-6 {
				moved = before
			}
		}
		// The first tick after the upset shows it, a delay later it is answered.
		assert.GreaterOrEqual(t, moved, begins+delay-1e-9, "delay %v", delay)
		assert.LessOrEqual(t, moved, begins+delay+2*Tick, "delay %v", delay)
	}

	f := start(t, r, .25, StandardSpeedUp())
	for f.t < 2.5 {
		f.Step(Tick, f.position)
	}
	now := f.StateBefore(0)
	assert.Equal(t, f.t, now.Time)
	for _, d := range []float64{.01, .333, 1.9} {
		s := f.StateBefore(d)
		assert.InDelta(t, f.t-d, s.Time, 1e-12)
		gain := math.Min(1, s.Time)
		assert.InDelta(t, 14+gain, s.Boat, 1e-9)
	}
	assert.Equal(t, f.begin[0], f.StateBefore(99).Height)
	assert.Equal(t, f.begin[0], start(t, r, .25, StandardSpeedUp()).StateBefore(.3).Height)
}

func TestFlightIsDeterminedAndKeepsItsSteps(t *testing.T) {
	r := elasticRun(t, 14)
	law, err := DesignPilotLaw(r, .3)
	require.NoError(t, err)
	law.Delay = .3
	fly := func(tol, dt float64, s Controller) state {
		f := start(t, r, .3, StandardSpeedUp())
		f.in.tol = [2]float64{tol, tol}
		for i := 0; f.t < 2-1e-9; i++ {
			require.True(t, f.Step(dt, s.Position(f)))
		}
		return f.y
	}
	assert.Equal(t, fly(1e-6, Tick, law), fly(1e-6, Tick, law))
	// Shorter pieces and a tighter tolerance change next to nothing.
	want := fly(1e-11, Tick/4, FixedPilot{})
	for _, dt := range []float64{1, .1, Tick, Tick / 2} {
		got := fly(1e-6, dt, FixedPilot{})
		for i := range got {
			assert.InDelta(t, want[i], got[i], 2e-5, "piece %v", dt)
		}
	}
	// So do halved ticks under a law; the pilot then decides twice as often.
	a, b := fly(1e-6, Tick, law), fly(1e-6, Tick/2, law)
	assert.InDelta(t, a[0], b[0], .01)
	assert.InDelta(t, a[2], b[2], .002)
}

func TestStepAllocatesNothing(t *testing.T) {
	r := elasticRun(t, 14)
	law, err := DesignPilotLaw(r, .3)
	require.NoError(t, err)
	f := start(t, r, .3, StandardSpeedUp())
	var last FlightState
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		f.Step(1./60, law.Position(f))
		last = f.State()
	}))
	assert.Positive(t, last.Time)
}

func TestFlightEndsInWords(t *testing.T) {
	f := start(t, stiffRun(t, 14), .3, StandardSpeedUp())
	o := f.Settle(FixedPilot{}, 3)
	require.Equal(t, CausePitchedUp, f.End().Cause)
	assert.Equal(t, fmt.Sprintf("pitched up past 14 degrees at %.1f m after %.1f s", f.End().Clearance, f.End().Time), o.String())
	was := f.State()
	assert.False(t, f.Step(.1, 1))
	assert.Equal(t, was, f.State())

	// A boat that slows down brings it down on its floats, gently or not.
	f = start(t, stiffRun(t, 14), .3, Disturbance{SpeedUp: SpeedUp{By: -.5, Over: 3}})
	o = f.Settle(FixedPilot{}, 3)
	assert.True(t, o.Afloat && o.Touch.OK && !o.Settled)
	assert.Contains(t, o.String(), "comes down onto its floats")
	assert.Contains(t, o.String(), "touched the water")
	law, err := DesignPilotLaw(stiffRun(t, 14), .8)
	require.NoError(t, err)
	law.PilotX = -9
	f = start(t, stiffRun(t, 14), .8, Disturbance{})
	o = f.Settle(law, 3)
	require.Equal(t, CauseFloatStruck, o.End.Cause, o)
	assert.Greater(t, o.End.Touch.Sink, HardTouch)
	assert.Contains(t, o.String(), "struck the water with float")

	for c, want := range map[Cause]string{CausePitchedDown: "pitched down past", CauseRoseOut: "rose past", CauseWingWet: "the wing \"front\"", CauseFloatStruck: "struck the water", CauseNoState: "found no further state", CauseNone: "still flying"} {
		assert.Contains(t, End{Cause: c, Wing: "front"}.String(), want)
	}
}

func TestFlightRefusals(t *testing.T) {
	r := stiffRun(t, 14)
	for what, run := range map[string]func() error{
		"float 1 is still": func() error { _, err := NewFlight(r, .06, Disturbance{}); return err },
		"out of reach":     func() error { _, err := NewFlight(stiffRun(t, 18), .3, Disturbance{}); return err },
		"outside the map":  func() error { _, err := NewFlight(r, 9, Disturbance{}); return err },
		"the gust upwards is 60 m/s; give a size of at most 50": func() error { _, err := NewFlight(r, .3, Disturbance{Gust: Gust{Up: 60, Gradient: 9}}); return err },
		"give a time above 0": func() error { _, err := NewFlight(r, .3, Disturbance{SpeedUp: SpeedUp{By: 1}}); return err },
		"line goes slack":     func() error { _, err := NewFlight(r, .3, Disturbance{SpeedUp: SpeedUp{By: -9, Over: 1}}); return err },
		"the craft file does not tell where": func() error {
			c := r.Craft()
			c.Pilot = nil
			m, err := r.Map().For(c)
			require.NoError(t, err)
			run, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: 11})
			require.NoError(t, err)
			_, err = NewFlight(run, .3, Disturbance{})
			return err
		},
	} {
		assert.ErrorContains(t, run(), what)
	}
}

// A gust from ahead and an updraught lift the craft; a swell of a kilometre lifts it
// with the water.
func TestGustAndWave(t *testing.T) {
	r := stiffRun(t, 15)
	for _, g := range []Gust{{Head: 1, Gradient: 10}, {Up: .3, Gradient: 10}} {
		f := start(t, r, .25, Disturbance{Gust: g})
		for f.t < 1.3 {
			f.Step(Tick, f.position)
		}
		assert.Greater(t, f.State().Clearance, .26, "%+v", g)
	}
	f := start(t, r, .25, Disturbance{Wave: Wave{Height: .3, Length: 1000}})
	var top float64
	for f.t < 25 {
		require.True(t, f.Step(Tick, f.start.Pilot.X))
		s := f.State()
		top = math.Max(top, s.Water)
		assert.InDelta(t, .25, s.Clearance, .02)
		assert.InDelta(t, s.Height-s.Water-f.start.Height, s.Clearance-.25, .02)
	}
	assert.InDelta(t, .3, top, .001)
}

func TestSchedule(t *testing.T) {
	r := stiffRun(t, 14)
	f := start(t, r, .25, Disturbance{})
	rec := Schedule{{1, 1.3}, {2, 1.4}}
	for at, want := range map[float64]float64{0: 1.3, 1: 1.3, 1.5: 1.35, 2: 1.4, 9: 1.4} {
		f.t = at
		assert.InDelta(t, want, rec.Position(f), 1e-12)
	}
	assert.Equal(t, f.start.Pilot.X, Schedule{}.Position(f))
}

// Whatever comes, the numbers stay numbers, and the flight ends or goes on.
func FuzzFlight(f *testing.F) {
	f.Add(1., 1., 0., 0., 30., 0., 100., uint64(1))
	f.Add(-4., 3., 15., -6., 5., 1.5, 60., uint64(2))
	f.Add(30., .1, -14., 9., .01, -2., 25., uint64(3))
	f.Add(-34., 46., -50., 50., 5., 1.5, 334., uint64(2))
	f.Add(-34., 126., -8040., 326., 5., 1.5, 334., uint64(2))
	f.Fuzz(func(t *testing.T, by, over, head, up, gradient, wave, length float64, seed uint64) {
		r := elasticRun(t, 14)
		fl, err := NewFlight(r, .3, Disturbance{SpeedUp{0, by, over}, Gust{.2, head, up, gradient}, Wave{.1, wave, length}})
		if err != nil {
			return
		}
		rng := rand.New(rand.NewPCG(seed, 1))
		for range 200 {
			fl.Step(.05, 3*rng.Float64())
			s := fl.State()
			for _, v := range []float64{s.Clearance, s.Height, s.Pitch, s.ClimbRate, s.PitchRate, s.Speed, s.LineTension, s.Pilot, s.Water} {
				require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v after %v", s, fl.End())
			}
		}
		assert.NotEqual(t, CauseNoState, fl.End().Cause)
	})
}
