package lake

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/tow"
)

// inventor makes logs of runs with a known truth.
type inventor struct {
	m       *gecp.Map
	truth   gecp.Correction
	errors  Accuracy
	lo, hi  float64 // clearances, m
	noPitch bool
}

func (v inventor) runs(t testing.TB, rng *rand.Rand, n int) []Run {
	t.Helper()
	c := v.m.Model().Craft()
	k := v.truth
	k.Runs, k.On = 1, true
	c.Correction = &k
	m, err := v.m.For(c)
	require.NoError(t, err)
	var runs []Run
	for len(runs) < n {
		speed, clearance := 12.5+4*rng.Float64(), v.lo+(v.hi-v.lo)*rng.Float64()
		st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: speed})
		require.NoError(t, err)
		b, err := st.Trim(clearance)
		if err != nil {
			continue
		}
		off := func(v, s float64) float64 { return v + s*rng.NormFloat64() }
		r := Run{Line: len(runs) + 2, Speed: off(speed, v.errors.Speed), Clearance: math.Max(.05, off(clearance, v.errors.Clearance)), Pilot: off(b.Pilot.X, v.errors.Pilot)}
		if !v.noPitch {
			r.Pitch = Measured{off(b.Pitch, v.errors.Pitch), true}
		}
		runs = append(runs, r)
	}
	return runs
}

// careful are errors of a crew that measures well.
var careful = Accuracy{Speed: .2, Clearance: .03, Pilot: .02, Pitch: gecp.Radians(.4)}

// tealMap is Teal's map on the default mesh: the README tells of fits on it.
var tealMap = sync.OnceValue(func() *gecp.Map {
	all := crafts.All()
	at := slices.IndexFunc(all, func(r crafts.Ready) bool { return r.Key == "teal-tandem" })
	m, err := all[at].Craft.BuildMap(context.Background(), gecp.MapOptions{})
	if err != nil {
		panic(err)
	}
	return m
})

func invented(truth gecp.Correction) inventor {
	return inventor{m: tealMap(), truth: truth, errors: careful, lo: .2, hi: .6}
}

func truthOf(k gecp.Correction) [parameters]float64 {
	return [parameters]float64{k.LiftFactor, k.CPOffset, k.CPPerM}
}

// Of invented logs with known truth the 95 % intervals hold it in 92 to 98 %.
func TestFitCoverage(t *testing.T) {
	const logs = 500
	for name, truth := range map[string]gecp.Correction{
		"factor and offset": {LiftFactor: .94, CPOffset: .05},
		"growth":            {LiftFactor: 1.03, CPOffset: -.06, CPPerM: .4},
	} {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(11, 12))
			v := invented(truth)
			var held, fitted [parameters]int
			outliers, asked := 0, 0
			var bias [parameters]float64
			for range logs {
				f, err := FitLog(t.Context(), v.m, v.runs(t, rng, 14), FitOptions{Accuracy: careful})
				require.NoError(t, err)
				for j, want := range truthOf(truth) {
					if e := f.Estimates[j]; e.Fitted {
						fitted[j]++
						bias[j] += (e.Value - want) / e.Error / logs
						if e.Low <= want && want <= e.High {
							held[j]++
						}
					}
				}
				if len(f.Outliers) > 0 {
					outliers++
				}
				if f.Growth.Asked {
					asked++
				}
			}
			t.Logf("check coverage, %s: of %d logs of 14 runs the 95 %% intervals hold lift factor %d of %d, offset %d of %d, growth %d of %d; mean error over standard error %.2f; %d lose a run, %d ask for growth",
				name, logs, held[0], fitted[0], held[1], fitted[1], held[2], fitted[2], bias, outliers, asked)
			n := 2
			if truth.CPPerM != 0 {
				n = 3
			}
			for j := range n {
				assert.Greater(t, fitted[j], logs*9/10)
				share := float64(held[j]) / float64(fitted[j])
				assert.GreaterOrEqual(t, share, .92, Parameter(j))
				assert.LessOrEqual(t, share, .98, Parameter(j))
			}
			if truth.CPPerM == 0 {
				assert.Less(t, asked, logs/12, "about one in twenty by chance")
			}
			assert.Less(t, outliers, logs/25)
		})
	}
}

// One wild line of ten changes no estimate by more than its interval, and is named.
func TestFitWildLine(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	v := invented(gecp.Correction{LiftFactor: .93, CPOffset: .05})
	missed := 0
	for n := range 40 {
		runs := v.runs(t, rng, 10)
		clean, err := FitLog(t.Context(), v.m, runs, FitOptions{Accuracy: careful})
		require.NoError(t, err)
		i := rng.IntN(10)
		w := &runs[i]
		var what string
		switch n % 7 {
		case 0:
			w.Pilot, what = w.Pilot+1, "pilot"
		case 1:
			w.Pilot, what = w.Pilot-.5, "pilot"
		case 2:
			w.Clearance, what = w.Clearance*3.28, "clearance in feet"
		case 3:
			w.Pitch.Value, what = -w.Pitch.Value, "sign of the pitch"
		case 4:
			w.Speed, what = w.Speed*1.852, "speed"
		case 5:
			w.Pitch.Value, what = w.Pitch.Value*10, "decimal point"
		case 6:
			w.Speed, what = w.Speed/2, "speed"
		}
		f, err := FitLog(t.Context(), v.m, runs, FitOptions{Accuracy: careful})
		require.NoError(t, err)
		named := false
		for _, o := range f.Outliers {
			named = named || o.Line == w.Line
			assert.NotContains(t, o.String(), "%!")
		}
		if !named {
			missed++
			t.Logf("%s not named", what)
		}
		for j, e := range clean.Estimates {
			if e.Fitted && f.Estimates[j].Fitted {
				assert.InDelta(t, e.Value, f.Estimates[j].Value, 1.25*(e.High-e.Value), "%v with a wild %s", Parameter(j), what)
			}
		}
	}
	assert.LessOrEqual(t, missed, 4, "a line that hardly matters may pass")
}

func TestFitSaysWhatToMeasure(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	truth := gecp.Correction{LiftFactor: .95, CPOffset: .05}
	v := invented(truth)
	v.noPitch = true
	f, err := FitLog(t.Context(), v.m, v.runs(t, rng, 20), FitOptions{Accuracy: careful})
	require.NoError(t, err)
	assert.False(t, f.Estimates[LiftFactor].Fitted)
	assert.Contains(t, f.Estimates[LiftFactor].Why, "cannot be told from these runs: 0 of them tell the pitch")
	assert.Contains(t, f.Estimates[LiftFactor].Why, "measure the pitch")
	assert.Equal(t, 1., f.Estimates[LiftFactor].Value)
	assert.True(t, f.Estimates[CPOffset].Fitted)

	v = invented(truth)
	v.lo, v.hi = .3, .32
	f, err = FitLog(t.Context(), v.m, v.runs(t, rng, 20), FitOptions{Accuracy: careful})
	require.NoError(t, err)
	assert.True(t, f.Estimates[LiftFactor].Fitted)
	assert.Contains(t, f.Estimates[CPPerM].Why, "fly runs at clearances further apart")

	// A log of eye and thumb tells nothing.
	f, err = FitLog(t.Context(), v.m, v.runs(t, rng, 5), FitOptions{Accuracy: Accuracy{Speed: 3, Clearance: .5, Pilot: .5, Pitch: gecp.Radians(8)}})
	require.NoError(t, err)
	for _, e := range f.Estimates {
		assert.False(t, e.Fitted)
		assert.Contains(t, e.Why, "cannot be told from these runs")
	}
	assert.False(t, f.Correcting.Asked)

	_, err = FitLog(t.Context(), v.m, v.runs(t, rng, 4), FitOptions{})
	var few *TooFewRunsError
	require.ErrorAs(t, err, &few)
	assert.Equal(t, 4, few.Runs)
	assert.ErrorContains(t, err, "a fit takes 5 or more")

	// Runs that cannot be are named and left out.
	runs := v.runs(t, rng, 8)
	runs[2].Speed, runs[5].Clearance = 3, 9
	f, err = FitLog(t.Context(), v.m, runs, FitOptions{Accuracy: careful})
	require.NoError(t, err)
	require.Len(t, f.Outliers, 2)
	assert.Contains(t, f.Outliers[0].String(), "line 4: the calculation has no such run: too slow")
	assert.Contains(t, f.Outliers[1].String(), "line 7: the calculation has no such run: a clearance of 9 m lies outside the map")
	assert.Equal(t, 6, f.Used)

	for _, bad := range []FitOptions{{Density: -1}, {Accuracy: Accuracy{Speed: -1}}, {Accuracy: Accuracy{Clearance: math.NaN()}}, {Accuracy: Accuracy{Pitch: 1}}} {
		_, err = FitLog(t.Context(), v.m, runs, bad)
		assert.Error(t, err)
	}
	c := v.m.Model().Craft()
	c.Pilot = nil
	m, err := v.m.For(c)
	require.NoError(t, err)
	_, err = FitLog(t.Context(), m, runs, FitOptions{})
	var p gecp.Problems
	assert.ErrorAs(t, err, &p)
}

// Exact logs give the truth, with a correction in the file or without, and the craft that
// is written has it.
func TestFitOfAnExactLog(t *testing.T) {
	truth := gecp.Correction{LiftFactor: .96, CPOffset: .07, CPPerM: -.12}
	v := invented(truth)
	v.errors = Accuracy{}
	runs := v.runs(t, rand.New(rand.NewPCG(17, 18)), 12)
	c := v.m.Model().Craft()
	c.Correction = &gecp.Correction{LiftFactor: .7, CPOffset: .2, Runs: 3, On: true}
	m, err := v.m.For(c)
	require.NoError(t, err)
	for _, m := range []*gecp.Map{v.m, m} {
		f, err := FitLog(t.Context(), m, runs, FitOptions{Accuracy: careful})
		require.NoError(t, err)
		for j, want := range truthOf(truth) {
			assert.InDelta(t, want, f.Estimates[j].Value, 1e-5)
		}
		k, err := f.Correction()
		require.NoError(t, err)
		assert.Equal(t, 12, k.Runs)
		assert.True(t, k.On)
		c.Correction = k
		var b bytes.Buffer
		require.NoError(t, c.Write(&b))
		again, err := gecp.Read(&b)
		require.NoError(t, err)
		assert.Equal(t, k, again.Correction)
		cm, err := v.m.For(again)
		require.NoError(t, err)
		after, err := CompareRuns(cm, runs, 0)
		require.NoError(t, err)
		for _, a := range after {
			assert.InDelta(t, 0, a.PilotDifference, 1e-5)
			assert.InDelta(t, 0, a.PitchDifference.Value, 1e-6)
		}
	}
}

// Without anything to correct the runs ask for nothing, in all but one of twenty logs.
func TestFitAsksForNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 20))
	v := invented(gecp.Correction{LiftFactor: 1})
	asked := 0
	for range 100 {
		f, err := FitLog(t.Context(), v.m, v.runs(t, rng, 10), FitOptions{Accuracy: careful})
		require.NoError(t, err)
		if f.Correcting.Asked {
			asked++
		}
	}
	assert.Less(t, asked, 14, "binomial with 100 and 0.05, and growth that joins by chance")
}

func TestCompareRuns(t *testing.T) {
	m := readymaps.Coarse()["teal-tandem"]
	st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: 14})
	require.NoError(t, err)
	b, err := st.Trim(.3)
	require.NoError(t, err)
	cold, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: 14, Density: gecp.AirDensity * 288.15 / 273.15})
	require.NoError(t, err)
	cb, err := cold.Trim(.3)
	require.NoError(t, err)
	c, err := CompareRuns(m, []Run{
		{Speed: 14, Clearance: .3, Pilot: b.Pilot.X + .1, Pitch: Measured{b.Pitch - .01, true}, Pull: Measured{b.LineTension + 20, true}},
		{Speed: 14, Clearance: .3, Pilot: b.Pilot.X, AirTemp: Measured{0, true}},
		{Speed: 1, Clearance: .3},
	}, 0)
	require.NoError(t, err)
	assert.InDelta(t, .1, c[0].PilotDifference, 1e-12)
	assert.InDelta(t, -.01, c[0].PitchDifference.Value, 1e-12)
	assert.InDelta(t, 20, c[0].PullDifference.Value, 1e-9)
	assert.Equal(t, cb, c[1].Predicted)
	assert.False(t, c[1].PitchDifference.OK)
	assert.ErrorIs(t, c[2].Err, tow.ErrTooSlow)
	_, err = CompareRuns(m, nil, 99)
	assert.ErrorContains(t, err, "density is 99")
}

func BenchmarkFitLog(b *testing.B) {
	v := invented(gecp.Correction{LiftFactor: .95, CPOffset: .05})
	runs := v.runs(b, rand.New(rand.NewPCG(21, 22)), 200)
	b.ReportAllocs()
	for b.Loop() {
		f, err := FitLog(b.Context(), v.m, runs, FitOptions{Accuracy: careful})
		if err != nil || f.Used < 190 || strings.Contains(f.Estimates[0].Why, "cannot") {
			b.Fatal(f, err)
		}
	}
}
