package gecp

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Without thickness the flow is that of the craft with thin wings, and all else that of the
// craft.
func TestWithoutThickness(t *testing.T) {
	c := Demo()
	require.True(t, c.Thick())
	m, err := NewModel(c, Mesh{})
	require.NoError(t, err)
	thin := Demo()
	for i := range thin.Wings {
		thin.Wings[i].Thickness = 0
	}
	require.False(t, thin.Thick())
	one := thin.Clone()
	one.Wings[1].Thickness = .06
	assert.True(t, one.Thick(), "one wing is enough")
	want, err := NewModel(thin, Mesh{})
	require.NoError(t, err)
	got, err := m.WithoutThickness()
	require.NoError(t, err)
	const height, pitch = .5, .05
	lift := func(m *Model) float64 {
		p, err := m.lattice.AtPitch(t.Context(), pitch)
		require.NoError(t, err)
		s, err := m.flow(t.Context(), p, height)
		require.NoError(t, err)
		return s.Total.Lift()
	}
	assert.Equal(t, lift(want), lift(got), "at the same height of the datum")
	assert.NotEqual(t, lift(m), lift(got))
	assert.Same(t, m.LowestPoints(), got.LowestPoints())
	assert.Equal(t, c, got.Craft())
	s, err := got.CriticalStrip(t.Context(), .3, pitch)
	require.NoError(t, err)
	assert.Equal(t, SectionLimit(.12), s.Limit)
}
