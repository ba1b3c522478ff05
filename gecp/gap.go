package gecp

import "fmt"

// How close to the water the default lattice can be believed, in chords of the section
// that the lowest point lies on; from comparing 4 x 8 with 14 x 24 cells on the ready
// craft between 0 and 6 degrees.
const (
	// LeastGap is the gap below which a question is refused: there the lift is off by more
	// than 4 % and the induced drag may come out below zero.
	LeastGap = .02
	// CloseGap is the gap below which the derivatives with height and pitch, and with them
	// the neutral points and the height stability, are not good: rows are marked Close, and
	// no towing range reaches below it. At it the height neutral point is good to a fifth
	// of the chord, lift and CP to a hundredth.
	CloseGap = .07
)

// GapError says that a wing is too close to the water for anything to be calculated.
type GapError struct {
	Wing      string
	Clearance float64 // m
	Chord     float64 // m, of the section closest to the water
}

func (e *GapError) Error() string {
	return fmt.Sprintf("wing %q would be %.3g m above the water, less than %v of its chord there of %.3g m, where nothing can be calculated; ask for a clearance of %.3g m or more",
		e.Wing, e.Clearance, LeastGap, e.Chord, LeastGap*e.Chord)
}

// Gap returns a clearance in chords of the section that the lowest point lies on.
func (l LowestPoint) Gap(clearance float64) float64 { return clearance / l.Chord }

// Close reports whether, at a clearance, m, the derivatives are not good; see CloseGap.
func (l LowestPoint) Close(clearance float64) bool { return l.Gap(clearance) < CloseGap }

// checkGap returns a *GapError for a clearance, m, that is too small to calculate at.
func (l LowestPoint) checkGap(clearance float64) error {
	if l.Gap(clearance) < LeastGap*(1-1e-9) {
		return &GapError{l.Wing, clearance, l.Chord}
	}
	return nil
}

// least returns the smallest clearance, m, that passes checkGap at all pitches between
// two, rad.
func (u *LowestPoints) leastClearance(from, to float64) float64 {
	const steps = 64
	var least float64
	for i := range steps + 1 {
		l := u.At(from + (to-from)*float64(i)/steps)
		least = max(least, LeastGap*l.Chord)
	}
	return least
}
