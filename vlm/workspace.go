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
	sight    sight
	filament []vec     // per filament, what a kernel found
	ring     []vec     // per cell, the same
	leg      []vec     // per node, of the legs that leave from it
	twist    []vec     // per node, the same
	strength []float64 // per filament of the images, its circulation in the steady flow
	shed     []float64 // per strip, the steady circulation that leaves it

	washes washes
	jets   jets

	a        factors
	byZ, byT []float64         // cells x cells, derivatives of the images' part of a with height and pitch
	state    [states][]float64 // per cell, right-hand sides, then circulations
	gamma    []float64         // cells x states, the same circulations

	image *mirrored // as the sheet in hand sees it
	finer []byte    // per surface, which of the refinements
	found []vec     // per filament of the images, what a kernel found
	fine  []vec     // per cell of the images, the same
	rings []float64 // per cell of the images, circulation
}

// aim makes ws ready for the images as a sheet sees them with the datum at a height.
func (ws *workspace) aim(p *Pose, sheet int, height float64) {
	p.refine(ws.finer, sheet, height)
	im := p.mirrored(ws.finer)
	if ws.image == im {
		return
	}
	ws.image = im
	// Filaments that cancel in the plane of symmetry are never written: they are to be 0.
	ws.found = zeroed(ws.found, 2*im.node.len())
	ws.strength = zeroed(ws.strength, 2*im.node.len())
	ws.fine = zeroed(ws.fine, im.cells)
	ws.rings = zeroed(ws.rings, im.cells)
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

// look finds what the kernel, which writes to ws.found, finds of the images' rings.
func (ws *workspace) look(p *Pose, x, y, z float64, k kernel) {
	im := ws.image
	im.field.look(x, y, z, k, &ws.sight)
	rings(im.grids, ws.found, ws.fine)
	im.gather(p.l.grids, ws.fine, ws.ring)
}

func newWorkspace(l *Lattice) *workspace {
	n, nodes, widest := l.Cells(), l.node.len(), 0
	for _, g := range l.grids {
		widest = max(widest, g.strips+1)
	}
	ws := &workspace{
		sight:    sight{make([]seen, widest), make([]seen, widest)},
		filament: make([]vec, 2*nodes),
		ring:     make([]vec, n),
		leg:      make([]vec, nodes),
		twist:    make([]vec, nodes),
		shed:     make([]float64, len(l.stripWidth)),
		a:        newFactors(n),
		byZ:      make([]float64, n*n),
		byT:      make([]float64, n*n),
		gamma:    make([]float64, n*states),
		finer:    make([]byte, len(l.grids)),
	}
	for s := range ws.state {
		ws.state[s] = make([]float64, n)
	}
	return ws
}

// trailAt finds the velocity at (x, y, z), a point of the body, of the two legs that
// leave each strip together, and its twist, and gives them to set.
func (ws *workspace) trailAt(p *Pose, x, y, z float64, body int, set func(strip int, v, twist vec)) {
	p.field.trail(x, y, z, &wakes{v: ws.leg, twist: ws.twist, core: p.l.core, body: body}, &ws.sight)
	st := 0
	for _, g := range p.l.grids {
		o := g.node + g.rows*(g.strips+1)
		for j := o; j < o+g.strips; j++ {
			a, b, c, d := ws.leg[j], ws.leg[j+1], ws.twist[j], ws.twist[j+1]
			set(st, vec{b.x - a.x, b.y - a.y, b.z - a.z}, vec{d.x - c.x, d.y - c.y, d.z - c.z})
			st++
		}
	}
}

// imageWash finds the normal velocity at control point i of the image of every
// ring, and its derivatives. The image's field is the craft's own at the mirrored
// point, mirrored. Seen from the craft that point sinks at twice the heave, and as
// the craft pitches it turns the other way.
func (ws *workspace) imageWash(p *Pose, i int, height float64) {
	x, y, z := p.ctrl.x[i], p.ctrl.y[i], p.ctrl.z[i]
	k := &ws.washes
	*k = washes{v: ws.found, nx: p.normal.x[i], ny: p.normal.y[i], nz: -p.normal.z[i], tx: 2 * (z + height), tz: 2 * x}
	ws.look(p, x, y, -z-2*height, (*twinWashes)(k))
}

// image is the velocity of the images at a point in the steady flow.
type image struct {
	v      vec
	height vec // its derivative with height
	pitch  vec // and with pitch, the point moving with the craft
}

// imageAt finds the velocity at (x, y, z) of the image of every ring, not yet
// mirrored in the water (and 4 pi times), and their sum in the steady flow.
func (ws *workspace) imageAt(p *Pose, x, y, z, height float64) image {
	k := &ws.jets
	*k = jets{v: ws.found, g: ws.strength, tx: 2 * (z + height), tz: 2 * x}
	ws.look(p, x, y, -z-2*height, (*twinJets)(k))
	var v vec
	steadily := ws.state[steady][:len(ws.ring)]
	for i := range ws.ring {
		g, r := steadily[i], &ws.ring[i]
		v.x += g * r.x
		v.y += g * r.y
		v.z += g * r.z
	}
	// By way of c, z x arm and t x arm. The segments' part turns with the craft.
	const c = over4Pi
	tx, tz := k.tx, k.tz
	return image{ // mirrored in the water
		v: vec{c * v.x, c * v.y, -c * v.z},
		height: vec{
			-2 * c * (k.gz.x - k.arm.y),
			-2 * c * (k.gz.y + k.arm.x + k.legZ.y),
			2 * c * (k.gz.z + k.legZ.z),
		},
		pitch: vec{
			c * (tx*k.gx.x + tz*k.gz.x - tz*k.arm.y + v.z - k.leg.z),
			c * (tx*k.gx.y + tz*k.gz.y + tz*k.arm.x - tx*k.arm.z + k.legT.y),
			-c * (tx*k.gx.z + tz*k.gz.z + tx*k.arm.y + k.legT.z - v.x),
		},
	}
}
