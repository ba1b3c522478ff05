package gecp

import "math"

// Position is a place along the craft, m aft of the datum, that may not exist: a
// craft without lift has no centre of pressure, a lift that does not change
// with height no height neutral point.
type Position struct {
	X     float64 // m aft of the datum; 0 where the place does not exist
	OK bool
}

// farAway bounds places along the craft, m: beyond it a quotient of vanishing
// forces says nothing that a builder could use.
const farAway = 1e4

func PositionAt(x float64) Position {
	if math.Abs(x) < farAway { // false for NaN
		return Position{x, true}
	}
	return Position{}
}

// ahead returns how far p lies ahead of q, m.
func (p Position) ahead(q Position) Position {
	if !p.OK || !q.OK {
		return Position{}
	}
	return Position{q.X - p.X, true}
}

// centreOfPressure returns where the resultant (fx, fz) with the moment m about
// the datum crosses the datum line of a craft at the pitch.
func centreOfPressure(fx, fz, m, pitch float64) Position {
	sin, cos := math.Sincos(pitch)
	return PositionAt(-m / (fz*cos + fx*sin))
}
