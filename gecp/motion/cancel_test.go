package motion

import (
	"context"
	"testing"

	"example.org/groundeffect/gecp/internal/canceltest"
)

func TestEveryCallStopsWhenCancelled(t *testing.T) {
	r := stiffRun(t, 14)
	t.Run("InTime", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (bool, error) { return InTime(ctx, r, .25, 0, .5) })
	})
	t.Run("MarginsAt", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (Reaction, error) { return MarginsAt(ctx, r, .25, 0) })
	})
	t.Run("ReactionAt", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (Reaction, error) { return ReactionAt(ctx, r, .25, 0) })
	})
	t.Run("ReactionAt where none saves", func(t *testing.T) {
		canceltest.Stops(t, func(ctx context.Context) (Reaction, error) { return ReactionAt(ctx, r, .4, 0) })
	})
}
