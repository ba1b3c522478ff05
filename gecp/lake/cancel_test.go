package lake

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/internal/canceltest"
	"example.org/groundeffect/gecp/tow"
)

func TestTheCardStopsWhenCancelled(t *testing.T) {
	for _, r := range crafts.All() {
		if r.Key != "teal-tandem" {
			continue
		}
		m, err := r.Craft.BuildMap(t.Context(), gecp.MapOptions{Heights: 4, Pitches: 4})
		require.NoError(t, err)
		v, err := tow.NewVariants(t.Context(), m, nil) // which has a test of its own
		require.NoError(t, err)
		o := TowCardOptions{Top: 12, Variants: v}
		canceltest.Stops(t, func(ctx context.Context) (*TowCard, error) { return NewTowCard(ctx, m, o) })
		return
	}
	t.Fatal("no such craft")
}
