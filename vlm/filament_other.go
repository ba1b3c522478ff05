//go:build !amd64

package vlm

// Other machines use the loops of filament.go.
type (
	packedAICKernel      = aicKernel
	packedGradientKernel = gradientKernel
)

func (f *field) offsets(row []nodeOffset, o int, x, y, z, ym float64) {
	f.offsetsGo(row, o, x, y, z, ym)
}

func (w path) bothSides(p *nodeOffset, core4 float64, d, e direction) pathVelocity {
	return w.bothSidesGo(p, core4, d, e)
}

func (w path) motion(p *nodeOffset, core4 float64, ways [wakeMotions]path) [wakeMotions]vec {
	return w.motionGo(p, core4, ways)
}

func (k *sourceKernel) segments(i int, from, to []nodeOffset) { k.segmentsGo(i, from, to) }

func (k *velocityKernel) segments(i int, from, to []nodeOffset) { k.segmentsGo(i, from, to) }

func (k *sumKernel) segments(i int, from, to []nodeOffset) { k.segmentsGo(i, from, to) }

func weighSources(to, fine []sourceVelocity, section, weight []float64, rows int) {
	weighSourcesGo(to, fine, section, weight, rows)
}
