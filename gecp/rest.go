package gecp

import (
	"cmp"
	"math"
	"slices"
)

// Rest is a craft that lies still on its floats.
type Rest struct {
	Pitch     float64 // rad
	Height    float64 // of the datum, m
	Fore, Aft Float   // the two that touch the water; the same one where one alone does
}

// Rest returns how the craft lies still on its floats, none of them under the water,
// the pilot in the middle of the travel; ok is false for a craft without floats. Of
// more than two floats it rests on the pair between which its centre of gravity lies;
// with the centre of gravity ahead or aft of all floats, or without weights, on the
// foremost, aftmost or widest pair. Floats that all stand at one place along the
// craft carry it level.
func (c *Craft) Rest() (r Rest, ok bool) {
	under := c.lowerFloats()
	switch len(under) {
	case 0:
		return Rest{}, false
	case 1:
		return Rest{Height: -under[0].Z, Fore: under[0], Aft: under[0]}, true
	}
	var x, z float64
	known := c.Mass() > 0
	if known {
		var pilot float64
		if p := c.Pilot; p != nil {
			pilot = p.Middle()
		}
		x, z = c.CG(pilot)
	}
	widest := 0.
	for i := 1; i < len(under); i++ {
		fore, aft := under[i-1], under[i]
		turned := RotationAt(math.Atan2(aft.Z-fore.Z, aft.X-fore.X))
		_, up := turned.Level(fore.X, fore.Z)
		on := Rest{Pitch: math.Asin(turned.Sin), Height: -up, Fore: fore, Aft: aft}
		if !known {
			if w := aft.X - fore.X; w > widest {
				r, widest = on, w
			}
			continue
		}
		// Further aft pairs lie nose-up of this one: the centre of gravity passes them in turn.
		at, _ := turned.Level(x, z)
		along, _ := turned.Level(aft.X, aft.Z)
		if r = on; at <= along {
			break
		}
	}
	return r, true
}

// lowerFloats returns the floats on which a craft can lie at some pitch, from the
// foremost aft: the lower convex hull in the side view.
func (c *Craft) lowerFloats() []Float {
	all := slices.Clone(c.Floats)
	slices.SortFunc(all, func(a, b Float) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Z, b.Z)) })
	var h []Float
	for _, f := range all {
		if n := len(h); n > 0 && h[n-1].X == f.X {
			continue // the lower one of that place is there already
		}
		for len(h) > 1 {
			a, b := h[len(h)-2], h[len(h)-1]
			if (b.X-a.X)*(f.Z-a.Z) > (b.Z-a.Z)*(f.X-a.X) { // b lies under the line
				break
			}
			h = h[:len(h)-1]
		}
		h = append(h, f)
	}
	return h
}

// LowestFloat returns the float that reaches deepest at a pitch, rad, and how far
// below the datum it lies, m; ok is false for a craft without floats. Of floats
// equally low it is the first of the file.
func (c *Craft) LowestFloat(pitch float64) (f Float, depth float64, ok bool) {
	turned := RotationAt(pitch)
	depth = math.Inf(-1)
	for _, g := range c.Floats {
		if _, up := turned.Level(g.X, g.Z); -up > depth {
			f, depth, ok = g, -up, true
		}
	}
	return f, depth, ok
}
