package motion

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
)

func TestInertia(t *testing.T) {
	for _, tc := range []struct {
		name  string
		craft gecp.Craft
		pilot float64
		want  Inertia
	}{
		{"two points: m1 m2/(m1+m2) d^2", gecp.Craft{Weights: []gecp.Weight{{Mass: 30, X: 1}, {Mass: 60, X: 4}}}, 0,
			Inertia{Mass: 90, X: 3, Pitch: 20 * 9}},
		{"a slender beam of 6 m about its middle: m l^2/12", gecp.Craft{Weights: []gecp.Weight{{Mass: 12, X: 3, Z: .5, Radius: 6 / math.Sqrt(12)}}}, 0,
			Inertia{Mass: 12, X: 3, Z: .5, Pitch: 36}},
		{"height counts as length does", gecp.Craft{Weights: []gecp.Weight{{Mass: 10, Z: 0}, {Mass: 10, Z: 2}}}, 0,
			Inertia{Mass: 20, Z: 1, Pitch: 20}},
		{"a pilot without a radius", gecp.Craft{Weights: []gecp.Weight{{Mass: 80, X: 2}}, Pilot: &gecp.Pilot{Mass: 80}}, 2,
			Inertia{Mass: 160, X: 2, Pitch: 80 * PilotRadius * PilotRadius}},
		{"a pilot with one", gecp.Craft{Weights: []gecp.Weight{{Mass: 80, X: 2}}, Pilot: &gecp.Pilot{Mass: 80, Radius: .5}}, 4,
			Inertia{Mass: 160, X: 3, Pitch: 160 + 20}},
		{"nothing", gecp.Craft{}, 0, Inertia{}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			got := InertiaOf(&tc.craft, tc.pilot)
			for _, v := range [][2]float64{{got.Mass, tc.want.Mass}, {got.X, tc.want.X}, {got.Z, tc.want.Z}, {got.Pitch, tc.want.Pitch}} {
				assert.InDelta(t, v[1], v[0], 1e-12)
			}
			assert.False(t, math.IsNaN(got.Radius()))
		})
	}
}

// The two-body form of a flight gives the same inertia wherever the pilot is.
func TestSlidingPilotKeepsTheInertia(t *testing.T) {
	for _, ready := range crafts.All() {
		name, c := ready.Key, ready.Craft
		s := newSliding(c)
		for _, x := range []float64{-1, 0, .7, 1.3, 4} {
			want := InertiaOf(c, x)
			got, by := s.pitch(x)
			assert.InEpsilon(t, want.Pitch, got, 1e-12, name)
			assert.InEpsilon(t, want.Mass, s.mass, 1e-12, name)
			const d = 1e-4
			assert.InDelta(t, (InertiaOf(c, x+d).Pitch-InertiaOf(c, x-d).Pitch)/(2*d), by, 1e-6, name)
		}
	}
}

func TestFiniteSpan(t *testing.T) {
	// DNV-RP-C205, appendix D: apparent mass of rectangular plates (from memory).
	for aspect, want := range map[float64]float64{1: .579, 1.5: .690, 2: .757, 3: .830, 4: .872, 5: .897, 6.25: .917, 8: .934, 10: .947} {
		tol := .02
		if aspect < 1.5 {
			tol = .06
		}
		assert.InEpsilon(t, want, finiteSpan(aspect), tol, "aspect ratio %v", aspect)
	}
}

// plateOverWall solves the plane potential flow about a plate that heaves over a
// wall: vortices on the plate, opposite ones in the image, no circulation in all.
// gap and chord in the same unit; the answer is over rho pi c^2/4.
func plateOverWall(gap, chord float64, n int) float64 {
	h := gap / (chord / 2)
	a, b := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
	t := make([]float64, n)
	for k := range t {
		t[k] = math.Cos((2*float64(k) + 1) * math.Pi / (2 * float64(n)))
		a.Set(n-1, k, 1)
	}
	for j := 1; j < n; j++ {
		x := math.Cos(float64(j) * math.Pi / float64(n))
		for k := range t {
			d := x - t[k]
			a.Set(j-1, k, (1/d-d/(d*d+4*h*h))/float64(2*n))
		}
		b.SetVec(j-1, 1)
	}
	var g mat.VecDense
	if err := g.SolveVec(a, b); err != nil {
		return math.NaN()
	}
	var s float64
	for k := range t {
		s += g.AtVec(k) * t[k]
	}
	return math.Abs(s) / float64(n)
}

func TestApparentMassNearTheWater(t *testing.T) {
	assert.InDelta(t, 1, plateOverWall(100, 1, 60), 1e-5, "the solution far from the wall")
	var worst float64
	for _, gap := range []float64{.03, .05, .1, .15, .2, .3, .5, .75, 1, 2, 5} {
		want := plateOverWall(gap, 1, 300)
		worst = math.Max(worst, math.Abs(nearSurface(gap)/want-1))
	}
	t.Logf("apparent mass of a plate near a wall: the formula is within %.1f %% of potential flow", 100*worst)
	assert.Less(t, worst, .025)
	// The published limits.
	assert.InEpsilon(t, 1./32, (nearSurface(20)-1)*400, .01)
	assert.InEpsilon(t, (1/.02-1/.04)/12, (nearSurface(.02)-nearSurface(.04))*math.Pi/4, .05) // rho c^3/(12 gap)
	assert.False(t, math.IsNaN(nearSurface(0)) || math.IsInf(nearSurface(0), 0))
	assert.False(t, math.IsNaN(nearSurface(-1)))
}

func TestApparentMass(t *testing.T) {
	c := gecp.Demo()
	high := ApparentMass(c, 1000, 0, 0)
	var strips float64
	for _, w := range c.Shape().Wings {
		strips += gecp.AirDensity * math.Pi / 4 * w.Area * w.MAC // rectangular wings
	}
	assert.Less(t, high, strips)
	assert.Greater(t, high, .7*strips)
	last := math.Inf(1)
	for _, h := range []float64{.4, .6, 1, 2} {
		m := ApparentMass(c, h, .05, 0)
		require.Less(t, m, last)
		last = m
	}
	t.Logf("the demo craft's wings drag along %.1f kg of air high up, %.1f kg with the datum at .5 m; the craft has %.0f kg", high, ApparentMass(c, .5, .05, 0), c.Mass())
}
