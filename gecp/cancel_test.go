package gecp

import (
	"context"
	"testing"

	"example.org/groundeffect/gecp/internal/canceltest"
)

func TestEveryCallStopsWhenCancelled(t *testing.T) {
	mo, err := NewModel(Demo(), Mesh{Rows: 2, Strips: 4})
	if err != nil {
		t.Fatal(err)
	}
	small := MapOptions{Heights: 4, Pitches: 4}
	t.Run("Craft.Sweep", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) ([]SweepRow, error) {
			return Demo().Sweep(ctx, SweepQuestion{Speed: 14, Clearances: []float64{.2, .5}})
		})
	})
	t.Run("Model.Sweep", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) ([]SweepRow, error) {
			return mo.Sweep(ctx, SweepQuestion{Speed: 14, Pitch: .05})
		})
	})
	t.Run("Model.BuildMap", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (*Map, error) { return mo.BuildMap(ctx, small) })
	})
	t.Run("Model.FitMap", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (*Map, error) {
			return mo.FitMap(ctx, small, func(clearance, pitch float64) (MapNode, error) {
				return MapNode{LoadsPerQ: LoadsPerQ{Lift: 1 + pitch}, ByPitch: LoadsPerQ{Lift: 1}}, nil
			})
		})
	})
	t.Run("Model.Pressures", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) ([]WingPressures, error) { return mo.Pressures(ctx, .2, .05) })
	})
	t.Run("Model.CriticalStrip", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (CriticalStrip, error) { return mo.CriticalStrip(ctx, .2, .05) })
	})
	t.Run("Model.Crossing", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (Crossing, error) { return mo.Crossing(ctx, .05) })
	})
}
