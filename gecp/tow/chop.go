package tow

import (
	"fmt"
	"math"

	"example.org/groundeffect/gecp/units"
)

// Chop is what waves of a height leave of a towing range. The calculation knows flat water
// only: half the height of the waves, trough to crest, is taken off the clearance over each
// crest, so that the craft is towed by so much higher and let go by so much lower. At its
// lowest a wing then still has the gap over the crests that Low has over flat water, which
// keeps it out of what is too close to calculate.
type Chop struct {
	Height    float64 // m, trough to crest
	Low, High float64 // m over the mean water; only if OK
	OK        bool
}

// mostRipple is how large half the height of the waves may be in clearances over the mean
// water. Close to the water the lift goes as one over the gap (Widnall and Barrows, J. Fluid
// Mech. 41, 1970); over waves of an amplitude a, h over their mean, its mean is that over flat
// water times 1/sqrt(1 - (a/h)^2): at 0.3 it is 5 % more, as much as viscosity takes at most.
// Beyond that the mean of the water is no guide to the lift.
const mostRipple = .3

// InChop returns what a chop of a height, m, trough to crest, leaves of a range. A range that
// is not OK leaves nothing.
func (r Range) InChop(height float64) Chop {
	c := Chop{Height: height}
	if !(height >= 0) || !(height < r.MostChop()) {
		return c
	}
	c.Low, c.High, c.OK = r.Low.Clearance+height/2, r.High.Clearance-height/2, true
	return c
}

// MostChop returns the height of waves, trough to crest, m, from which the calculation means
// nothing for a range: the smaller of that which leaves less than LeastDepth to tow it in, and
// that at which half of it is 0.3 of the clearance over the mean water where the craft is towed
// lowest. 0 for a range that is not OK.
func (r Range) MostChop() float64 {
	if !r.OK {
		return 0
	}
	return mostChop(r.Low.Clearance, r.High.Clearance)
}

// mostChop is MostChop of a range between two clearances, m.
func mostChop(low, high float64) float64 {
	// Half the height a is mostRipple of low + a.
	return math.Max(0, math.Min(high-low-LeastDepth, 2*low*mostRipple/(1-mostRipple)))
}

// ChopWords says what waves do to a range that is OK.
func (r Range) ChopWords(u units.System) string {
	h := u.Clearance()
	return fmt.Sprintf("Over waves tow it higher and let go lower by half their height from trough to crest; from a chop of %s on the calculation means nothing.", h.Words(r.MostChop(), units.Down))
}
