package tow

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
)

// The integrals against published values (Abramowitz and Stegun, table 5.1 and 5.2: Ci(1) =
// 0.3374039229, Si(1) = 0.9460830704, Ci(20) = 0.0444198208, Si(20) = 1.5482417010), by f(z) =
// Ci(z) sin z + (pi/2 - Si(z)) cos z.
func TestAuxiliary(t *testing.T) {
	for _, c := range []struct{ z, ci, si float64 }{{1, .3374039229, .9460830704}, {20, .0444198208, 1.5482417010}} {
		want := c.ci*math.Sin(c.z) + (math.Pi/2-c.si)*math.Cos(c.z)
		assert.InDelta(t, want, auxiliary(c.z), 1e-9)
	}
	assert.InDelta(t, math.Pi/2, auxiliary(0), 1e-12)
	assert.InDelta(t, auxiliary(20), auxiliary(20+1e-9), 2e-7, "the two ways meet")
	assert.InDelta(t, 1e-3, auxiliary(1e3), 1e-8)
}

// The level of the water against the Fourier integral itself: the integral of
// (exp(ik(x-from)) - exp(ik(x-to)))/(ik)/(k - wave) over all k above 0, over pi, its principal value
// and half the way around the pole on the side that leaves no waves upstream.
func TestLevelAgainstTheFourierIntegral(t *testing.T) {
	const from, to = 1., 2.6
	for _, wave := range []float64{.05, .3, 2} {
		for _, x := range []float64{-1.3, .8, 1.4, 2.1, 3.9, 7} {
			part := func(k float64) complex128 {
				return (cmplx.Exp(complex(0, k*(x-from))) - cmplx.Exp(complex(0, k*(x-to)))) / complex(0, k)
			}
			sum := real(part(wave) * complex(0, math.Pi))
			dk := wave / math.Ceil(wave/.002) // the pole lies between two cells
			for i := range int(600 / dk) {
				k := (float64(i) + .5) * dk
				sum += real(part(k)) / (k - wave) * dk
			}
			assert.InDelta(t, sum/math.Pi, levelAt(x, from, to, wave), 2e-4, "wave %v, x %v", wave, x)
		}
	}
}

// A pressure that hardly moves presses the water down by its head; one that moves fast, by
// hardly anything.
func TestMovingDepression(t *testing.T) {
	st, err := NewSteadyTow(readymaps.All()["teal-tandem"], gecp.Freestream{Speed: 16})
	require.NoError(t, err)
	b, err := st.Trim(.2)
	require.NoError(t, err)
	rest, moving := st.Depression(b), st.MovingDepression(b)
	assert.Less(t, math.Max(moving.Down, moving.Up), rest.Depth/4)
	assert.Greater(t, math.Max(moving.Down, moving.Up), 2e-4)
	t.Logf("Teal at 16 m/s: at rest its weight presses the water down by %.1f mm, in motion by %.1f mm, up by %.1f mm", 1e3*rest.Depth, 1e3*moving.Down, 1e3*moving.Up)
	slow := st
	slow.stream.Speed = .15
	assert.Greater(t, slow.MovingDepression(b).Down, rest.Depth, "its edges make waves, too")
	assert.Equal(t, MovingDepression{}, st.MovingDepression(Trim{}), "nothing is lifted")

	// In the middle of a wide pressure that creeps the water lies lower by its head, over many waves.
	const wave, n = 40., 400
	var mean float64
	for i := range n {
		mean += levelAt(20+20*math.Pi/wave*float64(i)/n, 0, 60, wave) / n
	}
	assert.InEpsilon(t, -1/wave, mean, .01)
}
