package tow

import (
	"math"

	"example.org/groundeffect/gecp"
)

// BoatAir is the air that the boat drags along and the craft flies in: far behind a body its
// wake is slower than the stream by what grows narrower as distance^-2/3, in a width that grows
// as distance^1/3 (Schlichting, Boundary-Layer Theory, chapter on free turbulent flows; from
// memory). The water mirrors the boat: both are one body of twice the drag.
type BoatAir struct {
	Middle    float64 // of the boat's speed, lost on the middle line of the wake, 0..1
	HalfWidth float64 // m from there, where half of it is left
	// Mean is the mean over the span of the craft's widest wing, level with the water, where
	// the wake is slowest: by so much the craft may be slower through the air than the boat.
	Mean float64
}

// boatDragShare is the boat's drag in the air per dynamic pressure over the product of its
// length and of the height of the line's end: a beam of 0.4 of the length, bow, windscreen and
// crew as high as the line's end, and a drag coefficient of 0.75, all from memory.
const boatDragShare = .4 * .75

// airDeficit is the part of the speed lost in the middle, times distance^2/3 over the cube root
// of the drag area: behind a disk, drag coefficient 1.14, a tenth of the stream is missing 15
// diameters downstream (Carmody, J. Basic Eng. 86, 1964; from memory).
var airDeficit = .1 * math.Pow(15*15/(1.14*math.Pi/4), 1./3)

// mostDeficit bounds what is lost close behind the boat, where the laws of the far wake do
// not hold.
const mostDeficit = .5

// FindBoatAir returns the boat's air wake at the end of the line. It returns
// [gecp.Problems] if the craft file does not tell the tow.
func FindBoatAir(c *gecp.Craft) (BoatAir, error) {
	if err := c.Require(gecp.BlockTow); err != nil {
		return BoatAir{}, err
	}
	t := c.Tow
	return airBehind(boatDragShare*t.BoatLength*t.BoatHeight, t.Line, c.Shape().Span/2), nil
}

// airBehind returns the wake of a body on the ground with a drag area, m2, at a distance, m,
// and its mean over a half width, m.
func airBehind(area, distance, half float64) BoatAir {
	mirrored := 2 * area
	a := BoatAir{Middle: min(mostDeficit, airDeficit*math.Cbrt(mirrored/(distance*distance)))}
	if a.Middle == 0 {
		return a
	}
	// The drag is the momentum missing: half the drag area is the deficit over the cross
	// section, that of a bell-shaped wake being middle pi HalfWidth^2/ln 2.
	a.HalfWidth = math.Sqrt(mirrored / 2 * math.Ln2 / (math.Pi * a.Middle))
	x := half * math.Sqrt(math.Ln2) / a.HalfWidth
	a.Mean = a.Middle * math.Sqrt(math.Pi) / 2 * math.Erf(x) / x
	return a
}
