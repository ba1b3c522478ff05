package vlm_test

import (
	"fmt"
	"math"
	"testing"

	"example.org/groundeffect/vlm"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// small is an angle at which the flow is linear to all digits printed, rad.
const small = 1e-6

// slopes returns lift and moment about the datum per rad and per dynamic
// pressure, m2 and m3, in free air.
func slopes(t *testing.T, s vlm.Surface, o vlm.Options) (lift, moment float64) {
	l := lattice(t, o, s)
	f := solve(t, l, freeAir, small).Total
	return f.Lift() / small, f.Pitching() / small
}

// quantities returns the values of a table of named quantities of one wing.
func quantities(t *testing.T, name, wing string) map[string]float64 {
	q := map[string]float64{}
	for _, r := range published(t, name) {
		if w, ok := r["wing"]; !ok || w == wing {
			q[r["quantity"]] = r.num(t, "value")
		}
	}
	require.NotEmpty(t, q)
	return q
}

// The textbook's four horseshoe vortices on a half wing, to all its digits.
//
// Source: testdata/published/four_horseshoes.csv (Bertin and Smith, from memory;
// recomputed). The book's lift slope is the sum of its rounded circulations, each
// off by up to half a unit of the fourth place, so that their sum is uncertain by
// 0.006; it is held to that and the recomputed one to its last digit.
func TestPublishedFourHorseshoes(t *testing.T) {
	const aspect = 5.0
	wing := vlm.Surface{Name: "swept wing", Rows: 1, Strips: 4, Stations: []vlm.Station{
		{Chord: 1}, {LE: r3.Vec{X: aspect / 2, Y: aspect / 2}, Chord: 1}}}
	s := solve(t, lattice(t, vlm.Options{Arrangement: vlm.QuarterChord}, wing), freeAir, small)
	got := map[string]float64{"lift_slope": s.Total.Lift() / aspect / small}
	for i, g := range s.Gamma {
		got[fmt.Sprintf("gamma_%d", i+1)] = g / (4 * math.Pi * aspect * small)
	}
	var book, again worst
	for _, r := range published(t, "four_horseshoes.csv") {
		q := r["quantity"]
		require.Contains(t, got, q)
		if q == "lift_slope" {
			assert.InDelta(t, r.num(t, "book"), got[q], .006)
			assert.InDelta(t, r.num(t, "recomputed"), got[q], .00005)
			continue
		}
		book.add(got[q]-r.num(t, "book"), "%s", q)
		again.add(got[q]-r.num(t, "recomputed"), "%s", q)
	}
	t.Logf("check 1 four horseshoes on a swept half wing: largest difference %.5f in Gamma/(4 pi b U alpha) (held: half a unit of the last digit, .00005), lift slope %.4f (book 3.443, recomputed 3.4442)", book.size, got["lift_slope"])
	assert.LessOrEqual(t, book.size, .00005, book.at)
	assert.LessOrEqual(t, again.size, .000005, again.at)
}

// Lift slopes of a square, a circular and a tapered swept wing, extrapolated from
// three meshes, each twice as fine as the one before.
//
// Source: testdata/published/flat_wings.csv: Tuck; Jordan; Hauptman and Miloh;
// Warren's planform (all from memory, recomputed).
func TestPublishedFlatWings(t *testing.T) {
	const held = .3 // per cent
	var lift, moment [3]float64
	limits := func(wing func(n int) vlm.Surface, area float64) (l, m float64) {
		for i, n := range [...]int{4, 8, 16} {
			lift[i], moment[i] = slopes(t, wing(n), vlm.Options{})
		}
		return extrapolated(lift[0], lift[1], lift[2]) / area, extrapolated(moment[0], moment[1], moment[2]) / area
	}

	got, _ := limits(func(n int) vlm.Surface { return rectangle(1, vlm.Camber{}, n, n) }, 1)
	want := quantities(t, "flat_wings.csv", "square")["lift_slope"]
	t.Logf("check 2 square wing, 4x4, 8x8, 16x16 cells a half wing: largest difference %.2f %% in lift slope, %.4f (held: %v %%)", math.Abs(percent(got, want)), got, held)
	assert.InEpsilon(t, want, got, held/100)

	got, _ = limits(func(n int) vlm.Surface { return ellipse(1, n, n) }, math.Pi/4)
	circle := quantities(t, "flat_wings.csv", "circle")
	var w worst
	for _, q := range [...]string{"lift_slope", "lift_slope_closed_form"} {
		w.add(percent(got, circle[q]), "%s", q)
	}
	t.Logf("checks 3 and 15 circular wing, 4x4, 8x8, 16x16 cells a half wing: largest difference %.2f %% in lift slope, %.4f (held: %v %%)", w.size, got, held)
	assert.LessOrEqual(t, w.size, held, w.at)

	const aspect, taper = 2 * math.Sqrt2, 1. / 3
	got, gotMoment := limits(func(n int) vlm.Surface {
		root := 2 / (1 + taper) // mean chord 1
		return vlm.Surface{Name: "Warren's planform", Rows: n, Strips: 2 * n, Stations: []vlm.Station{
			{Chord: root},
			{LE: r3.Vec{X: aspect / 2 * math.Tan(53.54*deg), Y: aspect / 2}, Chord: root * taper}}}
	}, aspect)
	warren := quantities(t, "flat_wings.csv", "warren")
	w = worst{}
	w.add(percent(got, warren["lift_slope"]), "lift slope %.4f", got)
	w.add(percent(gotMoment, warren["moment_slope"]), "moment slope %.4f", gotMoment)
	t.Logf("check 14 tapered swept wing, 4x8, 8x16, 16x32 cells a half wing: largest difference %.2f %% in %s (held: %v %%)", w.size, w.at, held)
	assert.LessOrEqual(t, w.size, held, w.at)
}

// A slender delta wing tends to a lift slope of pi A/2 and a centre of pressure at
// two thirds of the root chord as A -> 0.
//
// Source: R. T. Jones, NACA TR 835.
func TestPublishedSlenderDelta(t *testing.T) {
	var lift, cp worst
	farLift, farCP := math.Inf(1), math.Inf(1)
	trend := ""
	for _, aspect := range [...]float64{.4, .1, .025, .00625} {
		// Root chord 1; the tip chord is not zero, but a millionth.
		var l, m [3]float64
		for i, rows := range [...]int{8, 16, 32} {
			l[i], m[i] = slopes(t, vlm.Surface{Name: "delta", Rows: rows, Strips: 8, Stations: []vlm.Station{
				{Chord: 1}, {LE: r3.Vec{X: 1, Y: aspect / 4}, Chord: 1e-6}}}, vlm.Options{})
		}
		area := aspect / 4
		ratio := l[2] / area / (math.Pi * aspect / 2)
		// CP converges as 1/rows, the slender delta's load being a spike at the trailing edge.
		x := extrapolated(-m[0]/l[0], -m[1]/l[1], -m[2]/l[2])
		trend += fmt.Sprintf(" %v: %.4f %.4f,", aspect, ratio, x)
		assert.Less(t, math.Abs(ratio-1), farLift, "A = %v", aspect)
		assert.Less(t, math.Abs(x-2./3), farCP, "A = %v", aspect)
		farLift, farCP = math.Abs(ratio-1), math.Abs(x-2./3)
		lift, cp = worst{}, worst{}
		lift.add(100*(ratio-1), "A = %v", aspect)
		cp.add(100*(x-2./3), "A = %v", aspect)
	}
	t.Logf("A: lift slope/(pi A/2) and CP/root chord:%s", trend)
	t.Logf("check 4 slender delta: largest difference %.2f %% in lift slope, %.2f %% of the chord in CP at the smallest A (held: 0.3 %%, 0.3 %%)", lift.size, cp.size)
	assert.LessOrEqual(t, lift.size, .3)
	assert.LessOrEqual(t, cp.size, .3)
}

// Helmbold's formula for the lift slope of elliptic wings, 2 pi A/(2 + sqrt(A^2 +
// 4)), an approximation: it joins the slender wing to Prandtl's lifting line. A
// rectangular wing lifts less than an elliptic one of the same A, by more as A
// grows, so the formula lies further above it.
//
// Source: Helmbold (1942).
func TestPublishedHelmbold(t *testing.T) {
	var elliptic, rectangular worst
	for _, a := range [...]float64{2, 3, 4, 6, 8, 12} {
		formula := 2 * math.Pi * a / (2 + math.Sqrt(a*a+4))
		span := math.Pi / 4 * a // of an ellipse with root chord 1
		lift, _ := slopes(t, ellipse(span, 4, 16), vlm.Options{})
		elliptic.add(percent(lift/(math.Pi/4*span), formula), "A = %v", a)
		lift, _ = slopes(t, rectangle(a, vlm.Camber{}, 4, 16), vlm.Options{})
		rectangular.add(percent(lift/a, formula), "A = %v", a)
		assert.Less(t, lift/a, formula, "A = %v", a)
	}
	t.Logf("check 5 Helmbold's formula, A = 2 to 12: largest difference %.1f %% for elliptic wings (%s), %.1f %% for rectangular ones (%s) (held: 4 %%, 7.5 %%)", elliptic.size, elliptic.at, rectangular.size, rectangular.at)
	assert.LessOrEqual(t, elliptic.size, 4., elliptic.at)
	assert.LessOrEqual(t, rectangular.size, 7.5, rectangular.at)
}
