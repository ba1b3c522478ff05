package tow

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"example.org/groundeffect/gecp"
)

// MovingDepression is how far the pressure under a craft in motion moves the water under its
// wings: by far less than the weight at rest would, since the water has no time.
type MovingDepression struct {
	Down, Up float64 // m, 0 or more: the lowest and the highest the water lies under a wing
}

// MovingDepression returns what the lift of a trim, spread evenly over the wings, does to deep
// water as it moves over it, by the linear theory of a pressure that moves over water (Lamb,
// Hydrodynamics, chapter IX, on a travelling disturbance; from memory), with each wing's
// pressure taken as that of an endless span: that of the real one moves the water less. The
// water is looked at under the wings' mean chords.
func (t SteadyTow) MovingDepression(b Trim) MovingDepression {
	shape := t.m.Model().Shape()
	pressure := math.Abs(b.Lift) / shape.Area // Check: the area is above 0
	scale := pressure / (WaterDensity * t.stream.Speed * t.stream.Speed)
	wave := gecp.G / (t.stream.Speed * t.stream.Speed) // the wave number of the waves that follow
	const places = 8
	var d MovingDepression
	for _, w := range shape.Wings {
		for i := range places + 1 {
			x := w.MACX + w.MAC*float64(i)/places
			var level float64
			for _, o := range shape.Wings {
				level += scale * levelAt(x, o.MACX, o.MACX+o.MAC, wave)
			}
			d.Down, d.Up = math.Max(d.Down, -level), math.Max(d.Up, level)
		}
	}
	return d
}

// levelAt returns the level of the water at x, m, over that of a pressure from one place to
// another, m, that moves upstream of the waves it makes, times density speed^2 over the
// pressure: the Fourier integral of 1/(|k| - wave), the waves, of a number 1/m, all downstream.
//
// A pressure at one line moves the water by g(wave r)/pi at a distance r, and downstream by
// -2 sin(wave r) besides, with the auxiliary function g of the sine and cosine integrals, which
// is the slope of the other, f, with its sign changed.
func levelAt(x, from, to, wave float64) float64 {
	// near returns the integral of the first part over a stretch from here to a distance.
	near := func(d float64) float64 {
		return math.Copysign(auxiliary(0)-auxiliary(wave*math.Abs(d)), d) / wave / math.Pi
	}
	level := near(to-x) - near(from-x)
	// after returns the integral of the second over what lies upstream up to a distance.
	after := func(d float64) float64 { return -2 * (1 - math.Cos(wave*max(0, d))) / wave }
	return level + after(x-from) - after(x-to)
}

// auxiliary returns the function f of the sine and cosine integrals: the integral of
// exp(-z t)/(1+t^2) over all t above 0 (Abramowitz and Stegun, 5.2.12).
func auxiliary(z float64) float64 {
	if z > 20 { // by its expansion
		y := 1 / (z * z)
		return (1 - y*(2-y*(24-720*y))) / z
	}
	return quad.Fixed(func(u float64) float64 { return math.Exp(-z * math.Tan(u)) }, 0, math.Pi/2, 200, quad.Legendre{}, 0)
}
