package vlm

import (
	"fmt"
	"testing"
)

// BenchmarkBanked is one banked flow of both halves with all its derivatives, nothing reused,
// beside the symmetric flow of one half and, as many unknowns as the banked one, of a half
// with twice the strips. Compare within one run.
func BenchmarkBanked(b *testing.B) {
	for _, thickness := range [...]float64{0, .12} {
		half, twice := benchThick(b, 4, 8, thickness), benchThick(b, 4, 16, thickness)
		run := func(name string, solve func() error) {
			b.Run(fmt.Sprintf("%s/%vthick", name, thickness), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if err := solve(); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
		symmetric := func(l *Lattice) func() error {
			return func() error {
				_, err := l.Solve(b.Context(), Attitude{Height: .6, Pitch: .03})
				return err
			}
		}
		run("half", symmetric(half))
		run("half with twice the cells", symmetric(twice))
		run("whole", func() error {
			_, err := half.SolveBanked(b.Context(), BankedAttitude{Height: .6, Pitch: .03, Bank: .04, Slip: .02})
			return err
		})
	}
}
