package vlm

import (
	"fmt"
	"testing"
)

// Refined tells how the images are refined at a attitude: where it changes the
// loads make a small jump, across which no difference may be taken.
func (l *Lattice) Refined(t *testing.T, at Attitude) string {
	return fmt.Sprint(refinementsAt(t, l, at))
}
