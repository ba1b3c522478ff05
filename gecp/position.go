package gecp

import "math"

// Position is a position along the craft, m aft of the datum, that may not exist:
// a craft without lift has no centre of pressure, a lift that does not change
// with height no height neutral point.
type Position struct {
	X  float64 // m aft of the datum; 0 where there is none
	OK bool    // whether there is one
}

// FarAway bounds positions along a craft, m: beyond it a quotient of vanishing
// forces says nothing that a builder could use.
const FarAway = 1e4

// PositionAt returns x as a position, or none if x is not finite or further than
// FarAway.
func PositionAt(x float64) Position {
	if math.Abs(x) < FarAway { // false for NaN
		return Position{x, true}
	}
	return Position{}
}

// Ahead returns how far p lies ahead of q, m; none if either is none.
func (p Position) Ahead(q Position) Position {
	if !p.OK || !q.OK {
		return Position{}
	}
	return Position{q.X - p.X, true}
}
