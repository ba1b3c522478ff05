package gecp

import (
	"math"
	"os"
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
	assert.Greater(t, finer.terms.rh, 5)
	_, err = m.FitMap(t.Context(), MapOptions{}, ripples(40))
	assert.ErrorContains(t, err, "cannot be put on a map")
}

// What a map says of itself is what a look at other places finds, to a factor.
func TestMapErrorIsFair(t *testing.T) {
	for name, c := range demoCrafts(t) {
		if os.Getenv("CI") != "true" && name != "teal-tandem.json" && name != "coot-single.json" {
			continue // of the others where there is time
		}
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
		{MapError{Lift: .01, CP: .01, Drag: 1}, true},
		{MapError{Lift: .0101}, false},
		{MapError{CP: .0101}, false},
		{MapError{Slope: .04}, true},
		{MapError{Slope: .0401}, false},
	} {
		assert.Equal(t, c.want, c.e.within(.01), "%+v", c.e)
	}
}

// The differences that a map tells are those at the places where it looks, worked out
// again from its own answers and the formula.
func TestMapErrorByHand(t *testing.T) {
	c := Demo()
	model, err := NewModel(c, Mesh{Rows: 1, Strips: 2})
	require.NoError(t, err)
	loads := func(clearance, pitch float64) (MapNode, error) {
		u := math.Log(clearance + .3)
		d := 3 * math.Cos(3*u) / (clearance + .3)
		deep := model.low.At(pitch).DepthByPitch
		return MapNode{
			LoadsPerQ: LoadsPerQ{Lift: 10 + math.Sin(3*u), Drag: .5 + .2*math.Sin(4*u+9*pitch), Moment: -20 - 2*math.Sin(5*u)},
			ByHeight:  LoadsPerQ{Lift: d}, ByPitch: LoadsPerQ{Lift: -d * deep},
		}, nil
	}
	m, err := model.FitMap(t.Context(), MapOptions{Tolerance: .02}, loads)
	require.NoError(t, err)
	r := m.Range()
	var want MapError
	close := 0
	for _, place := range [][2]float64{{-.83, -.41}, {-.37, .67}, {.21, -.78}, {.59, .23}} {
		// The plane of a formula goes with the clearance.
		cl, pitch := m.clearances.from(place[0]), r.PitchMin+(place[1]+1)/2*(r.PitchMax-r.PitchMin)
		got, err := m.At(cl, pitch)
		require.NoError(t, err)
		is, _ := loads(cl, pitch)
		middle, err := m.At((r.ClearanceMin+r.ClearanceMax)/2, (r.PitchMin+r.PitchMax)/2)
		require.NoError(t, err)
		ref := max(is.Lift, middle.Lift)
		if e := math.Abs(got.Lift-is.Lift) / ref; e > want.Lift {
			want.Lift, want.Clearance, want.Pitch = e, cl, pitch
		}
		want.CP = max(want.CP, math.Abs(got.Moment-is.Moment)/ref/c.Shape().MAC)
		want.Drag = max(want.Drag, math.Abs(got.Drag-is.Drag)/ref)
		if got.LowestPoint.Close(cl) {
			close++
			continue
		}
		want.Slope = max(want.Slope, math.Abs(got.ByHeight.Lift-is.ByHeight.Lift)*cl/ref, math.Abs(got.ByPitch.Lift-is.ByPitch.Lift)*.1/ref)
	}
	got := m.Error()
	assert.Positive(t, close)
	assert.InEpsilon(t, want.Lift, got.Lift, 1e-9)
	assert.InEpsilon(t, want.CP, got.CP, 1e-9)
	assert.InEpsilon(t, want.Drag, got.Drag, 1e-9)
	assert.InEpsilon(t, want.Slope, got.Slope, 1e-9)
	assert.InDelta(t, want.Clearance, got.Clearance, 1e-9)
	assert.InDelta(t, want.Pitch, got.Pitch, 1e-12)
}
