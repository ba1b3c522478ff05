package design

import (
	"context"
	"encoding/csv"
	"errors"
	"math"
	"os"
	"runtime"
	"strconv"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp/internal/canceltest"
)

func boxSearch(from, to []float64) searchSpace {
	return searchSpace{from: from, to: to, seed: 1, scan: 64, starts: 3, each: 900, progress: func(float64) {}}
}

// elliptic returns the factor of Prandtl's biplane at a gap over the span, straight between
// the values of the file, which are those of a wing over water at half the gap.
func elliptic(t *testing.T) (gaps, s []float64) {
	f, err := os.Open("../../testdata/published/elliptic_load_over_water.csv")
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	for _, row := range rows[1:] {
		g, err := strconv.ParseFloat(row[0], 64)
		require.NoError(t, err)
		v, err := strconv.ParseFloat(row[1], 64)
		require.NoError(t, err)
		gaps, s = append(gaps, g), append(s, v)
	}
	return gaps, s
}

// Two elliptic loads of one span at a gap, with one lift in all: D = (L1^2 + 2 s L1 L2 +
// L2^2)/(pi q b^2) whatever the stagger (Munk, NACA TR 121; Prandtl, NACA TR 116). The
// least drag has both carry the same, D = L^2 (1 + s)/(2 pi q b^2); where the one may carry
// no more than a share x it carries that. With the span loads
// free as well, as sine series, Munk's theorem makes the higher terms nothing.
func TestPublishedLeastInducedDrag(t *testing.T) {
	gaps, s := elliptic(t)
	worstShare, worstDrag := 0., 0.
	for i := range gaps {
		for _, most := range []float64{1, .4} {
			// Share of the first load, and the third and fifth terms of one elliptic load's
			// series, which add 3 a3^2 + 5 a5^2 to the drag of a load by itself.
			f := func(_ context.Context, x []float64) (merit, error) {
				l1, l2 := x[0], 1-x[0]
				d := l1*l1*(1+3*x[1]*x[1]+5*x[2]*x[2]) + 2*s[i]*l1*l2 + l2*l2
				return merit{broken: math.Max(0, x[0]-most), cost: d}, nil
			}
			got, err := boxSearch([]float64{0, -.3, -.3}, []float64{1, .4, .5}).minimise(t.Context(), f)
			require.NoError(t, err)
			share := math.Min(.5, most)
			want := share*share + 2*s[i]*share*(1-share) + (1-share)*(1-share)
			assert.Zero(t, got[0].broken)
			worstShare = math.Max(worstShare, math.Abs(got[0].at[0]-share))
			worstDrag = math.Max(worstDrag, math.Abs(got[0].cost/want-1))
		}
	}
	t.Logf("check least induced drag of two loads (Munk, Prandtl): largest difference %.1e of the lift in the share, %.1e of the drag (tolerances 1e-2, 1e-4)", worstShare, worstDrag)
	assert.Less(t, worstShare, 1e-2, "a drag that is flat about its least tells the share to the root of its own digits")
	assert.Less(t, worstDrag, 1e-4)
}

// The best of several valleys is found, on one core as on two, and again from the same seed.
func TestMinimiseManyValleys(t *testing.T) {
	f := func(_ context.Context, x []float64) (merit, error) {
		var sum float64
		for i, v := range x {
			d := v - .7*float64(i+1)
			sum += d*d + .6*(1-math.Cos(5*d))
		}
		return merit{cost: sum}, nil
	}
	s := boxSearch([]float64{-3, -3, -3}, []float64{3, 3, 3})
	s.scan, s.starts = 200, 6
	got, err := s.minimise(t.Context(), f)
	require.NoError(t, err)
	for i, v := range got[0].at {
		assert.InDelta(t, .7*float64(i+1), v, 1e-3)
	}
	old := runtime.GOMAXPROCS(1)
	again, err := s.minimise(t.Context(), f)
	runtime.GOMAXPROCS(old)
	require.NoError(t, err)
	assert.Equal(t, got, again)
}

// An optimum on the edge of the box is found there; a first point is looked at; progress
// ends at 1 and never goes back.
func TestMinimiseAtTheEdge(t *testing.T) {
	last := 0.
	s := boxSearch([]float64{1, 1}, []float64{2, 3})
	s.first = []float64{1, 9}
	s.progress = rising(func(part float64) { last = part })
	var looked atomic.Bool
	got, err := s.minimise(t.Context(), func(_ context.Context, x []float64) (merit, error) {
		if x[0] == 1 && x[1] == 3 {
			looked.Store(true)
		}
		for i := range x {
			if x[i] < s.from[i] || x[i] > s.to[i] {
				return merit{}, errors.New("outside of the box")
			}
		}
		return merit{cost: x[0] - x[1]}, nil
	})
	require.NoError(t, err)
	assert.InDelta(t, 1, got[0].at[0], 1e-3)
	assert.InDelta(t, 3, got[0].at[1], 1e-3)
	assert.True(t, looked.Load())
	assert.InDelta(t, 1, last, 1e-12)
}

func TestMinimiseFails(t *testing.T) {
	s := boxSearch([]float64{0}, []float64{1})
	sorry := errors.New("no answer")
	for _, after := range []int{0, 70} {
		n := 0
		s.starts = 1
		old := runtime.GOMAXPROCS(1)
		_, err := s.minimise(t.Context(), func(_ context.Context, x []float64) (merit, error) {
			if n++; n > after {
				return merit{}, sorry
			}
			return merit{cost: x[0]}, nil
		})
		runtime.GOMAXPROCS(old)
		assert.ErrorIs(t, err, sorry)
	}
	s.scan, s.each = 4, 20
	canceltest.Stops(t, func(ctx context.Context) ([]found, error) {
		return s.minimise(ctx, func(_ context.Context, x []float64) (merit, error) { return merit{cost: x[0] * x[0]}, nil })
	})
}

// The order of merits is the order of their scores.
func TestMerit(t *testing.T) {
	order := []merit{{cost: -1e9}, {cost: -3}, {}, {cost: 2}, {cost: 1e9}, {broken: 1e-3}, {broken: .5, cost: -9}, {broken: 40}, worst}
	for i := range order {
		for j := range order {
			assert.Equal(t, i < j, order[i].less(order[j]), "%v %v", order[i], order[j])
			if i < j {
				assert.LessOrEqual(t, order[i].score(), order[j].score())
			}
		}
	}
	for u, want := range map[float64]float64{.3: .3, -.3: .3, 1.2: .8, 2.4: .4, -3.5: .5, 1: 1} {
		assert.InDelta(t, want, mirrored(u), 1e-12)
	}
}
