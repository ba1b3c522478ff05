package vlm_test

import (
	"math"
	"testing"

	"example.org/groundeffect/vlm"
	"github.com/stretchr/testify/assert"
)

// ellipticSheet is a whole wing's trailing sheet with elliptic load: strips on a
// cosine, the flow taken at the middle of each in the angle, which makes sums
// over it exact to many digits. Its lift per q is peak*span*pi/2.
func ellipticSheet(span, level, peak float64, body int) vlm.Sheet {
	const strips = 80
	s := vlm.Sheet{Body: body}
	y := func(u float64) float64 { return -span / 2 * math.Cos(math.Pi*u/strips) }
	for j := 0; j <= strips; j++ {
		s.Y, s.Z = append(s.Y, y(float64(j))), append(s.Z, level)
	}
	for j := range strips {
		mid := float64(j) + .5
		s.Gamma = append(s.Gamma, peak*math.Sin(math.Pi*mid/strips))
		s.Mid = append(s.Mid, (y(mid)-s.Y[j])/(s.Y[j+1]-s.Y[j]))
	}
	return s
}

// overWater returns the induced drag of an elliptic load of span 1 at the height
// over the water, over that in free air.
func overWater(height float64) float64 {
	w := vlm.Wake{Sheets: []vlm.Sheet{ellipticSheet(1, 0, 1, 0)}}
	return w.InducedDrag(height) / w.InducedDrag(freeAir)
}

// Elliptic loading over water.
//
// Sources: testdata/published/elliptic_load_over_water.csv: quadrature,
// recomputed; Prandtl's table in NACA TR 116, from memory, to its stated .005.
// Wieselsberger, NACA TM 77: s = (1 - 1.32 h/b)/(1.05 + 7.4 h/b). It is Prandtl's
// line for the biplane, (1 - .66 G/b)/(1.05 + 3.7 G/b), good for gaps of 1/15 to
// 1/2 of the span, with G = 2h: good for h/b = 1/30 to 1/4. Above, up to the h/b =
// 1/2 that is sometimes given, it leaves the quadrature by 2.4 % of the drag.
func TestPublishedEllipticLoad(t *testing.T) {
	w := vlm.Wake{Sheets: []vlm.Sheet{ellipticSheet(1, 0, 1, 0)}}
	exact := math.Pi / 4 // L^2/(pi q b^2), L = q pi/2
	assert.InEpsilon(t, exact, w.InducedDrag(freeAir), .001, "in free air")

	var quadrature, table, line, above worst
	for _, r := range published(t, "elliptic_load_over_water.csv") {
		h := r.num(t, "gap_over_span") / 2
		s := 1 - overWater(h)
		quadrature.add(percent(s, r.num(t, "s_quadrature")), "h/b %v", h)
		table.add(s-r.num(t, "s_tr116"), "h/b %v", h)
	}
	for _, h := range [...]float64{1. / 30, .05, 1. / 15, .1, .15, .2, .25, .3, .4, .5} {
		d := percent(overWater(h), 1-(1-1.32*h)/(1.05+7.4*h))
		if h <= .25 {
			line.add(d, "h/b %.3f", h)
		} else {
			above.add(d, "h/b %.3f", h)
		}
	}
	t.Logf("check 6 elliptic load over water: largest difference %.3f %% in s by quadrature (%s), %.4f in s by TR 116 (%s), %.1f %% in drag by Wieselsberger's line up to h/b = 1/4 (%s), %.1f %% up to 1/2 (held: 1 %%, .005, 1 %%, 2.5 %%)", quadrature.size, quadrature.at, table.size, table.at, line.size, line.at, above.size)
	assert.LessOrEqual(t, quadrature.size, 1., quadrature.at)
	assert.LessOrEqual(t, table.size, .005, table.at)
	assert.LessOrEqual(t, line.size, 1., line.at)
	assert.LessOrEqual(t, above.size, 2.5, above.at)
}

// The same by a fit to lifting-line results, which is off by 3 % at its lowest
// height.
//
// Source: testdata/published/elliptic_load_fit.csv (Phillips and Hunsaker, from
// memory).
func TestPublishedEllipticLoadFit(t *testing.T) {
	var fit, lowest worst
	for _, r := range published(t, "elliptic_load_fit.csv") {
		h := r.num(t, "height_over_span")
		d := percent(overWater(h), r.num(t, "drag_ratio"))
		if h < .05 {
			lowest.add(d, "h/b %v", h)
			continue
		}
		fit.add(d, "h/b %v", h)
	}
	t.Logf("check 16 elliptic load over the ground, fit: largest difference %.1f %% in induced drag from h/b = .05 up (%s), %.1f %% at .025 (held: 2 %%, 3.5 %%)", fit.size, fit.at, lowest.size)
	assert.LessOrEqual(t, fit.size, 2., fit.at)
	assert.LessOrEqual(t, lowest.size, 3.5)
}

// Two elliptic loads L1 and L2 of equal span at gap G, at any stagger:
// D = (L1^2 + 2 s L1 L2 + L2^2)/(pi q b^2) with s as over water at 2h = G, and 1
// for G = 0.
//
// Sources: Munk, NACA TR 121; Prandtl, NACA TR 116; s from
// testdata/published/elliptic_load_over_water.csv.
func TestPublishedTwoEllipticLoads(t *testing.T) {
	const span = 3.0
	type gap struct{ g, s float64 }
	gaps := []gap{{0, 1}}
	for _, r := range published(t, "elliptic_load_over_water.csv") {
		gaps = append(gaps, gap{r.num(t, "gap_over_span"), r.num(t, "s_quadrature")})
	}
	var w worst
	for _, g := range gaps {
		for _, load := range [...][2]float64{{1, 1}, {1, .5}, {1, -.3}, {.2, 1}} {
			wake := vlm.Wake{Sheets: []vlm.Sheet{
				ellipticSheet(span, 0, load[0], 0), ellipticSheet(span, g.g*span, load[1], 1)}}
			l1, l2 := load[0]*span*math.Pi/2, load[1]*span*math.Pi/2
			want := (l1*l1 + 2*g.s*l1*l2 + l2*l2) / (math.Pi * span * span)
			w.add(percent(wake.InducedDrag(freeAir), want), "gap %v spans, loads %v", g.g, load)
		}
	}
	t.Logf("check 18 two elliptic loads: largest difference %.3f %% in induced drag (%s) (held: 0.5 %%)", w.size, w.at)
	assert.LessOrEqual(t, w.size, .5, w.at)
}

// A plain wing of aspect ratio 7.2 at .21 span over the ground: measured drag and
// angle agree well with Wieselsberger's method. A wing of elliptic plan at a small
// angle follows it; a rectangular one, its load being fuller towards the tips,
// gains a little less. At an angle both gain less for their lift, which the method
// leaves out here: the image slows the stream at the wing, so that the same lift
// takes more circulation.
//
// Source: testdata/published/towed_glider.csv (Wetmore and Turner, NACA TR 695,
// abstract; Wieselsberger, NACA TM 77).
func TestPublishedTowedGlider(t *testing.T) {
	r := published(t, "towed_glider.csv")[0]
	aspect, height, want := r.num(t, "aspect_ratio"), r.num(t, "height_over_span"), 1-r.num(t, "s")
	span := math.Pi / 4 * aspect
	for _, c := range [...]struct {
		angle                 float64 // degrees
		elliptic, rectangular float64 // held, per cent
	}{{.01, 1, 2}, {5, 1.5, 4}} {
		ratio := func(s vlm.Surface, span float64) float64 {
			l := lattice(t, vlm.Options{}, s)
			k := func(s *vlm.Solution) float64 { return s.TrefftzDrag / (s.Total.Lift() * s.Total.Lift()) }
			return k(solve(t, l, height*span, c.angle*deg)) / k(solve(t, l, freeAir, c.angle*deg))
		}
		e := percent(ratio(ellipse(span, 4, 16), span), want)
		r := percent(ratio(rectangle(aspect, vlm.Camber{}, 4, 16), aspect), want)
		t.Logf("check 10 towed glider at .21 span, %v degrees: largest difference %.2f %% in induced drag at given lift for an elliptic wing, %.2f %% for a rectangular one (held: %v %%, %v %%)", c.angle, math.Abs(e), math.Abs(r), c.elliptic, c.rectangular)
		assert.InDelta(t, 0, e, c.elliptic)
		assert.InDelta(t, 0, r, c.rectangular)
	}
}
