package vlm

import "math"

// Camber is the mean line of the NACA four-digit sections: two parabolas that
// meet at the highest ordinate. The zero value is a flat section.
//
// Source: Jacobs, Ward and Pinkerton, NACA Report 460 (1933).
type Camber struct {
	Height float64 // largest ordinate, in chords; negative bends the section down
	At     float64 // its position from the leading edge, in chords, 0 < At < 1
}

// Ordinate returns the height of the mean line over the chord line at xi, both
// in chords; xi runs from 0 at the leading edge to 1 at the trailing edge.
func (c Camber) Ordinate(xi float64) float64 {
	if c.Height == 0 {
		return 0
	}
	m, p := c.Height, c.At
	if xi < p {
		return m / (p * p) * xi * (2*p - xi)
	}
	return m / ((1 - p) * (1 - p)) * (1 - 2*p + xi*(2*p-xi))
}

// Slope returns the derivative of Ordinate with xi.
func (c Camber) Slope(xi float64) float64 {
	if c.Height == 0 {
		return 0
	}
	m, p := c.Height, c.At
	if xi < p {
		return 2 * m / (p * p) * (p - xi)
	}
	return 2 * m / ((1 - p) * (1 - p)) * (p - xi)
}

// controlSlopes returns the slope of the mean line at Lan's m control points for a lattice
// of m rows: not quite Slope there, but the sum of the first terms of Slope's cosine
// series in the angle along the chord. Thin-section theory has lift and moment as integrals
// of the slope with 1, cos and cos 2 of that angle, and the lattice has those integrals as
// sums over the control points. The sums are exact as long as slope and weight together
// have terms below 2m; the kink in the slope where the two parabolas meet has terms without
// end, which the few points take for lower ones. (Without this the centre of pressure of a
// section bent at 0.3 chords goes up and down by a hundredth of the chord from 4 to 6 to 8
// rows.)
func (c Camber) controlSlopes(m int) []float64 {
	slopes := make([]float64, m)
	_, ctrl, _ := chordPositions(Semicircle, m)
	terms := 2*m - 2
	if c.Height == 0 || terms < 2 {
		for k, xi := range ctrl {
			slopes[k] = c.Slope(xi)
		}
		return slopes
	}
	// The slope is K (p - 1/2 + cos/2), K another one on either side of the kink.
	p := c.At
	kink := math.Acos(1 - 2*p)
	part := func(n int, angle float64) float64 { // of the integral of that with cos n
		switch n {
		case 0:
			return (p-.5)*angle + math.Sin(angle)/2
		case 1:
			return (p-.5)*math.Sin(angle) + angle/4 + math.Sin(2*angle)/8
		}
		f := float64(n)
		return (p-.5)*math.Sin(f*angle)/f + (math.Sin((f-1)*angle)/(f-1)+math.Sin((f+1)*angle)/(f+1))/4
	}
	fore, aft := 2*c.Height/(p*p), 2*c.Height/((1-p)*(1-p))
	for n := range terms {
		a := 2 / math.Pi * (fore*part(n, kink) + aft*(part(n, math.Pi)-part(n, kink)))
		if n == 0 {
			a /= 2
		}
		for k := range slopes {
			slopes[k] += a * math.Cos(float64(n*(k+1))*math.Pi/float64(m))
		}
	}
	return slopes
}
