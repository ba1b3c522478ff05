package picture

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// Names side by side keep the order of their things, do not touch, and stay in the
// picture; one that has room stands over its thing.
func TestSpread(t *testing.T) {
	p := Picture{TextSize: 14}
	half := func(n name) float64 { return letter * p.TextSize * float64(len(n.text)) / 2 }
	r := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		var names []name
		for i := range 1 + r.IntN(6) {
			names = append(names, name{text: strings.Repeat("m", 3+r.IntN(12)), x: left + r.Float64()*(width-left-plain), y: 115 + 10*float64(i%2), up: true})
		}
		p.spread(names)
		for i, n := range names {
			assert.GreaterOrEqual(t, n.at-half(n), 0.)
			assert.LessOrEqual(t, n.at+half(n), width)
			assert.Less(t, n.base, n.y)
			if i > 0 {
				assert.LessOrEqual(t, names[i-1].x, n.x)
				assert.LessOrEqual(t, names[i-1].at+half(names[i-1]), n.at-half(n))
			}
		}
	}
	far := []name{{text: "a long name", x: 300, y: 100}, {text: "another one", x: 310, y: 300}}
	p.spread(far)
	assert.InDelta(t, 300, far[0].at, 1e-9, "what ends far below is named there")
	assert.InDelta(t, 310, far[1].at, 1e-9)
	assert.Less(t, 100+p.TextSize, far[1].base)
	alone := []name{{text: "water", x: 300, y: 200}, {text: "lift", x: 600, y: 200}}
	p.spread(alone)
	assert.InDelta(t, 300, alone[0].at, 1e-9)
	assert.InDelta(t, 600, alone[1].at, 1e-9)
}

// The scales of both systems have some round numbers, not too many, and all words are
// escaped.
func TestScalesAndWords(t *testing.T) {
	for _, u := range []units.System{units.Metric, units.Customary} {
		for _, top := range []float64{.3, 1.2, 3} {
			c := gecp.Demo()
			p := Picture{
				Title: "<b> & co", Craft: c, Top: top, Units: u,
				Curves: []Curve{{Name: "a<b", Style: CP, X: []float64{1, math.NaN(), 2}, Height: []float64{.1, .15, .2}}},
				Lines:  []Line{{"let go above " + u.LetGo(.2), .2}, {"tow from", .199}},
				Bands:  []Band{{"pilot's travel", c.Pilot.XForward, c.Pilot.XAft}},
			}
			var b strings.Builder
			require.NoError(t, p.WriteSVG(&b))
			s := b.String()
			assert.NotContains(t, s, "NaN")
			assert.NotContains(t, s, "<b>")
			assert.Contains(t, s, "a&lt;b")
			assert.Contains(t, s, fmt.Sprintf("clearance under the wings, %s", u.Clearance().Name))
			for _, axis := range []string{`text-anchor="end" style`, `text-anchor="middle" style`} {
				n := strings.Count(s, axis)
				assert.GreaterOrEqual(t, n, 3, "%v %v", u, top)
				assert.LessOrEqual(t, n, 10, "%v %v", u, top)
			}
		}
	}
}

// An area is drawn in its unbroken parts below the top, and named once.
func TestArea(t *testing.T) {
	gap := math.NaN()
	p := Picture{Craft: gecp.Demo(), Top: 1, Areas: []Area{{
		Name: "most of them", Style: Scatter,
		From: []float64{1, 1.1, gap, 1.2, 1.3, 1.4}, To: []float64{1.5, 1.6, 1.6, 1.7, 1.8, 1.9},
		Height: []float64{.1, .2, .3, .4, .5, 1.2},
	}}}
	var b strings.Builder
	require.NoError(t, p.WriteSVG(&b))
	assert.Equal(t, 2, strings.Count(b.String(), `fill-opacity="0.16" stroke="#009E73"`))
	assert.Equal(t, 1, strings.Count(b.String(), "most of them"))
	assert.NotContains(t, b.String(), "NaN")
}
