package gecp

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A change of the loads is added exactly, as often as asked for, correction and lowest points
// being the map's own.
func TestDifferencesAddWhatOneMapHasMoreThanAnother(t *testing.T) {
	c := Demo()
	c.Correction = &Correction{LiftFactor: .9, CPOffset: .05, Runs: 3, On: true}
	m, err := NewModel(c, Mesh{})
	require.NoError(t, err)
	base, a, b := formulaMap(t, m, .2), formulaMap(t, m, 0), formulaMap(t, m, 1) // 1.3 more lift from a to b
	for _, k := range []struct {
		name    string
		changes []MapDifference
		more    float64
	}{
		{"nothing", nil, 0},
		{"once", []MapDifference{{a, b, 1}}, 1.3},
		{"the other way", []MapDifference{{a, b, -.5}}, -.65},
		{"two changes", []MapDifference{{a, b, 1}, {b, a, 3}}, -2.6},
		{"never", []MapDifference{{a, b, 0}}, 0},
	} {
		t.Run(k.name, func(t *testing.T) {
			got, err := base.WithDifferences(k.changes...)
			require.NoError(t, err)
			for _, cl := range []float64{.05, .2, 1.5} {
				for _, pitch := range []float64{-.1, 0, .2} {
					p, err := base.At(cl, pitch)
					require.NoError(t, err)
					q, err := got.At(cl, pitch)
					require.NoError(t, err)
					assert.InDelta(t, p.Lift+.9*k.more, q.Lift, 1e-9)
					assert.InDelta(t, p.ByPitch.Lift, q.ByPitch.Lift, 1e-8)
					assert.Equal(t, p.LowestPoint, q.LowestPoint)
				}
			}
			assert.Equal(t, base.Model(), got.Model())
		})
	}
	o := combineNodes
	o.ClearanceMin = .1
	narrower, err := m.FitMap(t.Context(), o, func(_, _ float64) (MapNode, error) { return MapNode{LoadsPerQ: LoadsPerQ{Lift: 1}}, nil })
	require.NoError(t, err)
	_, err = base.WithDifferences(MapDifference{a, narrower, 1})
	assert.ErrorIs(t, err, ErrUnlikeMaps)
}

// Strips follow the changes between maps of the same mesh and no others.
func TestDifferencesKeepTheStrips(t *testing.T) {
	strips := func(m *Model, lift float64, o MapOptions) *Map {
		f, err := m.FitMap(t.Context(), o, func(clearance, pitch float64) (MapNode, error) {
			n := MapNode{LoadsPerQ: LoadsPerQ{Lift: 10 + lift}, StripLift: make([]float64, len(m.strips))}
			for i := range n.StripLift {
				n.StripLift[i] = .1 + lift
			}
			return n, nil
		})
		require.NoError(t, err)
		return f
	}
	m, err := NewModel(Demo(), Mesh{})
	require.NoError(t, err)
	fine, err := NewModel(Demo(), Mesh{Rows: 5, Strips: 11})
	require.NoError(t, err)
	require.NotEqual(t, len(m.strips), len(fine.strips))
	more := combineNodes
	more.Heights, more.Pitches = 6, 5
	base := strips(m, 0, combineNodes)
	for _, k := range []struct {
		name    string
		changes []MapDifference
		want    float64
	}{
		{"of the same mesh", []MapDifference{{strips(m, 0, combineNodes), strips(m, .2, combineNodes), 1}}, .3},
		{"of another", []MapDifference{{strips(fine, 0, combineNodes), strips(fine, .2, combineNodes), 1}}, .1},
		{"of another with more nodes", []MapDifference{{strips(m, 0, more), strips(fine, .2, more), 1}}, .1},
		{"of both", []MapDifference{{strips(m, 0, combineNodes), strips(m, .2, combineNodes), 2}, {strips(m, 0, more), strips(fine, .2, more), 1}}, .5},
	} {
		t.Run(k.name, func(t *testing.T) {
			got, err := base.WithDifferences(k.changes...)
			require.NoError(t, err)
			s, ok, err := got.CriticalStrip(.3, .05)
			require.NoError(t, err)
			require.True(t, ok)
			assert.InDelta(t, k.want, s.LiftCoefficient, 1e-9)
			p, err := got.At(.3, .05)
			require.NoError(t, err)
			lift := 10.
			for _, c := range k.changes {
				lift += .2 * c.Times
			}
			assert.InDelta(t, lift, p.Lift, 1e-9)
		})
	}
	_, ok, err := base.withoutStrips().CriticalStrip(.3, .05)
	require.NoError(t, err)
	assert.False(t, ok)
	_, ok, err = base.CriticalStrip(.3, .05)
	require.NoError(t, err)
	assert.True(t, ok, "the map itself keeps its own")
}
