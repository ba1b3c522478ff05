package gecp

import (
	"fmt"
	"math"

	"example.org/groundeffect/vlm"
)

// GapFill is how much of its gap to the water a section fills: half its thickness over the
// height of its mean line, where that is largest along the chord.
type GapFill struct {
	Wing  string  // empty where no wing has a thickness
	Share float64 // 0 without thickness, 1 where the section touches the water
}

// Over reports whether the section fills more of its gap than the calculation was found to
// hold for; see [vlm.MaxGapFill].
func (g GapFill) Over() bool { return g.Share > vlm.MaxGapFill }

// Words says it in a sentence: how much is filled, rounded up, and what that means.
func (g GapFill) Words() string {
	return fmt.Sprintf("The section of wing %q fills %.0f %% of its gap to the water: beyond %.0f %% the flow under it is a nozzle's, whose suction the calculation misses.", g.Wing, math.Ceil(100*g.Share), 100*vlm.MaxGapFill)
}

// GapFill returns the section of the craft that fills its gap most at a clearance of the
// lowest point, m, and a pitch, rad. Tip plates are upright and fill nothing. It panics
// unless the pitch is finite.
func (u *LowestPoints) GapFill(clearance, pitch float64) GapFill {
	height := u.HeightFor(clearance, pitch)
	sin, cos := math.Sincos(pitch)
	var worst GapFill
	for i := range u.wings {
		w := &u.wings[i]
		// A ruled surface's thickness and height run straight between stations, so that their
		// ratio is largest at one of them.
		for j := range w.sections {
			s := &w.sections[j]
			if s.under.thickness == 0 {
				continue
			}
			sn, c := s.sin*cos+s.cos*sin, s.cos*cos-s.sin*sin
			le := height + s.z*cos - s.x*sin
			for k := 1; k < undersideSteps; k++ {
				r := float64(k) / undersideSteps
				xi := r * r
				half := s.chord * s.under.thickness / 2 * vlm.FourDigitThickness(xi) * c
				if share := half / (le + s.chord*(s.under.camber.Ordinate(xi)*c-xi*sn)); share > worst.Share {
					worst = GapFill{w.name, share}
				}
			}
		}
	}
	return worst
}
