package tow

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/internal/readymaps"
)

// randomRun returns one of the maps with its weights, pilot, line and speed varied.
// The pilot's travel stays as wide as the craft's.
func randomRun(t *testing.T, rng *rand.Rand, m *gecp.Map) SteadyTow {
	c := m.Model().Craft()
	vary := func(v, by float64) float64 { return v + by*(2*rng.Float64()-1) }
	pilot, tow := *c.Pilot, *c.Tow
	pilot.Mass = vary(pilot.Mass, 20)
	shift := vary(0, .4)
	pilot.XForward += shift
	pilot.XAft += shift
	pilot.Z = vary(pilot.Z, .3)
	tow.X, tow.Z = vary(tow.X, .3), vary(tow.Z, .2)
	tow.BoatHeight, tow.Line = 2*rng.Float64(), 15+40*rng.Float64()
	tow.LineMass = lineMass(max(0, .2*rng.Float64()-.05))
	c.Pilot, c.Tow = &pilot, &tow
	c.Weights = append([]gecp.Weight(nil), c.Weights...)
	for i := range c.Weights {
		w := &c.Weights[i]
		w.Mass *= .7 + .6*rng.Float64()
		w.X, w.Z = vary(w.X, .3), vary(w.Z, .2)
	}
	c.ParasiteArea = .6 * rng.Float64()
	n, err := m.For(c)
	require.NoError(t, err)
	r, err := NewSteadyTow(n, gecp.Freestream{Speed: 11 + 13*rng.Float64(), Density: 1.1 + .2*rng.Float64()})
	require.NoError(t, err)
	return r
}

// randomBalance returns a random state of a random craft that carries its weight.
func randomBalance(t *testing.T, rng *rand.Rand) (SteadyTow, Trim) {
	for {
		m := anyMap(rng)
		r := randomRun(t, rng, m)
		lo, hi := m.Range().ClearanceMin, m.Range().ClearanceMax
		b, err := r.Trim(lo + (hi-lo)*math.Pow(rng.Float64(), 2))
		if errors.Is(err, ErrTooSlow) || errors.Is(err, ErrTooFast) {
			continue
		}
		require.NoError(t, err)
		return r, b
	}
}

// All forces and all moments about the centre of gravity, from the figures that a
// Balance tells and the craft file.
func TestBalanceOfForcesAndMoments(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 300 {
		r, b := randomBalance(t, rng)
		c := r.craft
		weight := c.Mass() * gecp.G
		up, ahead := b.LineTension*math.Sin(b.LineAngle), b.LineTension*math.Cos(b.LineAngle)
		assert.InDelta(t, weight, b.Lift+up, 1e-8*weight, "upward forces")
		assert.InDelta(t, b.Drag(), ahead, 1e-9*weight, "lengthwise forces")

		// Places over the water, lengthwise from the datum.
		at := func(x, z float64) (float64, float64) { return gecp.ToWaterAxes(x, z, b.Height, b.Pitch) }
		cgX, cgZ := c.CG(b.Pilot.X)
		assert.InDelta(t, b.CG, cgX, 1e-9)
		gx, gz := at(cgX, cgZ)
		moment, turned := 0., 0.
		add := func(x, z, aft, up float64) { // of a force at a place of the craft, nose-up
			px, pz := at(x, z)
			m := (pz-gz)*aft - (px-gx)*up
			moment += m
			turned += math.Abs(m)
		}
		add(b.CP, 0, b.InducedDrag, b.Lift)
		middleX, middleZ := c.CG((c.Pilot.XForward + c.Pilot.XAft) / 2)
		add(middleX, middleZ, b.ParasiteDrag, 0)
		s := c.Shape()
		var fx, fz float64
		for i, w := range s.Wings {
			fx += w.Area / s.Area * (w.MACX + w.MAC/2)
			fz += w.Area / s.Area * c.Wings[i].Z
		}
		add(fx, fz, b.FrictionDrag, 0)
		add(c.Tow.X, c.Tow.Z, -ahead, up)
		assert.InDelta(t, 0, moment, 1e-8*math.Max(turned, weight), "moments about the centre of gravity")

		// The line hangs from the tow point to the boat: of its length and weight follow the
		// angles at its ends and the height between them.
		_, tz := at(c.Tow.X, c.Tow.Z)
		line := r.LineAt(b)
		w := *c.Tow.LineMass * gecp.G
		assert.InDelta(t, w*c.Tow.Line, line.BoatTension*math.Sin(line.BoatAngle)-up, 1e-9*weight, "the line's weight")
		assert.InDelta(t, w*(c.Tow.BoatHeight-tz), line.BoatTension-b.LineTension, 1e-9*weight, "the tension grows by the weight of the height")
		if w == 0 {
			assert.InDelta(t, c.Tow.BoatHeight, tz+c.Tow.Line*math.Sin(b.LineAngle), 1e-9)
		}
	}
}

// The derivatives of all forces against central differences.
func TestForceDerivatives(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for range 300 {
		r, b := randomBalance(t, rng)
		at := func(height, pitch float64) forces {
			f, err := r.at(at2(t, r.m, height, pitch))
			require.NoError(t, err)
			return f
		}
		const d = 1e-5
		if kinkNear(r, b.Pitch, 2*d) || b.Clearance < r.bounds.ClearanceMin+1e-4 || b.Clearance > r.bounds.ClearanceMax-1e-4 {
			continue
		}
		f := at(b.Height, b.Pitch)
		h1, h0 := at(b.Height+d, b.Pitch), at(b.Height-d, b.Pitch)
		p1, p0 := at(b.Height, b.Pitch+d), at(b.Height, b.Pitch-d)
		near := func(got, plus, minus, scale float64, what string) {
			assert.InDelta(t, (plus-minus)/(2*d), got, 1e-5*(math.Abs(got)+scale), what)
		}
		near(f.upByHeight, h1.up, h0.up, r.weight, "upward force by height")
		near(f.upByPitch, p1.up, p0.up, r.weight, "upward force by pitch")
		near(f.momentByHeight, h1.moment, h0.moment, r.weight, "moment by height")
		near(f.momentByPitch, p1.moment, p0.moment, r.weight, "moment by pitch")
	}
}

// Along is Balance, asked for many clearances.
func TestAlongIsBalance(t *testing.T) {
	for name, m := range readymaps.All() {
		lo, hi := m.Range().ClearanceMin, m.Range().ClearanceMax
		even := make([]float64, 30)
		for i := range even {
			even[i] = lo + (hi-lo)*float64(i)/29
		}
		for what, places := range map[string][]float64{
			"even steps": even, "one": {.3}, "none": nil, "the same again": {.3, .3, .3, .3},
			"to and fro, and out of range": {hi, lo, hi + 1, .2, -1, math.NaN(), .25, lo, hi},
		} {
			for _, speed := range []float64{4, 8, 9, 10, 11, 12, 14, 18, 25, 40, 60} {
				r, err := NewSteadyTow(m, gecp.Freestream{Speed: speed})
				require.NoError(t, err)
				i := 0
				for b, err := range r.TrimAlong(places) {
					want, wantErr := r.Trim(places[i])
					at := fmt.Sprintf("%s, %s, %v m/s, %v m", name, what, speed, places[i])
					i++
					if wantErr != nil {
						assert.Equal(t, fmt.Sprint(wantErr), fmt.Sprint(err), at)
						assert.Zero(t, b, at)
						continue
					}
					require.NoError(t, err, at)
					assert.Equal(t, want.Clearance, b.Clearance, at)
					assert.InDelta(t, want.Pitch, b.Pitch, 1e-9, at)
					assert.InDelta(t, want.CG, b.CG, 1e-8, at)
					assert.InEpsilon(t, want.Lift, b.Lift, 1e-9, at)
					assert.Equal(t, want.HeightStable, b.HeightStable, at)
				}
				assert.Len(t, places, i)
			}
		}
	}
}

// at2 returns the map's point at a height of the datum.
func at2(t *testing.T, m *gecp.Map, height, pitch float64) gecp.MapPoint {
	p, err := m.AtHeight(height, pitch)
	require.NoError(t, err)
	return p
}

// kinkNear reports whether the lowest point jumps within d of the pitch.
func kinkNear(r SteadyTow, pitch, d float64) bool {
	low := r.m.Model().LowestPoints()
	return math.Abs(low.At(pitch-d).X-low.At(pitch+d).X) > .05
}

// Irodov's criterion against the slope of the balanced curve itself, taken by
// differences. Where the upward force falls with height and rises with pitch, the
// height neutral point lies ahead of the pitch neutral point exactly where the
// needed centre of gravity moves aft as the craft rises.
func TestIrodov(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	cases, stable, worst := 0, 0, 0.
	for cases < 1000 {
		r, b := randomBalance(t, rng)
		_, f, err := r.carry(b.Clearance, 0)
		require.NoError(t, err)
		if f.upByHeight >= 0 || f.upByPitch <= 0 {
			continue
		}
		const d = 1e-4
		up, err := r.Trim(b.Clearance + d)
		if err != nil {
			continue // at the edge of the map
		}
		down, err := r.Trim(b.Clearance - d)
		if err != nil {
			continue
		}
		if kinkNear(r, b.Pitch, math.Abs(up.Pitch-down.Pitch)) {
			continue
		}
		slope := (up.CG - down.CG) / (up.Height - down.Height)
		worst = math.Max(worst, math.Abs(slope-b.RequiredCGSlope)/(math.Abs(b.RequiredCGSlope)+.05))
		if math.Abs(slope) < 1e-3 { // level within the differences' own error
			continue
		}
		cases++
		margin := b.HeightNeutral.Ahead(b.PitchNeutral)
		require.True(t, margin.OK)
		assert.Equal(t, slope > 0, b.RequiredCGSlope > 0, "%+v", b)
		assert.Equal(t, slope > 0, margin.X > 0, "%+v", b)
		if slope > 0 {
			stable++
		}
		if b.HeightStable {
			assert.Positive(t, slope)
		}
	}
	t.Logf("%d cases, %d with the needed place moving aft; slope within %.1e of the differences", cases, stable, worst)
	assert.Less(t, worst, 2e-3)
	assert.Greater(t, stable, 100)
	assert.Greater(t, cases-stable, 100)
}

// A wing of constant lift slope 40 m2/rad whose lift acts 0.5 m aft of the datum at
// every height, 100 kg, 20 m/s in air of 1.25 kg/m3, so that q is 250 Pa: it
// flies at 980.665/(250 40) = 0.0980665 rad. Without drag nothing pulls in the
// line, and the centre of gravity, on the datum line, must lie under the lift:
// CG cos = 0.5. The pilot, half of the mass, is as far ahead of it as the 50 kg
// at 1 m are behind.
func TestBalanceByHand(t *testing.T) {
	m := handMap(t, handCraft(), 40, 0, .5, .5)
	r, err := NewSteadyTow(m, gecp.Freestream{Speed: 20, Density: 1.25})
	require.NoError(t, err)
	r.friction = gecp.Drag{}
	const pitch = .0980665
	for _, clearance := range []float64{.1, .3, 1, 2} {
		b, err := r.Trim(clearance)
		require.NoError(t, err)
		assert.InDelta(t, pitch, b.Pitch, 1e-9)
		assert.InDelta(t, 980.665, b.Lift, 1e-6)
		assert.Zero(t, b.LineTension)
		assert.InDelta(t, clearance+2*math.Sin(pitch), b.Height, 1e-9, "the trailing edge hangs lowest")
		assert.InDelta(t, .5/math.Cos(pitch), b.CP, 1e-9)
		assert.InDelta(t, .5/math.Cos(pitch), b.CG, 1e-9)
		assert.InDelta(t, 2*b.CG-1, b.Pilot.X, 1e-9)
		assert.InDelta(t, b.Pilot.X-.2, b.TravelMargin, 1e-9, "the forward stop is nearer")
		assert.InDelta(t, 0, b.RequiredCGSlope, 1e-9, "the lift does not change with height")
	}

	// 20 N of drag at the centre of gravity, pulled from 1 m over the datum's height
	// by a line of 20 m: the line lifts tan(asin 1/20) 20 N.
	c := handCraft()
	c.ParasiteArea, c.Tow.BoatHeight = .08, 1.5+1
	m = handMap(t, c, 40, 0, .5, .5)
	r, err = NewSteadyTow(m, gecp.Freestream{Speed: 20, Density: 1.25})
	require.NoError(t, err)
	r.friction = gecp.Drag{}
	up := 20 * math.Tan(math.Asin(1./20))
	tilt := (980.665 - up) / 1e4
	b, err := r.Trim(1.5 - 2*math.Sin(tilt)) // so that the datum is 1.5 m up
	require.NoError(t, err)
	assert.InDelta(t, tilt, b.Pitch, 1e-9)
	assert.InDelta(t, 1.5, b.Height, 1e-9)
	assert.InDelta(t, 20/math.Cos(math.Asin(.05)), b.LineTension, 1e-9)
	assert.InDelta(t, math.Asin(.05), b.LineAngle, 1e-9)
	// About the datum: the weight down at X, the lift at 0.5, the drag aft at its place
	// z over the datum, which is that of the pilot in the middle, 0.75 m aft, on the
	// datum line: z = -0.75 sin. The line pulls at the datum itself.
	x := ((980.665-up)*.5 + .75*math.Sin(tilt)*20) / 980.665
	assert.InDelta(t, x/math.Cos(tilt), b.CG, 1e-9)
}

// Lift that acts at x_a as the pitch changes and at x_h as the height does: the
// neutral points are told as they were put in, and the craft is height-stable just
// where x_h lies ahead.
func TestNeutralPointsByHand(t *testing.T) {
	for _, c := range []struct {
		name   string
		xa, xh float64
		stable bool
	}{
		{"height ahead of pitch", .9, .4, true},
		{"just ahead", .9, .85, true},
		{"pitch ahead of height", .4, .9, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			craft := handCraft()
			m := handMap(t, craft, 40, .6, c.xa, c.xh)
			r, err := NewSteadyTow(m, gecp.Freestream{Speed: 20, Density: 1.25})
			require.NoError(t, err)
			r.friction = gecp.Drag{}
			b, err := r.Trim(.4)
			require.NoError(t, err)
			assert.InDelta(t, c.xh, b.HeightNeutral.X, 1e-9)
			// With the datum's height held, a nose-up turn lowers the trailing edge, the
			// lowest point, by 2 cos a radian, and so adds lift at x_h; and the weight, on
			// the datum line, swings: a moment of -W CG sin.
			byHeight := -.6 * 2 / math.Log(2.1/.2) / (.4 + .1)
			lower := -byHeight * 2 * math.Cos(b.Pitch)
			want := (c.xa*40 + c.xh*lower + 980.665/250*b.CG*math.Sin(b.Pitch)) / (40 + lower)
			assert.InDelta(t, want, b.PitchNeutral.X, 1e-9)
			assert.Equal(t, c.stable, b.RequiredCGSlope > 0)
			assert.Equal(t, c.stable, b.HeightStable)
		})
	}
}

func TestBalanceRefuses(t *testing.T) {
	m := readymaps.All()["reedling-tandem"]
	lo, hi := m.Range().ClearanceMin, m.Range().ClearanceMax
	run := func(speed float64, change func(*gecp.Craft)) (SteadyTow, error) {
		c := m.Model().Craft()
		if change != nil {
			change(c)
		}
		n, err := m.For(c)
		require.NoError(t, err)
		return NewSteadyTow(n, gecp.Freestream{Speed: speed})
	}
	r, err := run(14, nil)
	require.NoError(t, err)
	for _, clearance := range []float64{lo / 2, hi + .1, -1, math.NaN(), math.Inf(1)} {
		_, err := r.Trim(clearance)
		var out *gecp.RangeError
		require.ErrorAs(t, err, &out, "%v", clearance)
		assert.Equal(t, "clearance", out.What)
	}
	r, err = run(5, nil)
	require.NoError(t, err)
	_, err = r.Trim(.3)
	assert.ErrorIs(t, err, ErrTooSlow)
	_, err = r.TrimCurve()
	assert.ErrorIs(t, err, ErrTooSlow)
	steep, err := m.Model().BuildMap(t.Context(), gecp.MapOptions{PitchMin: gecp.Radians(2), PitchMax: gecp.Radians(12)})
	require.NoError(t, err)
	r, err = NewSteadyTow(steep, gecp.Freestream{Speed: 60})
	require.NoError(t, err)
	_, err = r.Trim(.3)
	assert.ErrorIs(t, err, ErrTooFast)
	r, err = run(14, func(c *gecp.Craft) { c.Tow = &gecp.Tow{Line: 1, BoatHeight: 0, BoatLength: 5} })
	require.NoError(t, err)
	_, err = r.Trim(1.5)
	assert.ErrorIs(t, err, ErrLineShort)

	for _, speed := range []float64{0, -3, math.NaN(), math.Inf(1), 101} {
		_, err := run(speed, nil)
		assert.ErrorContains(t, err, "m/s", "%v", speed)
	}
	for part, change := range map[string]func(*gecp.Craft){
		"weights": func(c *gecp.Craft) { c.Weights = nil },
		"tow":     func(c *gecp.Craft) { c.Tow = nil },
	} {
		_, err := run(14, change)
		var p gecp.Problems
		require.ErrorAs(t, err, &p, part)
		assert.Equal(t, part, p[0].Path)
	}
}

// A craft without a pilot balances by its centre of gravity alone.
func TestBalanceWithoutPilot(t *testing.T) {
	m := readymaps.All()["reedling-tandem"]
	c := m.Model().Craft()
	c.Pilot = nil
	c.Weights = append([]gecp.Weight{{Name: "ballast", Mass: m.Model().Craft().Pilot.Mass, X: 1.2, Z: .5}}, c.Weights...)
	n, err := m.For(c)
	require.NoError(t, err)
	r, err := NewSteadyTow(n, gecp.Freestream{Speed: 14})
	require.NoError(t, err)
	b, err := r.Trim(.3)
	require.NoError(t, err)
	assert.False(t, b.Pilot.OK)
	assert.Zero(t, b.TravelMargin)
	assert.Equal(t, "the craft has no pilot to move", b.Reach(c.Pilot))
	k, err := r.TrimCurve()
	require.NoError(t, err)
	_, err = k.Equilibria(1)
	assert.ErrorContains(t, err, "pilot")
	_, err = k.Reach()
	assert.ErrorContains(t, err, "pilot")
	_, err = k.Travel(.2, .4)
	assert.ErrorContains(t, err, "pilot")
	_, err = NewFolds(t.Context(), n, 0, Speeds{10, 20})
	assert.ErrorContains(t, err, "pilot")
}

// With the pilot's place in reach or out of it the words say by how much.
func TestReachInWords(t *testing.T) {
	p := &gecp.Pilot{XForward: 1, XAft: 1.6}
	at := func(x float64) Trim { return Trim{Pilot: gecp.Position{X: x, OK: true}} }
	assert.Equal(t, "within reach: 0.25 m of travel left forward, 0.35 m aft", at(1.25).Reach(p))
	assert.Equal(t, "out of reach: the pilot would have to be 0.10 m further forward than the craft lets them", at(.9).Reach(p))
	assert.Equal(t, "out of reach: the pilot would have to be 0.20 m further aft than the craft lets them", at(1.8).Reach(p))
	assert.Equal(t, "within reach: 0.00 m of travel left forward, 0.60 m aft", at(1).Reach(p), "a stop is within reach")
	assert.Equal(t, "within reach: 0.60 m of travel left forward, 0.00 m aft", at(1.6).Reach(p))
}

// No figure of any state is NaN or infinite.
func TestBalanceFinite(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 1))
	for range 500 {
		_, b := randomBalance(t, rng)
		for i, v := range []float64{b.Clearance, b.Height, b.Pitch, b.Lift, b.InducedDrag, b.FrictionDrag, b.ParasiteDrag, b.LineTension, b.LineAngle, b.CP, b.CG, b.Pilot.X, b.TravelMargin, b.PitchNeutral.X, b.HeightNeutral.X, b.RequiredCGSlope, b.LiftOverDrag()} {
			assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "figure %d of %+v", i, b)
		}
		assert.Positive(t, b.LineTension)
		assert.Positive(t, b.FrictionDrag)
	}
}

// A lattice cannot tell an induced drag below zero from one that cannot be.
func TestDragPossible(t *testing.T) {
	for _, c := range []struct {
		lift, drag float64
		want       bool
	}{
		{1000, 5, true}, {1000, 0, true}, {1000, -.9, true}, {1000, -1.1, false}, {-1000, -.9, true}, {-1000, -1.1, false}, {0, -.1, false},
	} {
		assert.Equal(t, c.want, gecp.LoadsPerQ{Lift: c.lift, Drag: c.drag}.DragPossible(), "%v", c)
	}
	// On a mesh that is too coarse for a wing that flies nose-down close to the water.
	mo, err := gecp.NewModel(crafts.All()[0].Craft, gecp.Mesh{Rows: 3, Strips: 5})
	require.NoError(t, err)
	m, err := mo.BuildMap(t.Context(), gecp.MapOptions{Heights: 4, Pitches: 5})
	require.NoError(t, err)
	r, err := NewSteadyTow(m, gecp.Freestream{Speed: 27.1})
	require.NoError(t, err)
	_, err = r.Trim(.05)
	assert.ErrorIs(t, err, ErrInducedDrag)
	assert.True(t, cannotFly(err))
	c, err := r.TrimCurve()
	require.NoError(t, err)
	assert.Greater(t, c.States[0].Clearance, .05)
}

// The stiffness against the moment about the centre of gravity at a little more and a
// little less pitch, its height held.
func TestStiffnessAgainstDifference(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 1))
	for range 200 {
		r, b := randomBalance(t, rng)
		moment := func(pitch float64) float64 {
			turned, before := gecp.RotationAt(pitch), gecp.RotationAt(b.Pitch)
			gx, gz := turned.Level(b.CG, r.cgZ)
			_, gz0 := before.Level(b.CG, r.cgZ)
			clearance := r.m.Model().LowestPoints().ClearanceFor(b.Height+gz0-gz, pitch)
			_, f, err := r.atPitch(clearance, pitch)
			require.NoError(t, err)
			return f.moment + gx*(f.up+r.weight)
		}
		const d = 1e-5
		if u := r.m.Model().LowestPoints(); b.Pitch-d < r.bounds.PitchMin || b.Pitch+d > r.bounds.PitchMax || b.Clearance < r.bounds.ClearanceMin+.01 || b.Clearance > r.bounds.ClearanceMax-.01 || u.At(b.Pitch-d).Wing != u.At(b.Pitch+d).Wing {
			continue
		}
		_, f, err := r.atPitch(b.Clearance, b.Pitch)
		require.NoError(t, err)
		gx, gz := gecp.RotationAt(b.Pitch).Level(b.CG, r.cgZ)
		want := (moment(b.Pitch+d) - moment(b.Pitch-d)) / (2 * d)
		scale := r.weight * (1 + math.Abs(gx))
		assert.InDelta(t, want, f.stiffness(r.weight, gx, gz), 1e-4*scale+1e-5*math.Abs(want))
		assert.Equal(t, heightStable(f.stiffness(r.weight, gx, gz), f.upByHeight, b.RequiredCGSlope), b.HeightStable)
		assert.InDelta(t, b.Lift/(b.InducedDrag+b.FrictionDrag+b.ParasiteDrag), b.LiftOverDrag(), 1e-9)
	}
}
