package gecp

import (
	"math"

	"example.org/groundeffect/gecp/internal/bisect"
	"example.org/groundeffect/vlm"
)

// BankedLowestPoint is the lowest point of a banked craft, tip plates included.
type BankedLowestPoint struct {
	Wing  string   // the wing's name
	Side  vlm.Side // the half that it lies on; vlm.BothSides without bank
	Chord float64  // of the section that the point lies on, m
	Depth float64  // m below the datum, positive down
}

// Banked returns the lowest point of all wings with the nose up by a pitch and the starboard
// side down by a bank about the datum line, rad; see [vlm.BankedAttitude]. It panics unless
// both are finite.
//
// A point (x, y, z) of the craft lies x sin(pitch) + (y sin(bank) - z cos(bank)) cos(pitch)
// below the datum: for one section that is as if the craft were pitched by another angle,
// the whole scaled and lowered.
func (u *LowestPoints) Banked(pitch, bank float64) BankedLowestPoint {
	mustBeFinite(pitch)
	mustBeFinite(bank)
	sp, cp := math.Sincos(pitch)
	sb, cb := math.Sincos(math.Abs(bank))
	scale := math.Hypot(sp, cp*cb)
	sin, cos := sp/scale, cp*cb/scale
	low := BankedLowestPoint{Depth: math.Inf(-1)}
	for i := range u.wings {
		w := &u.wings[i]
		for j := range w.sections {
			one := wingUnderside{w.name, w.sections[j : j+1]}
			p, ok := one.lowest(sin, cos, math.Inf(1))
			if d := scale*p.Depth + w.sections[j].y*sb*cp; ok && d > low.Depth {
				low = BankedLowestPoint{Wing: w.name, Chord: p.Chord, Depth: d}
			}
		}
	}
	switch {
	case bank > 0:
		low.Side = vlm.Starboard
	case bank < 0:
		low.Side = vlm.Port
	}
	return low
}

// maxTouchBank is up to which bank a touch is looked for, rad.
const maxTouchBank = 45 * math.Pi / 180

// TouchBank returns the bank, rad, at which the lower tip touches the water, if the craft is
// banked about its datum line at a clearance of the level lowest point, m, and a pitch, rad;
// ok is false if it does not up to 45 degrees. The result is the last bank found clear of
// the water, to a ten-thousandth of a degree. Without any clearance it is 0.
func (u *LowestPoints) TouchBank(clearance, pitch float64) (bank float64, ok bool) {
	height := u.HeightFor(clearance, pitch)
	wet := func(bank float64) bool { return u.Banked(pitch, bank).Depth >= height }
	if wet(0) {
		return 0, true
	}
	// The depth grows with the bank about as the sine does, but a low middle may rise first.
	const steps = 90
	for i := 1; i <= steps; i++ {
		touch := maxTouchBank * float64(i) / steps
		if !wet(touch) {
			continue
		}
		clear, _, _ := bisect.Edge(maxTouchBank*float64(i-1)/steps, touch, 1e-4*math.Pi/180, func(bank float64) (bool, error) { return wet(bank), nil })
		return clear, true
	}
	return maxTouchBank, false
}
