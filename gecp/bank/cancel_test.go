package bank

import (
	"context"
	"testing"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/canceltest"
)

func TestEveryCallStopsWhenCancelled(t *testing.T) {
	m, stream := model(t, gecp.Demo()), gecp.Freestream{Speed: 14}
	t.Run("At", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (*Flight, error) { return At(ctx, m, stream, .5, .05) })
	})
	t.Run("InTrim", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (*Flight, error) { return InTrim(ctx, towed(), .5) })
	})
	f := flight(t, m, .5, 3)
	t.Run("Flight.Bank", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (Banked, error) { return f.Bank(ctx, .05) })
	})
	t.Run("Table", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) ([]Row, error) {
			return Table(ctx, m, stream, .05, []float64{.3, .6}, []float64{0, .03})
		})
	})
	t.Run("FindRightingCeiling", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (RightingCeiling, error) {
			return FindRightingCeiling(ctx, .2, 2, AtPitch(m, stream, .05))
		})
	})
}
