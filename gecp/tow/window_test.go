package tow

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/units"
)

// Within a window the craft holds a height with its pilot still, beyond it none; it
// begins where the craft lifts off. Asked at single speeds, without folds.
func TestWindowAgainstSingleSpeeds(t *testing.T) {
	windows := 0
	for key, m := range readymaps.All() {
		p := m.Model().Craft().Pilot
		positions := []float64{p.XForward, (p.XForward + p.XAft) / 2, p.XAft}
		all, err := FindWindows(t.Context(), m, 0, positions...)
		require.NoError(t, err)
		for i, x := range positions {
			w := all[i]
			one, err := FindWindow(t.Context(), m, 0, x)
			require.NoError(t, err)
			assert.Equal(t, w, one)
			l, err := FindLiftOff(t.Context(), m, 0, x)
			require.NoError(t, err)
			assert.Equal(t, l, w.LiftOff)
			if !w.OK {
				assert.Zero(t, w.Width())
				continue
			}
			windows++
			assert.Equal(t, l.Speed, w.From, key)
			assert.InDelta(t, w.To-w.From, w.Width(), 1e-12)
			holds := func(speed float64) bool {
				r, err := NewSteadyTow(m, gecp.Freestream{Speed: speed})
				require.NoError(t, err)
				c, err := r.TrimCurve()
				if cannotFly(err) {
					return false
				}
				require.NoError(t, err)
				e, err := c.Equilibria(x)
				require.NoError(t, err)
				for _, b := range e {
					if b.HeightStable {
						return true
					}
				}
				return false
			}
			for _, part := range []float64{.1, .5, .9} {
				assert.True(t, holds(w.From+part*(w.To-w.From)), "%s, pilot at %.2f m, within the window", key, x)
			}
			switch {
			case w.Folds && w.Fold.Clearance > 1:
				// The curve is so flat there that its crest may jump, and a window end early.
				assert.True(t, holds(w.To-.02), "%s, pilot at %.2f m, below the end", key, x)
			case w.Folds || w.Unstable:
				assert.True(t, holds(w.To-.02), "%s, pilot at %.2f m, below the end", key, x)
				assert.False(t, holds(w.To+.05), "%s, pilot at %.2f m, above the end", key, x)
			default:
				assert.InDelta(t, MaxLiftOff, w.To, 1e-9)
			}
		}
	}
	assert.GreaterOrEqual(t, windows, 4)
}

// A window begins at a speed rounded up and ends at one rounded down, and its width is
// that of the two figures.
func TestWindowInWords(t *testing.T) {
	lift := LiftOff{OK: true, Holds: true, Speed: 50.01 * units.KMH, Pilot: 1.23}
	rises := lift
	rises.Holds = false
	for _, c := range []struct {
		w    Window
		want string
	}{
		{Window{LiftOff: lift, Folds: true, OK: true, From: 50.01 * units.KMH, To: 51.59 * units.KMH}, "with the pilot at 1.23 m it flies from 50.1 km/h to 51.5 km/h; a window of 1.4 km/h"},
		{Window{LiftOff: lift, Folds: true, OK: true, From: 50.01 * units.KMH, To: 50.14 * units.KMH}, "with the pilot at 1.23 m it lifts off at 50.1 km/h and holds no height from 50.2 km/h on: a speed window too narrow to tow in"},
		{Window{LiftOff: lift, OK: true, From: 50.01 * units.KMH, To: 30}, "with the pilot at 1.23 m it flies from 50.1 km/h on and holds a height up to 108.0 km/h at least"},
		{Window{LiftOff: rises, Folds: true, From: 50.01 * units.KMH, To: 50.2 * units.KMH}, "with the pilot at 1.23 m it lifts off at 50.1 km/h and holds no height from 50.2 km/h on: a speed window too narrow to tow in"},
		{Window{LiftOff: rises, Folds: true, From: 50.01 * units.KMH, To: 49.29 * units.KMH}, rises.Words(units.Metric) + "; it would have to be slower than 49.2 km/h to hold a height: there is no speed window"},
		{Window{LiftOff: rises, From: 50.01 * units.KMH, To: 30}, rises.Words(units.Metric)},
		{Window{LiftOff: LiftOff{Pilot: 1.23}}, LiftOff{Pilot: 1.23}.Words(units.Metric)},
	} {
		assert.Equal(t, c.want, c.w.String())
	}
}
