package vlm

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
