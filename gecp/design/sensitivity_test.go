package design

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/gecp/internal/randomcraft"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// quickQuestion is the demo's, on a mesh that is quick.
func quickQuestion() SensitivityOptions {
	return SensitivityOptions{Question: Question{Speed: 16}, Mesh: fair, Far: -1}
}

// What follows from the physics without any figure.
func TestSensitivities(t *testing.T) {
	o := quickQuestion()
	var last float64
	o.Progress = func(part float64) { assert.GreaterOrEqual(t, part, last); last = part }
	c := gecp.Demo()
	s, err := FindSensitivities(t.Context(), c, o)
	require.NoError(t, err)
	assert.Equal(t, 1., last)
	assert.Equal(t, gecp.Demo(), c)
	at := func(path string) *Sensitivity {
		for i := range s.Dimensions {
			if s.Dimensions[i].Path == path {
				return &s.Dimensions[i]
			}
		}
		require.Fail(t, "no such dimension", path)
		return nil
	}
	for i := range s.Dimensions {
		assert.False(t, s.Dimensions[i].Detail || s.Dimensions[i].Motion, s.Dimensions[i].Path)
		assert.NoError(t, s.Dimensions[i].Err)
	}
	// More of the drag that no wing makes: more pull, by its dynamic pressure.
	q := .5 * gecp.AirDensity * 16 * 16
	assert.InEpsilon(t, .01*q, at("parasite_area_m2").Effects[AnswerPull].PerStep, .03)
	assert.Positive(t, at("pilot.mass_kg").Effects[AnswerLiftOff].PerStep, "heavier flies faster")
	// A pilot who sits further aft lifts the nose: the craft flies slower.
	assert.Negative(t, at("pilot.x_m").Effects[AnswerLiftOff].PerStep)
	// Both stops moved are each stop moved.
	assert.InDelta(t, at("pilot.x_m").Effects[AnswerLiftOff].PerStep,
		at("pilot.x_forward_m").Effects[AnswerLiftOff].PerStep+at("pilot.x_aft_m").Effects[AnswerLiftOff].PerStep, 1e-3)
	// The whole craft moved against its datum is the same craft.
	var all float64
	for i := range s.Dimensions {
		d := &s.Dimensions[i]
		switch indices.ReplaceAllString(d.Path, "") {
		case "wings.x_m", "weights.x_m", "pilot.x_m", "tow.x_m", "floats.x_m":
			require.True(t, d.Effects[AnswerReach].OK)
			all += d.Effects[AnswerReach].PerStep
		}
	}
	assert.InDelta(t, 0, all, .004, "of effects of up to %v", at("wings[0].x_m").Effects[AnswerReach].PerStep)
	assert.Greater(t, math.Abs(at("wings[0].x_m").Effects[AnswerReach].PerStep), .02)
}

// The ranking goes by size, and what has no effect comes last.
func TestRank(t *testing.T) {
	s := Sensitivities{Dimensions: make([]Sensitivity, 3)}
	s.Dimensions[0].Path = "none"
	s.Dimensions[1].Path, s.Dimensions[1].Effects[AnswerPull] = "small", Effect{PerStep: 1, OK: true}
	s.Dimensions[2].Path, s.Dimensions[2].Effects[AnswerPull] = "large", Effect{PerStep: -2, OK: true}
	var got []string
	for _, d := range s.By(AnswerPull) {
		got = append(got, d.Path)
	}
	assert.Equal(t, []string{"large", "small", "none"}, got)
}

func TestEffect(t *testing.T) {
	no := Figure{}
	for name, q := range map[string]struct {
		smaller, base, larger Figure
		want                  Effect
	}{
		"straight":        {figure(1), figure(1.1), figure(1.2), Effect{PerStep: .1, OK: true}},
		"bends":           {figure(1), figure(1.1), figure(1.1), Effect{PerStep: .05, OK: true, Bends: true}},
		"bends unseen":    {figure(1.0999), figure(1.1), figure(1.1), Effect{PerStep: .00005, OK: true}},
		"only larger":     {no, figure(1.1), figure(1.2), Effect{PerStep: .1, OK: true, OneSided: true, way: 1}},
		"only smaller":    {figure(1), figure(1.1), no, Effect{PerStep: .1, OK: true, OneSided: true, way: -1}},
		"none by itself":  {figure(1), no, figure(1.2), Effect{}},
		"none either way": {no, figure(1), no, Effect{}},
	} {
		got := effect(AnswerLetGo, q.smaller, q.base, q.larger)
		assert.InDelta(t, q.want.PerStep, got.PerStep, 1e-12, name)
		got.PerStep = q.want.PerStep
		assert.Equal(t, q.want, got, name)
	}
}

// The line holds up to the last rung at which the change is told, both ways or the one there is.
func TestStraighten(t *testing.T) {
	ladder := farSteps()
	further := func(f func(steps float64) Figure) [][2]sample {
		var far [][2]sample
		for _, n := range ladder {
			var s [2]sample
			s[0].figures[AnswerLetGo], s[1].figures[AnswerLetGo] = f(-float64(n)), f(float64(n))
			far = append(far, s)
		}
		return far
	}
	base := sample{}
	base.figures[AnswerLetGo] = figure(1)
	for name, q := range map[string]struct {
		e    Effect
		f    func(n float64) Figure
		want int
	}{
		"a line":             {Effect{PerStep: .01, OK: true}, func(n float64) Figure { return figure(1 + .01*n) }, 16},
		"a parabola":         {Effect{PerStep: .01, OK: true}, func(n float64) Figure { return figure(1 + .01*n + .0004*n*n) }, 4},
		"ends on one side":   {Effect{PerStep: .01, OK: true}, func(n float64) Figure { return Figure{1 + .01*n, n > -5} }, 4},
		"is not asked there": {Effect{PerStep: .01, OK: true, OneSided: true, way: 1}, func(n float64) Figure { return Figure{1 + .01*n, n > 0} }, 16},
		"bends":              {Effect{PerStep: .01, OK: true, Bends: true}, func(n float64) Figure { return figure(1 + .01*n) }, 0},
		"off at once":        {Effect{PerStep: .01, OK: true}, func(n float64) Figure { return figure(1) }, 1},
	} {
		var d Sensitivity
		d.Effects[AnswerLetGo] = q.e
		d.straighten(base, ladder, further(q.f))
		assert.True(t, d.Far)
		assert.Equal(t, q.want, d.Effects[AnswerLetGo].Straight, name)
	}
}

func TestSensitivityWords(t *testing.T) {
	o := quickQuestion()
	o.Question.Speed, o.Mesh, o.Far, o.Rank, o.Ranked = 14, coarse, 1, AnswerLetGo, true
	c := teal(t)
	c.Floats = nil // and so without a window, which takes half the time
	s, err := FindSensitivities(t.Context(), c, o)
	require.NoError(t, err)
	d := s.By(AnswerLetGo)[0]
	assert.True(t, d.Far)
	words := d.Words(&s, units.Metric)
	assert.Contains(t, words, "raises the height to let go by ")
	assert.Contains(t, words, "Of the height to let go ")
	assert.Contains(t, d.Words(&s, units.Customary), " in")
	for i := range s.Dimensions {
		for _, u := range []units.System{units.Metric, units.Customary} {
			for _, never := range []string{"%!", "NaN", "  ", "[", " by  "} {
				assert.NotContains(t, s.Dimensions[i].Words(&s, u), never)
			}
		}
	}
	for path, want := range map[string]string{
		"wings[1].x_m": "moving wing \"rear\" by 10 mm aft", "wings[1].incidence_deg": "turning wing \"rear\" by 0.5° nose-up",
		"weights[0].mass_kg": "1 kg more in weight \"front wing\"", "tow.line_m": "1 m more line",
		"wings[0].thickness": "1 % of the chord more thickness of wing \"front\"", "parasite_area_m2": "0.01 m2 more parasite area",
		"wings[0].stations[1].chord_m": "10 mm more wings[0].stations[1].chord_m",
	} {
		d := dimension(t, s.Craft, path)
		assert.Equal(t, want, d.ChangeWords(s.Craft, d.Step, units.Metric))
	}
	d3 := dimension(t, gecp.Demo(), "floats[1].z_m")
	assert.Equal(t, "moving float 2 by 10 mm up", d3.ChangeWords(s.Craft, .01, units.Metric))
	d2 := dimension(t, s.Craft, "wings[1].x_m")
	assert.Equal(t, "moving wing \"rear\" by 1.2 m forward", d2.ChangeWords(s.Craft, -1.2, units.Metric))
	assert.Equal(t, "moving wing \"rear\" by 0.39 in aft", d2.ChangeWords(s.Craft, .01, units.Customary))
}

func TestSensitivitiesRefuse(t *testing.T) {
	o := quickQuestion()
	o.Question.Speed = 0
	_, err := FindSensitivities(t.Context(), gecp.Demo(), o)
	assert.Error(t, err)
	o = quickQuestion()
	o.Rank, o.Ranked = AnswerReaction, true
	_, err = FindSensitivities(t.Context(), gecp.Demo(), o)
	assert.ErrorContains(t, err, "not asked for")
	c := gecp.Demo()
	c.Tow = nil
	_, err = FindSensitivities(t.Context(), c, quickQuestion())
	assert.ErrorContains(t, err, "how the craft is towed")
	c = gecp.Demo()
	c.Wings[0].X = math.NaN()
	_, err = FindSensitivities(t.Context(), c, quickQuestion())
	var problems gecp.Problems
	assert.ErrorAs(t, err, &problems)
}

func TestSensitivitiesCancelled(t *testing.T) {
	o := quickQuestion()
	ctx, stop := context.WithCancel(t.Context())
	o.Progress = func(part float64) {
		if part > .1 {
			stop()
		}
	}
	o.Mesh = coarse
	s, err := FindSensitivities(ctx, teal(t), o)
	assert.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, Sensitivities{}, s)
}

func teal(t *testing.T) *gecp.Craft {
	t.Helper()
	all := crafts.All()
	at := slices.IndexFunc(all, func(r crafts.Ready) bool { return r.Key == "teal-tandem" })
	require.GreaterOrEqual(t, at, 0)
	return all[at].Craft
}

// fullySolved asks craft from maps of their own with many more nodes, in the range of a neighbourhood. A craft
// that cannot be calculated has no figures.
func fullySolved(t *testing.T, n *neighbourhood, craft ...*gecp.Craft) []Answers {
	r := n.m.Range()
	all := make([]Answers, len(craft))
	require.NoError(t, parallel.Each(t.Context(), len(craft), func(i int) error {
		if craft[i] == nil {
			return nil
		}
		model, err := gecp.NewModel(craft[i], n.model.Mesh())
		if err != nil {
			return err
		}
		m, err := model.WithWake(n.model.Wake()).BuildMap(t.Context(), gecp.MapOptions{
			ClearanceMin: r.ClearanceMin, ClearanceMax: r.ClearanceMax, PitchMin: r.PitchMin, PitchMax: r.PitchMax, Heights: 9, Pitches: 14, Tolerance: nearTolerance,
		})
		if err != nil {
			return err
		}
		all[i], err = n.q.Ask(t.Context(), m)
		return err
	}))
	return all
}

// The changes agree with differences of full solutions, on maps of more nodes, for ten random craft with straight wakes.
func TestSensitivitiesOfRandomCraft(t *testing.T) {
	all := randomcraft.Sound()
	if os.Getenv("CI") == "" {
		all = all[:3] // of the others where there is time
	}
	rng := rand.New(rand.NewPCG(7, 13))
	o := quickQuestion()
	o.Mesh = coarse
	worst := [numAnswers]float64{}
	compared := 0
	for i, c := range all {
		model, err := gecp.NewModel(c, o.Mesh)
		require.NoError(t, err)
		model = model.WithWake(gecp.WakeStraight)
		m, err := model.BuildMap(t.Context(), nearOptions(gecp.MapOptions{}))
		require.NoError(t, err)
		w, err := tow.FindFirstWindow(t.Context(), m, gecp.AirDensity, c.Pilot.Middle())
		require.NoError(t, err)
		require.Greater(t, w.Width(), .5, "craft %d is sound", i)
		o.Question.Speed = math.Min((w.From+w.To)/2, w.From+1)
		require.NoError(t, o.fill())
		var dims []Dimension
		for _, d := range Dimensions(c) {
			if wingOf(d.Path) >= 0 && !d.Detail { // the others need no solution
				dims = append(dims, d)
			}
		}
		rng.Shuffle(len(dims), func(i, j int) { dims[i], dims[j] = dims[j], dims[i] })
		dims = dims[:2]
		n, err := newNeighbourhood(t.Context(), model, o.Question, dims)
		require.NoError(t, err)
		craft := []*gecp.Craft{c}
		for _, d := range dims {
			for _, way := range []float64{-1, 1} {
				// A first tip plate has no craft with it smaller.
				changed, _ := Set(c, d.Path, d.Value+way*d.Step)
				craft = append(craft, changed)
			}
		}
		full := fullySolved(t, n, craft...)
		for i, d := range dims {
			found := Sensitivity{Dimension: d}
			require.NoError(t, found.ask(t.Context(), n))
			var solved Sensitivity
			solved.fill(sample{figures: full[1+2*i].Figures}, sample{figures: full[0].Figures}, sample{figures: full[2+2*i].Figures})
			for a := range numAnswers {
				got, want := found.Effects[a], solved.Effects[a]
				if !got.OK || !want.OK || got.OneSided != want.OneSided || got.Bends || want.Bends {
					continue
				}
				if a == AnswerPull && (found.Effects[AnswerLetGo].OneSided || solved.Effects[AnswerLetGo].OneSided) {
					continue // one way it is not that of a range
				}
				if a == AnswerWindow && math.Abs(got.PerStep-want.PerStep) > 2 {
					continue // one of the maps has a fold there and the other none
				}
				compared++
				worst[a] = math.Max(worst[a], math.Abs(got.PerStep-want.PerStep))
				held := .15*math.Abs(want.PerStep) + 2*a.unseen()
				if got.OneSided { // as a first tip plate, which brings strips of its own: the maps' own differences do not cancel
					held += 3 * a.unseen()
				}
				assert.InDelta(t, want.PerStep, got.PerStep, held, "%s of %v", d.Path, a)
			}
		}
	}
	assert.Greater(t, compared, 8*len(all))
	t.Logf("check sensitivities of %d random craft: %d effects, largest difference from maps of 9 x 14 nodes: heights %.2g m, travel %.2g m, lift-off %.2g m/s, window %.2g m/s, pull %.2g N; held to 15 %% of the effect and what nobody sees",
		len(all), compared, max(worst[AnswerLetGo], worst[AnswerLowest], worst[AnswerSelfHolding]), worst[AnswerTravel], worst[AnswerLiftOff], worst[AnswerWindow], worst[AnswerPull])
}

func BenchmarkSensitivities(b *testing.B) {
	for b.Loop() {
		if _, err := FindSensitivities(b.Context(), gecp.Demo(), SensitivityOptions{Question: Question{Speed: 14}, Far: -1}); err != nil {
			b.Fatal(err)
		}
	}
}
