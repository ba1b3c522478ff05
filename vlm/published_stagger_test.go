package vlm_test

import (
	"math"
	"testing"

	"example.org/groundeffect/vlm"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// staggered is two wings, the second `stagger` aft of and `gap` above the first,
// both twisted so that they carry given circulations.
type staggered struct {
	stagger, gap float64
	spans        [2]float64
	rows, strips int
	twist        []float64 // rad, per station from the second outwards, wing by wing
}

func (c staggered) lattice(t *testing.T) *vlm.Lattice {
	var wings []vlm.Surface
	for i, name := range [...]string{"front", "rear"} {
		w := vlm.Surface{Name: name, Rows: c.rows, Strips: c.strips}
		step := 1 / (float64(c.strips) + .25)
		for j := 0; j <= c.strips; j++ {
			eta := float64(j) * step
			if j == c.strips {
				eta = 1
			}
			// The wing turns about its trailing edge, so that its wake stays where it is.
			a := c.twist[i*c.strips+max(j-1, 0)]
			sin, cos := math.Sincos(a)
			w.Stations = append(w.Stations, vlm.Station{
				LE:    r3.Vec{X: float64(i)*c.stagger - cos, Y: eta * c.spans[i] / 2, Z: float64(i)*c.gap + sin},
				Chord: 1, Incidence: a})
		}
		wings = append(wings, w)
	}
	return lattice(t, vlm.Options{}, wings...)
}

// circulation returns the circulation of every strip.
func (c staggered) circulation(s *vlm.Solution) []float64 {
	var g []float64
	for i := range 2 {
		o := i*c.rows*c.strips + (c.rows-1)*c.strips
		g = append(g, s.Gamma[o:o+c.strips]...)
	}
	return g
}

// twistTo finds the twist that gives the circulations, by Newton's method with a
// matrix of differences found once.
func (c *staggered) twistTo(t *testing.T, height float64, want []float64) *vlm.Solution {
	n := len(want)
	c.twist = make([]float64, n)
	at := func() *vlm.Solution { return solve(t, c.lattice(t), height, 0) }
	const step = 1e-4
	jac := mat.NewDense(n, n, nil)
	g0 := c.circulation(at())
	for k := range n {
		c.twist[k] = step
		for i, g := range c.circulation(at()) {
			jac.Set(i, k, (g-g0[i])/step)
		}
		c.twist[k] = 0
	}
	for range 8 {
		s := at()
		off := mat.NewVecDense(n, nil)
		for i, g := range c.circulation(s) {
			off.SetVec(i, want[i]-g)
		}
		if mat.Norm(off, math.Inf(1)) < 1e-9*want[0] {
			return s
		}
		var d mat.VecDense
		require.NoError(t, d.SolveVec(jac, off))
		for k := range n {
			c.twist[k] += d.AtVec(k)
		}
	}
	require.Fail(t, "the twist does not converge")
	return nil
}

// Munk's stagger theorem: with the span loads given, the total induced drag of two
// wings does not change as one moves fore and aft of the other, though the drag of
// each does; nor over water, where the images are two wings more. The drag is
// the sum of the forces on the wings' filaments; the loads are held by twist.
//
// Source: Munk, NACA TR 121.
func TestPublishedStagger(t *testing.T) {
	t.Parallel()
	const strips = 8
	var want []float64
	for _, peak := range [...]float64{.02, .012} {
		for j := range strips {
			eta := (float64(j) + .5) / (strips + .25)
			want = append(want, peak*math.Sqrt(1-eta*eta))
		}
	}
	var total, far worst
	for _, height := range [...]float64{freeAir, 1} {
		for _, gap := range [...]float64{.5, 1} {
			var first *vlm.Solution
			for _, stagger := range [...]float64{0, 1.5, 4} {
				c := staggered{stagger: stagger, gap: gap, spans: [2]float64{6, 5}, rows: 4, strips: strips}
				s := c.twistTo(t, height, want)
				if first == nil {
					first = s
				}
				total.add(percent(s.Total.Drag(), first.Total.Drag()), "height %v, gap %v, stagger %v", height, gap, stagger)
				far.add(percent(s.Total.Drag(), s.TrefftzDrag), "height %v, gap %v, stagger %v", height, gap, stagger)
				if stagger > 0 {
					moved := (s.Surfaces[0].Drag() - first.Surfaces[0].Drag()) / first.Surfaces[0].Drag()
					assert.Less(t, moved, -.2, "the front wing hands drag to the rear one")
				}
			}
		}
	}
	t.Logf("check 9 two staggered wings of given span loads, 4 x 8 cells a half wing: largest difference %.2f %% in total induced drag (%s), %.2f %% from that in the far wake (%s) (held: 0.5 %%, 0.5 %%)", total.size, total.at, far.size, far.at)
	assert.LessOrEqual(t, total.size, .5, total.at)
	assert.LessOrEqual(t, far.size, .5, far.at)
}
