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

// fine returns the balance on a ladder far finer than a Curve's own, between the
// curve's ends.
func fine(t *testing.T, c TrimCurve) []Trim {
	lo, hi := c.States[0].Clearance, c.States[len(c.States)-1].Clearance
	const n = 1500
	out := make([]Trim, 0, n)
	for i := range n {
		b, err := c.Tow.Trim(lo + (hi-lo)*float64(i)/(n-1))
		require.NoError(t, err)
		out = append(out, b)
	}
	return out
}

// randomCurve returns a curve of some length of a random craft.
func randomCurve(t *testing.T, rng *rand.Rand) TrimCurve {
	for {
		r, _ := randomBalance(t, rng)
		if c, err := r.TrimCurve(); err == nil && len(c.States) > 10 {
			return c
		}
	}
}

// Holds, ceilings and travel against the same taken off a ladder of 1500 clearances.
func TestCurveByBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 1))
	holds, selfs, reaches := 0, 0, 0
	for range 100 {
		c := randomCurve(t, rng)
		p := c.Tow.craft.Pilot
		ladder := fine(t, c)
		step := ladder[1].Clearance - ladder[0].Clearance
		near := step + 2e-4

		x := p.XForward + (p.XAft-p.XForward)*rng.Float64()
		got, err := c.Equilibria(x)
		require.NoError(t, err)
		var want []float64
		for i := 1; i < len(ladder); i++ {
			if ladder[i-1].Pilot.X > x != (ladder[i].Pilot.X > x) {
				want = append(want, ladder[i].Clearance)
			}
		}
		// Two crossings within one of the curve's own steps may escape it.
		if len(got) != len(want) {
			require.Equal(t, len(want), len(got)+2, "holds at %v", want)
			continue
		}
		for i, h := range got {
			holds++
			assert.InDelta(t, want[i], h.Clearance, near)
			assert.InDelta(t, x, h.Pilot.X, 1e-3*(1+math.Abs(h.RequiredCGSlope)/c.Tow.share))
			if h.HeightStable {
				assert.Positive(t, h.RequiredCGSlope)
			}
		}

		edge := func(ok func(Trim) bool, l Ceiling) bool {
			for i := 1; i < len(ladder); i++ {
				if !ok(ladder[i-1]) || ok(ladder[i]) {
					continue
				}
				require.True(t, l.OK, "%v", ladder[i].Clearance)
				assert.InDelta(t, ladder[i].Clearance, l.Clearance, near)
				return true
			}
			assert.False(t, l.OK)
			assert.Equal(t, ok(ladder[len(ladder)-1]), l.Always)
			return false
		}
		if edge(func(b Trim) bool { return b.HeightStable }, c.SelfHolding()) {
			selfs++
		}
		reach, err := c.Reach()
		require.NoError(t, err)
		if edge(func(b Trim) bool { return b.TravelMargin >= 0 }, reach) {
			reaches++
		}

		lo, hi := ladder[0].Clearance, ladder[len(ladder)-1].Clearance
		from := lo + (hi-lo)*.4*rng.Float64()
		to := from + (hi-from)*rng.Float64()
		tr, err := c.Travel(from, to)
		require.NoError(t, err)
		fore, aft := math.Inf(1), math.Inf(-1)
		for _, b := range ladder {
			if b.Clearance >= from && b.Clearance <= to {
				fore, aft = math.Min(fore, b.Pilot.X), math.Max(aft, b.Pilot.X)
			}
		}
		if aft < fore { // no rung between the two
			continue
		}
		// The ladder misses the ends by up to a step.
		slack := 1e-6 + math.Abs(tr.Aft-tr.Forward)*.02 + 5e-3
		assert.InDelta(t, fore, tr.Forward, slack)
		assert.InDelta(t, aft, tr.Aft, slack)
		assert.LessOrEqual(t, tr.Forward, fore+1e-7)
		assert.GreaterOrEqual(t, tr.Aft, aft-1e-7)
		assert.InDelta(t, math.Max(0, p.XForward-tr.Forward), tr.MoreForward, 1e-12)
		assert.InDelta(t, math.Max(0, tr.Aft-p.XAft), tr.MoreAft, 1e-12)
	}
	t.Logf("%d holds, %d self-holding ceilings, %d of reach", holds, selfs, reaches)
	assert.Greater(t, holds, 10)
	assert.Greater(t, selfs, 10)
	assert.GreaterOrEqual(t, reaches, 10)
}

func TestTravelRefuses(t *testing.T) {
	r, err := NewSteadyTow(readymaps.All()["reedling-tandem"], gecp.Freestream{Speed: 14})
	require.NoError(t, err)
	c, err := r.TrimCurve()
	require.NoError(t, err)
	_, err = c.Travel(.2, 50)
	assert.ErrorContains(t, err, "no balance at a clearance of 50.00 m")
}

func TestTravelInWords(t *testing.T) {
	for _, c := range []struct {
		t    Travel
		want string
	}{
		{Travel{Forward: 1, Aft: 1.5}, "the pilot moves between 1.00 and 1.50 m aft of the datum, 0.50 m of travel: within what the craft gives"},
		{Travel{1, 1.5, .1, 0}, "the pilot moves between 1.00 and 1.50 m aft of the datum, 0.50 m of travel: 0.10 m more forward than the craft gives"},
		{Travel{1, 1.5, 0, .2}, "the pilot moves between 1.00 and 1.50 m aft of the datum, 0.50 m of travel: 0.20 m more aft than the craft gives"},
		{Travel{1, 1.5, .1, .2}, "the pilot moves between 1.00 and 1.50 m aft of the datum, 0.50 m of travel: 0.10 m more forward and 0.20 m more aft than the craft gives"},
	} {
		assert.Equal(t, c.want, c.t.String())
	}
}

// A curve without states has nothing to tell, and no method of it panics.
func TestEmptyCurve(t *testing.T) {
	r, err := NewSteadyTow(readymaps.All()["reedling-tandem"], gecp.Freestream{Speed: 14})
	require.NoError(t, err)
	for _, c := range []TrimCurve{{}, {Tow: r}} {
		e, err := c.Equilibria(1)
		assert.NoError(t, err)
		assert.Empty(t, e)
		assert.Equal(t, Ceiling{}, c.SelfHolding())
		reach, err := c.Reach()
		assert.NoError(t, err)
		assert.Equal(t, Ceiling{}, reach)
		_, ok := c.From(func(Trim) bool { return true })
		assert.False(t, ok)
		_, ok = c.AboveFloats()
		assert.False(t, ok)
		_, err = c.Travel(.2, .4)
		assert.EqualError(t, err, "the curve has no state of trim")
	}
}

// Low down the wings lift more than the weight even at the lowest pitch of the map, high
// up less at the highest: the curve is what lies between, both ends found.
func TestCurveWithinTheMap(t *testing.T) {
	m := handMap(t, handCraft(), 40, 10, .5, .5)
	r, err := NewSteadyTow(m, gecp.Freestream{Speed: 20, Density: 1.25})
	require.NoError(t, err)
	c, err := r.TrimCurve()
	require.NoError(t, err)
	for _, b := range c.States {
		assert.True(t, b.Pitch >= -.1 && b.Pitch <= .3)
	}
	all := m.Clearances(curveSteps)
	first, last := slices.Index(all, c.States[0].Clearance), slices.Index(all, c.States[len(c.States)-1].Clearance)
	assert.Equal(t, len(c.States), last-first+1)
	for _, i := range []int{first - 1, last + 1} {
		_, err := r.Trim(all[i])
		assert.Error(t, err, "at %.3f m", all[i])
	}
	assert.Greater(t, c.States[0].Clearance, all[5])
	assert.Less(t, c.States[len(c.States)-1].Clearance, all[len(all)-5])
}
