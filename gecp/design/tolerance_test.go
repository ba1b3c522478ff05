package design

import (
	"context"
	"math"
	"os"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/internal/canceltest"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// coarse is a mesh for speed; on it Teal has a height to tow it at, 14 m/s fast, and a speed window. The demo needs fair
// to have the height, and maps of three times as many solutions.
var coarse, fair = gecp.Mesh{Rows: 2, Strips: 4}, gecp.Mesh{Rows: 3, Strips: 6}

func tolerances(t *testing.T, c *gecp.Craft, o ToleranceOptions) Tolerances {
	t.Helper()
	if o.Mesh == (gecp.Mesh{}) {
		o.Mesh = coarse
	}
	if o.Speed == 0 {
		o.Speed = 14
	}
	got, err := Tolerance(t.Context(), c, o)
	require.NoError(t, err)
	return got
}

// grazes reports whether the ceiling of a ready craft hangs on hundredths: its margin of height
// stability falls by so little a metre there that a map's own error moves it by centimetres.
func grazes(key string) bool { return key == "reedling-tandem" || key == "water-rail-canard" }

// Builds that are expanded differ little from the same builds solved in full, for wings
// of many shapes.
func TestTolerance(t *testing.T) {
	for _, r := range crafts.All() {
		if os.Getenv("CI") == "" && r.Key != "teal-tandem" {
			continue // of the others where there is time
		}
		if grazes(r.Key) {
			continue
		}
		mesh := fair
		if os.Getenv("CI") == "" {
			mesh = coarse
		}
		got := tolerances(t, r.Craft, ToleranceOptions{Speed: r.Speed, Builds: 6, Checked: 6, Seed: 3, Mesh: mesh})
		assert.Len(t, got.Builds, 6)
		t.Logf("%s: %s", r.Key, got.Check.Words(units.Metric))
		assert.Zero(t, got.Solved, r.Key)
		assert.Zero(t, got.Failed, "%s: %v", r.Key, got.FirstErr)
		c := got.Check
		assert.Equal(t, 6, c.Builds)
		assert.True(t, got.Spreads[LetGoClearance].OK || r.Key != "teal-tandem", "something to compare")
		for q := range numQuantities {
			most := map[bool]float64{true: .004, false: .1}[q.Unit() == "m"] // m, m/s
			if q == LetGoClearance || q == SelfHolding {
				most = .015 // Garganey's curve is flat there, and the maps themselves stray by as much
			}
			assert.Less(t, c.Largest[q], most, "%s %v", r.Key, q)
			assert.LessOrEqual(t, c.Disagree[q], 1, "%s %v: one at the very edge may", r.Key, q)
		}
		for _, s := range got.Spreads {
			assert.LessOrEqual(t, s.P2_5, s.P50+1e-12)
			assert.LessOrEqual(t, s.P50, s.P97_5+1e-12)
			assert.Equal(t, s.OK, s.ShareNone < 1)
		}
		assert.Equal(t, len(got.Clearances), len(got.Pilot))
		for _, u := range []units.System{units.Metric, units.Customary} {
			for _, words := range []string{got.Words(u), got.Check.Words(u), got.Unknowns.Words(u)} {
				assert.NotContains(t, words, "%!")
				assert.NotContains(t, words, "NaN")
				assert.NotContains(t, words, "–")
			}
		}
	}
}

// Where the ceiling hangs on hundredths, what it hangs on is compared: the slope of the centre of
// gravity needed, which passes zero at the ceiling, and the pilot's position, clearance by clearance.
func TestToleranceWhereTheMarginGrazes(t *testing.T) {
	if os.Getenv("CI") == "" {
		t.Log("only where CI is set: maps with free wakes of some thirty craft")
		return
	}
	const slopeOff = .02 // of lift; a full solution whose map strays more in its slopes is no measure
	for _, r := range crafts.All() {
		if !grazes(r.Key) {
			continue
		}
		d, err := newDeviations(r.Craft, DefaultUnknowns(r.Craft))
		require.NoError(t, err)
		f, err := newMapFamily(t.Context(), r.Craft, fair, d.changes, func(float64) {})
		require.NoError(t, err)
		var slope, pilot float64
		off := f.base.Error().Slope // what the maps themselves stray
		const builds = 6
		held, compared := 0, 0
		for i := range builds {
			dev := d.draw(3, i)
			c := r.Craft.Clone()
			dev.apply(c)
			m, solved, err := f.at(t.Context(), c, dev.wings)
			require.NoError(t, err)
			assert.False(t, solved, r.Key)
			full, err := f.solve(t.Context(), c)
			require.NoError(t, err)
			if full.Error().Slope > slopeOff {
				continue
			}
			held++
			off = math.Max(off, full.Error().Slope)
			for _, cl := range []float64{.16, .2, .25, .3, .4, .5} {
				var at [2]tow.Trim
				for j, m := range []*gecp.Map{m, full} {
					s, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: r.Speed + dev.speed})
					require.NoError(t, err)
					at[j], err = s.Trim(cl)
					require.NoError(t, err)
				}
				compared++
				slope = math.Max(slope, math.Abs(at[0].RequiredCGSlope-at[1].RequiredCGSlope))
				pilot = math.Max(pilot, math.Abs(at[0].Pilot.X-at[1].Pilot.X))
			}
		}
		t.Logf("%s: %d of %d builds held against full solutions at %d places differ by up to %.4f m a metre in the slope of the centre of gravity needed, by %.4f m in the pilot's position; the maps' own slopes stray by %.4f", r.Key, held, builds, compared, slope, pilot, off)
		assert.GreaterOrEqual(t, held, builds-1, r.Key)
		assert.Less(t, slope, .04, r.Key)
		assert.Less(t, pilot, .015, r.Key)
	}
}

// The same seed makes the same builds on one core and on several, another seed others;
// progress runs to the end.
func TestToleranceIsRepeatable(t *testing.T) {
	progress := 0.
	u := Unknowns{Incidence: .01, CG: .02}
	o := ToleranceOptions{Builds: 12, Checked: 1, Seed: 9, Unknowns: &u, Progress: func(part float64) {
		assert.GreaterOrEqual(t, part, progress)
		progress = part
	}}
	a := tolerances(t, teal(t), o)
	assert.InDelta(t, 1, progress, 1e-9)
	o.Progress = nil
	old := runtime.GOMAXPROCS(1)
	b := tolerances(t, teal(t), o)
	runtime.GOMAXPROCS(old)
	assert.Equal(t, a.Builds, b.Builds)
	assert.Equal(t, a.Spreads, b.Spreads)
	o.Seed = 10
	assert.NotEqual(t, a.Builds, tolerances(t, teal(t), o).Builds)
}

// What is known exactly does not spread; mass and speed enter as they should.
func TestToleranceOfOneUnknown(t *testing.T) {
	of := func(u Unknowns) Tolerances {
		return tolerances(t, teal(t), ToleranceOptions{Builds: 20, Checked: 1, Seed: 1, Unknowns: &u})
	}
	exact := of(Unknowns{})
	for i := range exact.Builds {
		assert.Equal(t, exact.Nominal, exact.Builds[i])
	}
	assert.Zero(t, exact.Check.Largest)

	// A boat that shows too little lifts the craft off at a lower figure, one to one.
	fast := of(Unknowns{Speed: .5})
	for i := range fast.Builds {
		assert.Equal(t, exact.Nominal.Figures[WindowWidth], fast.Builds[i].Figures[WindowWidth])
	}
	s := fast.Spreads[LiftOffSpeed]
	assert.InDelta(t, .5, (s.P97_5-s.P2_5)/2, .2)

	// The lift-off speed goes about with the root of the weight, over that of the lift.
	whole := teal(t).Mass()
	heavy, weak := of(Unknowns{Mass: 6}), of(Unknowns{LiftFactor: .06})
	at := exact.Nominal.Figures[LiftOffSpeed].Value
	within := func(got Spread, share float64) {
		ratio := (got.P97_5 - got.P2_5) / (at * share)
		assert.True(t, ratio > .15 && ratio < 2, "20 builds, one of whose floats leaves the water first: %v", ratio)
	}
	within(heavy.Spreads[LiftOffSpeed], 6/whole)
	within(weak.Spreads[LiftOffSpeed], .06)

	// Halves that go wholly together spread more than halves that have nothing to do with
	// each other, by the root of two.
	together, apart := of(Unknowns{Incidence: .005, Halves: 1}), of(Unknowns{Incidence: .005})
	width := func(o Tolerances) float64 { return o.Spreads[SelfHolding].P97_5 - o.Spreads[SelfHolding].P2_5 }
	assert.Greater(t, width(together), width(apart))
}

// A correction in the file stays in force; its standard error takes the place of the
// chosen figure, and one that is off counts for nothing.
func TestToleranceOfACorrectedCraft(t *testing.T) {
	c := gecp.Demo()
	c.Correction = &gecp.Correction{LiftFactor: .9, LiftFactorError: .01, CPOffset: .02, Runs: 9, On: true}
	assert.InDelta(t, 1.96*.01/.9, DefaultUnknowns(c).LiftFactor, 1e-12)
	var d deviation
	d.liftFactor = .1
	d.apply(c)
	assert.InDelta(t, .99, c.Correction.LiftFactor, 1e-12)
	assert.Equal(t, .02, c.Correction.CPOffset)
	c.Correction.On = false
	d.apply(c)
	assert.Equal(t, &gecp.Correction{LiftFactor: 1.1, Runs: 1, On: true}, c.Correction)
	assert.Equal(t, .03, DefaultUnknowns(gecp.Demo()).LiftFactor)
}

// Without pilot or floats what can be told is told.
func TestToleranceOfABareCraft(t *testing.T) {
	c := teal(t)
	c.Floats = nil
	o := ToleranceOptions{Speed: 14, Builds: 4, Checked: 1, Unknowns: &Unknowns{Mass: 2}}
	got := tolerances(t, c, o)
	assert.True(t, got.Spreads[LetGoClearance].OK)
	assert.False(t, got.Spreads[LiftOffSpeed].OK)
	c.Weights[0].Mass, c.Pilot = c.Weights[0].Mass+c.Pilot.Mass, nil
	got = tolerances(t, c, o)
	assert.False(t, got.Spreads[PilotAft].OK)
	assert.NotContains(t, got.Words(units.Metric), "pilot's positions")
}

// A craft whose small changes cannot be combined is solved build by build, and says so.
func TestToleranceInFull(t *testing.T) {
	f := &mapFamily{mesh: coarse, options: gecp.MapOptions{Heights: 4, Pitches: 4, Tolerance: .05}}
	m, solved, err := f.at(t.Context(), gecp.Demo(), nil)
	require.NoError(t, err)
	assert.True(t, solved)
	assert.NotNil(t, m)
}

func TestToleranceRefuses(t *testing.T) {
	with := func(change func(*Unknowns)) ToleranceOptions {
		u := DefaultUnknowns(gecp.Demo())
		change(&u)
		return ToleranceOptions{Speed: 14, Unknowns: &u}
	}
	for says, o := range map[string]ToleranceOptions{
		"speed is 0 m/s":                             {},
		"give 1 to 100000":                           {Speed: 14, Builds: -1},
		"give 0 or more":                             {Speed: 14, Checked: -1},
		"incidence is 5 degrees; give 0 to 3":        with(func(u *Unknowns) { u.Incidence = gecp.Radians(5) }),
		"mass is NaN kg":                             with(func(u *Unknowns) { u.Mass = math.NaN() }),
		"halves of a wing are correlated by 2":       with(func(u *Unknowns) { u.Halves = 2 }),
		"centre of gravity is -1 m; give 0 to 0.3 m": with(func(u *Unknowns) { u.CG = -1 }),
	} {
		got, err := Tolerance(t.Context(), gecp.Demo(), o)
		assert.ErrorContains(t, err, says)
		assert.Zero(t, got)
	}
	bare := gecp.Demo()
	bare.Tow = nil
	_, err := Tolerance(t.Context(), bare, ToleranceOptions{Speed: 14})
	assert.ErrorContains(t, err, "how the craft is towed")
	bare.Wings = nil
	_, err = Tolerance(t.Context(), bare, ToleranceOptions{Speed: 14})
	assert.ErrorContains(t, err, "wings")
}

func TestToleranceCancelled(t *testing.T) {
	canceltest.Stops(t, func(ctx context.Context) (Tolerances, error) {
		u := Unknowns{Incidence: .01}
		return Tolerance(ctx, teal(t), ToleranceOptions{Speed: 14, Builds: 3, Checked: 1, Mesh: coarse, Unknowns: &u})
	})
}

// Counts of a hundred are rounded towards safety.
func TestToleranceCounts(t *testing.T) {
	assert.Equal(t, 0, hundredths(0))
	assert.Equal(t, 1, hundredths(.0001))
	assert.Equal(t, 7, hundredths(.07))
	assert.Equal(t, 100, hundredths(1))
	builds := func(have, lack int) *Tolerances {
		o := &Tolerances{Builds: make([]Build, have+lack), Craft: gecp.Demo()}
		for i := range have {
			o.Builds[i].Figures[SelfHolding] = figure(1 + float64(i))
		}
		o.summarise(nil)
		return o
	}
	for _, c := range []struct {
		have, lack, n int
		at            float64
		ok            bool
	}{
		{100, 0, 95, 6, true},
		{97, 3, 95, 3, true},
		{93, 7, 90, 4, true},
		{5, 95, 5, 1, true},
		{4, 96, 0, 0, false},
		{1, 0, 95, 1, true},
	} {
		n, at, ok := builds(c.have, c.lack).most(SelfHolding)
		assert.Equal(t, c.ok, ok, "%+v", c)
		assert.Equal(t, c.n, n, "%+v", c)
		if ok {
			assert.Equal(t, c.at, at, "%+v", c)
		}
	}
	assert.True(t, strings.HasPrefix(builds(93, 7).Words(units.Metric), "Of 100 such builds 90 hold themselves to 4.00 m or more"))
	assert.Contains(t, builds(1, 99).Words(units.Metric), "hardly one holds a height")
}

func BenchmarkTolerance(b *testing.B) {
	for b.Loop() {
		if _, err := Tolerance(b.Context(), gecp.Demo(), ToleranceOptions{Speed: 14}); err != nil {
			b.Fatal(err)
		}
	}
}

// One build among many that is far off is told apart from the others.
func TestBuildCheck(t *testing.T) {
	builds, full := make([]Build, 11), make([]Build, 11)
	for i := range builds {
		builds[i].Figures[LetGoClearance], full[i].Figures[LetGoClearance] = figure(.3), figure(.3+.0001*float64(i))
	}
	full[4].Figures[LetGoClearance] = figure(.251)
	builds[10].Figures[LetGoClearance] = Figure{}
	full[2].Figures[LiftOffSpeed] = figure(14)
	c := newBuildCheck(builds, full)
	assert.Equal(t, 11, c.Builds)
	assert.InDelta(t, .049, c.Largest[LetGoClearance], 1e-12)
	assert.InDelta(t, .0009, c.Most[LetGoClearance], 1e-12, "of ten that have it the second largest")
	assert.Equal(t, 1, c.Disagree[LetGoClearance])
	assert.Equal(t, 1, c.Disagree[LiftOffSpeed])
	assert.Contains(t, c.Words(units.Metric), "11 builds solved in full differ by up to 49.0 mm (nine of ten by 0.9 mm at most) in clearances, 0.0 mm in the pilot's positions")
	few := newBuildCheck(builds[:6], full[:6])
	assert.Equal(t, few.Largest, few.Most, "of fewer than ten all")
	assert.NotContains(t, few.Words(units.Metric), "nine of ten")
	assert.False(t, isRare(.0018, .0009))
	assert.True(t, isRare(.00181, .0009))
}
