package vlm

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/spatial/r3"
)

// sourceRows are the offsets of two rows of n nodes from a point and its reflection.
func sourceRows(n int, rng *rand.Rand, mirror bool) (from, to []nodeOffset) {
	f := field{node: makePoints(2 * n)}
	for j := range f.node.len() {
		f.node.set(j, randomPlace(rng))
	}
	p := randomPlace(rng)
	p.Z -= 1.5 // an image lies apart
	ym := -p.Y
	if !mirror {
		ym = noMirror
	}
	from, to = make([]nodeOffset, n), make([]nodeOffset, n)
	f.offsetsGo(from, 0, p.X, p.Y, p.Z, ym)
	f.offsetsGo(to, n, p.X, p.Y, p.Z, ym)
	return from, to
}

// Sources with both sides in one register have the velocities of plain Go.
func TestSourcesInRegistersEqualGo(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	for i := range 300 {
		n := i % 20
		from, to := sourceRows(n, rng, i%5 > 0)
		got := sourceKernel{v: make([]sourceVelocity, n+2), tx: rng.Float64(), tz: 3 * rng.Float64()}
		want := got
		want.v = make([]sourceVelocity, n+2)
		got.segments(1, from, to)
		want.segmentsGo(1, from, to)
		for j := range want.v {
			for _, pair := range [...][2]vec{{got.v[j].v, want.v[j].v}, {got.v[j].vz, want.v[j].vz}, {got.v[j].vt, want.v[j].vt}} {
				assert.InDelta(t, 0, r3.Norm(r3.Sub(pair[0].r3(), pair[1].r3())), 1e-12*(1+r3.Norm(pair[1].r3())), "source %d of %d", j, n)
			}
		}
	}
}

// BenchmarkSources is a row of nine sources and their reflections.
func BenchmarkSources(b *testing.B) {
	from, to := sourceRows(9, rand.New(rand.NewPCG(7, 11)), true)
	k := sourceKernel{v: make([]sourceVelocity, 9), tx: 1, tz: 2}
	b.Run("sources", func(b *testing.B) {
		for b.Loop() {
			k.segments(0, from, to)
		}
	})
	b.Run("sources in Go", func(b *testing.B) {
		for b.Loop() {
			k.segmentsGo(0, from, to)
		}
	})
}
