package vlm

import "math"

// packedAICKernel and packedGradientKernel compute what aicKernel and gradientKernel
// do, with both sides of the plane of symmetry in one vector register, as every amd64
// has them. The slices are cut to length here: the assembly checks nothing.
type (
	packedAICKernel      aicKernel
	packedGradientKernel gradientKernel
)

func (f *field) offsets(row []nodeOffset, o int, x, y, z, ym float64) {
	if n := len(row); n > 0 {
		nx, ny, nz := f.node.x[o:o+n], f.node.y[o:o+n], f.node.z[o:o+n]
		nodeOffsets(&row[0], &nx[0], &ny[0], &nz[0], n, x, y, z, ym)
	}
}

func (k *packedAICKernel) segments(i int, from, to []nodeOffset) {
	if n := len(from); n > 0 {
		v, to := k.v[i:i+n], to[:n]
		aicSegments((*aicKernel)(k), &v[0], &from[0], &to[0], n)
	}
}

func (k *packedAICKernel) legs(i int, from []nodeOffset, _ int) {
	if n := len(from); n > 0 {
		v := k.v[i : i+n]
		aicLegs((*aicKernel)(k), &v[0], &from[0], n)
	}
}

func (k *packedGradientKernel) segments(i int, from, to []nodeOffset) {
	if n := len(from); n > 0 {
		v, g, to := k.v[i:i+n], k.g[i:i+n], to[:n]
		gradientSegments((*gradientKernel)(k), &v[0], &g[0], &from[0], &to[0], n)
	}
}

func (k *packedGradientKernel) legs(i int, from []nodeOffset, _ int) {
	if n := len(from); n > 0 {
		v, g := k.v[i:i+n], k.g[i:i+n]
		gradientLegs((*gradientKernel)(k), &v[0], &g[0], &from[0], n)
	}
}

func (k *packedAICKernel) paths(i int, from []nodeOffset, body int, paths []path) {
	(*aicKernel)(k).paths(i, from, body, paths)
}

func (k *packedGradientKernel) paths(i int, from []nodeOffset, body int, paths []path) {
	(*gradientKernel)(k).paths(i, from, body, paths)
}

// beyond returns the offsets from the last corner to the point and to its reflection, and
// their lengths.
func (w path) beyond(p *nodeOffset) (own, reflected vec, r, rm float64) {
	end := w[len(w)-1]
	own = vec{p.x - end.x, p.y - end.y, p.z - end.z}
	reflected = vec{own.x, p.ym - end.y, own.z}
	flat := own.x*own.x + own.z*own.z + nodeGuard
	return own, reflected, math.Sqrt(flat + own.y*own.y), math.Sqrt(flat + reflected.y*reflected.y)
}

func (w path) bothSides(p *nodeOffset, core4 float64, d, e direction) (out pathVelocity) {
	if math.Abs(p.ym) > noMirror/2 || d.y != 0 || e.y != 0 {
		return w.bothSidesGo(p, core4, d, e)
	}
	directions := 0
	switch {
	case e != (direction{}):
		directions = 2
	case d != (direction{}):
		directions = 1
	}
	legPieces(&out, &w[0], len(w)-1, p, &d, &e, core4, directions)
	own, reflected, r, rm := w.beyond(p)
	out.toInfinity(own, r, core4, d, e)
	var m pathVelocity
	m.toInfinity(reflected, rm, core4, d, e)
	out.addReflected(&m)
	return out
}

func (w path) motion(p *nodeOffset, core4 float64, ways [wakeMotions]path) (out [wakeMotions]vec) {
	if math.Abs(p.ym) > noMirror/2 {
		return w.motionGo(p, core4, ways)
	}
	last := len(w) - 1
	h, r := ways[wakeByHeight][:len(w)], ways[wakeByPitch][:len(w)]
	legMotionPieces(&out, &w[0], &h[0], &r[0], last, p, core4)
	own, reflected, a, am := w.beyond(p)
	moveInfinite(&own, a, core4, last, &ways, &out)
	var m [wakeMotions]vec
	moveInfinite(&reflected, am, core4, last, &ways, &m)
	addReflectedMotion(&out, m)
	return out
}

func (k *sourceKernel) segments(i int, from, to []nodeOffset) {
	if n := len(from); n > 0 {
		v, to := k.v[i:i+n], to[:n]
		sourceSegments(k, &v[0], &from[0], &to[0], n)
	}
}

func (k *velocityKernel) segments(i int, from, to []nodeOffset) {
	if n := len(from); n > 0 {
		v, to := k.v[i:i+n], to[:n]
		velocitySegments(&v[0], &from[0], &to[0], n)
	}
}

func weighSources(to, fine []sourceVelocity, section, weight []float64, rows int) {
	strips := len(to)
	if strips == 0 || len(fine) < strips {
		weighSourcesGo(to, fine, section, weight, rows)
		return
	}
	cells := len(fine) / strips
	section, weight = section[:strips], weight[:(cells-1)*rows+1]
	weightedSources(&to[0], &fine[0], &section[0], strips, cells, &weight[0], rows)
}

func (k *sumKernel) segments(i int, from, to []nodeOffset) {
	if n := len(from); n > 0 {
		g, to := k.g[i:i+n], to[:n]
		sumSegments(&k.v, &g[0], &from[0], &to[0], n, k.wing)
	}
}

// For all of these n > 0, and pieces > 0.

//go:noescape
func nodeOffsets(row *nodeOffset, nx, ny, nz *float64, n int, x, y, z, ym float64)

//go:noescape
func aicSegments(k *aicKernel, v *vec, from, to *nodeOffset, n int)

//go:noescape
func aicLegs(k *aicKernel, v *vec, from *nodeOffset, n int)

//go:noescape
func gradientSegments(k *gradientKernel, v *vec, gamma *float64, from, to *nodeOffset, n int)

//go:noescape
func gradientLegs(k *gradientKernel, v *vec, gamma *float64, from *nodeOffset, n int)

//go:noescape
func legPieces(out *pathVelocity, corner *vec, pieces int, from *nodeOffset, d, e *direction, core4 float64, directions int)

//go:noescape
func legMotionPieces(out *[wakeMotions]vec, corner, byHeight, byPitch *vec, pieces int, from *nodeOffset, core4 float64)

//go:noescape
func sourceSegments(k *sourceKernel, v *sourceVelocity, from, to *nodeOffset, n int)

//go:noescape
func velocitySegments(v *vec, from, to *nodeOffset, n int)

//go:noescape
func sumSegments(v *vec, gamma *float64, from, to *nodeOffset, n int, wing float64)

//go:noescape
func weightedSources(to, fine *sourceVelocity, section *float64, strips, cells int, weight *float64, rows int)
