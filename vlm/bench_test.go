package vlm

import (
	"fmt"
	"math"
	"reflect"
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
	return benchThick(b, rows, strips, 0)
}

// benchThick is benchLattice with wings of a thickness.
func benchThick(b *testing.B, rows, strips int, thickness float64) *Lattice {
	surfaces := tandem(rows, strips)
	for _, i := range [...]int{0, 2} {
		for j := range surfaces[i].Stations {
			surfaces[i].Stations[j].Thickness = thickness
		}
	}
	l, err := New(surfaces, Options{})
	require.NoError(b, err)
	return l
}

// BenchmarkSolve is one flow with all its derivatives, nothing reused.
func BenchmarkSolve(b *testing.B) {
	for _, s := range sizes {
		for _, thickness := range [...]float64{0, .12} {
			l := benchThick(b, s[0], s[1], thickness)
			b.Run(fmt.Sprintf("%dcells/%vthick", l.Cells(), thickness), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := l.Solve(b.Context(), Attitude{Height: .5, Pitch: .03}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// BenchmarkFreeWake is one flow with the wakes on their own way, found and solved for.
func BenchmarkFreeWake(b *testing.B) {
	for _, thickness := range [...]float64{0, .12} {
		l := benchThick(b, 4, 8, thickness)
		b.Run(fmt.Sprintf("%dcells/%vthick", l.Cells(), thickness), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p, err := l.AtPitch(b.Context(), .03)
				require.NoError(b, err)
				w, err := p.FreeWake(b.Context(), .5)
				require.NoError(b, err)
				_, err = p.SolveWith(b.Context(), .5, w)
				require.NoError(b, err)
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
					p, err := l.AtPitch(b.Context(), .03)
					if err != nil {
						b.Fatal(err)
					}
					var wg sync.WaitGroup
					for w := range workers {
						wg.Go(func() {
							for i := w; i < heights; i += workers {
								if _, err := p.Solve(b.Context(), low+(high-low)*float64(i)/(heights-1)); err != nil {
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

// plainVelocityKernel and plainSumKernel are the kernels in plain Go on all machines.
type (
	plainVelocityKernel struct{ velocityKernel }
	plainSumKernel      struct{ sumKernel }
)

func (k *plainVelocityKernel) segments(i int, from, to []nodeOffset) { k.segmentsGo(i, from, to) }
func (k *plainSumKernel) segments(i int, from, to []nodeOffset)      { k.segmentsGo(i, from, to) }

// BenchmarkKernel runs each kernel over all filaments for one evaluation point, and the
// nodes' offsets alone. It counts the floating-point operations of the Go source, a root
// or a division as one. Kernels with vector registers are there in plain Go as well, with
// offsets from the vector registers all the same. Compare with BenchmarkArithmetic.
func BenchmarkKernel(b *testing.B) {
	l := benchLattice(b, 4, 8)
	p, err := l.AtPitch(b.Context(), .03)
	require.NoError(b, err)
	nodes, segments, legs := l.node.len(), 0, 0
	ws, v, g := newWorkspace(l), make([]vec, 2*nodes), make([]float64, 2*nodes)
	for i := range g {
		g[i] = .01
	}
	for _, g := range l.grids {
		segments += g.rows * (g.strips + g.end - g.first)
		legs += g.end - g.first
	}
	const x, y, z = 1.3, .7, -1.1
	each := func(offsets func(row []nodeOffset, o int, x, y, z, ym float64)) func() {
		return func() {
			for _, g := range l.grids {
				w := g.strips + 1
				for n := range g.rows + 1 {
					offsets(ws.rows[0][:w], g.node+n*w, x, y, z, -y)
				}
			}
		}
	}
	run := func(k kernel) func() { return func() { p.field.evaluate(x, y, z, k, &ws.rows) } }
	w, j := aicKernel{v: v, nx: .1, ny: .2, nz: .9, tx: 1, tz: 2}, gradientKernel{v: v, g: g, tx: 1, tz: 2}
	packed := reflect.TypeFor[packedGradientKernel]() != reflect.TypeFor[gradientKernel]()
	for _, c := range []struct {
		name         string
		plain        bool // the same as the one before if there are no packed kernels
		segment, leg int  // operations each, on both sides of the plane of symmetry
		run          func()
	}{
		{"nodes", false, 0, 0, each(p.field.offsets)},
		{"nodes in Go", true, 0, 0, each(p.field.offsetsGo)},
		{"velocities", false, 42, 0, run(&velocityKernel{v: v})},
		{"velocities in Go", true, 42, 0, run(&plainVelocityKernel{velocityKernel{v: v}})},
		{"sum", false, 46, 40, run(&sumKernel{g: g, first: nodes, body: noBody})},
		{"sum in Go", true, 46, 40, run(&plainSumKernel{sumKernel{g: g, first: nodes, body: noBody}})},
		{"influence coefficients", false, 115, 82, run((*packedAICKernel)(&w))},
		{"influence coefficients in Go", true, 115, 82, run(&w)},
		{"velocity gradient", false, 113, 98, run((*packedGradientKernel)(&j))},
		{"velocity gradient in Go", true, 113, 98, run(&j)},
	} {
		if c.plain && !packed {
			continue
		}
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				c.run()
			}
			const node = 20
			flops := float64(nodes*node + segments*c.segment + legs*c.leg)
			b.ReportMetric(flops*float64(b.N)/float64(b.Elapsed().Nanoseconds()), "flops/ns")
		})
	}
}

// BenchmarkArithmetic measures the best rate of scalar arithmetic on the machine: sums
// and products in registers, independent of each other; then the same with a root and
// two divisions in 54 operations, about the kernels' share.
func BenchmarkArithmetic(b *testing.B) {
	const rounds = 1000
	for _, c := range []struct {
		name  string
		flops int // a round
		run   func(rounds int, c float64) float64
	}{{"sums and products", 12, sumsAndProducts}, {"with roots and divisions", 54, rootsAndDivisions}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				c.run(rounds, 1)
			}
			b.ReportMetric(float64(rounds*c.flops)*float64(b.N)/float64(b.Elapsed().Nanoseconds()), "flops/ns")
		})
	}
}

//go:noinline
func sumsAndProducts(rounds int, c float64) float64 {
	p0, p1, p2, p3, p4, p5 := 1., 2., 3., 4., 5., 6.
	s0, s1, s2, s3, s4, s5 := 1., 2., 3., 4., 5., 6.
	for range rounds {
		p0 *= c
		s0 += c
		p1 *= c
		s1 += c
		p2 *= c
		s2 += c
		p3 *= c
		s3 += c
		p4 *= c
		s4 += c
		p5 *= c
		s5 += c
	}
	return p0 + p1 + p2 + p3 + p4 + p5 + s0 + s1 + s2 + s3 + s4 + s5
}

//go:noinline
func rootsAndDivisions(rounds int, c float64) float64 {
	p0, p1, p2, p3 := 1., 2., 3., 4.
	s0, s1, s2, s3 := 1., 2., 3., 4.
	x := 0.
	for range rounds {
		x += math.Sqrt(s0) + c/s1 + c/s2
		for range 3 {
			p0 *= c
			s0 += c
			p1 *= c
			s1 += c
			p2 *= c
			s2 += c
			p3 *= c
			s3 += c
			p0 *= c
			s0 += c
			p1 *= c
			s1 += c
			p2 *= c
			s2 += c
			p3 *= c
			s3 += c
		}
	}
	return p0 + p1 + p2 + p3 + s0 + s1 + s2 + s3 + x
}
