package motion

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

var errAsked = errors.New("asked")

func TestLastBeforeFailure(t *testing.T) {
	near := func(x, y float64) bool { return math.Abs(x-y) < 1e-9 }
	for name, c := range map[string]struct {
		saves  func(d float64) bool
		want   float64
		beyond bool
		asked  int
	}{
		"never fails":                        {func(float64) bool { return true }, MaxDelay, true, 40},
		"fails at once":                      {func(float64) bool { return false }, 0, false, 2},
		"fails on a coarse step":             {func(d float64) bool { return d < .3-1e-9 }, .29, false, 10},
		"fails beyond a coarse step":         {func(d float64) bool { return d < .31-1e-9 }, .3, false, 8},
		"fails once and saves again":         {func(d float64) bool { return !near(d, .2) }, .19, false, 8},
		"fails between two coarse steps too": {func(d float64) bool { return d < .25-1e-9 && !near(d, .23) }, .22, false, 8},
		"fails at the longest":               {func(d float64) bool { return d < 2-1e-9 }, 1.99, false, 44},
	} {
		t.Run(name, func(t *testing.T) {
			asked := 0
			got, beyond, err := lastBeforeFailure(func(d float64) (bool, error) { asked++; return c.saves(d), nil })
			require.NoError(t, err)
			assert.InDelta(t, c.want, got, 1e-12)
			assert.Equal(t, c.beyond, beyond)
			assert.Equal(t, c.asked, asked, "flights")
		})
	}
	for n := 1; n <= 3; n++ { // an error on a coarse step, and on a fine one
		asked := 0
		got, beyond, err := lastBeforeFailure(func(d float64) (bool, error) {
			if asked++; asked == n {
				return true, errAsked
			}
			return d < .02, nil
		})
		assert.ErrorIs(t, err, errAsked)
		assert.Zero(t, got)
		assert.False(t, beyond)
	}
}

func TestDelaysUpTo(t *testing.T) {
	for delay, want := range map[float64][]float64{
		0: {0}, .02: {.02, 0}, .05: {.05, 0}, .12: {.12, .1, .05, 0}, .5: {.5, .45, .4, .35, .3, .25, .2, .15, .1, .05, 0},
	} {
		got := delaysUpTo(delay)
		require.Len(t, got, len(want), delay)
		assert.InDeltaSlice(t, want, got, 1e-12, delay)
	}
}

func TestLeastThatSaves(t *testing.T) {
	for _, c := range []struct{ own, most, from float64 }{
		{.5, 2, .3}, {.5, 2, .05}, {.5, 2, .49}, {.5, 2, .9}, {.5, 2, 1.5}, {.4, 1.6, .011},
	} {
		got, err := leastThatSaves(c.own, c.most, func(v float64) (bool, error) { return v >= c.from, nil })
		require.NoError(t, err)
		assert.True(t, got.Looked && got.OK && !got.None)
		assert.GreaterOrEqual(t, got.Value, c.from)
		assert.LessOrEqual(t, got.Value, c.from+.01, "%+v", c)
	}
	// Everything saves: it ends at the resolution and not below.
	got, err := leastThatSaves(.5, 2, func(float64) (bool, error) { return true, nil })
	require.NoError(t, err)
	assert.True(t, got.OK)
	assert.LessOrEqual(t, got.Value, fineDelay)
	assert.Greater(t, got.Value, .8*fineDelay-1e-12)
	// Nothing saves: nothing beyond the most is asked about.
	highest := 0.
	got, err = leastThatSaves(.5, 2, func(v float64) (bool, error) { highest = max(highest, v); return false, nil })
	require.NoError(t, err)
	assert.Equal(t, Least{Looked: true}, got)
	assert.LessOrEqual(t, highest, 2.)
	assert.Greater(t, highest, 2*.8)
	for n := 1; n <= 6; n++ {
		asked := 0
		got, err := leastThatSaves(.5, 2, func(v float64) (bool, error) {
			if asked++; asked == n {
				return true, errAsked
			}
			return v >= .9, nil
		})
		assert.ErrorIs(t, err, errAsked, n)
		assert.False(t, got.OK && n < 5, n)
	}
}

func TestStretched(t *testing.T) {
	p := &gecp.Pilot{XForward: 1, XAft: 2}
	for _, c := range []struct{ at, k, fwd, aft float64 }{
		{1.2, 1, 1, 2}, {1.2, 2, .8, 2.8}, {1.2, .5, 1.1, 1.6}, {1.2, 0, 1.2, 1.2},
	} {
		fwd, aft := stretched(p, c.at, c.k)
		assert.InDelta(t, c.fwd, fwd, 1e-12)
		assert.InDelta(t, c.aft, aft, 1e-12)
	}
}
