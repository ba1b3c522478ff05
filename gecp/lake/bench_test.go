package lake

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// BenchmarkTowCard is a whole card from a ready map.
func BenchmarkTowCard(b *testing.B) {
	m, err := gecp.Demo().BuildMap(b.Context(), gecp.MapOptions{})
	require.NoError(b, err)
	for b.Loop() {
		if _, err := NewTowCard(b.Context(), m, TowCardOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
