package vlm

import "slices"

// Strips returns the strips of the lattice without loads, in the order of
// [Solution].Strips.
func (l *Lattice) Strips() []Strip { return slices.Clone(l.stripGeometry) }
