package tow

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/canceltest"
	"example.org/groundeffect/gecp/internal/readymaps"
)

func TestEveryCallStopsWhenCancelled(t *testing.T) {
	m := readymaps.Coarse()["teal-tandem"]
	at := m.Model().Craft().Pilot.XForward
	st, err := NewSteadyTow(m, gecp.Freestream{Speed: 12})
	require.NoError(t, err)
	for range 30 { // up to a speed at which it may be towed
		if r, err := st.Range(t.Context(), Rules{}); err == nil && r.OK {
			break
		}
		st, err = st.At(st.Freestream().Speed + .5)
		require.NoError(t, err)
	}
	always := func(ctx context.Context, _ SteadyTow, _, _, _ float64) (bool, error) {
		return ctx.Err() == nil, ctx.Err()
	}
	for name, rules := range map[string]Rules{"": {}, " with people": {Reaction: always}} {
		t.Run("Range"+name, func(t *testing.T) {
			r, err := st.Range(t.Context(), rules)
			require.NoError(t, err)
			require.True(t, r.OK)
			canceltest.Stops(t, func(ctx context.Context) (Range, error) { return st.Range(ctx, rules) })
		})
	}
	t.Run("Range, none", func(t *testing.T) {
		slow, err := st.At(2)
		require.NoError(t, err)
		canceltest.Stops(t, func(ctx context.Context) (Range, error) { return slow.Range(ctx, Rules{}) })
	})
	t.Run("FindLiftOff", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (LiftOff, error) { return FindLiftOff(ctx, m, 0, at) })
	})
	t.Run("EvenLiftOff", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (float64, error) {
			x, _, err := EvenLiftOff(ctx, m, 0)
			return x, err
		})
	})
	t.Run("NewFolds", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (*Folds, error) { return NewFolds(ctx, m, 0, Speeds{10, 14}) })
	})
	t.Run("FindWindow", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (Window, error) { return FindWindow(ctx, m, 0, at) })
	})
	t.Run("FindWindows", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) ([]Window, error) { return FindWindows(ctx, m, 0, at, at+.1) })
	})
	t.Run("SpeedGain", func(t *testing.T) {
		r, err := st.Range(t.Context(), Rules{})
		require.NoError(t, err)
		canceltest.Stops(t, func(ctx context.Context) (float64, error) {
			gain, _, err := st.SpeedGain(ctx, r.Low)
			return gain, err
		})
		fast := r.Low
		fast.HeightStable = false
		canceltest.Stops(t, func(ctx context.Context) (float64, error) {
			gain, _, err := st.SpeedGain(ctx, fast)
			return gain, err
		})
	})
}
