package tow

import (
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
)

// A wing this near the water, in chords under its lowest point, and at less than this
// angle to it, degrees, may lose lift as the water comes nearer, which no ideal flow about
// a thin wing shows. A NACA 4412 in a tunnel over a moving ground lost lift towards it at
// up to 4 degrees, with its trailing edge 0.05 to 1 chord over the ground, and gained above
// (Ahmed, Takasaki and Kohama, AIAA J. 45(1), 2007, abstract; NACA 0015 likewise at low
// angles: Ahmed and Sharma, Exp. Thermal Fluid Sci. 29, 2005, abstract). The bounds are
// chosen from that.
const (
	unprovenGap   = .3
	unprovenAngle = 5.
)

// UnprovenSource is where the warning of an unproven height stability comes from.
const UnprovenSource = "Ahmed, Takasaki and Kohama, AIAA J. 45(1), 2007"

// Unproven is a wing of a trim that may not hold its height as calculated.
type Unproven struct {
	Wing  string
	Gap   float64 // under its lowest point, in chords there
	Angle float64 // the least of its sections' chords to the water, rad, nose-up
}

// isUnproven decides from the gap, in chords, and the angle, rad.
func isUnproven(gap, angle float64) bool {
	return gap < unprovenGap && gecp.Degrees(angle) < unprovenAngle
}

// Words says the warning in a sentence.
func (n Unproven) Words() string {
	return fmt.Sprintf("Height-holding unproven: wing %q flies within %.1f chords of the water at %.1f degrees to it, where tunnels found lift to fall towards the ground (%s).", n.Wing, math.Ceil(n.Gap*10)/10, gecp.Degrees(n.Angle), UnprovenSource)
}

// Unproven returns the wing of a trim whose height stability is not proven, the one that
// is nearest to the water in chords; ok is false if there is none.
func (t SteadyTow) Unproven(b Trim) (n Unproven, ok bool) {
	for i, l := range t.m.Model().LowestPoints().Each(nil, b.Pitch) {
		w := &t.craft.Wings[i]
		angle := math.Inf(1)
		for _, s := range w.Stations {
			angle = min(angle, b.Pitch+gecp.Radians(w.IncidenceDeg+s.TwistDeg))
		}
		gap := (b.Height - l.Depth) / l.Chord
		if isUnproven(gap, angle) && (!ok || gap < n.Gap) {
			n, ok = Unproven{w.Name, gap, angle}, true
		}
	}
	return n, ok
}
