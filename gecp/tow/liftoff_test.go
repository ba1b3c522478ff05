package tow

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
)

// At one speed the balanced craft has both floats just at the water. With the pilot
// where that balance needs them the craft, if it holds that height, lifts off there,
// from both at once.
func TestLiftOffMeetsTheBalance(t *testing.T) {
	held := 0
	for name, m := range readymaps.All() {
		on, _ := m.Model().Craft().Rest()
		rest := on.Pitch
		clearance := m.Model().LowestPoints().ClearanceFor(on.Height, rest)
		at := func(v float64) (Trim, error) {
			r, err := NewSteadyTow(m, gecp.Freestream{Speed: v})
			require.NoError(t, err)
			return r.Trim(clearance)
		}
		lo, hi := 5., 40. // faster flies with the nose lower
		for range 60 {
			v := (lo + hi) / 2
			if b, err := at(v); errors.Is(err, ErrTooSlow) || err == nil && b.Pitch > rest {
				lo = v
			} else {
				hi = v
			}
		}
		b, err := at(lo)
		require.NoError(t, err, name)
		require.InDelta(t, rest, b.Pitch, 1e-9, name)
		x, ok, err := EvenLiftOff(t.Context(), m, 0)
		require.NoError(t, err)
		require.Equal(t, lo < MaxLiftOff, ok, name)
		if !ok {
			continue
		}
		assert.InDelta(t, b.Pilot.X, x, 1e-3, name)
		if !b.HeightStable { // it falls back on one float or leaps up
			continue
		}
		held++
		l, err := FindLiftOff(t.Context(), m, 0, b.Pilot.X)
		require.NoError(t, err)
		require.True(t, l.OK, "%s: %v", name, l)
		assert.InDelta(t, lo, l.Speed, 1e-4, name)
		assert.InDelta(t, clearance, l.State.Clearance, 1e-4, name)
		assert.InDelta(t, b.LineTension, l.State.LineTension, .1, name)
	}
	assert.GreaterOrEqual(t, held, 1)
}

// Just below its lift-off a craft is on the water, just above it not; and where it
// is said to settle it holds its height, the floats clear.
func TestLiftOff(t *testing.T) {
	settled := 0
	for name, m := range readymaps.All() {
		p := m.Model().Craft().Pilot
		places := []float64{p.XForward, p.XAft}
		x, ok, err := EvenLiftOff(t.Context(), m, 0)
		require.NoError(t, err)
		if ok {
			places = append(places, x, x-.02, x-.05, x-.1)
		}
		for _, s := range places {
			l, err := FindLiftOff(t.Context(), m, 0, s)
			require.NoError(t, err)
			if !l.OK {
				assert.NotZero(t, l.Last)
				assert.Contains(t, l.String(), "does not lift off")
				continue
			}
			at := func(v float64) OnFloats {
				r, err := NewSteadyTow(m, gecp.Freestream{Speed: v})
				require.NoError(t, err)
				f, err := r.OnFloats(l.Pilot)
				require.NoError(t, err)
				return f
			}
			assert.NotEqual(t, SupportNone, at(l.Speed-1e-3).Support, "%s, %v", name, s)
			assert.Equal(t, SupportNone, at(l.Speed+1e-3).Support, "%s, %v", name, s)
			for v := 2.; v < l.Speed; v++ {
				assert.Less(t, at(v).Carried, 1., "%s, %v, %v m/s", name, s, v)
			}
			if !l.Holds {
				assert.Contains(t, l.String(), "finds no clearance to hold")
				continue
			}
			settled++
			assert.Contains(t, l.String(), "it settles at a clearance of")
			r, err := NewSteadyTow(m, gecp.Freestream{Speed: l.SettleSpeed})
			require.NoError(t, err)
			b, err := r.Trim(l.Settle)
			require.NoError(t, err)
			assert.True(t, b.HeightStable)
			assert.InDelta(t, l.Pilot, b.Pilot.X, 2e-3)
			_, deep, _ := m.Model().Craft().LowestFloat(b.Pitch)
			assert.GreaterOrEqual(t, b.Height-deep, -1e-3)
		}
	}
	t.Logf("%d settle", settled)
	assert.GreaterOrEqual(t, settled, 1, "of all demo craft and pilot places")
}
