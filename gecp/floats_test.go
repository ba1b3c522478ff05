package gecp

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Nearly at rest the floats share the weight by the law of the lever.
func TestFloatsAtRestByHand(t *testing.T) {
	c := handCraft()
	c.Floats = []Float{{X: .5, Z: -.4}, {X: 1, Z: -.1}, {X: 2.5, Z: -.4}}
	m := handMap(t, c, 40, 0, .5, .5)
	m.opt.ClearanceMin = .1
	r, err := m.Run(.01, 0)
	require.NoError(t, err)
	s, err := r.OnFloats(.4)
	require.NoError(t, err)
	assert.Equal(t, SupportBothFloats, s.Support)
	assert.InDelta(t, 0, s.Pitch, 1e-12)
	assert.InDelta(t, .4, s.Clearance, 1e-12)
	// 50 kg at 1 m and 50 kg at 0.4 m: 100 kg at 0.7 m, a tenth of the way from the fore
	// float to the aft one.
	assert.InDelta(t, .9*980.665, s.Fore, .01)
	assert.InDelta(t, .1*980.665, s.Aft, .01)
	assert.InDelta(t, 0, s.Carried, 1e-5)
	assert.Contains(t, s.String(), "on both floats, nose up 0.0°, the wings 0.40 m over the water: the wings carry 0 % of the weight, the fore float 883 N, the aft float 98 N")
}

// The plank of TestBalanceByHand on two floats, without drag: lift 1e4 N a radian
// at 0.5 m. The pilot far aft, it turns about the aft float until weight and lift
// balance about it.
func TestTurningAboutAFloatByHand(t *testing.T) {
	c := handCraft()
	c.Floats = []Float{{X: .5, Z: -.6}, {X: 1.5, Z: -.6}}
	m := handMap(t, c, 40, 0, .5, .5)
	run := func(speed float64) SteadyTow {
		r, err := m.Run(speed, 1.25)
		require.NoError(t, err)
		r.friction = force{}
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
	assert.Equal(t, SupportBothFloats, s.Support)
	assert.InDelta(t, .2*980.665, s.Fore, 1e-6)
	assert.InDelta(t, .8*980.665, s.Aft, 1e-6)

	// Lift behind the centre of gravity: the nose goes down as the lift grows. With the
	// lift at 1.4 m, incidence from floats that set the nose up by 0.1 rad, and the
	// pilot at 0.2 m (centre of gravity at 0.6 m), the aft float leaves the water when
	// L (1.4 - fore) passes W (0.6 - fore).
	c = handCraft()
	c.Floats = []Float{{X: .5, Z: -.6 - math.Tan(.1)}, {X: 1.5, Z: -.6}}
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
	_, up := ToWaterAxes(f.X, f.Z, s.Height, s.Pitch)
	assert.InDelta(t, 0, up, 1e-12)
	_, up = ToWaterAxes(1.5, -.6, s.Height, s.Pitch)
	assert.Positive(t, up, "the aft float is out of the water")
}

// The aft float ahead of the lift: the plank falls back on it and the lift, 1.6 m aft
// and growing with the nose, holds it there. Pilot at 1.2 m, centre of gravity at
// 1.1 m on the datum line.
func TestAftFloatByHand(t *testing.T) {
	c := handCraft()
	c.Floats = []Float{{X: .2, Z: -.8}, {X: 1, Z: -.8}}
	m := handMap(t, c, 40, 0, 1.6, 1.6)
	r, err := m.Run(12, 1.25)
	require.NoError(t, err)
	r.friction = force{}
	s, err := r.OnFloats(1.2)
	require.NoError(t, err)
	require.Equal(t, SupportAftFloat, s.Support)
	lift := 1.25 * 144 / 2 * 40 * s.Pitch
	aft, up := ToWaterAxes(1, -.8, s.Height, s.Pitch)
	assert.InDelta(t, 0, up, 1e-12)
	cg, _ := ToWaterAxes(1.1, 0, 0, s.Pitch)
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
	for range 1500 {
		m := anyMap(rng)
		varied := randomRun(t, rng, m)
		c := new(*varied.m.model.craft)
		if rng.IntN(2) == 0 { // floats of any stance, the aft one as far forward as a step
			gx, _ := c.CG(c.Pilot.XForward)
			c.Floats = []Float{{X: gx - .3 - rng.Float64(), Z: -.7}, {X: gx - .2 + 2*rng.Float64(), Z: -.7}}
		}
		m, err := m.For(c)
		require.NoError(t, err)
		r, err := m.Run(3+24*rng.Float64(), 0)
		require.NoError(t, err)
		x := c.Pilot.XForward - 1 + (c.Pilot.XAft-c.Pilot.XForward+2)*rng.Float64()
		s, err := r.OnFloats(x)
		if err != nil {
			var out *RangeError
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
			f, err := r.at(r.m.at(s.Clearance, s.Pitch))
			require.NoError(t, err)
			assert.GreaterOrEqual(t, f.up, -1e-9*r.weight)
			continue
		}
		fore, aft := c.outermost()
		f, err := r.at(r.m.at(s.Clearance, s.Pitch))
		require.NoError(t, err)
		gx, gz := c.CG(x)
		cgX, _ := ToWaterAxes(gx, gz, 0, s.Pitch)
		assert.InDelta(t, 0, f.up+s.Fore+s.Aft, 1e-6*r.weight)
		foreX, foreUp := ToWaterAxes(fore.X, fore.Z, s.Height, s.Pitch)
		aftX, aftUp := ToWaterAxes(aft.X, aft.Z, s.Height, s.Pitch)
		assert.InDelta(t, 0, f.moment+r.weight*cgX-foreX*s.Fore-aftX*s.Aft, 1e-6*r.weight)
		assert.InDelta(t, (r.weight-s.Fore-s.Aft)/r.weight, s.Carried, 1e-12)
		switch s.Support {
		case SupportBothFloats:
			assert.InDelta(t, 0, math.Max(math.Abs(foreUp), math.Abs(aftUp)), 1e-9)
		case SupportAftFloat:
			assert.InDelta(t, 0, aftUp, 1e-9)
			assert.Positive(t, foreUp)
			assert.Zero(t, s.Fore)
		case SupportForeFloat:
			assert.InDelta(t, 0, foreUp, 1e-9)
			assert.Positive(t, aftUp)
			assert.Zero(t, s.Aft)
		}
	}
	t.Logf("both %d, aft %d, fore %d, none %d", seen[SupportBothFloats], seen[SupportAftFloat], seen[SupportForeFloat], seen[SupportNone])
	for s := SupportBothFloats; s <= SupportNone; s++ {
		assert.GreaterOrEqual(t, seen[s], 5, "%v", s)
	}
}

// anyMap returns one of the demo craft's maps.
func anyMap(rng *rand.Rand) *Map {
	names := []string{"coot-single.json", "garganey-swept.json", "reedling-tandem.json", "water-rail-canard.json"}
	return balanceMaps()[names[rng.IntN(len(names))]]
}

// At one speed the balanced craft has both floats just at the water. With the pilot
// where that balance needs them the craft, if it holds that height, lifts off there,
// from both at once.
func TestLiftOffMeetsTheBalance(t *testing.T) {
	held := 0
	for name, m := range balanceMaps() {
		rest, height := m.model.craft.restPitch()
		clearance := m.model.under.ClearanceFor(height, rest)
		at := func(v float64) (Trim, error) {
			r, err := m.Run(v, 0)
			require.NoError(t, err)
			return r.Trim(clearance)
		}
		lo, hi := 5., 40. // faster flies with the nose lower
		for range 60 {
			v := (lo + hi) / 2
			if b, err := at(v); errors.Is(err, ErrTooSlow) || err == nil && b.Pitch > rest {
				lo = v
			} else {
				hi = v
			}
		}
		b, err := at(lo)
		require.NoError(t, err, name)
		require.InDelta(t, rest, b.Pitch, 1e-9, name)
		x, ok := m.evenLiftOff(0)
		require.Equal(t, lo < liftOffMost, ok, name)
		if !ok {
			continue
		}
		assert.InDelta(t, b.Pilot.X, x, 1e-3, name)
		if !b.HeightStable { // it falls back on one float or leaps up
			continue
		}
		held++
		l, err := m.LiftOff(b.Pilot.X, 0)
		require.NoError(t, err)
		require.True(t, l.OK, "%s: %v", name, l)
		assert.InDelta(t, lo, l.Speed, 1e-4, name)
		assert.InDelta(t, clearance, l.State.Clearance, 1e-4, name)
		assert.InDelta(t, b.LineTension, l.State.LineTension, .1, name)
	}
	assert.GreaterOrEqual(t, held, 1)
}

// Just below its lift-off a craft is on the water, just above it not; and where it
// is said to settle it holds its height, the floats clear.
func TestLiftOff(t *testing.T) {
	settled := 0
	for name, m := range balanceMaps() {
		p := m.model.craft.Pilot
		places := []float64{p.XForward, p.XAft}
		if x, ok := m.evenLiftOff(0); ok {
			places = append(places, x, x-.02, x-.05, x-.1)
		}
		for _, s := range places {
			l, err := m.LiftOff(s, 0)
			require.NoError(t, err)
			if !l.OK {
				assert.NotEmpty(t, l.Why)
				assert.Contains(t, l.String(), "does not lift off")
				continue
			}
			at := func(v float64) OnFloats {
				r, err := m.Run(v, 0)
				require.NoError(t, err)
				f, err := r.OnFloats(l.Pilot)
				require.NoError(t, err)
				return f
			}
			assert.NotEqual(t, SupportNone, at(l.Speed-1e-3).Support, "%s, %v", name, s)
			assert.Equal(t, SupportNone, at(l.Speed+1e-3).Support, "%s, %v", name, s)
			for v := 2.; v < l.Speed; v++ {
				assert.Less(t, at(v).Carried, 1., "%s, %v, %v m/s", name, s, v)
			}
			if !l.Holds {
				assert.Contains(t, l.String(), "finds no clearance to hold")
				continue
			}
			settled++
			assert.Contains(t, l.String(), "settles at a clearance of")
			r, err := m.Run(l.Speed+pastLiftOff, 0)
			require.NoError(t, err)
			b, err := r.Trim(l.To)
			require.NoError(t, err)
			assert.True(t, b.HeightStable)
			assert.InDelta(t, l.Pilot, b.Pilot.X, 2e-3)
			assert.GreaterOrEqual(t, m.model.craft.floatsOver(b.Height, b.Pitch), -1e-3)
		}
	}
	t.Logf("%d settle", settled)
	assert.GreaterOrEqual(t, settled, 1, "of all demo craft and pilot places")
}

func TestFloatsRefuse(t *testing.T) {
	m := balanceMaps()["reedling-tandem.json"]
	with := func(change func(*Craft)) *Map {
		c := *m.model.craft
		change(&c)
		n, err := m.For(&c)
		require.NoError(t, err)
		return n
	}
	for _, c := range []struct {
		name, path string
		change     func(*Craft)
	}{
		{"no floats", "floats", func(c *Craft) { c.Floats = nil }},
		{"one float", "floats", func(c *Craft) { c.Floats = []Float{{X: 2, Z: -.6}} }},
		{"no pilot", "pilot", func(c *Craft) { c.Pilot = nil }},
	} {
		n := with(c.change)
		r, err := n.Run(12, 0)
		require.NoError(t, err)
		_, err = r.OnFloats(1)
		var p Problems
		require.ErrorAs(t, err, &p, c.name)
		assert.Equal(t, c.path, p[0].Path)
		_, err = n.LiftOff(1, 0)
		require.ErrorAs(t, err, &p, c.name)
	}
	for _, part := range []func(*Craft){func(c *Craft) { c.Tow = nil }, func(c *Craft) { c.Weights = nil }} {
		_, err := with(part).LiftOff(1, 0)
		var p Problems
		require.ErrorAs(t, err, &p)
	}
	r, err := m.Run(12, 0)
	require.NoError(t, err)
	for _, x := range []float64{math.NaN(), math.Inf(1), 1e9} {
		_, err := r.OnFloats(x)
		assert.ErrorContains(t, err, "the pilot is at", "%v", x)
	}
	_, err = m.LiftOff(1, -1)
	assert.ErrorContains(t, err, "density")

	// A craft that rests outside the map says so.
	high := with(func(c *Craft) { c.Floats = []Float{{X: .4, Z: -3}, {X: 4.4, Z: -3}} })
	_, err = high.LiftOff(1.3, 0)
	assert.ErrorContains(t, err, "at rest on its floats: a clearance of")
}

// A map that is told no least clearance reaches down to a craft at rest on its
// floats.
func TestMapReachesTheFloats(t *testing.T) {
	for _, c := range []struct{ rest, want float64 }{{.3, .05}, {.05, .045}, {.02, .018}, {.005, .01}} {
		craft := handCraft()
		craft.Floats = []Float{{X: .2, Z: -c.rest}, {X: 1.8, Z: -c.rest}}
		m, err := craft.BuildMap(context.Background(), MapOptions{Mesh: Mesh{Rows: 1, Strips: 1}})
		require.NoError(t, err)
		lo, _, _, _ := m.Range()
		assert.InDelta(t, c.want, lo, 1e-12, "resting at %v", c.rest)
		m, err = craft.BuildMap(context.Background(), MapOptions{Mesh: Mesh{Rows: 1, Strips: 1}, ClearanceMin: .2})
		require.NoError(t, err)
		lo, _, _, _ = m.Range()
		assert.Equal(t, .2, lo)
	}
	m, err := handCraft().BuildMap(context.Background(), MapOptions{Mesh: Mesh{Rows: 1, Strips: 1}})
	require.NoError(t, err)
	lo, _, _, _ := m.Range()
	assert.Equal(t, .05, lo)
}
