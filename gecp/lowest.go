package gecp

import (
	"fmt"
	"math"

	"example.org/groundeffect/vlm"
)

// LowestPoint is the lowest point of a wing, its tip plates included, in craft axes.
type LowestPoint struct {
	Wing  string  // the wing's name
	X, Z  float64 // the point, m aft of and above the datum
	Chord float64 // of the section that the point lies on, m
	Depth float64 // m below the datum at the pitch asked for, positive down
	// DepthByPitch is the derivative of Depth with the pitch, m/rad, nose-up positive.
	DepthByPitch float64
}

// LowestPoints answers how low the wings reach at any pitch. It looks at undersides
// up to the real tip and at tip plates. A ruled surface is lowest on the section
// of a station; see [underside] for how low a section reaches. Depths are continuous in
// pitch, and smooth but where the lowest point jumps. LowestPoints is immutable and safe
// for use by several goroutines; nothing it does but the growing of a slice handed in
// allocates.
type LowestPoints struct {
	wings []wingUnderside
}

type wingUnderside struct {
	name     string
	sections []lowSection
}

// lowSection is a section as its lowest point needs it.
type lowSection struct {
	under          *underside
	x, y, z, chord float64 // leading edge
	sin, cos       float64 // of the incidence
}

// LowestPoints prepares the craft's wings. The craft passes Check.
func (c *Craft) LowestPoints() *LowestPoints {
	u := &LowestPoints{wings: make([]wingUnderside, len(c.Wings))}
	for i := range c.Wings {
		w := &c.Wings[i]
		low := wingUnderside{name: w.Name}
		add := func(s vlm.Station, under *underside) {
			sin, cos := math.Sincos(s.Incidence)
			low.sections = append(low.sections, lowSection{under, s.LE.X, s.LE.Y, s.LE.Z, s.Chord, sin, cos})
		}
		sec := w.Sections()
		under := newUnderside(vlm.Camber(w.Camber), w.Thickness)
		for _, s := range sec {
			add(s, under)
		}
		tip, thin := sec[len(sec)-1], newUnderside(vlm.Camber(w.Camber), 0)
		for _, p := range w.plates() {
			if p.dz != 0 {
				end := tip
				end.LE.Z += p.dz
				add(end, thin)
			}
		}
		u.wings[i] = low
	}
	return u
}

// At returns the lowest point of all wings at a pitch, rad nose-up: the
// craft point (x, z) lies x sin(pitch) - z cos(pitch) below the datum. Of wings
// equally low the first of the file is named. It panics unless the pitch is
// finite.
func (u *LowestPoints) At(pitch float64) LowestPoint {
	mustBeFinite(pitch)
	sin, cos := math.Sincos(pitch)
	low := LowestPoint{Depth: math.Inf(-1)}
	for i := range u.wings {
		if l, ok := u.wings[i].lowest(sin, cos, -low.Depth); ok {
			low = l
		}
	}
	return low
}

// Each appends to dst the lowest point of each wing at a pitch, rad
// nose-up, in the order of the file, and returns the longer slice. Clearance has
// a kink where the deepest of them changes. It panics unless the pitch is finite.
func (u *LowestPoints) Each(dst []LowestPoint, pitch float64) []LowestPoint {
	mustBeFinite(pitch)
	sin, cos := math.Sincos(pitch)
	for i := range u.wings {
		l, _ := u.wings[i].lowest(sin, cos, math.Inf(1))
		dst = append(dst, l)
	}
	return dst
}

// HeightFor returns the height of the datum, m over the water, that gives the
// lowest point a clearance, m, at a pitch, rad nose-up.
func (u *LowestPoints) HeightFor(clearance, pitch float64) float64 {
	return clearance + u.At(pitch).Depth
}

// ClearanceFor returns the clearance of the lowest point, m, at a height of the
// datum over the water, m, and a pitch, rad nose-up; negative under water.
func (u *LowestPoints) ClearanceFor(height, pitch float64) float64 {
	return height - u.At(pitch).Depth
}

func mustBeFinite(pitch float64) {
	if math.IsNaN(pitch) || math.IsInf(pitch, 0) {
		panic(fmt.Sprintf("gecp: the pitch is %v; it must be finite", pitch))
	}
}

// lowest returns the wing's lowest point with the craft turned nose-up by the
// angle of the given sine and cosine, if it lies below a height over the datum, m.
func (w *wingUnderside) lowest(sin, cos, below float64) (low LowestPoint, ok bool) {
	best, bestHeight := -1, below
	var bestXi, bestEta float64
	for i := range w.sections {
		s := &w.sections[i]
		// The section stands at incidence plus pitch; a point of it lies at the
		// leading edge's height plus chord*(eta*c - xi*sn).
		sn, c := s.sin*cos+s.cos*sin, s.cos*cos-s.sin*sin
		le := s.z*cos - s.x*sin
		if le-s.chord*(s.under.deepest*c+math.Max(0, sn)) >= bestHeight {
			continue // it cannot reach so low
		}
		xi, eta := s.under.lowest(sn, c)
		if h := le + s.chord*(eta*c-xi*sn); h < bestHeight {
			best, bestXi, bestEta, bestHeight = i, xi, eta, h
		}
	}
	if best < 0 {
		return low, false
	}
	s := &w.sections[best]
	low = LowestPoint{
		Wing:  w.name,
		X:     s.x + s.chord*(bestXi*s.cos+bestEta*s.sin),
		Z:     s.z + s.chord*(bestEta*s.cos-bestXi*s.sin),
		Chord: s.chord,
		Depth: -bestHeight,
	}
	low.DepthByPitch = low.X*cos + low.Z*sin
	return low, true
}

// kinks returns the pitches between from and to, rad, at which the lowest point
// jumps, in rising order.
func (u *LowestPoints) kinks(from, to float64) []float64 {
	const steps = 256
	// Between jumps the lowest point creeps along a mean line by a fraction of this.
	const jump = 1e-3
	place := func(p float64) float64 { return u.At(p).X }
	var k []float64
	for i := range steps {
		a := from + (to-from)*float64(i)/steps
		b := from + (to-from)*float64(i+1)/steps
		xa, xb := place(a), place(b)
		for n := 0; n < 60 && math.Abs(xb-xa) > jump; n++ {
			m := (a + b) / 2
			if xm := place(m); math.Abs(xm-xa) > math.Abs(xb-xm) {
				b, xb = m, xm
			} else {
				a, xa = m, xm
			}
			if b-a < 1e-12 {
				if edge := 1e-6; a > from+edge && b < to-edge { // not at an end
					k = append(k, (a+b)/2)
				}
				break
			}
		}
	}
	return k
}
