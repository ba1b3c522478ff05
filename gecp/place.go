package gecp

import "math"

// Place is a place along the craft, m aft of the datum, that may not exist: a
// craft without lift has no centre of pressure, a lift that does not change
// with height no height neutral point.
type Place struct {
	X     float64 // m aft of the datum; 0 where the place does not exist
	Known bool
}

// farAway bounds places along the craft, m: beyond it a quotient of vanishing
// forces says nothing that a builder could use.
const farAway = 1e4

func placeAt(x float64) Place {
	if math.Abs(x) < farAway { // false for NaN
		return Place{x, true}
	}
	return Place{}
}

// ahead returns how far p lies ahead of q, m.
func (p Place) ahead(q Place) Place {
	if !p.Known || !q.Known {
		return Place{}
	}
	return Place{q.X - p.X, true}
}

// centreOfPressure returns where the resultant (fx, fz) with the moment m about
// the datum crosses the datum line of a craft at the pitch.
func centreOfPressure(fx, fz, m, pitch float64) Place {
	sin, cos := math.Sincos(pitch)
	return placeAt(-m / (fz*cos + fx*sin))
}
