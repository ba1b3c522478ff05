package gecp

import (
	"fmt"
	"math"
)

// WaterDensity is fresh water's, kg/m3; sea water is 1025.
const WaterDensity = 1000

// Depression is how far the craft's weight on the air presses the water down: a
// check on the flat water that all of the calculation assumes.
type Depression struct {
	Depth float64 // m
	Share float64 // of the clearance
}

// Depression returns the mean depression of the water under a balanced craft: the
// lift over the wings' area as a head of water, lift/(S rho g) (textbook
// hydrostatics). The waves that the moving pressure makes are left out, and under
// the places of highest pressure the water is lower.
func (r SteadyTow) Depression(b Trim) Depression {
	d := math.Abs(b.Lift) / (r.m.model.shape.Area * WaterDensity * G) // Check: the area is above 0
	return Depression{Depth: d, Share: d / b.Clearance}
}

// flatEnough is the share of the clearance up to which the water counts as flat:
// a chosen figure.
const flatEnough = .1

// String says whether flat water is a fair assumption, in metric units.
func (d Depression) String() string { return d.words(Metric) }

func (d Depression) words(u Units) string {
	s := fmt.Sprintf("The craft's weight presses the water down by about %s, %.0f %% of the clearance", u.small(d.Depth), 100*d.Share)
	if d.Share > flatEnough {
		return s + ": the flat water of the calculation is a rough picture here."
	}
	return s + ": flat water is a fair picture."
}
