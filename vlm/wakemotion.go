package vlm

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// WakeMotion is how the way of free wakes changes with the attitude. ByHeight and ByPitch are
// the changes of the legs' offsets per m of the datum's height and per rad of pitch:
// weighted sums of ways at attitudes nearby, see [CombineFreeWakes].
//
// While the craft moves, the way that a wing meets behind another is that of an attitude
// some time ago: Lag is how far a wake is carried until its change of way is felt, m. To
// first order in the rates that is a load against the rates.
type WakeMotion struct {
	ByHeight, ByPitch *FreeWake
	Lag               float64
}

// The two motions of a wake, as indices.
const (
	wakeByHeight = iota
	wakeByPitch
	wakeMotions
)

// wakeState and wakeRate are the states that a motion of the wake is part of: at once, and
// by its lag.
var (
	wakeState = [wakeMotions]int{wakeByHeight: byHeight, wakeByPitch: byPitch}
	wakeRate  = [wakeMotions]int{wakeByHeight: byHeaveRate, wakeByPitch: byPitchRate}
)

// wakeFlow is how the flow changes, the circulations held, as the legs move in either way.
type wakeFlow struct {
	// Per element, at its middle: of the legs themselves, and of their images.
	own, image [wakeMotions][]vec
	stream     [wakeMotions][]float64 // per cell, along the chord, of the images
	strength   []float64              // per filament, its circulation
}

func newWakeFlow(l *Lattice) *wakeFlow {
	w := &wakeFlow{strength: make([]float64, 2*l.node.len())}
	for m := range wakeMotions {
		w.own[m], w.image[m] = make([]vec, l.mid.len()), make([]vec, l.mid.len())
		w.stream[m] = make([]float64, l.Cells())
	}
	return w
}

// followWakes adds to the right-hand sides what the legs' change of way brings, once the
// steady circulations are known, and fills in ws.wakes.
func (ws *workspace) followWakes(c *canceller, p *PitchedLattice, height float64, water bool) error {
	l, w, x, lag := p.l, ws.wakes, &ws.state, p.motion.Lag
	circulations(l.grids, x[steady], w.strength)
	operations := 0
	for i, g := range l.grids {
		if p.field.bent[i] != nil {
			operations += 4 * (g.strips + 1) * (wakePieces + 1) * operationsPerFilament
		}
	}
	// A leg leaves the trailing edge, where a section has no thickness: the image's legs are
	// those of the lattice.
	image := func(seen r3.Vec) (v [wakeMotions]vec) {
		if water {
			v = p.legMotion(seen.X, seen.Y, -seen.Z-2*height, w.strength, nil, noBody, &ws.rows)
			for m := range v {
				v[m].z = -v[m].z
			}
		}
		return v
	}
	for _, g := range l.grids {
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			if err := c.spend(operations); err != nil {
				return err
			}
			own := p.legMotion(p.ctrl.x[i], p.ctrl.y[i], p.ctrl.z[i], w.strength, l.core, g.body, &ws.rows)
			of := image(p.seenCtrl.at(i))
			normal := p.normal.at(i)
			for m := range own {
				v := r3.Dot(normal, r3.Add(own[m].r3(), of[m].r3()))
				x[wakeState[m]][i] -= v
				x[wakeRate[m]][i] += lag * v
			}
		}
	}
	for e, gi := range l.grid {
		if err := c.spend(operations); err != nil {
			return err
		}
		own := p.legMotion(p.mid.x[e], p.mid.y[e], p.mid.z[e], w.strength, l.core, l.grids[gi].body, &ws.rows)
		of := image(p.seenMid.at(e))
		for m := range own {
			w.own[m][e], w.image[m][e] = own[m], of[m]
		}
	}
	if !water || !l.thick {
		return nil
	}
	// The images of the legs are part of the local stream, too.
	t, n := ws.thick, l.Cells()
	for i := range n {
		tangent := p.tangent.at(i)
		for m := range wakeMotions {
			v := r3.Dot(tangent, w.image[m][l.bound[i]].r3())
			w.stream[m][i] = v
			t.base[wakeState[m]][i] += v
			t.base[wakeRate[m]][i] -= lag * v
		}
	}
	for i := range n {
		for m := range wakeMotions {
			x[wakeRate[m]][i] += lag * dot(t.toNormal[i*n:(i+1)*n], w.stream[m])
		}
	}
	return nil
}

// legMotion returns how the velocity at (x, y, z), a point of a body, changes as the bent
// legs with their circulations move in either way; core is per node, nil for legs without.
func (p *PitchedLattice) legMotion(x, y, z float64, strength, core []float64, body int, rows *offsetRows) (v [wakeMotions]vec) {
	f := &p.field
	along := strength[len(strength)/2:]
	ym := -y
	if !f.mirror {
		ym = noMirror
	}
	for i := range f.grids {
		if f.bent[i] == nil {
			continue
		}
		g := &f.grids[i]
		o := g.node + g.rows*(g.strips+1)
		row := rows[0][:g.strips+1]
		f.offsets(row, o, x, y, z, ym)
		ways := [wakeMotions][]path{p.motion.ByHeight.paths[i], p.motion.ByPitch.paths[i]}
		for j := g.first; j < g.end; j++ {
			core4 := 0.0
			if core != nil && g.body != body {
				core4 = core[o+j]
			}
			move := f.bent[i][j].motion(&row[j], core4, [wakeMotions]path{ways[0][j], ways[1][j]})
			for m := range v {
				v[m].add(over4Pi*along[o+j], &move[m])
			}
		}
	}
	return v
}

// follow adds to the velocities of an element in each of the states what the legs' change of
// way brings: of the legs and their images.
func (w *wakeFlow) follow(e int, lag float64, seg r3.Vec, f *[states]r3.Vec) {
	for m := range wakeMotions {
		v := r3.Cross(r3.Add(w.own[m][e].r3(), w.image[m][e].r3()), seg)
		f[wakeState[m]] = r3.Add(f[wakeState[m]], v)
		f[wakeRate[m]] = r3.Sub(f[wakeRate[m]], r3.Scale(lag, v))
	}
}

// motionGo returns how the velocity of the leg and its reflection at an offset from its node,
// without 1/(4 pi), changes as its corners move in either way; motion does the same, with vector
// registers where there is code for them.
func (w path) motionGo(p *nodeOffset, core4 float64, ways [wakeMotions]path) [wakeMotions]vec {
	out := w.motionAt(p.x, p.y, p.z, core4, ways)
	if math.Abs(p.ym) < noMirror/2 {
		addReflectedMotion(&out, w.motionAt(p.x, p.ym, p.z, core4, ways))
	}
	return out
}

// addReflectedMotion adds what a reflection's changes at the reflected point.
func addReflectedMotion(to *[wakeMotions]vec, m [wakeMotions]vec) {
	for i := range to {
		to[i].addReflected(&m[i])
	}
}

// motionAt is motionGo of one side, at the offset (x, y, z).
func (w path) motionAt(x, y, z, core4 float64, ways [wakeMotions]path) (out [wakeMotions]vec) {
	last := len(w) - 1
	p := vec{x, y, z}
	a := math.Sqrt(x*x + y*y + z*z + nodeGuard)
	ia := 1 / a
	for k := range last {
		q := vec{x - w[k+1].x, y - w[k+1].y, z - w[k+1].z}
		b := math.Sqrt(q.x*q.x + q.y*q.y + q.z*q.z + nodeGuard)
		ib := 1 / b
		moveSegment(&p, &q, a, b, ia, ib, core4, k, &ways, &out)
		p, a, ia = q, b, ib
	}
	moveInfinite(&p, a, core4, last, &ways, &out)
	return out
}

// moveSegment adds the change of a straight piece's velocity; see path.go.
func moveSegment(p, q *vec, a, b, ia, ib, core4 float64, k int, ways *[wakeMotions]path, out *[wakeMotions]vec) {
	ab := a * b
	s := ab + p.x*q.x + p.y*q.y + p.z*q.z
	if s <= onAxis*ab {
		return
	}
	c := vec{p.y*q.z - p.z*q.y, p.z*q.x - p.x*q.z, p.x*q.y - p.y*q.x}
	sum := a + b
	inv := 1 / (s * sum)
	is, isum := inv*sum, inv*s
	f := sum * is * ia * ib
	var l vec
	slope, h2 := 0.0, 0.0
	if core4 > 0 {
		l = vec{q.x - p.x, q.y - p.y, q.z - p.z}
		l2 := l.x*l.x + l.y*l.y + l.z*l.z
		h2 = (c.x*c.x + c.y*c.y + c.z*c.z) / l2
		root := h2*h2 + core4
		if h2 > 0 {
			slope = 2 * core4 / (h2 * root * l2)
		}
		f *= h2 / math.Sqrt(root)
	}
	// The change of ln F with p and with q: by these factors of p, q, and each other.
	byA, byB := (isum-ia-b*is)*ia, (isum-ib-a*is)*ib
	for m := range ways {
		// The offsets from the corners change against the corners' own motion.
		u, v := &ways[m][k], &ways[m][k+1]
		dx := p.z*v.y - p.y*v.z + u.z*q.y - u.y*q.z
		dy := p.x*v.z - p.z*v.x + u.x*q.z - u.z*q.x
		dz := p.y*v.x - p.x*v.y + u.y*q.x - u.x*q.y
		g := (u.x*q.x+u.y*q.y+u.z*q.z+v.x*p.x+v.y*p.y+v.z*p.z)*is -
			(u.x*p.x+u.y*p.y+u.z*p.z)*byA - (v.x*q.x+v.y*q.y+v.z*q.z)*byB
		if core4 > 0 {
			stretch := l.x*(u.x-v.x) + l.y*(u.y-v.y) + l.z*(u.z-v.z)
			g += slope * (c.x*dx + c.y*dy + c.z*dz - h2*stretch)
		}
		o := &out[m]
		g *= f
		o.x += f*dx + g*c.x
		o.y += f*dy + g*c.y
		o.z += f*dz + g*c.z
	}
}

// moveInfinite adds the change of the part along the stream from corner k on.
func moveInfinite(p *vec, r, core4 float64, k int, ways *[wakeMotions]path, out *[wakeMotions]vec) {
	flat := p.y*p.y + p.z*p.z
	s2 := flat + axisGuard
	if core4 > 0 {
		s2 = math.Sqrt(flat*flat + core4)
	}
	ahead := p.x < 0 && core4 == 0
	f := (1 + p.x/r) / s2
	if ahead {
		f = 1 / (r * (r - p.x)) // the same without 0/0 on the axis ahead
	}
	for m, way := range ways {
		d := vec{-way[k].x, -way[k].y, -way[k].z}
		dr := (p.x*d.x + p.y*d.y + p.z*d.z) / r
		var df float64
		if ahead {
			df = -f * (dr/r + (dr-d.x)/(r-p.x))
		} else {
			ds := 2 * (p.y*d.y + p.z*d.z)
			if core4 > 0 {
				ds *= flat / s2
			}
			df = (d.x-p.x*dr/r)/(r*s2) - f*ds/s2
		}
		out[m].y -= d.z*f + p.z*df
		out[m].z += d.y*f + p.y*df
	}
}
