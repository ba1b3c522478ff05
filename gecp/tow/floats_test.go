package tow

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
)

// Nearly at rest the floats share the weight by the law of the lever.
func TestFloatsAtRestByHand(t *testing.T) {
	c := handCraft()
	c.Floats = []gecp.Float{{X: .5, Z: -.4}, {X: 1, Z: -.1}, {X: 2.5, Z: -.4}}
	m := handMap(t, c, 40, 0, .5, .5)
	r, err := NewSteadyTow(m, gecp.Freestream{Speed: .01})
	require.NoError(t, err)
	s, err := r.OnFloats(.4)
	require.NoError(t, err)
	assert.Equal(t, SupportTwoFloats, s.Support)
	assert.InDelta(t, 0, s.Pitch, 1e-12)
	assert.InDelta(t, .4, s.Clearance, 1e-12)
	// 50 kg at 1 m and 50 kg at 0.4 m: 100 kg at 0.7 m, a tenth of the way from the fore
	// float to the aft one.
	assert.InDelta(t, .9*980.665, s.Fore, .01)
	assert.InDelta(t, .1*980.665, s.Aft, .01)
	assert.InDelta(t, 0, s.Carried, 1e-5)
	assert.Contains(t, s.String(), "on two floats, level, the wings 0.40 m over the water: the wings carry 0 % of the weight, the fore float 883 N, the aft float 98 N")
}

// The plank of TestBalanceByHand on two floats, without drag: lift 1e4 N a radian
// at 0.5 m. The pilot far aft, it turns about the aft float until weight and lift
// balance about it.
func TestTurningAboutAFloatByHand(t *testing.T) {
	c := handCraft()
	c.Floats = []gecp.Float{{X: .5, Z: -.6}, {X: 1.5, Z: -.6}}
	m := handMap(t, c, 40, 0, .5, .5)
	run := func(speed float64) SteadyTow {
		r, err := NewSteadyTow(m, gecp.Freestream{Speed: speed, Density: 1.25})
		require.NoError(t, err)
		r.friction = gecp.Drag{}
		return r
	}
	// At 10 m/s, q is 62.5 Pa, the lift 2500 N a radian at 0.5 m, the centre of gravity
	// with the pilot at 2.2 m is at 1.6 m on the datum line. About the aft float, which
	// stands at X = 1.5 cos - 0.6 sin: W (1.6 cos - X) + (X - 0.5) L = 0. The lift, ahead
	// of the float, turns the nose up as well: no balance, the craft falls on its tail.
	_, err := run(10).OnFloats(2.2)
	assert.ErrorContains(t, err, "turns nose-up about its aft float until it leaves the calculation")

	// With the pilot at 1.6 m the centre of gravity is at 1.3 m; at 15.5 m/s, q = 150.16 Pa,
	// the lift 6006.25 a radian of pitch. Level there is no lift: the fore float carries
	// 0.2 and the aft one 0.8 of the weight.
	s, err := run(15.5).OnFloats(1.6)
	require.NoError(t, err)
	assert.Equal(t, SupportTwoFloats, s.Support)
	assert.InDelta(t, .2*980.665, s.Fore, 1e-6)
	assert.InDelta(t, .8*980.665, s.Aft, 1e-6)

	// Lift behind the centre of gravity: the nose goes down as the lift grows. With the
	// lift at 1.4 m, incidence from floats that set the nose up by 0.1 rad, and the
	// pilot at 0.2 m (centre of gravity at 0.6 m), the aft float leaves the water when
	// L (1.4 - fore) passes W (0.6 - fore).
	c = handCraft()
	c.Floats = []gecp.Float{{X: .5, Z: -.6 - math.Tan(.1)}, {X: 1.5, Z: -.6}}
	m = handMap(t, c, 40, 0, 1.4, 1.4)
	r := run(12)
	q := 1.25 * 144 / 2
	s, err = r.OnFloats(.2)
	require.NoError(t, err)
	require.Equal(t, SupportForeFloat, s.Support)
	f := c.Floats[0]
	along := func(x, z float64) float64 { return x*math.Cos(s.Pitch) + z*math.Sin(s.Pitch) }
	lift := q * 40 * s.Pitch
	assert.InDelta(t, 980.665-lift, s.Fore, 1e-6)
	assert.Zero(t, s.Aft)
	assert.InDelta(t, lift/980.665, s.Carried, 1e-9)
	fx := along(f.X, f.Z)
	assert.InDelta(t, 980.665*(along(.6, 0)-fx), lift*(1.4-fx), 1e-5, "moments about the fore float")
	_, up := gecp.ToWaterAxes(f.X, f.Z, s.Height, s.Pitch)
	assert.InDelta(t, 0, up, 1e-12)
	_, up = gecp.ToWaterAxes(1.5, -.6, s.Height, s.Pitch)
	assert.Positive(t, up, "the aft float is out of the water")
}

// The aft float ahead of the lift: the plank falls back on it and the lift, 1.6 m aft
// and growing with the nose, holds it there. Pilot at 1.2 m, centre of gravity at
// 1.1 m on the datum line.
func TestAftFloatByHand(t *testing.T) {
	c := handCraft()
	c.Floats = []gecp.Float{{X: .2, Z: -.8}, {X: 1, Z: -.8}}
	m := handMap(t, c, 40, 0, 1.6, 1.6)
	r, err := NewSteadyTow(m, gecp.Freestream{Speed: 12, Density: 1.25})
	require.NoError(t, err)
	r.friction = gecp.Drag{}
	s, err := r.OnFloats(1.2)
	require.NoError(t, err)
	require.Equal(t, SupportAftFloat, s.Support)
	lift := 1.25 * 144 / 2 * 40 * s.Pitch
	aft, up := gecp.ToWaterAxes(1, -.8, s.Height, s.Pitch)
	assert.InDelta(t, 0, up, 1e-12)
	cg, _ := gecp.ToWaterAxes(1.1, 0, 0, s.Pitch)
	assert.InDelta(t, 980.665*(cg-aft), lift*(1.6-aft), 1e-5, "moments about the aft float")
	assert.InDelta(t, 980.665-lift, s.Aft, 1e-6)
	assert.Zero(t, s.Fore)
	assert.Contains(t, s.String(), "turned up on the aft float")
}

// On the floats, from the figures told: upward forces and moments balance, no float
// pulls, and what is said to touch the water does.
func TestOnFloatsBalance(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 1))
	seen := map[Support]int{}
	for range 2000 {
		m := anyMap(rng)
		varied := randomRun(t, rng, m)
		c := varied.craft.Clone()
		if rng.IntN(2) == 0 { // floats of any stance, the aft one as far forward as a step
			gx, _ := c.CG(c.Pilot.XForward)
			c.Floats = []gecp.Float{{X: gx - .3 - rng.Float64(), Z: -.7}, {X: gx - .2 + 2*rng.Float64(), Z: -.7}}
			for range rng.IntN(3) { // and more of them, deeper or not
				c.Floats = append(c.Floats, gecp.Float{X: gx - 1 + 3*rng.Float64(), Z: -.5 - .4*rng.Float64()})
			}
		}
		m, err := m.For(c)
		if err != nil { // it would rest too steeply, or with a wing in the water
			continue
		}
		r, err := NewSteadyTow(m, gecp.Freestream{Speed: 3 + 24*rng.Float64()})
		require.NoError(t, err)
		x := c.Pilot.XForward - 1 + (c.Pilot.XAft-c.Pilot.XForward+2)*rng.Float64()
		s, err := r.OnFloats(x)
		if err != nil {
			var out *gecp.RangeError
			require.ErrorAs(t, err, &out)
			continue
		}
		seen[s.Support]++
		for _, v := range []float64{s.Pitch, s.Height, s.Clearance, s.Fore, s.Aft, s.Carried, s.LineTension} {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v", s)
		}
		assert.GreaterOrEqual(t, s.Fore, 0.)
		assert.GreaterOrEqual(t, s.Aft, 0.)
		assert.LessOrEqual(t, s.Carried, 1.)
		if s.Support == SupportNone {
			assert.Equal(t, 1., s.Carried)
			f, err := r.at(at2(t, r.m, s.Height, s.Pitch))
			require.NoError(t, err)
			assert.GreaterOrEqual(t, f.up, -1e-9*r.weight)
			continue
		}

		f, err := r.at(at2(t, r.m, s.Height, s.Pitch))
		require.NoError(t, err)
		gx, gz := c.CG(x)
		cgX, _ := gecp.ToWaterAxes(gx, gz, 0, s.Pitch)
		assert.InDelta(t, 0, f.up+s.Fore+s.Aft, 1e-6*r.weight)
		var touch []float64 // level places of the floats on the water
		for _, fl := range c.Floats {
			along, up := gecp.ToWaterAxes(fl.X, fl.Z, s.Height, s.Pitch)
			assert.GreaterOrEqual(t, up, -1e-9, "no float is under water: %+v", s)
			if up < 1e-9 {
				touch = append(touch, along)
			}
		}
		require.NotEmpty(t, touch, "%+v", s)
		foreX, aftX := slices.Min(touch), slices.Max(touch)
		assert.InDelta(t, 0, f.moment+r.weight*cgX-foreX*s.Fore-aftX*s.Aft, 1e-6*r.weight)
		assert.InDelta(t, (r.weight-s.Fore-s.Aft)/r.weight, s.Carried, 1e-12)
		switch s.Support {
		case SupportTwoFloats:
			assert.Len(t, touch, 2)
		case SupportAftFloat:
			assert.Len(t, touch, 1)
			assert.Zero(t, s.Fore)
		case SupportForeFloat:
			assert.Len(t, touch, 1)
			assert.Zero(t, s.Aft)
		}
	}
	t.Logf("both %d, aft %d, fore %d, none %d", seen[SupportTwoFloats], seen[SupportAftFloat], seen[SupportForeFloat], seen[SupportNone])
	for s := SupportTwoFloats; s <= SupportNone; s++ {
		assert.GreaterOrEqual(t, seen[s], 5, "%v", s)
	}
}

func TestFloatsRefuse(t *testing.T) {
	m := readymaps.All()["reedling-tandem"]
	with := func(change func(*gecp.Craft)) *gecp.Map {
		c := m.Model().Craft()
		change(c)
		n, err := m.For(c)
		require.NoError(t, err)
		return n
	}
	for _, c := range []struct {
		name, path string
		change     func(*gecp.Craft)
	}{
		{"no floats", "floats", func(c *gecp.Craft) { c.Floats = nil }},
		{"one float", "floats", func(c *gecp.Craft) { c.Floats = []gecp.Float{{X: 2, Z: -.6}} }},
		{"no pilot", "pilot", func(c *gecp.Craft) { c.Pilot = nil }},
	} {
		n := with(c.change)
		r, err := NewSteadyTow(n, gecp.Freestream{Speed: 12})
		require.NoError(t, err)
		_, err = r.OnFloats(1)
		var p gecp.Problems
		require.ErrorAs(t, err, &p, c.name)
		assert.Equal(t, c.path, p[0].Path)
		_, err = FindLiftOff(t.Context(), n, 0, 1)
		require.ErrorAs(t, err, &p, c.name)
	}
	for _, part := range []func(*gecp.Craft){func(c *gecp.Craft) { c.Tow = nil }, func(c *gecp.Craft) { c.Weights = nil }} {
		_, err := FindLiftOff(t.Context(), with(part), 0, 1)
		var p gecp.Problems
		require.ErrorAs(t, err, &p)
	}
	r, err := NewSteadyTow(m, gecp.Freestream{Speed: 12})
	require.NoError(t, err)
	for _, x := range []float64{math.NaN(), math.Inf(1), 1e9} {
		_, err := r.OnFloats(x)
		assert.ErrorContains(t, err, "the pilot is at", "%v", x)
	}
	_, err = FindLiftOff(t.Context(), m, -1, 1)
	assert.ErrorContains(t, err, "density")

	// A craft that rests outside the map says so.
	high := with(func(c *gecp.Craft) { c.Floats = []gecp.Float{{X: .4, Z: -4}, {X: 4.4, Z: -4}} })
	_, err = FindLiftOff(t.Context(), high, 0, 1.3)
	assert.ErrorContains(t, err, "at rest on its floats: a clearance of")
}
