package motion

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// kepler is a planet on an orbit of eccentricity e in its plane, period 2 pi: no
// linear problem, and its answer is known.
func kepler(_ float64, y, dy *state) {
	r := math.Hypot(y[0], y[1])
	r3 := r * r * r
	*dy = state{y[2], y[3], -y[0] / r3, -y[1] / r3}
}

func keplerStart(e float64) state {
	return state{1 - e, 0, 0, math.Sqrt((1 + e) / (1 - e))}
}

// Halving the step must cut the error of the answer by 2^5, and the error that the
// pair sees in one step, of order 5 in the step, likewise.
func TestIntegratorOrder(t *testing.T) {
	const e = .3
	run := func(n int) (global, local float64) {
		in := integrator{rates: kepler, tol: [2]float64{1, 0}}
		y, h := keplerStart(e), 2*math.Pi/float64(n)
		for i := range n {
			seen := in.try(float64(i)*h, h, &y)
			if i == 0 {
				local = seen
			}
			y, in.k[0] = in.z, in.k[6]
		}
		s := keplerStart(e)
		for i := range y {
			global = math.Max(global, math.Abs(y[i]-s[i]))
		}
		return global, local
	}
	g0, l0 := run(200)
	for _, n := range []int{400, 800} {
		g, l := run(n)
		assert.InDelta(t, 5, math.Log2(g0/g), .35, "order of the answer at %d steps", n)
		assert.InDelta(t, 5, math.Log2(l0/l), .35, "order of the error seen at %d steps", n)
		g0, l0 = g, l
	}
}

// Tighter tolerances give smaller errors, and however the time is cut, the
// answer stays within them.
func TestIntegratorTolerance(t *testing.T) {
	last := math.Inf(1)
	for _, tol := range []float64{1e-4, 1e-6, 1e-8, 1e-10} {
		for _, pieces := range []int{1, 7, 300} {
			in := integrator{rates: kepler, tol: [2]float64{tol, tol}}
			y := keplerStart(.6)
			for i := range pieces {
				in.advance(float64(i), 2*math.Pi/float64(pieces), &y, i == 0)
			}
			s := keplerStart(.6)
			diff := math.Hypot(y[0]-s[0], y[1]-s[1])
			assert.Less(t, diff, 300*tol, "tolerance %g in %d pieces", tol, pieces)
			if pieces == 1 {
				require.Less(t, diff, last)
				last = diff
			}
		}
	}
}

// A contact switches a force on: the error control must find the edge.
func TestIntegratorMeetsAnEdge(t *testing.T) {
	// A ball of unit mass falls from height 1 under unit gravity onto a spring.
	const k = 1e4
	in := integrator{tol: [2]float64{1e-9, 1e-9}, rates: func(_ float64, y, dy *state) {
		*dy = state{y[1], -1 + k*math.Max(0, -y[0])}
	}}
	y := state{1, 0}
	// Free fall sqrt 2; in the spring half a swing about -1/k plus what the start adds.
	w := math.Sqrt(k)
	contact := (math.Pi + 2*math.Atan(1/(w*math.Sqrt2))) / w
	in.advance(0, 2*math.Sqrt2+contact, &y, true)
	assert.InDelta(t, 1, y[0], 1e-5)
	assert.InDelta(t, 0, y[1], 1e-4)
}
