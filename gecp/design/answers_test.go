package design

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
)

// mapOn is a map of few nodes: what is asked of a map is right for any.
func mapOn(t *testing.T, c *gecp.Craft, mesh gecp.Mesh) *gecp.Map {
	t.Helper()
	model, err := gecp.NewModel(c, mesh)
	require.NoError(t, err)
	m, err := model.BuildMap(t.Context(), gecp.MapOptions{Heights: 4, Pitches: 5, Tolerance: .05})
	require.NoError(t, err)
	return m
}

// The answers are those of package tow, and what a craft does not have is missing.
func TestAnswers(t *testing.T) {
	for _, r := range crafts.All() {
		m := mapOn(t, r.Craft, coarse)
		q := Question{Speed: r.Speed}
		a, err := q.Ask(t.Context(), m)
		require.NoError(t, err)
		s, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: r.Speed})
		require.NoError(t, err)
		want, err := s.Range(t.Context(), tow.Rules{})
		require.NoError(t, err)
		f := a.Figures
		assert.Equal(t, want.OK, f[AnswerLetGo].OK, r.Key)
		assert.Equal(t, want.OK, f[AnswerTravel].OK, r.Key)
		if want.OK {
			assert.Equal(t, want.High.Clearance, f[AnswerLetGo].Value)
			assert.Equal(t, want.Low.Clearance, f[AnswerLowest].Value)
			assert.Equal(t, want.PilotAft-want.PilotForward, f[AnswerTravel].Value)
		}
		assert.Equal(t, figure(want.LineTension), f[AnswerPull])
		w, err := tow.FindWindow(t.Context(), m, gecp.AirDensity, r.Craft.Pilot.Middle())
		require.NoError(t, err)
		assert.Equal(t, Figure{w.LiftOff.Speed, w.LiftOff.OK}, f[AnswerLiftOff])
		assert.Equal(t, w.OK, f[AnswerWindow].OK)
		assert.InDelta(t, w.Width(), f[AnswerWindow].Value, 1e-4, "%s: both find a fold to 1e-4 m/s", r.Key)
		assert.False(t, f[AnswerReaction].OK)
		assert.NoError(t, a.WindowErr)
	}
}

func TestAnswersOfABareCraft(t *testing.T) {
	c := teal(t)
	c.Pilot, c.Floats = nil, nil
	m := mapOn(t, c, coarse)
	a, err := Question{Speed: 14}.Ask(t.Context(), m)
	require.NoError(t, err)
	for _, k := range []Answer{AnswerTravel, AnswerReach, AnswerLiftOff, AnswerWindow} {
		assert.False(t, a.Figures[k].OK, "%v", k)
	}
	assert.True(t, a.Figures[AnswerPull].OK)
	_, err = Question{Speed: -1}.Ask(t.Context(), m)
	assert.Error(t, err)
	c.Tow = nil
	bare, err := m.For(c)
	require.NoError(t, err)
	_, err = Question{Speed: 14}.Ask(t.Context(), bare)
	assert.ErrorContains(t, err, "how the craft is towed")
	stopped, stop := context.WithCancel(t.Context())
	stop()
	_, err = Question{Speed: 14}.Ask(stopped, m)
	assert.ErrorIs(t, err, context.Canceled)
}

// The reaction margin is that of the worse end; a craft that nobody can save has none.
func TestAnswersOfReaction(t *testing.T) {
	for _, r := range crafts.All() {
		if r.Key != "teal-tandem" && r.Key != "reedling-tandem" {
			continue
		}
		a, err := Question{Speed: r.Speed, Reaction: true}.Ask(t.Context(), mapOn(t, r.Craft, fair))
		require.NoError(t, err)
		require.NoError(t, a.ReactionErr)
		low, high, ok := a.Range.Bounds()
		require.True(t, ok)
		want := Figure{motion.MaxDelay, true}
		for _, at := range []float64{low, high} {
			m, err := motion.MarginsAt(t.Context(), a.Range.Tow, at, a.Range.Rules.OwnLimit)
			require.NoError(t, err)
			if !m.Counts().OK {
				want = Figure{}
				break
			}
			want.Value = min(want.Value, m.Counts().Delay)
		}
		assert.Equal(t, want, a.Figures[AnswerReaction], r.Key)
	}
}
