package gecp

import "math"

// transition is the Reynolds number along a smooth plate at which its boundary
// layer is taken to turn turbulent (Schlichting, Boundary-Layer Theory, 7th ed.,
// ch. 21: 5e5 for a plate in an ordinary stream).
const transition = 5e5

// SkinFriction returns the drag coefficient of one side of a smooth flat plate at
// the Reynolds number of its length: laminar 1.328/sqrt(Re) (Blasius 1908) up to
// 5e5, above it Schlichting's line for turbulent flow 0.455/(log10 Re)^2.58 less
// 1700/Re for the laminar start (Schlichting, Boundary-Layer Theory, 7th ed., eq.
// 21.16 and table 21.1; from memory). It is 0 for Re <= 0.
func SkinFriction(re float64) float64 {
	switch {
	case !(re > 0):
		return 0
	case re <= transition:
		return 1.328 / math.Sqrt(re)
	}
	// 1700/Re is the laminar start's gain for transition at 5e5; the two lines meet
	// there within a tenth.
	return .455/math.Pow(math.Log10(re), 2.58) - 1700/re
}

// formFactor returns the profile drag of a section of a thickness (in chords) over
// that of a plate of the same length, for turbulent flow: 1 + 2t + 60 t^4
// (Hoerner, Fluid-Dynamic Drag, 1965, ch. 6; from memory).
func formFactor(thickness float64) float64 {
	t2 := thickness * thickness
	return 1 + 2*thickness + 60*t2*t2
}

// frictionArea returns the profile drag of all wings and plates, both halves, per
// dynamic pressure, m2: strip by strip twice the friction of one side, times the
// form factor. The flow over each is taken as the free stream's.
func (c *Craft) frictionArea(f Freestream) float64 {
	perMetre := f.Speed * f.Density / (AirViscosity * AirDensity) // Reynolds number of a metre
	// The three points of Gauss and Legendre on 0..1; friction changes slowly with chord.
	place := [3]float64{.5 - math.Sqrt(.15), .5, .5 + math.Sqrt(.15)}
	weight := [3]float64{5. / 18, 8. / 18, 5. / 18}
	var sum float64
	for i := range c.Wings {
		w := &c.Wings[i]
		for j := 1; j < len(w.Stations); j++ {
			a, b := w.Stations[j-1], w.Stations[j]
			width := math.Hypot(b.Y-a.Y, b.LEZ-a.LEZ)
			for k, t := range place {
				chord := (1-t)*a.Chord + t*b.Chord
				sum += weight[k] * width * chord * SkinFriction(chord*perMetre) * formFactor(w.Thickness)
			}
		}
		tip := w.Stations[len(w.Stations)-1].Chord
		sum += (w.TipPlates.Down + w.TipPlates.Up) * tip * SkinFriction(tip*perMetre)
	}
	return 4 * sum // two sides, two halves
}
