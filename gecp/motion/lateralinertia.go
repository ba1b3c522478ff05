package motion

import (
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp"
)

// LateralInertia is a craft's mass and how it resists rolling and yawing: about the level
// axis along the craft and the upright one, both through its centre of gravity.
type LateralInertia struct {
	Mass      float64 // kg
	X, Z      float64 // centre of gravity, m aft of and above the datum
	Roll, Yaw float64 // moments of inertia, kg m2
	Cross     float64 // less the sum of mass times aft times up from the centre of gravity, kg m2
}

// LateralInertiaOf returns the craft's inertia in roll and yaw with the pilot's centre at
// pilotX, m aft of the datum, and the nose up by a pitch, rad. The craft file tells nothing
// of how its masses lie across the craft, so that is assumed: a weight that lies on a wing,
// between leading and trailing edge at the root and within a quarter of the chord above or
// below, is spread evenly over its span; all others lie on the centreline. Radii of gyration
// count in yaw, as lengths along the craft; the pilot's, PilotRadius without one, in both.
func LateralInertiaOf(c *gecp.Craft, pilotX, pitch float64) LateralInertia {
	in := LateralInertia{Mass: c.Mass()}
	in.X, in.Z = c.CG(pilotX)
	turned := gecp.RotationAt(pitch)
	add := func(mass, x, z, across, along float64) {
		dx, dz := turned.Level(x-in.X, z-in.Z)
		in.Roll += mass * (dz*dz + across*across)
		in.Yaw += mass * (dx*dx + across*across + along*along)
		in.Cross -= mass * dx * dz
	}
	for _, w := range c.Weights {
		across := 0.
		if on := wingOfWeight(c, w); on != nil {
			across = on.Stations[len(on.Stations)-1].Y / math.Sqrt(3) // span/sqrt(12)
		}
		add(w.Mass, w.X, w.Z, across, w.Radius)
	}
	if p := c.Pilot; p != nil {
		add(p.Mass, pilotX, p.Z, pilotRadius(p), 0)
	}
	return in
}

// onWing is how far above or below a wing's root, in chords, a weight may lie that counts as
// the wing's own.
const onWing = .25

// wingOfWeight returns the wing that a weight lies on, the first of the file; nil for none.
func wingOfWeight(c *gecp.Craft, w gecp.Weight) *gecp.Wing {
	for i := range c.Wings {
		wing := &c.Wings[i]
		root := wing.Stations[0].Chord
		if w.X >= wing.X && w.X <= wing.X+root && math.Abs(w.Z-wing.Z) <= onWing*root {
			return wing
		}
	}
	return nil
}

// LateralGuesses says in a sentence what LateralInertiaOf assumes of the masses of a craft.
func LateralGuesses(c *gecp.Craft) string {
	var spread, middle []string
	for _, w := range c.Weights {
		if wingOfWeight(c, w) != nil {
			spread = append(spread, fmt.Sprintf("%q", w.Name))
		} else {
			middle = append(middle, fmt.Sprintf("%q", w.Name))
		}
	}
	var parts []string
	if spread != nil {
		parts = append(parts, strings.Join(spread, ", ")+" spread evenly over the wing's span")
	}
	if middle != nil {
		parts = append(parts, strings.Join(middle, ", ")+" on the centreline")
	}
	if parts == nil {
		return ""
	}
	return "The craft file does not tell how masses lie across the craft; the modes take " + strings.Join(parts, ", ") + "."
}

// AirRollInertia returns the moment of inertia about the centreline of the air that the wings
// drag along as the craft rolls, with the datum at a height, m, the craft at a pitch, rad, in
// air of a density, kg/m3 (0 is gecp.AirDensity): kg m2. It is an estimate by strips as that
// of ApparentMass.
func AirRollInertia(c *gecp.Craft, height, pitch, density float64) float64 {
	if density == 0 {
		density = gecp.AirDensity
	}
	var sum float64
	shape := c.Shape()
	for i := range c.Wings {
		sec := c.Wings[i].Sections()
		for j := 1; j < len(sec); j++ {
			a, b := sec[j-1], sec[j]
			// Simpson's rule, both halves: chord squared times y squared is of the fourth degree.
			const n = 8
			width := (b.LE.Y - a.LE.Y) / n
			for k := range n + 1 {
				f := float64(k) / n
				weight := 4.
				switch {
				case k == 0 || k == n:
					weight = 1
				case k%2 == 0:
					weight = 2
				}
				chord, y := a.Chord+f*(b.Chord-a.Chord), a.LE.Y+f*(b.LE.Y-a.LE.Y)
				ma, mb := a.Point(.5), b.Point(.5)
				_, up := gecp.ToWaterAxes(ma.X+f*(mb.X-ma.X), ma.Z+f*(mb.Z-ma.Z), height, pitch)
				mass := density * math.Pi / 4 * chord * chord * finiteSpan(shape.Wings[i].AspectRatio) * nearSurface(up/chord)
				sum += 2 * weight * width / 3 * mass * y * y
			}
		}
	}
	return sum
}
