package motion

import (
	"context"
	"math"
	"math/cmplx"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// flightMap is the demo craft's map for flights, built once for all tests. With straight
// wakes it holds itself higher up, so that there are more kinds of flight to look at.
var flightMap = sync.OnceValue(func() *gecp.Map {
	m, err := gecp.NewModel(gecp.Demo(), gecp.Mesh{})
	if err != nil {
		panic(err)
	}
	mp, err := m.WithWake(gecp.WakeStraight).BuildMap(context.Background(), gecp.MapOptions{})
	if err != nil {
		panic(err)
	}
	return mp
})

// stiffRun is the demo craft at a speed on a line without stretch.
func stiffRun(t testing.TB, speed float64) tow.SteadyTow {
	c := flightMap().Model().Craft()
	c.Tow.LineStiffness = 0
	m, err := flightMap().For(c)
	require.NoError(t, err)
	r, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: speed})
	require.NoError(t, err)
	return r
}

// straightRun is the demo craft on an elastic line without weight.
func straightRun(t testing.TB, speed float64) tow.SteadyTow {
	c := flightMap().Model().Craft()
	c.Tow.LineMass = new(float64)
	m, err := flightMap().For(c)
	require.NoError(t, err)
	r, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: speed})
	require.NoError(t, err)
	return r
}

func elasticRun(t testing.TB, speed float64) tow.SteadyTow {
	r, err := tow.NewSteadyTow(flightMap(), gecp.Freestream{Speed: speed})
	require.NoError(t, err)
	return r
}

// roots returns all roots of the modes, pairs twice.
func roots(t testing.TB, l LongitudinalModel) []complex128 {
	m, err := l.Modes()
	require.NoError(t, err)
	var r []complex128
	for _, v := range m {
		r = append(r, v.Root)
		if imag(v.Root) != 0 {
			r = append(r, cmplx.Conj(v.Root))
		}
	}
	return r
}

// hasRoot asserts that one of the roots lies within tol of the value wanted.
func hasRoot(t testing.TB, got []complex128, want complex128, tol float64) {
	best := math.Inf(1)
	for _, r := range got {
		best = math.Min(best, cmplx.Abs(r-want))
	}
	assert.LessOrEqual(t, best, tol, "a root at %.5v among %.5v", want, got)
}

// Without damping the characteristic equation is biquadratic,
// (p - A)(p - D) - B C = 0 with p = root^2, and its roots are known.
func TestModesOfABiquadraticEquation(t *testing.T) {
	const mass, inertia, cross = 150., 300., 20.
	for _, tc := range []struct {
		name       string
		a, b, c, d float64 // accelerations up by height and pitch, turning by height and pitch
	}{
		{"two springs", -9, 0, 0, -25},
		{"coupled springs", -9, 2, 3, -25},
		{"runs away in pitch", -9, 1, 1, 4},
		{"runs away in height", 2, 0, 1, -16},
		{"flutters", -10, 6, -6, -12},
	} {
		t.Run(tc.name, func(t *testing.T) {
			l := LongitudinalModel{Mass: mass, Inertia: inertia, Cross: cross}
			l.Up.Height, l.NoseUp.Height = mass*tc.a+cross*tc.c, cross*tc.a+inertia*tc.c
			l.Up.Pitch, l.NoseUp.Pitch = mass*tc.b+cross*tc.d, cross*tc.b+inertia*tc.d
			half := complex((tc.a+tc.d)/2, 0)
			root := cmplx.Sqrt(half*half - complex(tc.a*tc.d-tc.b*tc.c, 0))
			got := roots(t, l)
			require.Len(t, got, 4)
			for _, p := range []complex128{half + root, half - root} {
				s := cmplx.Sqrt(p)
				hasRoot(t, got, s, 1e-10)
				hasRoot(t, got, -s, 1e-10)
			}
		})
	}
}

// Two aeroplanes whose system matrices and roots textbooks print, all from memory:
// the Navion (Nelson, Flight Stability and Automatic Control, 2nd ed., example 4.3)
// and the Boeing 747 cruising at 40,000 ft (Etkin and Reid, Dynamics of Flight, 3rd
// ed., sec. 6.2). The matrices are for body axes with forward and downward speed;
// carried over to the axes of the water the roots must be the same.
func TestModesOfPublishedAeroplanes(t *testing.T) {
	for _, tc := range []struct {
		name               string
		xu, xw, zu, zw     float64
		mu, mw, mq, u0     float64 // those of the moment with the share of w' in them
		short, phugoid     complex128
		shortTol, phugoTol float64
	}{
		{"Navion", -.045, .036, -.369, -2.02, .0019, -.0396, -2.948, 176,
			-2.5 + 2.59i, -.0171 + .213i, .02, .002},
		{"Boeing 747", -.006868, .01395, -.09055, -.3151, .0001187, -.001026, -.4285, 773.98,
			-.3719 + .8875i, -.003289 + .06723i, .0002, .00002},
	} {
		t.Run(tc.name, func(t *testing.T) {
			const g = 32.2 // ft/s2
			l := LongitudinalModel{
				Mass: 1, Inertia: 1, SurgeMass: 1, Surge: true,
				// w = u0 pitch - climb, and climb' = u0 turn - w'
				Up:      StabilityDerivatives{ClimbRate: tc.zw, Pitch: -tc.zw * tc.u0, Speed: -tc.zu},
				NoseUp:  StabilityDerivatives{ClimbRate: -tc.mw, Pitch: tc.mw * tc.u0, PitchRate: tc.mq, Speed: tc.mu},
				Forward: StabilityDerivatives{ClimbRate: -tc.xw, Pitch: tc.xw*tc.u0 - g, Speed: tc.xu},
			}
			got := roots(t, l)
			require.Len(t, got, 6)
			t.Logf("%s: roots %.4v", tc.name, got)
			hasRoot(t, got, tc.short, tc.shortTol)
			hasRoot(t, got, tc.phugoid, tc.phugoTol)
			hasRoot(t, got, 0, 1e-6) // nothing depends on height, or on the gap
		})
	}
}

func TestModeWords(t *testing.T) {
	for want, root := range map[string]complex128{
		"runs away, doubling in 0.69 s":                                       1,
		"dies away, halving in 6.9 s":                                         -.1,
		"neutral: stays as it is put":                                         0,
		"swings with a period of 3.1 s, growing twofold in 1.4 s":             .5 + 2i,
		"swings with a period of 0.63 s, halving in 0.35 s":                   -2 + 10i,
		"swings with a period of 6.3 s, neither growing nor dying away":       1i,
		"swings with a period of more than 100 s, halving in more than 100 s": -.001 + .01i,
	} {
		assert.Equal(t, want, Mode{Root: root}.String())
	}
	_, err := LongitudinalModel{}.Modes()
	assert.ErrorContains(t, err, "masses above 0")
	_, err = LongitudinalModel{Mass: 1, Inertia: 1, Up: StabilityDerivatives{Pitch: math.NaN()}}.Modes()
	assert.Error(t, err)
}

// The motion about the centre of gravity against the forces about the datum, carried
// over by hand. With the height H of the centre of gravity held, a turn lifts the
// datum by gx; moments about it are those about the datum plus gx times the force up
// less gz times the force aft; the datum climbs with the craft and by gx times the
// turning speed.
func TestLinearMotionMovesTheReferencePoint(t *testing.T) {
	for _, speed := range []float64{14, 16} {
		r := stiffRun(t, speed)
		for _, clearance := range []float64{.12, .3, .8} {
			b, err := r.Trim(clearance)
			require.NoError(t, err)
			got, err := Linearize(r, clearance)
			require.NoError(t, err)
			p, err := r.Map().At(clearance, b.Pitch)
			require.NoError(t, err)
			rates := r.Map().UnsteadyAt(r.Map().Model().LowestPoints().HeightFor(clearance, b.Pitch), b.Pitch)
			f := sumForces(t, r, p.Height, b.Pitch)
			craft := r.Craft()
			level := gecp.RotationAt(b.Pitch)
			_, cgZ := r.CG(b.Pilot.X)
			gx, gz := level.Level(b.CG, cgZ)
			tx, tz := level.Level(craft.Tow.X, craft.Tow.Z)
			_, tan, _ := r.Line().Up(b.Drag(), craft.Tow.BoatHeight-b.Height-tz) // what more drag lifts by
			h := r.Freestream().DynamicPressure() / speed
			up := func(a gecp.LoadsPerQ) float64 { return a.Lift + tan*a.Drag }
			moment := func(a gecp.LoadsPerQ) float64 {
				return a.Moment + gx*a.Lift - gz*a.Drag - (tz-gz)*a.Drag - (tx-gx)*tan*a.Drag
			}
			turn := gecp.LoadsPerQ{
				Lift:   rates.ByPitchRate.Lift + gx*rates.ByHeaveRate.Lift,
				Drag:   rates.ByPitchRate.Drag + gx*rates.ByHeaveRate.Drag,
				Moment: rates.ByPitchRate.Moment + gx*rates.ByHeaveRate.Moment,
			}
			air := gecp.AirDensity * math.Pi / 4
			var airMass, airMoment, airInertia float64 // rectangular wings, one slab each
			for _, w := range craft.Shape().Wings {
				var i int
				for i = range craft.Wings {
					if craft.Wings[i].Name == w.Name {
						break
					}
				}
				wing := &craft.Wings[i]
				ws, wc := math.Sincos(wing.IncidenceDeg * math.Pi / 180)
				mean := wing.Stations[0].Chord
				y := (&gecp.Wing{Stations: wing.Stations, Camber: wing.Camber}).Sections()[0].Point(.5)
				x, z := wing.X+y.X*wc+y.Z*ws, wing.Z+y.Z*wc-y.X*ws
				x, z = level.Level(x, z)
				x, z = x-gx, b.Height+z
				m := air * w.Area * mean * finiteSpan(w.AspectRatio) * nearSurface(z/mean)
				airMass += m
				airMoment += m * x
				airInertia += m*x*x + m*mean*mean/32
			}
			in := InertiaOf(craft, b.Pilot.X)
			near := func(want, got float64, what string) {
				t.Helper()
				assert.InDelta(t, want, got, 2e-4*(math.Abs(want)+math.Abs(got))+1e-3, "%s at %v m/s and %v m", what, speed, clearance)
			}
			near(in.Mass+airMass, got.Mass, "mass")
			near(-airMoment, got.Cross, "cross")
			near(in.Pitch+airInertia, got.Inertia, "inertia")
			near(f.upByHeight, got.Up.Height, "up by height")
			near(f.upByPitch+gx*f.upByHeight, got.Up.Pitch, "up by pitch")
			near(f.momentByHeight+gx*f.upByHeight, got.NoseUp.Height, "moment by height")
			near(f.momentByPitch+gx*f.momentByHeight+gz*r.Weight()+gx*(f.upByPitch+gx*f.upByHeight), got.NoseUp.Pitch, "moment by pitch")
			near(h*up(rates.ByHeaveRate), got.Up.ClimbRate, "up by climb")
			near(h*moment(rates.ByHeaveRate), got.NoseUp.ClimbRate, "moment by climb")
			near(h*up(turn)+airMass*speed, got.Up.PitchRate, "up by turn")
			near(h*moment(turn)-airMoment*speed, got.NoseUp.PitchRate, "moment by turn")
		}
	}
}

// forces are up, N, and the moment about the datum, Nm, of all but the weight's, with
// their derivatives with height and pitch.
type forces struct {
	upByHeight, upByPitch, momentByHeight, momentByPitch float64
}

// sumForces adds up the forces on a craft in tow from the map and the craft file, and
// takes differences of the sums.
func sumForces(t *testing.T, r tow.SteadyTow, height, pitch float64) forces {
	line, q := r.Craft().Tow, r.Freestream().DynamicPressure()
	sum := func(height, pitch float64) (up, moment float64) {
		p, err := r.Map().AtHeight(height, pitch)
		require.NoError(t, err)
		level := gecp.RotationAt(pitch)
		moment = q * p.Moment
		drag := q * p.Drag
		for _, d := range []gecp.Drag{r.FrictionDrag(), r.ParasiteDrag()} {
			_, z := level.Level(d.X, d.Z)
			drag += d.Force
			moment += z * d.Force
		}
		x, z := level.Level(line.X, line.Z)
		// The catenary's slope at the craft.
		k := line.LineWeight() * math.Sqrt(line.Line*line.Line-math.Pow(line.BoatHeight-height-z, 2)) / (2 * drag)
		lift := drag * math.Sinh(math.Atanh((line.BoatHeight-height-z)/line.Line)-math.Asinh(k))
		return q*p.Lift + lift, moment - z*drag - x*lift
	}
	const d = 1e-5
	slope := func(dh, dp float64) (up, moment float64) {
		u1, m1 := sum(height+dh, pitch+dp)
		u0, m0 := sum(height-dh, pitch-dp)
		return (u1 - u0) / (2 * d), (m1 - m0) / (2 * d)
	}
	var f forces
	f.upByHeight, f.momentByHeight = slope(d, 0)
	f.upByPitch, f.momentByPitch = slope(0, d)
	return f
}

// Irodov's criterion is the statics of these motions: where the craft ceases to
// hold its height, a root passes through zero, and not elsewhere.
func TestRootPassesZeroAtTheSelfHoldingCeiling(t *testing.T) {
	for _, speed := range []float64{14, 15, 16} {
		r := stiffRun(t, speed)
		c, err := r.TrimCurve()
		require.NoError(t, err)
		top := c.SelfHolding()
		require.True(t, top.OK)
		first := func(clearance float64) float64 {
			m, err := ModesAt(r, clearance)
			require.NoError(t, err)
			return real(m[0].Root)
		}
		assert.InDelta(t, 0, first(top.Clearance), 2e-3, "at %v m/s and %v m", speed, top.Clearance)
		assert.Negative(t, first(top.Clearance-.03))
		assert.Positive(t, first(top.Clearance+.03))
		t.Logf("at %v m/s the craft holds its height up to %.3f m; half a metre above the fastest root doubles in %.2f s", speed, top.Clearance, math.Ln2/first(top.Clearance+.5))
	}
}

func TestRootsLeaveOutWhatCannotFly(t *testing.T) {
	r := elasticRun(t, 14)
	got := RootsAlong(r, []float64{.1, .5, 1, 50})
	require.Len(t, got, 3)
	for _, at := range got {
		n := 0
		for i, m := range at.Modes {
			n++
			if imag(m.Root) != 0 {
				n++
			}
			if i > 0 {
				assert.LessOrEqual(t, real(m.Root), real(at.Modes[i-1].Root))
			}
			assert.False(t, math.IsNaN(m.Heave) || math.IsNaN(m.Surge))
		}
		assert.Equal(t, 6, n, "heave, pitch and surge")
	}
	_, err := ModesAt(r, 50)
	assert.Error(t, err)
}
