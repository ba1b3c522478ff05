package tow_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/canceltest"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/tow"
)

// The quick search finds the window that tow finds, to the bit, or that there is none.
func TestFindFirstWindow(t *testing.T) {
	windows := 0
	for key, m := range readymaps.All() {
		p := m.Model().Craft().Pilot
		at := []float64{p.XForward, p.Middle(), p.XAft}
		want, err := tow.FindWindows(t.Context(), m, gecp.AirDensity, at...)
		require.NoError(t, err)
		for i, x := range at {
			got, err := tow.FindFirstWindow(t.Context(), m, gecp.AirDensity, x)
			require.NoError(t, err)
			assert.Equal(t, want[i].OK, got.OK, "%s %v", key, x)
			assert.Equal(t, want[i].Width(), got.Width(), "%s %v", key, x)
			assert.Equal(t, want[i].LiftOff.OK, got.LiftOff.OK, "%s %v", key, x)
			if got.OK {
				assert.Equal(t, want[i].Fold, got.Fold)
				windows++
			}
		}
	}
	assert.GreaterOrEqual(t, windows, 4)
}

func TestFindFirstWindowCancelled(t *testing.T) {
	m := readymaps.All()["reedling-tandem"]
	canceltest.Stops(t, func(ctx context.Context) (tow.Window, error) {
		return tow.FindFirstWindow(ctx, m, 0, 1.1)
	})
}
