package gecp

import (
	"fmt"
	"math"

	"example.org/groundeffect/vlm"
)

// ResultError says that what the lattice found cannot be, so that nothing of it is told.
type ResultError struct {
	Clearance, Pitch float64 // m, rad
	Text             string
}

func (e *ResultError) Error() string {
	return fmt.Sprintf("at a clearance of %.3g m and a pitch of %.1f degrees %s", e.Clearance, Degrees(e.Pitch), e.Text)
}

// absurdLift is how many times the lift that all sections could carry at their limit
// makes a result absurd.
const absurdLift = 10

// dragMissed is the part of the lift by which a mesh may miss the induced drag.
const dragMissed = 1e-3

// DragPossible reports whether the lift may have the induced drag: it is not below zero,
// but for a thousandth of the lift that the mesh may miss.
func (l LoadsPerQ) DragPossible() bool { return l.Drag >= -dragMissed*math.Abs(l.Lift) }

// checkResult returns a *ResultError for loads that no wing can have: a lift far beyond
// what the sections could carry, or an induced drag below zero.
func (m *Model) checkResult(s *vlm.Solution, clearance float64) error {
	var carry float64
	for i, w := range m.shape.Wings {
		carry += w.Area * SectionLimit(m.craft.Wings[i].Thickness)
	}
	l := LoadsPerQ{Lift: s.Total.Lift(), Drag: s.Total.Drag()}
	switch {
	case !(math.Abs(l.Lift) <= absurdLift*carry):
		return &ResultError{clearance, s.Pitch, fmt.Sprintf("the lift comes out as %.0f times what the wings' sections can carry; the calculation means nothing there: look for a chord, a place or an incidence that is off by a factor", math.Abs(l.Lift)/carry)}
	case !l.DragPossible():
		return &ResultError{clearance, s.Pitch, "the induced drag comes out below zero, which cannot be; a wing is too close to the water or to another wing for this mesh: ask for more clearance or a finer mesh"}
	}
	return nil
}
