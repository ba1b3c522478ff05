package tow

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/units"
)

// The moment is what the moved pilot's weight makes about the needed centre of gravity:
// the whole weight times how far that has moved, level.
func TestImbalanceMoment(t *testing.T) {
	for key, m := range readymaps.All() {
		r, err := NewSteadyTow(m, gecp.Freestream{Speed: 14})
		require.NoError(t, err)
		b, err := r.Trim(.3)
		require.NoError(t, err)
		for _, off := range []float64{-.4, 0, .21} {
			x := b.Pilot.X + off
			i, err := r.Imbalance(.3, x)
			require.NoError(t, err)
			cgX, cgZ := r.CG(x)
			level := func(x, z float64) float64 { return x*math.Cos(b.Pitch) + z*math.Sin(b.Pitch) }
			needX, needZ := r.CG(b.Pilot.X)
			assert.InDelta(t, r.Weight()*(level(cgX, cgZ)-level(needX, needZ)), i.Moment, 1e-6*r.Weight(), key)
			assert.InDelta(t, off, i.TooFarAft(), 1e-12)
			assert.Equal(t, off == 0, i.Balanced())
			same, err := r.ImbalanceOf(b, x)
			require.NoError(t, err)
			assert.Equal(t, i, same)
		}
	}
}

func TestImbalanceInWords(t *testing.T) {
	for _, c := range []struct {
		pilot, needed float64
		want, us      string
	}{
		{1.5, 1.29, "with the pilot at 1.50 m the nose rises: 0.21 m too far aft", "with the pilot at 59.1 in the nose rises: 8.3 in too far aft"},
		{1.05, 1.29, "with the pilot at 1.05 m the nose sinks: 0.24 m too far forward", "with the pilot at 41.3 in the nose sinks: 9.4 in too far forward"},
		{1.2949, 1.29, "with the pilot at 1.29 m the craft is in balance", "with the pilot at 51.0 in the craft is in balance"},
		{1.2951, 1.29, "with the pilot at 1.30 m the nose rises: 0.01 m too far aft", "with the pilot at 51.0 in the nose rises: 0.2 in too far aft"},
		{1.2849, 1.29, "with the pilot at 1.28 m the nose sinks: 0.01 m too far forward", "with the pilot at 50.6 in the nose sinks: 0.2 in too far forward"},
	} {
		i := Imbalance{Pilot: c.pilot, Needed: c.needed}
		assert.Equal(t, c.want, i.String())
		assert.Equal(t, c.us, i.Words(units.Customary))
	}
}

func TestImbalanceRefuses(t *testing.T) {
	m := readymaps.All()["reedling-tandem"]
	r, err := NewSteadyTow(m, gecp.Freestream{Speed: 14})
	require.NoError(t, err)
	for _, x := range []float64{math.NaN(), math.Inf(1), -1e9} {
		_, err = r.Imbalance(.3, x)
		assert.ErrorContains(t, err, "give a position along the craft")
	}
	for _, x := range []float64{gecp.FarAway, -gecp.FarAway} {
		_, err = r.Imbalance(.3, x)
		assert.NoError(t, err)
	}
	_, err = r.Imbalance(50, 1)
	assert.ErrorContains(t, err, "outside the map")

	c := m.Model().Craft().Clone()
	c.Weights = append(c.Weights, gecp.Weight{Name: "ballast", Mass: c.Pilot.Mass, X: 1.2, Z: .5})
	c.Pilot = nil
	n, err := m.For(c)
	require.NoError(t, err)
	r, err = NewSteadyTow(n, gecp.Freestream{Speed: 14})
	require.NoError(t, err)
	b, err := r.Trim(.3)
	require.NoError(t, err)
	_, err = r.ImbalanceOf(b, 1)
	assert.ErrorContains(t, err, "pilot")
}
