package design

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

func neighbours(t *testing.T, c *gecp.Craft, q Question, paths ...string) (*neighbourhood, []Dimension) {
	t.Helper()
	model, err := gecp.NewModel(c, fair)
	require.NoError(t, err)
	var dims []Dimension
	for _, path := range paths {
		dims = append(dims, dimension(t, c, path))
	}
	n, err := newNeighbourhood(t.Context(), model, q, dims)
	require.NoError(t, err)
	return n, dims
}

// Some steps away, up and down, the answers are those of full solutions; at a glance they are near them.
func TestNeighboursFurtherAway(t *testing.T) {
	c := gecp.Demo()
	n, dims := neighbours(t, c, Question{Speed: 16}, "wings[1].incidence_deg", "wings[0].x_m")
	steps := []int{3, 8}
	var craft []*gecp.Craft
	for i, d := range dims {
		changed, err := Set(c, d.Path, d.Value+float64(steps[i])*d.Step)
		require.NoError(t, err)
		craft = append(craft, changed)
	}
	full := fullySolved(t, n, craft...)
	compared := 0
	for i := range dims {
		got, err := n.ask(t.Context(), &dims[i], steps[i])
		require.NoError(t, err)
		rough, err := n.glance(t.Context(), &dims[i], steps[i])
		require.NoError(t, err)
		for _, a := range []Answer{AnswerSelfHolding, AnswerLiftOff, AnswerPull} {
			want := full[i].Figures[a]
			if !want.OK {
				continue
			}
			compared++
			require.True(t, got.Figures[a].OK, "%s %v", dims[i].Path, a)
			assert.InDelta(t, want.Value, got.Figures[a].Value, 3*a.unseen()+.04*want.Value, "%s %v", dims[i].Path, a)
			require.True(t, rough.Figures[a].OK, "%s %v at a glance", dims[i].Path, a)
			// Straight wakes put the height up to which a craft holds itself too high.
			if a != AnswerSelfHolding {
				assert.InDelta(t, want.Value, rough.Figures[a].Value, .1*want.Value, "%s %v at a glance", dims[i].Path, a)
			}
		}
	}
	assert.GreaterOrEqual(t, compared, 6)
}

// What only moves weights needs no solution, and what is no craft is told.
func TestNeighboursWithoutTheLattice(t *testing.T) {
	n, dims := neighbours(t, teal(t), Question{Speed: 14}, "weights[0].mass_kg", "wings[0].thickness")
	assert.Len(t, n.changes, 1)
	a, err := n.ask(t.Context(), &dims[0], 0)
	require.NoError(t, err)
	assert.Equal(t, n.base.Figures, a.Figures)
	_, err = n.ask(t.Context(), &dims[1], 100)
	var problems gecp.Problems
	assert.ErrorAs(t, err, &problems)
	_, err = n.glance(t.Context(), &dims[1], 100)
	assert.ErrorAs(t, err, &problems)
}

// The reaction margin asks for loads by the rates, which a change of the loads does not have: all is solved.
func TestNeighboursOfReactionAreSolved(t *testing.T) {
	n, _ := neighbours(t, teal(t), Question{Speed: 9, Reaction: true}, "wings[0].x_m")
	assert.Empty(t, n.changes)
}

// Both wings of Teal are as wide: one of them wider has strips that the other has not, and is solved.
func TestNeighboursWithOtherStrips(t *testing.T) {
	n, dims := neighbours(t, teal(t), Question{Speed: 17}, "wings[1].span_m")
	_, known := n.changes[dims[0].Path]
	assert.False(t, known)
	a, err := n.ask(t.Context(), &dims[0], 1)
	require.NoError(t, err)
	assert.InDelta(t, n.base.Figures[AnswerLiftOff].Value, a.Figures[AnswerLiftOff].Value, .3)
}

// How much it matters that a step holds the way of the wakes: against solutions in which they follow.
func TestSensitivitiesHoldTheWakes(t *testing.T) {
	if os.Getenv("CI") == "" {
		t.Skip("free wakes for some craft: with CI=true")
	}
	c := gecp.Demo()
	n, dims := neighbours(t, c, Question{Speed: 16}, "wings[0].incidence_deg", "wings[1].incidence_deg", "wings[0].camber.height")
	var height, liftOff float64
	for _, d := range dims {
		held := Sensitivity{Dimension: d}
		require.NoError(t, held.ask(t.Context(), n))
		var sides [2]sample
		for i := range sides {
			changed, err := Set(c, d.Path, d.Value+float64(2*i-1)*d.Step)
			require.NoError(t, err)
			model, err := gecp.NewModel(changed, n.model.Mesh())
			require.NoError(t, err)
			m, err := n.solved(t.Context(), model)
			require.NoError(t, err)
			a, err := n.q.Ask(t.Context(), m)
			require.NoError(t, err)
			sides[i].figures = a.Figures
		}
		follow := Sensitivity{Dimension: d}
		follow.fill(sides[0], sample{figures: n.base.Figures}, sides[1])
		a, b := held.Effects[AnswerLetGo], follow.Effects[AnswerLetGo]
		require.True(t, a.OK && b.OK, d.Path)
		t.Logf("%s: a step changes the height to let go by %.4f m with the wakes held, by %.4f m where they follow", d.Path, a.PerStep, b.PerStep)
		if math.Min(math.Abs(a.PerStep), math.Abs(b.PerStep)) > .003 {
			assert.Equal(t, math.Signbit(a.PerStep), math.Signbit(b.PerStep), d.Path)
		}
		height = math.Max(height, math.Abs(a.PerStep-b.PerStep))
		a, b = held.Effects[AnswerLiftOff], follow.Effects[AnswerLiftOff]
		require.True(t, a.OK && b.OK, d.Path)
		liftOff = math.Max(liftOff, math.Abs(a.PerStep-b.PerStep))
	}
	assert.Less(t, height, .02)
	assert.Less(t, liftOff, .03)
	t.Logf("check wakes held: largest difference in the height to let go %.4f m a step, in lift-off %.3f m/s", height, liftOff)
}
