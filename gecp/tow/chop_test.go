package tow

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/gecp/units"
)

func TestMostChop(t *testing.T) {
	for _, c := range []struct {
		name            string
		low, high, want float64
	}{
		{"until too little is left", .2, .3, .08},
		{"until the waves are no longer small", .1, .6, .2 * .3 / .7},
		{"too thin already", .2, .21, 0},
		{"of the least depth", .2, .22, 0},
	} {
		assert.InDelta(t, c.want, mostChop(c.low, c.high), 1e-12, c.name)
	}
	// At it, half the height is 0.3 of the clearance over the mean water at the lowest.
	h := mostChop(.1, .6)
	assert.InDelta(t, .3, h/2/(.1+h/2), 1e-12)
	assert.InDelta(t, 1.05, 1/math.Sqrt(1-.3*.3), .002, "what the waves then do to the lift")
}

func TestInChop(t *testing.T) {
	r := Range{OK: true, Low: Trim{Clearance: .2}, High: Trim{Clearance: .3}}
	assert.InDelta(t, .08, r.MostChop(), 1e-12)
	for _, c := range []struct {
		height, low, high float64
		ok                bool
	}{
		{0, .2, .3, true}, {.06, .23, .27, true}, {.0799, .23995, .26005, true}, {.0801, 0, 0, false}, {1, 0, 0, false}, {-.01, 0, 0, false}, {math.NaN(), 0, 0, false},
	} {
		got := r.InChop(c.height)
		assert.Equal(t, c.ok, got.OK, "%v m", c.height)
		assert.InDelta(t, c.low, got.Low, 1e-12)
		assert.InDelta(t, c.high, got.High, 1e-12)
	}
	assert.Zero(t, Range{Low: r.Low, High: r.High}.MostChop(), "no range")
	assert.False(t, Range{Low: r.Low, High: r.High}.InChop(0).OK)
	assert.Equal(t, "Over waves tow it higher and let go lower by half their height from trough to crest; from a chop of 0.08 m on the calculation means nothing.", r.ChopWords(units.Metric))

	// The higher the waves, the less is left, and never less than the least depth.
	rng := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		r := Range{OK: true, Low: Trim{Clearance: .05 + rng.Float64()/2}}
		r.High.Clearance = r.Low.Clearance + LeastDepth + rng.Float64()/2
		a, b := rng.Float64()/5, rng.Float64()/5
		x, y := r.InChop(math.Min(a, b)), r.InChop(math.Max(a, b))
		if y.OK {
			assert.True(t, x.OK)
			assert.GreaterOrEqual(t, y.Low, x.Low)
			assert.LessOrEqual(t, y.High, x.High)
			assert.GreaterOrEqual(t, y.High-y.Low, LeastDepth-1e-12)
		}
	}
}
