package vlm

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// The states of the flow that one factorisation serves: the steady flow and its
// derivatives with height, pitch, heave rate and pitch rate.
const (
	steady = iota
	byHeight
	byPitch
	byHeaveRate
	byPitchRate
	states
)

// workspace holds everything a solution needs on the way, so that solving
// allocates only its result.
type workspace struct {
	rows       rows
	b, l       []float64 // per node: filament influences or circulations
	bv, lv     points
	a          *mat.Dense // cells x cells
	lu         mat.LU
	rhs, gamma *mat.Dense // cells x states
	g          [states][]float64
	vx, vy, vz []float64 // per cell: one force element's influences
	images     []float64 // per cell: one control point's normal velocity
}

func newWorkspace(l *Lattice) *workspace {
	n, nodes, widest := l.Cells(), l.node.len(), 0
	for _, g := range l.grids {
		widest = max(widest, g.strips+1)
	}
	ws := &workspace{
		rows: makeRows(widest),
		b:    make([]float64, nodes), l: make([]float64, nodes),
		bv: makePoints(nodes), lv: makePoints(nodes),
		a:   mat.NewDense(n, n, nil),
		rhs: mat.NewDense(n, states, nil), gamma: mat.NewDense(n, states, nil),
		vx: make([]float64, n), vy: make([]float64, n), vz: make([]float64, n),
		images: make([]float64, n),
	}
	for s := range ws.g {
		ws.g[s] = make([]float64, n)
	}
	return ws
}

// rings turns influences of filaments into influences of rings, times s.
func rings(grids []grid, b, l, out []float64, s float64) {
	for _, g := range grids {
		w := g.strips + 1
		for k := 0; k < g.rows; k++ {
			o := g.node + k*w
			c := g.cell + k*g.strips
			row := out[c : c+g.strips]
			last := k == g.rows-1
			for j := range row {
				i := o + j
				v := b[i] + l[i+1] - l[i]
				if last {
					v += l[i+w+1] - l[i+w]
				} else {
					v -= b[i+w]
				}
				row[j] = v * s
			}
		}
	}
}

// filaments turns circulations of rings into those of filaments.
func filaments(grids []grid, gamma, b, l []float64) {
	for _, g := range grids {
		w := g.strips + 1
		for k := 0; k <= g.rows; k++ {
			o := g.node + k*w
			// Behind the trailing edge the last row goes on.
			c := g.cell + min(k, g.rows-1)*g.strips
			for j := 0; j < w; j++ {
				v := 0.0
				if j > 0 {
					v += gamma[c+j-1]
				}
				if j < g.strips {
					v -= gamma[c+j]
				}
				l[o+j] = v
				if k == g.rows || j == g.strips {
					b[o+j] = 0
					continue
				}
				v = gamma[c+j]
				if k > 0 {
					v -= gamma[c+j-g.strips]
				}
				b[o+j] = v
			}
		}
	}
}

const over4Pi = 1 / (4 * math.Pi)

// washRow writes the normal velocity at control point i, put at height z, of
// every ring. With z and nz mirrored in the water the result is the image's:
// the field of a mirrored craft at a point is the craft's at the mirrored point.
func (ws *workspace) washRow(p *Pose, i int, z, nz float64, body int, out []float64) {
	clear(ws.b)
	clear(ws.l)
	x, y, nx, ny := p.ctrl.x[i], p.ctrl.y[i], p.normal.x[i], p.normal.y[i]
	p.field.wash(x, y, z, nx, ny, nz, body, ws.b, ws.l, &ws.rows)
	if p.l.mirror {
		p.field.wash(x, -y, z, nx, -ny, nz, body, ws.b, ws.l, &ws.rows)
	}
	rings(p.l.grids, ws.b, ws.l, out, over4Pi)
}

// velocityRow writes the velocity at the middle of element e, put at height z,
// of every ring; sz is -1 for the image.
func (ws *workspace) velocityRow(p *Pose, e int, z, sz float64, body int, vx, vy, vz []float64) {
	for _, s := range [...][]float64{ws.bv.x, ws.bv.y, ws.bv.z, ws.lv.x, ws.lv.y, ws.lv.z} {
		clear(s)
	}
	x, y := p.mid.x[e], p.mid.y[e]
	p.field.velocity(x, y, z, 1, sz, body, ws.bv, ws.lv, &ws.rows)
	if p.l.mirror {
		p.field.velocity(x, -y, z, -1, sz, body, ws.bv, ws.lv, &ws.rows)
	}
	rings(p.l.grids, ws.bv.x, ws.lv.x, vx, over4Pi)
	rings(p.l.grids, ws.bv.y, ws.lv.y, vy, over4Pi)
	rings(p.l.grids, ws.bv.z, ws.lv.z, vz, over4Pi)
}

// motion is the velocity at a point that moves with the craft, circulations held.
type motion struct {
	wake   vec // velocity of the real wakes
	image  vec // velocity of all images
	height vec // derivative with height
	pitch  vec // derivative with pitch, without that of the real surfaces' part, which merely turns
}

// moved returns the motion at (x, y, z) for the circulations in ws.b and ws.l.
func (ws *workspace) moved(p *Pose, x, y, z, height float64, body int, water bool) (v motion) {
	sides, sy := 1, 1.0
	if p.l.mirror {
		sides = 2
	}
	for ; sides > 0; sides-- {
		w := p.field.wakesAt(x, sy*y, z, body, ws.l)
		v.wake.add(over4Pi, w.wake.x, sy*w.wake.y, w.wake.z)
		v.pitch.add(over4Pi, w.turn.x, sy*w.turn.y, w.turn.z)
		if water {
			// The image is the craft's own field at the mirrored point, mirrored. Seen
			// from the craft that point sinks at twice the heave, and as the craft
			// pitches it turns the other way.
			j := p.field.jetAt(x, sy*y, -z-2*height, ws.b, ws.l, &ws.rows)
			cx, cz := 2*(z+height), 2*x
			v.image.add(over4Pi, j.bound.x+j.wake.x, sy*(j.bound.y+j.wake.y), -(j.bound.z + j.wake.z))
			v.height.add(-2*over4Pi, j.dz.x, sy*j.dz.y, -j.dz.z)
			v.pitch.add(over4Pi,
				j.dx.x*cx+j.dz.x*cz+j.turn.x+j.bound.z,
				sy*(j.dx.y*cx+j.dz.y*cz+j.turn.y),
				-(j.dx.z*cx + j.dz.z*cz + j.turn.z - j.bound.x))
		}
		sy = -sy
	}
	return v
}
