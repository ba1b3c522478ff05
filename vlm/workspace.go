package vlm

import (
	"math"
)

// The states of the flow that one factorisation serves: the steady flow and its
// derivatives with heave rate, pitch rate, height and pitch. The last two need the
// steady flow for their right-hand sides.
const (
	steady = iota
	byHeaveRate
	byPitchRate
	byHeight
	byPitch
	states
)

const over4Pi = 1 / (4 * math.Pi)

// workspace holds everything a solution needs on the way, so that solving
// allocates only its result.
type workspace struct {
	rows       offsetRows
	filament   []vec     // per filament, a kernel's result
	ring       []vec     // per cell, the same
	leg        []vec     // per node, velocity of the trailing leg from it
	legByPitch []vec     // per node, its derivative with pitch
	strength   []float64 // per filament of the image lattice, its circulation in the steady flow
	shed       []float64 // per strip, the steady circulation that leaves it

	aic      aicKernel
	gradient gradientKernel
	flow     imageKernel

	a        factors
	byZ, byT []float64         // cells x cells, derivatives of the images' part of a with height and pitch
	state    [states][]float64 // per cell, right-hand sides, then circulations
	gamma    []float64         // cells x states, the same circulations

	thick *thickStates // nil if all surfaces are thin
	wakes *wakeFlow    // nil until wakes change their way

	image         *pitchedImage // that acts on the current sheet
	refinement    []byte        // per surface, which of the refinements
	imageFilament []vec         // per filament of the image lattice, a kernel's result
	imageRing     []vec         // per cell of the image lattice, the same
	imageGamma    []float64     // per cell of the image lattice, circulation
}

// selectImage prepares ws for the image lattice that acts on a sheet with the datum at
// the height, m.
func (ws *workspace) selectImage(p *PitchedLattice, sheet int, height float64) {
	p.refine(ws.refinement, sheet, height)
	im := p.imageFor(ws.refinement)
	if ws.image == im {
		return
	}
	ws.image = im
	// Filaments that cancel in the plane of symmetry are never written and have to be 0.
	ws.imageFilament = zeroed(ws.imageFilament, 2*im.node.len())
	ws.strength = zeroed(ws.strength, 2*im.node.len())
	ws.imageRing = zeroed(ws.imageRing, im.cells)
	ws.imageGamma = zeroed(ws.imageGamma, im.cells)
	if ws.thick != nil {
		ws.thick.fine = zeroed(ws.thick.fine, im.cells)
	}
}

// zeroed returns n zeros, in s if it is long enough.
func zeroed[T any](s []T, n int) []T {
	if n > cap(s) {
		return make([]T, n)
	}
	s = s[:n]
	clear(s)
	return s
}

// evaluateImage turns the kernel's results for the image's filaments, which it writes to
// ws.imageFilament, into those for the lattice's rings, in ws.ring.
func (ws *workspace) evaluateImage(p *PitchedLattice, x, y, z float64, k kernel) {
	im := ws.image
	im.field.evaluate(x, y, z, k, &ws.rows)
	rings(im.grids, ws.imageFilament, ws.imageRing)
	im.restrict(p.l.grids, ws.imageRing, ws.ring)
}

func newWorkspace(l *Lattice) *workspace {
	n, nodes, widest := l.Cells(), l.node.len(), 0
	for _, g := range l.grids {
		widest = max(widest, g.strips+1)
	}
	ws := &workspace{
		rows:       offsetRows{make([]nodeOffset, widest), make([]nodeOffset, widest)},
		filament:   make([]vec, 2*nodes),
		ring:       make([]vec, n),
		leg:        make([]vec, nodes),
		legByPitch: make([]vec, nodes),
		shed:       make([]float64, len(l.stripGeometry)),
		a:          newFactors(n),
		byZ:        make([]float64, n*n),
		byT:        make([]float64, n*n),
		gamma:      make([]float64, n*states),
		refinement: make([]byte, len(l.grids)),
	}
	for s := range ws.state {
		ws.state[s] = make([]float64, n)
	}
	if l.thick {
		ws.thick = newThickStates(n)
	}
	return ws
}

// legVelocities calls set with the velocity at (x, y, z), a point of the body, of the two
// trailing legs of each strip together, and with its derivative with pitch in craft axes.
func (ws *workspace) legVelocities(p *PitchedLattice, x, y, z float64, body int, set func(strip int, v, byPitch vec)) {
	p.field.evaluateLegs(x, y, z, &legKernel{v: ws.leg, byPitch: ws.legByPitch, core: p.l.core, body: body}, &ws.rows)
	st := 0
	for _, g := range p.l.grids {
		o := g.node + g.rows*(g.strips+1)
		for j := o; j < o+g.strips; j++ {
			a, b, c, d := ws.leg[j], ws.leg[j+1], ws.legByPitch[j], ws.legByPitch[j+1]
			set(st, vec{b.x - a.x, b.y - a.y, b.z - a.z}, vec{d.x - c.x, d.y - c.y, d.z - c.z})
			st++
		}
	}
}

// imageAIC computes the normal velocity at control point i of the image of every
// ring, and its derivatives. The image's field is the craft's own at the reflected
// point, reflected. In craft axes that point sinks at twice the heave and rotates
// against the pitch.
func (ws *workspace) imageAIC(p *PitchedLattice, i int, height float64) {
	x, y, z := p.seenCtrl.x[i], p.seenCtrl.y[i], p.seenCtrl.z[i]
	k := &ws.aic
	*k = aicKernel{v: ws.imageFilament, nx: p.normal.x[i], ny: p.normal.y[i], nz: -p.normal.z[i], tx: 2 * (z + height), tz: 2 * x}
	ws.evaluateImage(p, x, y, -z-2*height, (*packedAICKernel)(k))
}

// imageVelocity is the velocity of the images at a point in the steady flow.
type imageVelocity struct {
	v      vec
	height vec // its derivative with height
	pitch  vec // and with pitch, the point moving with the craft
}

// imageVelocitiesAt computes the velocity at (x, y, z) of the image of every ring, in ws.ring, as
// imageVelocityAt leaves it.
func (ws *workspace) imageVelocitiesAt(p *PitchedLattice, x, y, z, height float64) {
	ws.flow.v = ws.imageFilament
	ws.evaluateImage(p, x, y, -z-2*height, &ws.flow)
}

// imageVelocityAt computes the velocity at (x, y, z) of the image of every ring, in
// ws.ring, not yet reflected in the water and without the factor 1/(4 pi); it returns
// their sum in the steady flow.
func (ws *workspace) imageVelocityAt(p *PitchedLattice, x, y, z, height float64) imageVelocity {
	k := &ws.gradient
	*k = gradientKernel{v: ws.imageFilament, g: ws.strength, tx: 2 * (z + height), tz: 2 * x}
	ws.evaluateImage(p, x, y, -z-2*height, (*packedGradientKernel)(k))
	var v vec
	steadily := ws.state[steady][:len(ws.ring)]
	for i := range ws.ring {
		g, r := steadily[i], &ws.ring[i]
		v.x += g * r.x
		v.y += g * r.y
		v.z += g * r.z
	}
	// Through c: z x arm and t x arm. The segments' part rotates with the craft.
	const c = over4Pi
	tx, tz := k.tx, k.tz
	return imageVelocity{ // reflected in the water
		v: vec{c * v.x, c * v.y, -c * v.z},
		height: vec{
			-2 * c * (k.gz.x - k.arm.y + k.legZ.x),
			-2 * c * (k.gz.y + k.arm.x + k.legZ.y),
			2 * c * (k.gz.z + k.legZ.z),
		},
		pitch: vec{
			c * (tx*k.gx.x + tz*k.gz.x - tz*k.arm.y + k.legT.x + v.z - k.leg.z),
			c * (tx*k.gx.y + tz*k.gz.y + tz*k.arm.x - tx*k.arm.z + k.legT.y),
			-c * (tx*k.gx.z + tz*k.gz.z + tx*k.arm.y + k.legT.z - v.x + k.leg.x),
		},
	}
}
