package gecp

import "math"

// SectionLimitSource names where the limit of the section lift comes from.
const SectionLimitSource = "Abbott, von Doenhoff and Stivers, NACA Report 824 (1945), four-digit sections with roughened nose (from memory, held on the low side)"

// SectionLimit returns the section lift coefficient above which the flow may
// leave a wing of the thickness (in chords): 0.9 for 6 % and thinner, 1.2 for
// 12 % and thicker, straight between. Beyond it the calculation means nothing.
func SectionLimit(thickness float64) float64 {
	return .9 + .3*math.Min(1, math.Max(0, (thickness-.06)/.06))
}

// CriticalStrip is the strip of a craft that works hardest: the one whose section lift
// coefficient is the largest share of its wing's limit.
type CriticalStrip struct {
	Wing            string
	Y               float64 // m from the centreline
	LiftCoefficient float64 // section lift coefficient
	Limit           float64 // see SectionLimitSource
}

// ShareOfLimit returns the size of the section lift coefficient over its limit.
func (c CriticalStrip) ShareOfLimit() float64 { return math.Abs(c.LiftCoefficient) / c.Limit }

// Over reports whether the strip is beyond its limit, where the flow may leave
// the wing.
func (c CriticalStrip) Over() bool { return c.ShareOfLimit() > 1 }
