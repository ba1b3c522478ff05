package lake

import (
	"context"
	"testing"

	"example.org/groundeffect/gecp/internal/canceltest"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/units"
)

func TestTheCardStopsWhenCancelled(t *testing.T) {
	// What it trusts has a test of its own.
	o := TowCardOptions{Top: 12, Variants: cardOf("teal-tandem", units.Metric).Variants}
	canceltest.Stops(t, func(ctx context.Context) (*TowCard, error) {
		return NewTowCard(ctx, readymaps.Coarse()["teal-tandem"], o)
	})
}
