package vlm

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/spatial/r3"
)

// randomPath is a leg that goes aft in uneven pieces.
func randomPath(rng *rand.Rand) path {
	w := make(path, wakePieces+1)
	for k := 1; k < len(w); k++ {
		w[k] = vec{w[k-1].x + .1 + .5*rng.Float64(), w[k-1].y + .2*rng.Float64() - .1, w[k-1].z + .2*rng.Float64() - .1}
	}
	w[1].y, w[1].z = 0, 0
	return w
}

// pathPoints are points relative to a leg that leaves from a node.
var pathPoints = map[string]func(node r3.Vec, w path, rng *rand.Rand) r3.Vec{
	"anywhere":          func(_ r3.Vec, _ path, rng *rand.Rand) r3.Vec { return randomPlace(rng) },
	"far away":          func(_ r3.Vec, _ path, rng *rand.Rand) r3.Vec { return r3.Scale(1e5, randomPlace(rng)) },
	"plane of symmetry": func(_ r3.Vec, _ path, rng *rand.Rand) r3.Vec { p := randomPlace(rng); p.Y = 0; return p },
	"on the node":       func(node r3.Vec, _ path, _ *rand.Rand) r3.Vec { return node },
	"on its reflection": func(node r3.Vec, _ path, _ *rand.Rand) r3.Vec { node.Y = -node.Y; return node },
	"on a corner":       func(node r3.Vec, w path, _ *rand.Rand) r3.Vec { return r3.Add(node, w[3].r3()) },
	"on the last corner": func(node r3.Vec, w path, _ *rand.Rand) r3.Vec {
		return r3.Add(node, w[len(w)-1].r3())
	},
	"on a piece": func(node r3.Vec, w path, _ *rand.Rand) r3.Vec {
		return r3.Add(node, r3.Scale(.5, r3.Add(w[2].r3(), w[3].r3())))
	},
	"ahead on its axis": func(node r3.Vec, _ path, _ *rand.Rand) r3.Vec { node.X -= .6; return node },
	"beside a piece": func(node r3.Vec, w path, _ *rand.Rand) r3.Vec {
		return r3.Add(node, r3.Add(r3.Scale(.5, r3.Add(w[2].r3(), w[3].r3())), r3.Vec{Z: 1e-3}))
	},
}

// legCase is case i of a leg, with or without core, seen from a point with or without a plane of
// symmetry.
func legCase(point func(node r3.Vec, w path, rng *rand.Rand) r3.Vec, rng *rand.Rand, i int) (w path, from nodeOffset, core4 float64, what string) {
	node := randomPlace(rng)
	w = randomPath(rng)
	node.Y = math.Abs(node.Y)
	at := point(node, w, rng)
	f := field{node: makePoints(1)}
	f.node.set(0, node)
	var row [1]nodeOffset
	ym := -at.Y
	if i%7 == 0 {
		ym = noMirror
	}
	f.offsetsGo(row[:], 0, at.X, at.Y, at.Z, ym)
	if i%2 == 0 {
		core4 = math.Pow(.3*rng.Float64(), 4)
	}
	return w, row[0], core4, fmt.Sprintf("case %d: node %v, point %v, core %v", i, node, at, core4)
}

// A leg with both sides in one register has the velocity and the derivatives of plain Go: with
// a core and without, in no direction, one and two, with a plane of symmetry and without.
func TestLegsInRegistersEqualGo(t *testing.T) {
	for name, point := range pathPoints {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(3, 29))
			for i := range 600 {
				w, from, core4, what := legCase(point, rng, i)
				var d, e direction
				// On a corner a leg has a velocity, its own piece left out, but no derivative.
				smooth := !strings.HasPrefix(name, "on ") || name == "on a piece"
				if i%3 > 0 && smooth {
					d = direction{x: rng.Float64() - .5, z: rng.Float64()}
				}
				if i%3 > 1 && smooth {
					e = direction{x: 4 * rng.Float64(), z: rng.Float64() - .5}
				}
				got, want := w.bothSides(&from, core4, d, e), w.bothSidesGo(&from, core4, d, e)
				for k, pair := range [...][2]vec{{got.v, want.v}, {got.d, want.d}, {got.e, want.e}} {
					// Close to a filament the sides' terms are large and opposed.
					size := 1 + r3.Norm(pair[1].r3())
					if !assert.InDelta(t, 0, r3.Norm(r3.Sub(pair[0].r3(), pair[1].r3()))/size, 1e-10, "vector %d, %s", k, what) {
						return
					}
				}
			}
		})
	}
}

// The change of a leg's velocity as its corners move is that of plain Go, too.
func TestLegMotionsInRegistersEqualGo(t *testing.T) {
	for name, point := range pathPoints {
		if strings.HasPrefix(name, "on ") && name != "on a piece" {
			continue // on a corner the velocity has no derivative
		}
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(3, 29))
			for i := range 600 {
				w, from, core4, what := legCase(point, rng, i)
				ways := [wakeMotions]path{randomPath(rng), randomPath(rng)}
				got, want := w.motion(&from, core4, ways), w.motionGo(&from, core4, ways)
				for m := range got {
					size := 1 + r3.Norm(want[m].r3())
					if !assert.InDelta(t, 0, r3.Norm(r3.Sub(got[m].r3(), want[m].r3()))/size, 1e-9, "way %d, %s", m, what) {
						return
					}
				}
			}
		})
	}
}

// BenchmarkLeg is one leg of six pieces and its reflection: without a core and in two
// directions, with one and in one, with one and in none.
func BenchmarkLeg(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 29))
	w, at := randomPath(rng), vec{1.3, .7, -1.1}
	f := field{node: makePoints(1)}
	var from [1]nodeOffset
	f.offsetsGo(from[:], 0, at.x, at.y, at.z, -at.y)
	d, e := direction{x: 1}, direction{x: .3, z: 1}
	for _, c := range []struct {
		name  string
		core4 float64
		d, e  direction
	}{{"two directions", 0, d, e}, {"core, one direction", .01, d, direction{}}, {"core", .01, direction{}, direction{}}} {
		for _, way := range []struct {
			name string
			run  func(*nodeOffset, float64, direction, direction) pathVelocity
		}{{"", w.bothSides}, {" in Go", w.bothSidesGo}} {
			b.Run(c.name+way.name, func(b *testing.B) {
				for b.Loop() {
					way.run(&from[0], c.core4, c.d, c.e)
				}
			})
		}
	}
}

// BenchmarkLegMotion is the change of one leg of six pieces and its reflection.
func BenchmarkLegMotion(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 29))
	w, ways, at := randomPath(rng), [wakeMotions]path{randomPath(rng), randomPath(rng)}, vec{1.3, .7, -1.1}
	f := field{node: makePoints(1)}
	var from [1]nodeOffset
	f.offsetsGo(from[:], 0, at.x, at.y, at.z, -at.y)
	for _, core4 := range []float64{0, .01} {
		b.Run(fmt.Sprintf("core %v", core4), func(b *testing.B) {
			for b.Loop() {
				w.motion(&from[0], core4, ways)
			}
		})
		b.Run(fmt.Sprintf("core %v in Go", core4), func(b *testing.B) {
			for b.Loop() {
				w.motionGo(&from[0], core4, ways)
			}
		})
	}
}
