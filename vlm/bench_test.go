package vlm

import (
	"fmt"
	"math"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// tandem is a craft of two wings, the front one with tip plates, with the given
// cells on each half wing.
func tandem(rows, strips int) []Surface {
	wing := func(name string, x, y, z, span, chord, deg, camber float64) Surface {
		s := Surface{Name: name, Rows: rows, Strips: strips}
		for _, y := range [...]float64{0, span} {
			s.Stations = append(s.Stations, Station{LE: r3.Vec{X: x, Y: y, Z: z}, Chord: chord, Incidence: deg * math.Pi / 180, Camber: Camber{camber, .4}})
		}
		return s
	}
	front := wing("front wing", 0, 0, 0, 2, 1.6, 5, .02)
	plate := Surface{Name: "tip plate", Rows: rows, Strips: max(1, strips/8), Stations: []Station{front.Stations[1], front.Stations[1]}}
	plate.Stations[1].LE.Z = -.15
	return []Surface{front, plate, wing("rear wing", 3.2, 0, .35, 2.2, 1.4, 3, 0)}
}

// sizes are 1, 2 and 4 times the cells.
var sizes = [...][2]int{{4, 8}, {4, 16}, {8, 16}}

func benchLattice(b *testing.B, rows, strips int) *Lattice {
	l, err := New(tandem(rows, strips), Options{})
	require.NoError(b, err)
	return l
}

// BenchmarkSolve is one flow with all its derivatives, nothing reused.
func BenchmarkSolve(b *testing.B) {
	for _, s := range sizes {
		l := benchLattice(b, s[0], s[1])
		b.Run(fmt.Sprintf("%dcells", l.Cells()), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := l.Solve(Placement{Height: .5, Pitch: .03}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkHeights is one pitch at 24 heights, on one and on two goroutines.
func BenchmarkHeights(b *testing.B) {
	const heights, low, high = 24, .37, 1.5
	for _, s := range sizes {
		l := benchLattice(b, s[0], s[1])
		for _, workers := range [...]int{1, 2} {
			b.Run(fmt.Sprintf("%dcells/%dworkers", l.Cells(), workers), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					p, err := l.Pose(.03)
					if err != nil {
						b.Fatal(err)
					}
					var wg sync.WaitGroup
					for w := range workers {
						wg.Go(func() {
							for i := w; i < heights; i += workers {
								if _, err := p.Solve(low + (high-low)*float64(i)/(heights-1)); err != nil {
									b.Error(err)
								}
							}
						})
					}
					wg.Wait()
				}
			})
		}
	}
}
