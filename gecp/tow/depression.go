package tow

import (
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
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
func (t SteadyTow) Depression(b Trim) Depression {
	d := math.Abs(b.Lift) / (t.m.Model().Shape().Area * WaterDensity * gecp.G) // Check: the area is above 0
	return Depression{Depth: d, Share: d / b.Clearance}
}

// flatEnough is the share of the clearance up to which the water counts as flat:
// a chosen figure.
const flatEnough = .1

// String says whether flat water is a fair assumption, in metric units.
func (d Depression) String() string { return d.Words(units.Metric) }

// Flat reports whether flat water is a fair assumption.
func (d Depression) Flat() bool { return d.Share <= flatEnough }

// Words says whether flat water is a fair assumption.
func (d Depression) Words(u units.System) string {
	s := fmt.Sprintf("The craft's weight presses the water down by about %s, %.0f %% of the clearance", u.Small().Words(d.Depth, units.Up), 100*d.Share)
	if !d.Flat() {
		return s + ": the flat water of the calculation is a rough picture here."
	}
	return s + ": flat water is a fair picture."
}
