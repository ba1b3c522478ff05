package vlm_test

import (
	"fmt"
	"math"
	"testing"

	"example.org/groundeffect/vlm"
	"github.com/stretchr/testify/assert"
)

// plate is a section of plane flow: the inner of two strips across a wing so long
// that its tips are out of sight. Chord 1, trailing edge at the datum.
//
// The rows needed are set by the gap: 0.8 rows a gap's worth of chord (gap times
// rows) give lift to 0.3 %, twice as many to four digits.
type plate struct{ *vlm.Lattice }

func newPlate(t *testing.T, halfSpan float64, rows int) plate {
	return plate{lattice(t, vlm.Options{}, rectangle(2*halfSpan, vlm.Camber{}, rows, 2))}
}

// at returns the lift and drag coefficients and where the resultant crosses the
// plate, in chords from its leading edge.
func (p plate) at(t *testing.T, height, pitch float64) (cl, cd, cp float64) {
	s := solve(t, p.Lattice, height, pitch).Strips[0]
	return s.Load.Lift() / s.Width, s.Load.Drag() / s.Width, acrossPlate(s.Load, pitch)
}

// Flat plate in plane flow over water at a small angle.
//
// Source: testdata/published/plate_small_angle.csv (spectral collocation,
// recomputed).
func TestPublishedPlateSmallAngle(t *testing.T) {
	const angle = 1e-6
	p := newPlate(t, 1000, 32)
	free, _, _ := p.at(t, freeAir, angle)
	var lift, cp worst
	for _, r := range published(t, "plate_small_angle.csv") {
		h := r.num(t, "h_over_c")
		cl, _, x := p.at(t, h, angle)
		lift.add(percent(cl/free, r.num(t, "lift_ratio")), "h/c %v", h)
		cp.add(100*(x-r.num(t, "cp")), "h/c %v", h)
	}
	t.Logf("check 7 flat plate over water: largest difference %.2f %% in lift (%s), %.3f %% of the chord in CP (%s) (held: 0.5 %%, 0.3 %%)", lift.size, lift.at, cp.size, cp.at)
	assert.LessOrEqual(t, lift.size, .5, lift.at)
	assert.LessOrEqual(t, cp.size, .3, cp.at)
}

// The same plate at 5 degrees, its trailing edge at the height.
//
// Source: testdata/published/plate_five_degrees.csv (spectral collocation,
// recomputed).
func TestPublishedPlateFiveDegrees(t *testing.T) {
	const angle = 5 * deg
	p := newPlate(t, 1000, 32)
	var lift, cp, drag worst
	for _, r := range published(t, "plate_five_degrees.csv") {
		h := r.num(t, "h_over_c")
		cl, cd, x := p.at(t, h, angle)
		lift.add(percent(cl, r.num(t, "cl")), "h/c %v", h)
		cp.add(100*(x-r.num(t, "cp")), "h/c %v", h)
		drag.add(cd/cl, "h/c %v", h)
	}
	t.Logf("check 8 flat plate at 5 degrees over water: largest difference %.2f %% in lift (%s), %.3f %% of the chord in CP (%s) (held: 0.5 %%, 0.3 %%)", lift.size, lift.at, cp.size, cp.at)
	assert.LessOrEqual(t, lift.size, .5, lift.at)
	assert.LessOrEqual(t, cp.size, .3, cp.at)
	assert.Less(t, drag.size, 1e-4, "plane flow has no drag, %s", drag.at)
}

// The plate at the water's edge: towards its limit as the gap falls at a given k
// = angle/gap, and at a gap of .005 chords as the spectral plate. 160 rows
// resolve that gap: one and a half rows a gap at mid chord.
//
// Source: testdata/published/plate_at_water.csv (channel theory, derived;
// spectral collocation, recomputed).
func TestPublishedPlateAtWater(t *testing.T) {
	t.Parallel()
	const finest = .005
	plates := map[float64]plate{}
	for gap, rows := range map[float64]int{.04: 32, .02: 64, .01: 96, finest: 160} {
		plates[gap] = newPlate(t, 25, rows)
	}
	var lift, cp worst
	for _, r := range published(t, "plate_at_water.csv") {
		k := r.num(t, "k")
		farLift, farCP := math.Inf(1), math.Inf(1)
		trend := ""
		for _, gap := range []float64{.04, .02, .01, finest} {
			cl, _, x := plates[gap].at(t, gap, k*gap)
			trend += fmt.Sprintf(" %.4f %.4f,", cl, x)
			offLift, offCP := math.Abs(cl-k/(1+k)), math.Abs(x-r.num(t, "cp_limit"))
			assert.Less(t, offLift, farLift, "lift tends to its limit, k %v, gap %v", k, gap)
			if k >= .1 { // below, CP lies within the table's rounding of its limit
				assert.Less(t, offCP, farCP, "CP tends to its limit, k %v, gap %v", k, gap)
			}
			farLift, farCP = offLift, offCP
			if want := r.num(t, "cl_gap_005"); gap == finest && !math.IsNaN(want) {
				lift.add(percent(cl, want), "k %v", k)
				cp.add(100*(x-r.num(t, "cp_gap_005")), "k %v", k)
			}
		}
		t.Logf("k %v: lift coefficient and CP at gaps .04, .02, .01, .005:%s limit %.4f %.3f", k, trend, k/(1+k), r.num(t, "cp_limit"))
	}
	t.Logf("check 17 plate at the water's edge, gap .005 chords, 160 rows: largest difference %.2f %% in lift (%s), %.3f %% of the chord in CP (%s) (held: 0.3 %%, 0.1 %%)", lift.size, lift.at, cp.size, cp.at)
	assert.LessOrEqual(t, lift.size, .3, lift.at)
	assert.LessOrEqual(t, cp.size, .1, cp.at)
}
