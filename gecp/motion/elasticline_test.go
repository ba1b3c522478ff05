package motion

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/gecp/tow"
)

// A line is what it was in the steady state that it was made for: length, pull, span and
// the upward force are those of the line of package tow.
func TestElasticLineBeginsAsTheSteadyOne(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 7))
	for range 500 {
		l := tow.Line{Length: 5 + 50*rng.Float64(), Weight: math.Max(0, 2*rng.Float64()-.3)}
		pull, rise := 5+500*rng.Float64(), l.Length*(rng.Float64()-.5)
		e := newElasticLine(l, 500*math.Pow(1e4, rng.Float64()), pull, rise)
		got, hung := e.at(l.Span(pull, rise), rise)
		// A slack line's span hardly grows with its pull.
		near := 1e-9 * pull
		if l.Weight > 0 {
			k := l.Weight * l.Length / pull
			near *= 1 + 100*k*k
		}
		assert.InDelta(t, pull, got, near+1e-9*e.stiffness, "%+v", l)
		assert.InEpsilon(t, l.Length, hung.Length, 1e-8)
		assert.InDelta(t, l.Weight, hung.Weight, 1e-8)
	}
}

// The further apart its ends, the harder it pulls, from slack to taut without a jump, and
// no less than a straight one. With next to no weight it is a straight one.
func TestElasticLineGrowsTaut(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 7))
	for range 50 {
		e := elasticLine{rest: 30, stiffness: 500 * math.Pow(1e3, rng.Float64()), weight: .1 + 30*rng.Float64()}
		rise := 4 * (rng.Float64() - .5)
		last := 0.
		for level := 1.; level < 32; level += .05 {
			pull, l := e.at(level, rise)
			straight, _ := elasticLine{e.rest, e.stiffness, 0}.at(level, rise)
			assert.Greater(t, pull, last)
			assert.GreaterOrEqual(t, pull, straight)
			assert.InDelta(t, level, l.Span(pull, rise), 1e-8, "%+v", e)
			last = pull
			e.weight, straight = e.weight*1e-6, straight+1e-5*e.stiffness
			light, _ := e.at(level, rise)
			e.weight *= 1e6
			assert.LessOrEqual(t, light, straight+.02)
		}
	}
	pull, l := elasticLine{30, 1e4, 0}.at(29, 1)
	assert.Zero(t, pull, "slack")
	assert.Zero(t, l)
}

// Whatever a flight comes to, the line's figures are numbers.
func TestElasticLineIsFinite(t *testing.T) {
	e := elasticLine{30, 1e4, 13}
	for _, level := range []float64{-40, -1, 0, 1e-9, 1, 29.999, 30, 30.001, 1000} {
		for _, rise := range []float64{-100, -30, -1, 0, 1e-9, 30, 31, 500} {
			pull, l := e.at(level, rise)
			up, _, _ := l.Up(math.Abs(pull), rise)
			assert.False(t, math.IsNaN(pull+up) || math.IsInf(pull+up, 0), "%v, %v: %v %+v", level, rise, pull, up)
			assert.True(t, pull*level >= 0)
		}
	}
}
