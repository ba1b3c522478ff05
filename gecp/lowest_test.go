package gecp

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

// randomCraft has cambered, twisted, swept wings and plates anywhere.
func randomCraft(rng *rand.Rand) *Craft {
	c := &Craft{Name: "x"}
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	for i := range 1 + rng.IntN(4) {
		w := Wing{Name: fmt.Sprint("w", i), X: between(-2, 6), Z: between(-1, 1), IncidenceDeg: between(-12, 12)}
		if rng.IntN(4) > 0 {
			w.Camber = Camber{between(-.15, .15), between(.1, .9)}
		}
		if rng.IntN(3) > 0 {
			w.Thickness = between(.02, .2)
		}
		for j := range 2 + rng.IntN(4) {
			w.Stations = append(w.Stations, Station{Y: float64(j), Chord: between(.3, 3), LEX: between(-.5, .5), LEZ: between(-.3, .3), TwistDeg: between(-8, 8)})
		}
		if rng.IntN(2) > 0 {
			w.TipPlates = TipPlates{between(0, .5), between(0, .5)}
		}
		c.Wings = append(c.Wings, w)
	}
	return c
}

// under returns the point of a section's underside at xi chords.
func under(s vlm.Station, xi float64) r3.Vec {
	p, half := s.Point(xi), s.Thickness*s.Chord/2*vlm.FourDigitThickness(xi)
	sin, cos := math.Sincos(s.Incidence)
	return r3.Vec{X: p.X - half*sin, Y: p.Y, Z: p.Z - half*cos}
}

// bruteDepth looks at every surface finely, between stations too.
func bruteDepth(c *Craft, pitch float64) float64 {
	sin, cos := math.Sincos(pitch)
	deepest := math.Inf(-1)
	for _, s := range c.Surfaces(Mesh{1, 1}) {
		for j := 1; j < len(s.Stations); j++ {
			for e := range 5 {
				t := float64(e) / 4
				const n = 2000
				for k := range n + 1 {
					a, b := under(s.Stations[j-1], float64(k*k)/(n*n)), under(s.Stations[j], float64(k*k)/(n*n))
					x, z := (1-t)*a.X+t*b.X, (1-t)*a.Z+t*b.Z
					deepest = max(deepest, x*sin-z*cos)
				}
			}
		}
	}
	return deepest
}

func TestLowestPointAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	inside := 0 // lowest points within a section, not at its ends
	for range 40 {
		c := randomCraft(rng)
		u := c.LowestPoints()
		for range 4 {
			pitch := .5 * (rng.Float64() - .5)
			low := u.At(pitch)
			brute := bruteDepth(c, pitch)
			// A sample misses a parabola's lowest point by at most half a step:
			// 3 m x .15/.1^2 x (1/4000)^2 < 3e-6 m, and never exceeds it.
			require.LessOrEqual(t, brute, low.Depth+1e-12)
			require.InDelta(t, brute, low.Depth, 3e-6)
			// The point is one of the craft's, at that depth.
			sin, cos := math.Sincos(pitch)
			require.InDelta(t, low.Depth, low.X*sin-low.Z*cos, 1e-12)

			all := u.Each(nil, pitch)
			require.Len(t, all, len(c.Wings))
			deepest := all[0]
			for i, l := range all {
				require.Equal(t, c.Wings[i].Name, l.Wing)
				one := Craft{Wings: c.Wings[i : i+1]}
				require.Equal(t, one.LowestPoints().At(pitch), l)
				if l.Depth > deepest.Depth {
					deepest = l
				}
			}
			require.Equal(t, deepest, low)

			// Refined around the best sample it agrees to 1e-9 of a chord.
			refined, interior := refine(c, pitch)
			require.InDelta(t, refined, low.Depth, 1e-9*.3)
			if interior {
				inside++
			}
		}
	}
	assert.Greater(t, inside, 30, "the sample has lowest points within a section")
}

// refine returns the depth found by ever finer sampling of the sections, and
// whether it lies within one.
func refine(c *Craft, pitch float64) (depth float64, interior bool) {
	sin, cos := math.Sincos(pitch)
	depth = math.Inf(-1)
	for _, s := range c.Surfaces(Mesh{1, 1}) {
		for _, st := range s.Stations {
			lo, hi := 0., 1.
			for range 8 {
				best, at := math.Inf(-1), 0.
				for k := range 401 {
					xi := lo + (hi-lo)*float64(k)/400
					p := under(st, xi)
					if d := p.X*sin - p.Z*cos; d > best {
						best, at = d, xi
					}
				}
				if best > depth {
					depth, interior = best, at > .01 && at < .99
				}
				w := (hi - lo) / 100
				lo, hi = max(0, at-w), min(1, at+w)
			}
		}
	}
	return depth, interior
}

func TestLowestPointByHand(t *testing.T) {
	c := &Craft{Wings: []Wing{rectangle("front", 0, .2, 0, 2, 1), rectangle("rear", 3, .3, 0, 1, 1)}}
	c.Wings[1].TipPlates.Down = .05
	u := c.LowestPoints()
	assert.Equal(t, LowestPoint{Wing: "front", X: 0, Z: .2, Chord: 2, Depth: -.2}, u.At(0))
	up := u.At(.1) // nose-up: the rear plate's lower aft corner (4, .25)
	assert.Equal(t, "rear", up.Wing)
	assert.InDelta(t, 4, up.X, 1e-12)
	assert.InDelta(t, .25, up.Z, 1e-12)
	assert.InDelta(t, 4*math.Sin(.1)-.25*math.Cos(.1), up.Depth, 1e-12)

	// An upward arch touches with its ends, a downward one with its belly: the
	// mean line's highest ordinate of 5 % at 40 % of a 2 m chord.
	arch := Craft{Wings: []Wing{{Name: "w", Camber: Camber{-.05, .4}, Stations: []Station{{Chord: 2}, {Y: 1, Chord: 2}}}}}
	low := arch.LowestPoints().At(0)
	assert.InDelta(t, .1, low.Depth, 1e-15)
	assert.InDelta(t, .8, low.X, 1e-12)
	arch.Wings[0].Camber.Height = .05
	assert.InDelta(t, 0, arch.LowestPoints().At(0).Depth, 1e-15)
}

// Between the jumps of the lowest point the depth is smooth: its slope with
// pitch is x cos + z sin of the lowest point, and it is continuous everywhere.
func TestLowestPointIsSmooth(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 40 {
		u := randomCraft(rng).LowestPoints()
		for range 20 {
			pitch := .5 * (rng.Float64() - .5)
			const h = 1e-5
			a, m, b := u.At(pitch-h), u.At(pitch), u.At(pitch+h)
			assert.InDelta(t, a.Depth, b.Depth, 1e-3, "continuous")
			if math.Abs(a.X-b.X) > 1e-2 {
				continue // a jump
			}
			sin, cos := math.Sincos(pitch)
			assert.InDelta(t, m.X*cos+m.Z*sin, (b.Depth-a.Depth)/(2*h), 1e-4)
		}
	}
}

func TestHeightAndClearance(t *testing.T) {
	u := Demo().LowestPoints()
	for _, pitch := range []float64{-.05, 0, .03, .1} {
		for _, clearance := range []float64{0, .08, 1.3} {
			h := u.HeightFor(clearance, pitch)
			assert.InDelta(t, clearance, u.ClearanceFor(h, pitch), 1e-15)
			// At zero clearance the lowest point is on the water.
			low := u.At(pitch)
			assert.InDelta(t, clearance, h+low.Z*math.Cos(pitch)-low.X*math.Sin(pitch), 1e-12)
		}
	}
	assert.Panics(t, func() { u.At(math.NaN()) })
	assert.Panics(t, func() { u.Each(nil, math.Inf(1)) })
}

func TestLowestPointAllocatesNothing(t *testing.T) {
	u := Demo().LowestPoints()
	dst := make([]LowestPoint, 0, 2)
	var sum float64
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		sum += u.At(.03).Depth + u.HeightFor(.2, .01) + u.ClearanceFor(.2, .01)
		dst = u.Each(dst[:0], .02)
	}))
	assert.Positive(t, sum)
}

func BenchmarkLowestPoint(b *testing.B) {
	u := Demo().LowestPoints()
	var sum float64
	for i := 0; b.Loop(); i++ {
		sum += u.At(float64(i%100) * .001).Depth
	}
	if !(sum > 0) {
		b.Fatal(sum)
	}
}

func ExampleLowestPoints() {
	c := &Craft{Name: "Moorhen", Wings: []Wing{
		{Name: "front", Stations: []Station{{Chord: 1.6}, {Y: 2, Chord: 1.6}}},
		{Name: "rear", X: 3, Z: .2, Stations: []Station{{Chord: 1.4}, {Y: 2, Chord: 1.4}}},
	}}
	u := c.LowestPoints()
	for _, deg := range []float64{2, 6} {
		pitch := deg * math.Pi / 180
		fmt.Printf("%.0f deg: the %s wing is lowest; 0.30 m of clearance is %.2f m of height\n",
			deg, u.At(pitch).Wing, u.HeightFor(.3, pitch))
	}
	// Output:
	// 2 deg: the front wing is lowest; 0.30 m of clearance is 0.36 m of height
	// 6 deg: the rear wing is lowest; 0.30 m of clearance is 0.56 m of height
}
