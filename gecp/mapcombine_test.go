package gecp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// combineNodes are few, for speed; the range is the same for every map.
var combineNodes = MapOptions{Heights: 4, Pitches: 6, ClearanceMin: .05, Tolerance: hopeless}

// formulaMap is the map of loads that follow a formula with a parameter in it.
func formulaMap(t *testing.T, m *Model, x float64) *Map {
	t.Helper()
	f, err := m.FitMap(t.Context(), combineNodes, func(clearance, pitch float64) (MapNode, error) {
		lift := 10 + x + .3*x*x + 8*pitch
		return MapNode{
			LoadsPerQ: LoadsPerQ{Lift: lift, Drag: .1 * lift, Moment: -2*lift + x},
			ByPitch:   LoadsPerQ{Lift: 8, Drag: .8, Moment: -16},
			StripLift: make([]float64, len(m.strips)),
		}, nil
	})
	require.NoError(t, err)
	return f
}

// Loads that are a parabola of a dimension come out exactly between and beyond the maps.
func TestCombineMapsFollowsAParabola(t *testing.T) {
	m, err := NewModel(Demo(), Mesh{})
	require.NoError(t, err)
	maps := []*Map{formulaMap(t, m, 0), formulaMap(t, m, 1), formulaMap(t, m, -1)}
	for _, x := range []float64{0, 1, -1, .4, -1.7} {
		at0, plus, minus := QuadraticWeights(x)
		assert.InDelta(t, 1, at0+plus+minus, 1e-14)
		got, err := m.CombineMaps([]float64{at0, plus, minus}, maps)
		require.NoError(t, err)
		want := formulaMap(t, m, x)
		for _, cl := range []float64{.05, .2, 1.5} {
			for _, pitch := range []float64{-.1, 0, .2} {
				a, err := got.At(cl, pitch)
				require.NoError(t, err)
				b, err := want.At(cl, pitch)
				require.NoError(t, err)
				assert.InDelta(t, b.Lift, a.Lift, 1e-9)
				assert.InDelta(t, b.Moment, a.Moment, 1e-9)
				assert.InDelta(t, b.ByPitch.Lift, a.ByPitch.Lift, 1e-8)
			}
		}
	}
}

// A craft between others: the lattice's own map against the sum, kinks and lowest points
// that move included.
func TestCombineMapsAgainstTheLattice(t *testing.T) {
	for _, c := range []struct {
		wake                WakeWay
		degs                []float64
		lift, section, rate float64 // m2, 1, share
	}{
		{WakeStraight, []float64{-5, 0, 4, 8, 13}, 6e-3, .01, .01},
		// Free wakes wind about each other at large pitches, and there change fast.
		{WakeFree, []float64{0, 4}, .05, .06, .05},
	} {
		turned := func(deg float64) *Model {
			c2 := Demo()
			c2.Wings[1].IncidenceDeg += deg
			m, err := NewModel(c2, Mesh{Rows: 2, Strips: 4})
			require.NoError(t, err)
			return m.WithWake(c.wake)
		}
		var maps []*Map
		for _, deg := range []float64{0, .5, -.5} {
			m, err := turned(deg).BuildMap(t.Context(), combineNodes)
			require.NoError(t, err)
			maps = append(maps, m)
		}
		at0, plus, minus := QuadraticWeights(.6)
		between := turned(.3)
		got, err := between.CombineMaps([]float64{at0, plus, minus}, maps)
		require.NoError(t, err)
		want, err := between.BuildMap(t.Context(), combineNodes)
		require.NoError(t, err)
		assert.Equal(t, want.Kinks(), got.Kinks())
		var worst float64
		for _, cl := range []float64{.06, .2, .8} {
			for _, deg := range c.degs {
				a, err := got.At(cl, Radians(deg))
				require.NoError(t, err)
				b, err := want.At(cl, Radians(deg))
				require.NoError(t, err)
				worst = math.Max(worst, math.Abs(a.Lift-b.Lift))
				sa, ok, err := got.CriticalStrip(cl, Radians(deg))
				require.True(t, ok && err == nil)
				sb, _, err := want.CriticalStrip(cl, Radians(deg))
				require.NoError(t, err)
				assert.InDelta(t, sb.LiftCoefficient, sa.LiftCoefficient, c.section)
				ua, ub := got.UnsteadyAt(got.model.low.HeightFor(cl, Radians(deg)), Radians(deg)), want.UnsteadyAt(want.model.low.HeightFor(cl, Radians(deg)), Radians(deg))
				assert.InDelta(t, ub.ByPitchRate.Moment, ua.ByPitchRate.Moment, c.rate*math.Abs(ub.ByPitchRate.Moment)+.5)
			}
		}
		t.Logf("largest difference of a combined map %.1e of 20 m2 of lift", worst/20)
		assert.Less(t, worst, c.lift)
	}
}

// A twisted wing whose lowest point has jumped to its tip: its loads at the heights of the
// straight one, moved to its own lowest points, are its own map.
func TestMoveTo(t *testing.T) {
	mesh := Mesh{Rows: 2, Strips: 4}
	straight, err := NewModel(Demo(), mesh)
	require.NoError(t, err)
	c := Demo()
	c.Wings[0].Stations[1].Chord = 1.5
	c.Wings[0].Stations[1].TwistDeg = .5
	twisted, err := NewModel(c, mesh)
	require.NoError(t, err)
	o := MapOptions{ClearanceMin: .05}
	at, err := twisted.BuildMapAs(t.Context(), straight, o)
	require.NoError(t, err)
	assert.Same(t, straight, at.Model())
	got, err := at.MoveTo(twisted)
	require.NoError(t, err)
	want, err := twisted.BuildMap(t.Context(), o)
	require.NoError(t, err)
	assert.Equal(t, want.Kinks(), got.Kinks())
	for _, cl := range []float64{.06, .2, .8} {
		for _, deg := range []float64{-5, 0, 4, 8, 13} {
			a, err := got.At(cl, Radians(deg))
			require.NoError(t, err)
			b, err := want.At(cl, Radians(deg))
			require.NoError(t, err)
			assert.InDelta(t, b.Lift, a.Lift, .04, "%v m, %v degrees", cl, deg)
			assert.InDelta(t, b.Moment, a.Moment, .1)
			ua, ub := got.UnsteadyAt(got.model.low.HeightFor(cl, Radians(deg)), Radians(deg)), want.UnsteadyAt(want.model.low.HeightFor(cl, Radians(deg)), Radians(deg))
			assert.InDelta(t, ub.ByPitchRate.Lift, ua.ByPitchRate.Lift, .02*math.Abs(ub.ByPitchRate.Lift)+.5)
			sa, _, err := got.CriticalStrip(cl, Radians(deg))
			require.NoError(t, err)
			sb, _, err := want.CriticalStrip(cl, Radians(deg))
			require.NoError(t, err)
			assert.InDelta(t, sb.LiftCoefficient, sa.LiftCoefficient, .02)
		}
	}
	finer, err := NewModel(c, Mesh{Rows: 2, Strips: 5})
	require.NoError(t, err)
	_, err = at.MoveTo(finer)
	assert.ErrorIs(t, err, ErrUnlikeMaps)
}

// A map moved to its own lowest points is itself.
func TestMoveToItself(t *testing.T) {
	m, err := NewModel(Demo(), Mesh{})
	require.NoError(t, err)
	want := formulaMap(t, m, 0)
	got, err := want.MoveTo(m)
	require.NoError(t, err)
	for _, cl := range []float64{.05, .3, 3} {
		for _, pitch := range []float64{-.1, 0, .2} {
			a, err := got.At(cl, pitch)
			require.NoError(t, err)
			b, err := want.At(cl, pitch)
			require.NoError(t, err)
			assert.InDelta(t, b.Moment, a.Moment, 1e-9)
			assert.InDelta(t, b.ByPitch.Lift, a.ByPitch.Lift, 1e-7)
		}
	}
}

// The model's craft carries its own correction into the sum.
func TestCombineMapsCorrects(t *testing.T) {
	m, err := NewModel(Demo(), Mesh{})
	require.NoError(t, err)
	base := formulaMap(t, m, 0)
	c := Demo()
	c.Correction = &Correction{LiftFactor: .9, On: true, Runs: 3}
	corrected, err := m.For(c)
	require.NoError(t, err)
	got, err := corrected.CombineMaps([]float64{1}, []*Map{base})
	require.NoError(t, err)
	a, err := got.At(.3, 0)
	require.NoError(t, err)
	b, err := base.At(.3, 0)
	require.NoError(t, err)
	assert.InDelta(t, .9*b.Lift, a.Lift, 1e-9)
}

func TestCombineMapsRefuses(t *testing.T) {
	m, err := NewModel(Demo(), Mesh{})
	require.NoError(t, err)
	base := formulaMap(t, m, 0)
	single := Demo()
	single.Wings = single.Wings[:1]
	one, err := NewModel(single, Mesh{})
	require.NoError(t, err)
	finer, err := NewModel(Demo(), Mesh{Rows: 2, Strips: 8})
	require.NoError(t, err)
	narrow := combineNodes
	narrow.PitchMin, narrow.PitchMax = -.02, .1
	cut, err := m.FitMap(t.Context(), narrow, func(_, _ float64) (MapNode, error) {
		return MapNode{LoadsPerQ: LoadsPerQ{Lift: 1}, StripLift: make([]float64, len(m.strips))}, nil
	})
	require.NoError(t, err)
	for name, c := range map[string]struct {
		model   *Model
		weights []float64
		maps    []*Map
		other   bool
		says    string
	}{
		"none":         {m, nil, nil, false, "give one weight a map"},
		"one too few":  {m, []float64{1}, []*Map{base, base}, false, "2 maps are to be combined by 1 weights"},
		"sum":          {m, []float64{1, .5}, []*Map{base, base}, false, "sum to 1.5"},
		"not a number": {m, []float64{math.NaN(), 1}, []*Map{base, base}, false, "sum to NaN"},
		"fewer wings":  {one, []float64{1}, []*Map{base}, true, "strips"},
		"other mesh":   {finer, []float64{1}, []*Map{base}, true, "strips"},
		"other range":  {m, []float64{.5, .5}, []*Map{base, cut}, true, "ranges"},
	} {
		_, err := c.model.CombineMaps(c.weights, c.maps)
		assert.ErrorContains(t, err, c.says, name)
		if c.other {
			assert.ErrorIs(t, err, ErrUnlikeMaps, name)
		}
	}
}
