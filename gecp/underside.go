package gecp

import (
	"math"

	"example.org/groundeffect/vlm"
)

// underside is the lower surface of a section: its mean line less half its thickness,
// square to the chord, in chords. It is immutable.
type underside struct {
	camber    vlm.Camber
	thickness float64 // largest, in chords
	// steepest bounds the slope of the underside from above: on a chord that falls aft by
	// a steeper slope the trailing edge is lowest. Only for a section with thickness.
	steepest float64
	deepest  float64                     // how far it reaches below the chord, a bound from above
	table    [undersideSteps + 1]float64 // eta at xi = (k/undersideSteps)^2
}

const undersideSteps = 32

func newUnderside(camber vlm.Camber, thickness float64) *underside {
	u := &underside{camber: camber, thickness: thickness, steepest: math.Inf(-1), deepest: thickness/2 + math.Max(0, -camber.Height)}
	if thickness == 0 {
		return u
	}
	const fine = 64
	for k := range undersideSteps*fine + 1 {
		r := float64(k) / (undersideSteps * fine)
		if k%fine == 0 {
			u.table[k/fine] = u.at(r)
		}
		if r > 0 {
			slope, _ := u.bend(r)
			u.steepest = math.Max(u.steepest, slope/(2*r))
		}
	}
	u.steepest += 1e-3 // between the points looked at
	return u
}

// at returns the underside at xi = r^2 chords from the leading edge. In r it is smooth at
// the round nose.
func (u *underside) at(r float64) (eta float64) {
	xi := r * r
	return u.camber.Ordinate(xi) - u.thickness/2*vlm.FourDigitThickness(xi)
}

// lowest returns the lowest point, xi aft and eta up in chords, of a section whose chord
// falls aft by the angle of sine sn and cosine c > 0.
func (u *underside) lowest(sn, c float64) (xi, eta float64) {
	best := math.Inf(1)
	try := func(x, y float64) {
		if h := y*c - x*sn; h < best {
			best, xi, eta = h, x, y
		}
	}
	if u.thickness > 0 && sn > u.steepest*c {
		return 1, 0
	}
	try(0, 0)
	try(1, 0)
	if u.thickness == 0 {
		// Two parabolas: the lowest point is at an end, where they meet, or where one is level.
		height, at := u.camber.Height, u.camber.At
		if height == 0 {
			return xi, eta
		}
		try(at, height)
		// The fore parabola's slope is 2 height/at^2 (at - xi), the aft one's the same
		// with 1 - at; level is where the slope is sn/c.
		if x := at - sn/c*at*at/(2*height); x > 0 && x < at {
			try(x, u.camber.Ordinate(x))
		}
		if x := at - sn/c*(1-at)*(1-at)/(2*height); x > at && x < 1 {
			try(x, u.camber.Ordinate(x))
		}
		return xi, eta
	}
	const step = 1. / undersideSteps
	h := func(k int) float64 { return u.table[k]*c - float64(k*k)*step*step*sn }
	before, mid := h(0), h(0)
	for k := range undersideSteps + 1 {
		after := mid
		if k < undersideSteps {
			after = h(k + 1)
		}
		if mid <= before && mid <= after {
			r := u.level(float64(max(k-1, 0))*step, float64(min(k+1, undersideSteps))*step, sn, c)
			try(r*r, u.at(r))
		}
		before, mid = mid, after
	}
	return xi, eta
}

// level returns where, between lo and hi, the underside of a section turns from falling to
// rising: Newton's rule, kept between them, from the middle.
func (u *underside) level(lo, hi, sn, c float64) float64 {
	r := (lo + hi) / 2
	for range 40 {
		rise, bend := u.bend(r)
		rise, bend = rise*c-2*r*sn, bend*c-2*sn
		if rise < 0 {
			lo = r
		} else {
			hi = r
		}
		next := r - rise/bend
		if !(bend > 0 && next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		done := math.Abs(next-r) < 1e-11
		r = next
		if done {
			break
		}
	}
	return r
}

// bend returns the first two derivatives with r of the underside at xi = r^2.
func (u *underside) bend(r float64) (slope, curvature float64) {
	x, t := r*r, 5*u.thickness
	slope = -t * (.2969 + r*(2*-.1260+x*(4*-.3516+x*(6*.2843-x*8*.1036))))
	curvature = -t * (2*-.1260 + x*(12*-.3516+x*(30*.2843-x*56*.1036)))
	if u.camber.Height != 0 {
		at := u.camber.At
		k := 2 * u.camber.Height / (at * at) // of the parabola that r lies on: slope k (at - x)
		if x > at {
			k = 2 * u.camber.Height / ((1 - at) * (1 - at))
		}
		slope += k * (at - x) * 2 * r
		curvature += k * (2*at - 6*x)
	}
	return slope, curvature
}
