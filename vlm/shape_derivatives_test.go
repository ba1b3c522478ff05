package vlm_test

import (
	"context"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

// randomTandem returns two wings and, now and then, plates below the tips of the first, thick or
// thin.
func randomTandem(r *rand.Rand) []vlm.Surface {
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	thickness := between(.06, .14) * float64(r.IntN(2))
	var s []vlm.Surface
	for i := range 2 {
		x, z := float64(i)*between(3, 4), float64(i)*between(.2, .6)
		camber := vlm.Camber{Height: between(0, .04), At: between(.3, .6)}
		incidence := between(.03, .1)
		half := between(2, 3)
		st := func(y, t float64) vlm.Station {
			return vlm.Station{
				LE: r3.Vec{X: x + t*between(-.2, .4), Y: y, Z: z + t*between(0, .2)}, Chord: between(1.1, 1.8),
				Incidence: incidence + t*between(-.03, .03), Camber: camber, Thickness: thickness,
			}
		}
		w := vlm.Surface{Name: fmt.Sprintf("wing %d", i), Rows: 3, Strips: 5, Stations: []vlm.Station{st(0, 0), st(.6*half, .5), st(half, 1)}}
		s = append(s, w)
		if i == 0 && r.IntN(2) == 0 {
			tip := w.Stations[2]
			end := tip
			end.LE.Z -= between(.05, .15)
			s = append(s, vlm.Surface{Name: "plate", Rows: 3, Strips: 1, Stations: []vlm.Station{tip, end}})
		}
	}
	return s
}

// shapes are dimensions of those surfaces: each changes all stations of the first wing, with its
// plate, or of the last.
var shapes = map[string]func(s *vlm.Station, wing int, by float64){
	"position": func(s *vlm.Station, wing int, by float64) {
		if wing == 1 {
			s.LE.X += by
		}
	},
	"height":  func(s *vlm.Station, wing int, by float64) { s.LE.Z += by * float64(wing) },
	"span":    func(s *vlm.Station, wing int, by float64) { s.LE.Y *= 1 + by },
	"chord":   func(s *vlm.Station, wing int, by float64) { s.Chord += by * float64(1-wing) },
	"sweep":   func(s *vlm.Station, wing int, by float64) { s.LE.X += by * s.LE.Y * float64(1-wing) },
	"rise":    func(s *vlm.Station, wing int, by float64) { s.LE.Z += by * s.LE.Y * float64(1-wing) },
	"twist":   func(s *vlm.Station, wing int, by float64) { s.Incidence += by * s.LE.Y * float64(wing) },
	"angle":   func(s *vlm.Station, wing int, by float64) { s.Incidence += by * float64(1-wing) },
	"camber":  func(s *vlm.Station, wing int, by float64) { s.Camber.Height += by * float64(1-wing) },
	"bend":    func(s *vlm.Station, wing int, by float64) { s.Camber.At += by * float64(wing) },
	"section": func(s *vlm.Station, wing int, by float64) { s.Thickness *= 1 + by },
}

func reshaped(s []vlm.Surface, change func(s *vlm.Station, wing int, by float64), by float64) []vlm.Surface {
	out := append([]vlm.Surface{}, s...)
	for i := range out {
		out[i].Stations = append([]vlm.Station{}, s[i].Stations...)
		wing := 0
		if i == len(s)-1 {
			wing = 1
		}
		for j := range out[i].Stations {
			change(&out[i].Stations[j], wing, by)
		}
	}
	return out
}

// The derivatives with the shape, from the factors of one solution, agree with differences of
// full solutions, for ten random craft, thin and thick, in every dimension.
func TestShapeDerivativesAgreeWithDifferences(t *testing.T) {
	t.Parallel()
	const step = 2e-8
	r := rand.New(rand.NewPCG(13, 1))
	largest, thick := 0., 0
	for craft := range 10 {
		s := randomTandem(r)
		if s[0].Stations[0].Thickness > 0 {
			thick++
		}
		at := vlm.Attitude{Height: .9 + .4*r.Float64(), Pitch: .06 * r.Float64()}
		if craft == 9 {
			at = vlm.FreeAir(.05)
		}
		l, err := vlm.New(s, vlm.Options{})
		require.NoError(t, err)
		var names []string
		var changes []vlm.ShapeChange
		for _, name := range slices.Sorted(maps.Keys(shapes)) {
			names = append(names, name)
			changes = append(changes, vlm.ShapeChange{Surfaces: reshaped(s, shapes[name], step), By: step})
		}
		d, err := l.ShapeDerivatives(changes)
		require.NoError(t, err)
		p, err := d.AtPitch(t.Context(), at.Pitch)
		require.NoError(t, err)
		sol, got, err := p.Solve(t.Context(), at.Height)
		require.NoError(t, err)
		for i, name := range names {
			// Differences over two steps, extrapolated to none.
			loads := func(by float64) []float64 {
				l, err := vlm.New(reshaped(s, shapes[name], by), vlm.Options{})
				require.NoError(t, err)
				v, err := l.Solve(t.Context(), at)
				require.NoError(t, err)
				return append([]float64{v.Total.Lift(), v.Total.Drag(), v.Total.Pitching()}, sections(v)...)
			}
			const wide = 4e-4
			a, b, c, e := loads(wide), loads(-wide), loads(wide/2), loads(-wide/2)
			have := append([]float64{got[i].Total.Lift(), got[i].Total.Drag(), got[i].Total.Pitching()}, got[i].SectionLift...)
			scale := append([]float64{sol.Total.Lift(), sol.Total.Drag(), sol.Total.Pitching()}, sections(sol)...)
			for k := range have {
				want := (4*(c[k]-e[k])/wide - (a[k]-b[k])/(2*wide)) / 3
				off := math.Abs(have[k]-want) / math.Max(math.Abs(want), math.Abs(scale[k]))
				largest = math.Max(largest, off)
				assert.Less(t, off, 1e-5, "craft %d, %s, %d: %v, differences %v", craft, name, k, have[k], want)
			}
		}
	}
	assert.Positive(t, thick)
	assert.Less(t, thick, 10)
	t.Logf("derivatives with the shape: largest difference from those of full solutions %.1e, ten craft of which %d thick", largest, thick)
}

func sections(s *vlm.Solution) []float64 {
	var v []float64
	for _, st := range s.Strips {
		v = append(v, st.SectionLiftCoefficient())
	}
	return v
}

func TestShapeDerivativesRefuse(t *testing.T) {
	t.Parallel()
	s := randomTandem(rand.New(rand.NewPCG(1, 1)))
	l, err := vlm.New(s, vlm.Options{})
	require.NoError(t, err)
	_, err = l.ShapeDerivatives([]vlm.ShapeChange{{Surfaces: s}})
	assert.ErrorContains(t, err, "by 0; give a small number")
	_, err = l.ShapeDerivatives([]vlm.ShapeChange{{Surfaces: s[:1], By: 1e-7}})
	assert.ErrorIs(t, err, vlm.ErrOtherLayout)
	wrong := reshaped(s, func(s *vlm.Station, _ int, _ float64) { s.Chord = -1 }, 0)
	_, err = l.ShapeDerivatives([]vlm.ShapeChange{{Surfaces: wrong, By: 1e-7}})
	assert.ErrorContains(t, err, "chord of -1")

	d, err := l.ShapeDerivatives(nil)
	require.NoError(t, err)
	p, err := d.AtPitch(t.Context(), 0)
	require.NoError(t, err)
	_, _, err = p.Solve(t.Context(), -5)
	var wet *vlm.WetError
	assert.ErrorAs(t, err, &wet)
	_, err = d.AtPitch(t.Context(), 2)
	assert.ErrorContains(t, err, "outside the method's range")
	ctx, stop := context.WithCancel(t.Context())
	stop()
	_, _, err = p.Solve(ctx, 1)
	assert.ErrorIs(t, err, context.Canceled)
}

// BenchmarkShapeDerivative is one dimension of the shape at one attitude, beside a solution.
func BenchmarkShapeDerivative(b *testing.B) {
	s := randomTandem(rand.New(rand.NewPCG(2, 5)))
	for i := range s {
		s[i].Rows, s[i].Strips = 4, max(1, s[i].Strips*8/5)
	}
	for _, thickness := range []float64{0, .12} {
		s := withThickness(s, thickness)
		l, err := vlm.New(s, vlm.Options{})
		require.NoError(b, err)
		var changes []vlm.ShapeChange
		for _, name := range slices.Sorted(maps.Keys(shapes)) {
			changes = append(changes, vlm.ShapeChange{Surfaces: reshaped(s, shapes[name], 2e-8), By: 2e-8})
		}
		for _, n := range []int{0, len(changes)} {
			d, err := l.ShapeDerivatives(changes[:n])
			require.NoError(b, err)
			p, err := d.AtPitch(b.Context(), .05)
			require.NoError(b, err)
			b.Run(fmt.Sprintf("thickness=%v/dimensions=%d", thickness, n), func(b *testing.B) {
				for b.Loop() {
					_, _, err := p.Solve(b.Context(), 1)
					require.NoError(b, err)
				}
			})
		}
	}
}
