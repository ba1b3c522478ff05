package motion

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

func TestDisturbanceShapes(t *testing.T) {
	s := SpeedUp{Start: 1, By: 2, Over: 4}
	for _, v := range [][3]float64{{0, 0, 0}, {1, 0, 0}, {3, 1, .5}, {5, 2, 0}, {99, 2, 0}} {
		gain, accel := s.boat(v[0])
		assert.Equal(t, v[1], gain)
		assert.Equal(t, v[2], accel)
	}

	g := Gust{Start: 1, Head: 3, Up: -1, Gradient: 28}
	const speed = 14 // 28 m take 2 s
	for _, v := range [][2]float64{{0, 0}, {1, 0}, {2, .5}, {3, 1}, {4, .5}, {5, 0}, {7, 0}} {
		head, up := g.at(v[0], speed)
		assert.InDelta(t, 3*v[1], head, 1e-12)
		assert.InDelta(t, -v[1], up, 1e-12)
	}

	w := Wave{Start: .5, Height: .3, Length: 40}
	period := 40 / (speed + math.Sqrt(gecp.G*40/(2*math.Pi)))
	top, _ := w.at(.5+period/2, speed)
	assert.InDelta(t, .3, top, 1e-12)
	for _, at := range []float64{.2, .5, .5 + period, 9} {
		h, v := w.at(at, speed)
		assert.InDelta(t, 0, h, 1e-12)
		assert.InDelta(t, 0, v, 1e-9)
	}
	const d = 1e-5
	for at := .55; at < .5+period; at += .1 {
		lo, _ := w.at(at-d, speed)
		hi, _ := w.at(at+d, speed)
		_, v := w.at(at, speed)
		assert.InDelta(t, (hi-lo)/(2*d), v, 1e-6)
	}
}

func TestDisturbanceCheck(t *testing.T) {
	c := gecp.Demo()
	require.NoError(t, (&Disturbance{}).check(c))
	require.NoError(t, (&Disturbance{SpeedUp{0, 1, 1}, Gust{0, 3, 0, 30}, Wave{0, .2, 60}}).check(c))
	for name, d := range map[string]Disturbance{
		"a jump of the boat":    {SpeedUp: SpeedUp{By: 1}},
		"a gust without length": {Gust: Gust{Head: 2}},
		"a gust of length < 0":  {Gust: Gust{Up: 2, Gradient: -3}},
		"a short wave":          {Wave: Wave{Height: .2, Length: 10}},
		"no number":             {SpeedUp: SpeedUp{By: math.NaN(), Over: 1}},
		"endless":               {Gust: Gust{Head: math.Inf(1), Gradient: 30}},
	} {
		assert.Error(t, d.check(c), name)
	}
}
