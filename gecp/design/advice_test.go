package design

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// outOfReach is a craft without floats whose pilot cannot be far enough forward, and few dimensions of it.
func outOfReach(t *testing.T) *Sensitivities {
	t.Helper()
	c := teal(t)
	c.Floats = nil
	c.Pilot.XForward, c.Pilot.XAft = c.Pilot.XForward+.6, c.Pilot.XAft+.6
	o := quickQuestion()
	o.Mesh = coarse
	require.NoError(t, o.fill())
	model, err := gecp.NewModel(c, o.Mesh)
	require.NoError(t, err)
	s := Sensitivities{Craft: c, Options: o}
	var dims []Dimension
	for _, d := range Dimensions(c) {
		switch d.Path {
		case "pilot.x_m", "pilot.x_forward_m", "pilot.x_aft_m", "wings[1].x_m", "weights[0].x_m", "tow.line_m":
			dims = append(dims, d)
			s.Dimensions = append(s.Dimensions, Sensitivity{Dimension: d})
		}
	}
	s.near, err = newNeighbourhood(t.Context(), model, o.Question, dims)
	require.NoError(t, err)
	s.Base = s.near.base
	require.False(t, s.Base.Range.OK)
	return &s
}

// The changes named hold, each in full, and one step less does not.
func TestAdvise(t *testing.T) {
	s := outOfReach(t)
	a, err := s.Advise(t.Context(), AdviceOptions{Changes: 2, MaxSteps: 40})
	require.NoError(t, err)
	assert.True(t, a.Needed)
	require.NotEmpty(t, a.Changes)
	q := quest{s: s, least: a.Options.LeastWindow}
	paths := map[string]bool{}
	for _, c := range a.Changes {
		paths[c.Path] = true
		assert.True(t, c.Answers.Holds(a.Options.LeastWindow))
		again, err := Set(s.Craft, c.Path, c.Value+c.By())
		require.NoError(t, err)
		assert.Equal(t, again, c.Craft)
		way := 1
		if c.Steps < 0 {
			way = -1
		}
		less, err := Set(s.Craft, c.Path, c.Value+c.By()-float64(way)*c.Step)
		require.NoError(t, err)
		got, err := q.ask(t.Context(), less)
		require.NoError(t, err)
		assert.False(t, got.Holds(a.Options.LeastWindow), "%s: %d steps are not the least", c.Path, c.Steps)
	}
	assert.Len(t, paths, len(a.Changes), "each another dimension")
	words := a.Words(s, units.Metric)
	assert.Contains(t, words, "It has no height at which to tow it at 57.6 km/h. ")
	assert.Contains(t, words, "solved in full:\n- moving ")
	assert.Contains(t, words, "tow it between ")
}

func TestAdviseNothing(t *testing.T) {
	s := outOfReach(t)
	a, err := s.Advise(t.Context(), AdviceOptions{MaxSteps: 1})
	require.NoError(t, err)
	assert.Empty(t, a.Changes)
	assert.Contains(t, a.Words(s, units.Metric), "No single dimension changed by up to 1 of a builder's steps")
	s.Base.Range.OK = true // a craft without floats needs no window
	a, err = s.Advise(t.Context(), AdviceOptions{})
	require.NoError(t, err)
	assert.False(t, a.Needed)
	assert.Empty(t, a.Words(s, units.Metric))
}

func TestHolds(t *testing.T) {
	m := mapOn(t, teal(t), coarse)
	a, err := Question{Speed: 16}.Ask(t.Context(), m)
	require.NoError(t, err)
	require.True(t, a.Range.OK)
	a.Figures[AnswerWindow] = figure(1)
	assert.True(t, a.Holds(1))
	assert.False(t, a.Holds(1.01))
	a.Figures[AnswerWindow] = Figure{}
	assert.False(t, a.Holds(.01))
	a.Figures[AnswerWindow], a.Range.OK = figure(1), false
	assert.False(t, a.Holds(1))
}

// A dimension goes on from where it was looked at last, so that the least number is found also after rungs
// left out.
func TestDirections(t *testing.T) {
	s := Sensitivities{Base: Answers{}}
	s.Base.Range.OK = true
	s.Base.Figures[AnswerWindow] = figure(.1)
	s.Dimensions = make([]Sensitivity, 2)
	s.Dimensions[0].Effects[AnswerWindow] = Effect{PerStep: -.2, OK: true}
	ways := s.directions(1.1)
	require.Len(t, ways, 4)
	assert.True(t, ways[0].near > 1e300, "the wrong way")
	assert.InDelta(t, 5, ways[1].near, 1e-12)
	assert.Zero(t, ways[2].near, "of which nothing is known")
}

func TestAdviseRefuses(t *testing.T) {
	s := &Sensitivities{}
	for says, o := range map[string]AdviceOptions{
		"FindSensitivities finds them":                          {},
		"narrowest speed window that a boat can hold is -1 m/s": {LeastWindow: -1},
		"-1 changes are asked for":                              {Changes: -1},
		"may go 1000 steps; give 1 to 256":                      {MaxSteps: 1000},
	} {
		_, err := s.Advise(t.Context(), o)
		assert.ErrorContains(t, err, says)
	}
}

func TestAdviseCancelled(t *testing.T) {
	s := outOfReach(t)
	ctx, stop := context.WithCancel(t.Context())
	stop()
	a, err := s.Advise(ctx, AdviceOptions{})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, Advice{}, a)
}

func BenchmarkAdvise(b *testing.B) {
	s, err := FindSensitivities(b.Context(), gecp.Demo(), SensitivityOptions{Question: Question{Speed: 14}, Far: -1})
	require.NoError(b, err)
	for b.Loop() {
		if _, err := s.Advise(b.Context(), AdviceOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
