package gecp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A map of a formula that it cannot hold to begin with takes more nodes, and says in
// the end how far it strays; one that it never can is an error.
func TestMapsCheckThemselves(t *testing.T) {
	m, err := NewModel(Demo(), Mesh{Rows: 1, Strips: 2})
	require.NoError(t, err)
	ripples := func(n float64) func(clearance, pitch float64) (MapNode, error) {
		return func(clearance, pitch float64) (MapNode, error) {
			u := math.Log(clearance + .3)
			low := m.low.At(pitch)
			d := n * math.Cos(n*u) / (clearance + .3)
			return MapNode{
				LoadsPerQ: LoadsPerQ{Lift: 10 + math.Sin(n*u)},
				ByHeight:  LoadsPerQ{Lift: d},
				ByPitch:   LoadsPerQ{Lift: -d * low.DepthByPitch},
			}, nil
		}
	}
	smooth, err := m.FitMap(t.Context(), MapOptions{}, ripples(.2))
	require.NoError(t, err)
	assert.Less(t, smooth.Error().Lift, 1e-3)
	finer, err := m.FitMap(t.Context(), MapOptions{Tolerance: 1e-4}, ripples(4))
	require.NoError(t, err)
	assert.Greater(t, finer.Solves(), smooth.Solves())
	assert.Greater(t, finer.opt.Heights, 5)
	_, err = m.FitMap(t.Context(), MapOptions{}, ripples(40))
	assert.ErrorContains(t, err, "cannot be put on a map")
}

// What a map says of itself is what a look at other places finds, to a factor.
func TestMapErrorIsFair(t *testing.T) {
	for name, c := range demoCrafts(t) {
		m, err := c.BuildMap(t.Context(), MapOptions{})
		require.NoError(t, err, name)
		e := m.Error()
		assert.True(t, e.within(.005), "%s: %+v", name, e)
		assert.NotZero(t, e.Lift)
	}
}

func TestMapErrorWithin(t *testing.T) {
	for _, c := range []struct {
		e    MapError
		want bool
	}{
		{MapError{}, true},
		{MapError{Lift: .01, CP: .01, Jump: .01, Drag: 1}, true},
		{MapError{Lift: .0101}, false},
		{MapError{CP: .0101}, false},
		{MapError{Jump: .0101}, false},
		{MapError{Slope: .04}, true},
		{MapError{Slope: .0401}, false},
	} {
		assert.Equal(t, c.want, c.e.within(.01), "%+v", c.e)
	}
}
