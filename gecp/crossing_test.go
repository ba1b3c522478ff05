package gecp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The demo at 3 degrees crosses near 0.20 m, whatever ladder is asked for; just below
// the height neutral point lies ahead, just above behind.
func TestCrossing(t *testing.T) {
	for name, c := range demoCrafts(t) {
		m, err := NewModel(c, Mesh{Rows: 2, Strips: 4})
		require.NoError(t, err)
		for _, deg := range []float64{1, 3, 6} {
			x, err := m.Crossing(t.Context(), Radians(deg))
			require.NoError(t, err)
			margin := func(cl float64) float64 {
				rows, err := m.Sweep(t.Context(), SweepQuestion{Speed: 14, Pitch: Radians(deg), Clearances: []float64{cl}})
				require.NoError(t, err)
				return rows[0].HeightStabilityMargin.X
			}
			if !x.OK {
				assert.Equal(t, x.Always, margin(crossingTop) > 0, "%s at %v", name, deg)
				continue
			}
			assert.Positive(t, margin(x.Clearance), "%s at %v: %+v", name, deg, x)
			assert.LessOrEqual(t, margin(x.Clearance+1e-3), 0., "%s at %v: %+v", name, deg, x)
		}
	}
	m, err := NewModel(Demo(), Mesh{})
	require.NoError(t, err)
	x, err := m.Crossing(t.Context(), Radians(3))
	require.NoError(t, err)
	assert.InDelta(t, .20, x.Clearance, .01)
	_, err = m.Crossing(t.Context(), math.NaN())
	assert.Error(t, err)
}
