package vlm

// twinWashes are washes, and twinJets jets, whose two sides of the plane of symmetry
// share the vector registers that every amd64 has. filament.go says what they do.
// The slices are cut to length here: the assembly checks nothing.
type (
	twinWashes washes
	twinJets   jets
)

func (f *field) see(row []seen, o int, x, y, z, ym float64) {
	if n := len(row); n > 0 {
		nx, ny, nz := f.node.x[o:o+n], f.node.y[o:o+n], f.node.z[o:o+n]
		seeNodes(&row[0], &nx[0], &ny[0], &nz[0], n, x, y, z, ym)
	}
}

func (k *twinWashes) segments(i int, from, to []seen) {
	if n := len(from); n > 0 {
		v, to := k.v[i:i+n], to[:n]
		washSegments((*washes)(k), &v[0], &from[0], &to[0], n)
	}
}

func (k *twinWashes) legs(i int, from []seen, _ int) {
	if n := len(from); n > 0 {
		v := k.v[i : i+n]
		washLegs((*washes)(k), &v[0], &from[0], n)
	}
}

func (k *twinJets) segments(i int, from, to []seen) {
	if n := len(from); n > 0 {
		v, g, to := k.v[i:i+n], k.g[i:i+n], to[:n]
		jetSegments((*jets)(k), &v[0], &g[0], &from[0], &to[0], n)
	}
}

func (k *twinJets) legs(i int, from []seen, _ int) {
	if n := len(from); n > 0 {
		v, g := k.v[i:i+n], k.g[i:i+n]
		jetLegs((*jets)(k), &v[0], &g[0], &from[0], n)
	}
}

// For all of these n > 0.

//go:noescape
func seeNodes(row *seen, nx, ny, nz *float64, n int, x, y, z, ym float64)

//go:noescape
func washSegments(k *washes, v *vec, from, to *seen, n int)

//go:noescape
func washLegs(k *washes, v *vec, from *seen, n int)

//go:noescape
func jetSegments(k *jets, v *vec, gamma *float64, from, to *seen, n int)

//go:noescape
func jetLegs(k *jets, v *vec, gamma *float64, from *seen, n int)
