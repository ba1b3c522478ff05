package design

import (
	"context"
	"errors"
	"math"
	"os"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/canceltest"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// quickSearch is as little as a search can do.
func quickSearch(vary ...Variation) ImproveOptions {
	return ImproveOptions{Vary: vary, Effort: 20, Mesh: coarse, Requirements: Requirements{LiftOff: 18, SelfHolding: .2}}
}

var rearIncidence = Variation{"wings[1].incidence_deg", 0, 4}

// The search finds a better craft, the same on one core as on two; what it says of the craft is what a craft
// built to the values does; steps are whole.
func TestImprove(t *testing.T) {
	if os.Getenv("CI") == "" {
		t.Log("only where CI is set: it takes half a minute")
		return
	}
	o := quickSearch(Variation{"wings[1].incidence_deg", 5, 7})
	o.Requirements.LiftOff = 18
	file := teal(t)
	progress := 0.
	o.Progress = func(part float64) {
		assert.Greater(t, part, progress)
		progress = part
	}
	im, err := Improve(t.Context(), file, o)
	require.NoError(t, err)
	assert.InDelta(t, 1, progress, 1e-9)
	assert.True(t, im.Best.Meets())
	assert.Greater(t, im.Best.Window.Value, im.Before.Window.Value)
	assert.GreaterOrEqual(t, im.Best.Window.Value, im.Rounded.Window.Value-.05)
	d := im.Dimensions[0]
	assert.Equal(t, 6., d.Before)
	assert.Equal(t, .5, d.Step)
	assert.InDelta(t, 0, math.Remainder(d.Rounded, d.Step), 1e-12)
	assert.LessOrEqual(t, d.FlatFrom, d.Best)
	assert.LessOrEqual(t, d.Best, d.FlatTo)

	c := teal(t)
	c.Wings[1].IncidenceDeg = d.Rounded
	assert.Equal(t, c, im.Rounded.Craft)
	model, err := gecp.NewModel(c, coarse)
	require.NoError(t, err)
	m, err := model.BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	w, err := tow.FindFirstWindow(t.Context(), m, gecp.AirDensity, c.Pilot.Middle())
	require.NoError(t, err)
	assert.Equal(t, w.Width(), im.Rounded.Window.Value)

	text := words(im)
	for _, never := range []string{"%!", "NaN", "Inf", "–", "<nil>"} {
		assert.NotContains(t, text, never)
	}
	assert.Contains(t, text, "the best has a speed window of")
	if os.Getenv("CI") == "" {
		return // once is enough where time is short
	}
	o.Progress = nil
	old := runtime.GOMAXPROCS(1)
	again, err := Improve(t.Context(), file, o)
	runtime.GOMAXPROCS(old)
	require.NoError(t, err)
	assert.Equal(t, im, again)

}

// words returns all that is said of an improvement, in both systems of units.
func words(im Improvement) string {
	var s strings.Builder
	for _, u := range []units.System{units.Metric, units.Customary} {
		s.WriteString(im.Words(u))
		for _, r := range append(im.Table(u), im.RequirementTable(u)...) {
			s.WriteString("\n" + strings.Join(r, "|"))
		}
	}
	return s.String()
}

// Where no craft does what is required the nearest is told, with what it misses.
func TestImproveOfNone(t *testing.T) {
	if os.Getenv("CI") == "" {
		t.Log("only where CI is set")
		return
	}
	o := quickSearch(Variation{"pilot.mass_kg", 60, 90})
	o.Goal = LeastTravel
	o.Requirements.LiftOff = 6
	im, err := Improve(t.Context(), gecp.Demo(), o)
	require.NoError(t, err)
	assert.False(t, im.Best.Meets())
	assert.Empty(t, im.Binding)
	assert.Contains(t, im.Words(units.Metric), "No craft within these bounds does all that is required")
	assert.Contains(t, im.Words(units.Metric), "it lifts off at 21.6 km/h or below (")
}

func TestImproveRefuses(t *testing.T) {
	with := func(change func(*ImproveOptions)) ImproveOptions {
		o := quickSearch(rearIncidence)
		change(&o)
		return o
	}
	for says, o := range map[string]ImproveOptions{
		"0 dimensions are to be varied":           {},
		"is given twice":                          quickSearch(rearIncidence, rearIncidence),
		"finite bounds that rise":                 quickSearch(Variation{"pilot.x_m", 1, 1}),
		"wings[7].x_m is no dimension":            quickSearch(Variation{"wings[7].x_m", 0, 1}),
		"lift off at -1 m/s":                      with(func(o *ImproveOptions) { o.Requirements.LiftOff = -1 }),
		"hold itself up to 9 m":                   with(func(o *ImproveOptions) { o.Requirements.SelfHolding = 9 }),
		"3 craft are to be looked at; give 20 to": with(func(o *ImproveOptions) { o.Effort = 3 }),
		"no goal 7":                               with(func(o *ImproveOptions) { o.Goal = 7 }),
		"air's density is -1":                     with(func(o *ImproveOptions) { o.Density = -1 }),
	} {
		got, err := Improve(t.Context(), gecp.Demo(), o)
		assert.ErrorContains(t, err, says)
		assert.Zero(t, got)
	}
	c := gecp.Demo()
	c.Floats = nil
	_, err := Improve(t.Context(), c, quickSearch(rearIncidence))
	assert.ErrorContains(t, err, "where the craft floats")
}

func TestImproveCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	o := quickSearch(rearIncidence)
	o.Progress = func(part float64) {
		if part > .3 {
			cancel()
		}
	}
	got, err := Improve(ctx, teal(t), o)
	assert.ErrorIs(t, err, context.Canceled)
	assert.Zero(t, got)
	q := inquiry{craft: teal(t), o: quickSearch(rearIncidence)}
	canceltest.Stops(t, func(ctx context.Context) (Candidate, error) { return q.at(ctx, []float64{2}, coarsely) })
}

func TestGoals(t *testing.T) {
	for g := range numGoals {
		got, err := ParseGoal(g.String())
		require.NoError(t, err)
		assert.Equal(t, g, got)
	}
	_, err := ParseGoal("fast")
	assert.ErrorContains(t, err, "give window, travel or let_go")
}

// What decides between craft, case by case.
func TestJudge(t *testing.T) {
	good := Candidate{LiftOff: figure(14), Window: figure(1), SelfHolding: figure(.4), LetGo: figure(.35), Travel: figure(.1), ReachMargin: figure(.05), StripShare: figure(.8)}
	need := Requirements{LiftOff: 15, SelfHolding: .3}
	for _, c := range []struct {
		name   string
		change func(*Candidate)
		broken float64
		which  Requirement
		binds  []Requirement
	}{
		{"good", func(*Candidate) {}, 0, numRequirements, nil},
		{"late", func(k *Candidate) { k.LiftOff.Value = 16.5 }, .1, RequireLiftOff, nil},
		{"just", func(k *Candidate) { k.LiftOff.Value = 15 }, 0, numRequirements, []Requirement{RequireLiftOff}},
		{"never", func(k *Candidate) { k.LiftOff = Figure{} }, noLiftOff, RequireLiftOff, nil},
		{"low", func(k *Candidate) { k.SelfHolding.Value = .15 }, .5, RequireSelfHolding, nil},
		{"out of reach", func(k *Candidate) { k.ReachMargin.Value = -.02 }, .02, RequireReach, nil},
		{"at the stop", func(k *Candidate) { k.ReachMargin.Value = 0 }, 0, numRequirements, []Requirement{RequireReach}},
		{"stalled", func(k *Candidate) { k.StripShare.Value = 1.2 }, .2, RequireSection, nil},
		{"nearly", func(k *Candidate) { k.StripShare.Value = 1; k.SelfHolding.Value = .3 }, 0, numRequirements, []Requirement{RequireSelfHolding, RequireSection}},
	} {
		k := good
		c.change(&k)
		k.judge(need, WidestWindow)
		assert.InDelta(t, c.broken, k.merit.broken, 1e-9, c.name)
		for r, b := range k.Broken {
			assert.Equal(t, Requirement(r) == c.which, b > 0, "%s: %v", c.name, r)
		}
		assert.Equal(t, c.binds, k.binding(need), c.name)
	}
	k := good
	k.judge(need, LeastTravel)
	assert.Equal(t, .1, k.merit.cost)
	k.judge(need, HighestLetGo)
	assert.Equal(t, -.35, k.merit.cost)
	k.LetGo = Figure{}
	k.judge(need, HighestLetGo)
	assert.False(t, k.Meets())
	assert.False(t, k.keeps(&good, HighestLetGo))
	unsoundCraft := unknown([]float64{1}, errors.New("no"), unsound)
	assert.True(t, k.merit.less(unsoundCraft.merit))
}

func TestSnap(t *testing.T) {
	d := VariedDimension{Variation: Variation{From: 3.004, To: 3.996}, Step: .01}
	for steps, want := range map[float64]float64{350: 3.5, 300: 3.01, 400: 3.99, 399: 3.99, 301: 3.01} {
		assert.Equal(t, want, d.snap(steps))
	}
	d = VariedDimension{Variation: Variation{From: -.3, To: .3}, Step: .01}
	assert.Equal(t, -.3, d.snap(-30))
	assert.Equal(t, .3, d.snap(31))
}

func BenchmarkImprove(b *testing.B) {
	vary, err := ParseVariations("wings[1].x_m=3..4.5,wings[1].incidence_deg=0..6,wings[0].incidence_deg=2..8,pilot.x_m=-0.3..0.3")
	require.NoError(b, err)
	for b.Loop() {
		if _, err := Improve(b.Context(), gecp.Demo(), ImproveOptions{Vary: vary}); err != nil {
			b.Fatal(err)
		}
	}
}

// What rounding costs is told as it is: nothing, something, or less than nothing.
func TestLost(t *testing.T) {
	for rounded, want := range map[float64]string{
		2:   "nothing is lost by rounding",
		1.5: "1.8 km/h is lost by rounding",
		2.5: "came upon a better craft",
	} {
		im := Improvement{Best: Candidate{Window: figure(2), merit: merit{cost: -2}}, Rounded: Candidate{Window: figure(rounded), merit: merit{cost: -rounded}}}
		assert.Contains(t, im.lost(units.Metric), want)
	}
}
