package vlm

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Loads of thin sections, cot(t/2) and sin(n t) in the angle t along the chord, go
// from few rows to many without loss.
func TestProlongationIsExactForThinSections(t *testing.T) {
	loads := []func(t float64) float64{
		func(t float64) float64 { return 1 / math.Tan(t/2) },
		func(t float64) float64 { return math.Sin(t) },
		func(t float64) float64 { return math.Sin(2*t) - .3*math.Sin(3*t) },
	}
	for _, m := range []int{5, 6, 9} {
		for _, n := range []int{2 * m, 8 * m, m} {
			s := prolongation(m, n)
			for i, load := range loads {
				// Ring circulations: bound ones, load times sin t times pi/m, summed.
				sums := func(m int) (g []float64) {
					sum := 0.0
					for k := range m {
						u := (float64(k) + .5) * math.Pi / float64(m)
						sum += load(u) * math.Sin(u) / float64(m)
						g = append(g, sum)
					}
					return g
				}
				few, many := sums(m), sums(n)
				for k := range n {
					got := 0.0
					for r := range m {
						got += s[k*m+r] * few[r]
					}
					require.InDelta(t, many[k], got, 1e-12, "load %d, %d to %d rows", i, m, n)
				}
			}
		}
	}
}

// Few rows give what many give, down to gaps far below the rows' spacing.
func TestImageNearTheWater(t *testing.T) {
	worst := [2]float64{}
	for _, gap := range []float64{.05, .1, .3} {
		for _, pitch := range []float64{.02, .05, .09} {
			at := func(rows int) *Solution {
				l, err := New([]Surface{{Name: "wing", Rows: rows, Strips: 10, Stations: []Station{{Chord: 1}, {LE: r3.Vec{Y: 1.5}, Chord: 1}}}}, Options{})
				require.NoError(t, err)
				s, err := l.Solve(t.Context(), Attitude{gap + math.Sin(pitch), pitch})
				require.NoError(t, err)
				return s
			}
			few, many := at(6), at(24)
			lift := math.Abs(few.Total.Lift()/many.Total.Lift() - 1)
			slope := math.Abs(few.Derivatives.Height.Lift()/many.Derivatives.Height.Lift() - 1)
			worst[0], worst[1] = math.Max(worst[0], lift), math.Max(worst[1], slope)
			assert.Less(t, lift, .003, "gap %v, pitch %v", gap, pitch)
			assert.Less(t, slope, .02, "gap %v, pitch %v", gap, pitch)
		}
	}
	t.Logf("6 rows against 24 at gaps down to .05 chords: largest difference %.2f %% of lift, %.2f %% of its slope with height", 100*worst[0], 100*worst[1])
}

// Where the image's refinement changes, the answer hardly does.
func TestImageRefinementIsSmooth(t *testing.T) {
	for _, rows := range []int{4, 6} {
		l, err := New([]Surface{{Name: "wing", Rows: rows, Strips: 8, Stations: []Station{{Chord: 1}, {LE: r3.Vec{Y: 1.5}, Chord: 1}}}}, Options{})
		require.NoError(t, err)
		for _, finer := range []float64{1, 2, 4, 8} {
			gap := nearness * math.Pi / 2 / float64(rows) / finer
			const pitch, step = .09, 1e-9
			up, err := l.Solve(t.Context(), Attitude{gap + math.Sin(pitch) + step, pitch})
			require.NoError(t, err)
			down, err := l.Solve(t.Context(), Attitude{gap + math.Sin(pitch) - step, pitch})
			require.NoError(t, err)
			name := fmt.Sprintf("%d rows, gap %.3f", rows, gap)
			assert.InEpsilon(t, up.Total.Lift(), down.Total.Lift(), 5e-5, name)
			assert.InEpsilon(t, up.Total.Pitching(), down.Total.Pitching(), 5e-5, name)
			assert.InEpsilon(t, up.Derivatives.Height.Lift(), down.Derivatives.Height.Lift(), 2e-3, name)
		}
	}
}
