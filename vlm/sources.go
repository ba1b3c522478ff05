package vlm

import (
	"gonum.org/v1/gonum/spatial/r3"
)

// The sources that stand for the thickness lie along the bound filaments of the image
// lattice. For a source of strength 1 spread evenly from A to B, with r1, r2, a, b as in
// filament.go,
//
//	v = 1/(4 pi) N/D,  N = r1/a + r2/b,  D = ab + r1.r2,
//
// and when the point moves by d, with F = N/D and S = a + b,
//
//	dN = (1/a + 1/b) d - r1 (r1.d)/a^3 - r2 (r2.d)/b^3,  dD = S N.d,
//	dF = dN/D - S F (F.d).
//
// The reflection of a source in a plane has the same sign, so that its field is the
// source's own at the reflected point, reflected, as a vortex's is. Nothing is singular
// here: only images act, and they lie apart. The factor 1/(4 pi) is left to the callers.

// sourceVelocity is the velocity of a source, or of several, at a point that sees it as an
// image; and its derivatives.
type sourceVelocity struct {
	v  vec
	vz vec // with the point's z
	vt vec // as the point moves by (tx, 0, tz), see aicKernel
}

func (s *sourceVelocity) add(f float64, o *sourceVelocity) {
	s.v.add(f, &o.v)
	s.vz.add(f, &o.vz)
	s.vt.add(f, &o.vt)
}

func (v *vec) add(f float64, o *vec) {
	v.x += f * o.x
	v.y += f * o.y
	v.z += f * o.z
}

// sourceKernel computes the velocity of each source and its reflection in the plane of
// symmetry together.
type sourceKernel struct {
	v      []sourceVelocity // per cell of the image lattice
	tx, tz float64
}

// segmentsGo takes the sources of the cells from i on; segments does the same, with vector
// registers where there is code for them.
func (k *sourceKernel) segmentsGo(i int, from, to []nodeOffset) {
	v, to := k.v[i:i+len(from)], to[:len(from)]
	tx, tz := k.tx, k.tz
	for j := range from {
		p, q, o := &from[j], &to[j], &v[j]
		flat := p.x*q.x + p.z*q.z
		d, dm := 1/(p.r*q.r+flat+p.y*q.y), 1/(p.rm*q.rm+flat+p.ym*q.ym)
		one := func(py, qy, pr, qr, ia, ib, d float64) (fx, fy, fz, zx, zy, zz, mx, my, mz float64) {
			ax, ay, az := p.x*ia, py*ia, p.z*ia
			bx, by, bz := q.x*ib, qy*ib, q.z*ib
			fx, fy, fz = (ax+bx)*d, (ay+by)*d, (az+bz)*d
			ia, ib = ia*d, ib*d
			s := pr + qr
			w, ca, cb := s*fz, az*ia, bz*ib
			zx = -ax*ca - bx*cb - fx*w
			zy = -ay*ca - by*cb - fy*w
			zz = ia + ib - az*ca - bz*cb - fz*w
			w, ca, cb = s*(fx*tx+fz*tz), (ax*tx+az*tz)*ia, (bx*tx+bz*tz)*ib
			mx = (ia+ib)*tx - ax*ca - bx*cb - fx*w
			my = -ay*ca - by*cb - fy*w
			mz = (ia+ib)*tz - az*ca - bz*cb - fz*w
			return
		}
		fx, fy, fz, zx, zy, zz, mx, my, mz := one(p.y, q.y, p.r, q.r, p.inv, q.inv, d)
		gx, gy, gz, yx, yy, yz, nx, ny, nz := one(p.ym, q.ym, p.rm, q.rm, p.invm, q.invm, dm)
		o.v.x, o.v.y, o.v.z = fx+gx, fy-gy, fz+gz
		o.vz.x, o.vz.y, o.vz.z = zx+yx, zy-yy, zz+yz
		o.vt.x, o.vt.y, o.vt.z = mx+nx, my-ny, mz+nz
	}
}

// evaluateSources calls the kernel with the sources of all thick surfaces, for the
// evaluation point (x, y, z).
func (f *field) evaluateSources(x, y, z float64, k *sourceKernel, r *offsetRows) {
	ym := -y
	if !f.mirror {
		ym = noMirror
	}
	for i := range f.grids {
		g := &f.grids[i]
		if !g.thick {
			continue
		}
		row := r[0][:g.strips+1]
		for n := range g.rows {
			f.offsets(row, g.node+n*(g.strips+1), x, y, z, ym)
			k.segments(g.cell+n*g.strips, row[:g.strips], row[1:])
		}
	}
}

// thicken fills in what the thickness needs.
func (l *Lattice) thicken() {
	for _, g := range l.grids {
		l.thick = l.thick || g.thick
	}
	if !l.thick {
		return
	}
	n := l.Cells()
	l.seenCtrl, l.seenMid, l.tangent = makePoints(n), makePoints(l.mid.len()), makePoints(n)
	l.bound, l.section = make([]int, n), make([]float64, n)
	strip := 0
	for _, g := range l.grids {
		var weights []float64
		if g.thick {
			weights = sourceWeights(l.rows, g.rows, g.rows)
		}
		l.sourceWeights = append(l.sourceWeights, weights)
		bound, ctrl, _ := chordPositions(l.rows, g.rows)
		for j := range g.strips {
			c := l.stripColumn[strip+j]
			largest := (1-c.eta)*c.from.Thickness*c.from.Chord + c.eta*c.to.Thickness*c.to.Chord
			for k := range g.rows {
				cell := g.cell + k*g.strips + j
				l.section[cell] = largest * l.stripGeometry[strip+j].Width
				l.seenCtrl.set(cell, c.below(ctrl[k], exchange))
				along := r3.Add(r3.Scale(1-c.eta, c.from.tangent(c.from.Camber.Slope(bound[k]))), r3.Scale(c.eta, c.to.tangent(c.to.Camber.Slope(bound[k]))))
				l.tangent.set(cell, r3.Unit(along))
			}
		}
		strip += g.strips
	}
	seen := l.seenNodes()
	for e, ends := range l.ends {
		t := .5
		if c := l.cell[e]; c >= 0 {
			l.bound[c] = e
			t = l.stripMid[l.strip[e][0]]
		}
		l.seenMid.set(e, r3.Add(r3.Scale(1-t, seen.at(ends[0])), r3.Scale(t, seen.at(ends[1]))))
	}
}

// seenNodes returns the lattice's nodes, lowered to where they exchange velocities with
// the images.
func (l *Lattice) seenNodes() points {
	p := makePoints(l.node.len())
	for i, g := range l.grids {
		positions, _, _ := chordPositions(l.rows, g.rows)
		for k, xi := range append(positions, 1) {
			for j, c := range l.columns[i] {
				p.set(g.node+k*len(l.columns[i])+j, c.below(xi, exchange))
			}
		}
	}
	return p
}

// thickStates holds what the thickness needs on the way to a solution, per cell and, where
// it says so, for each pair of cells: first the one acted upon, then the one that acts.
type thickStates struct {
	fine   []sourceVelocity // per cell of the image lattice, a kernel's result
	source []sourceVelocity // per cell, velocity of its sources for a local stream of 1

	// On the bound elements' middles:
	vortex  []vec            // pairs: velocity of the image of a ring, not reflected, without 1/(4 pi)
	sources []sourceVelocity // pairs: the same of the images of the sources, with derivatives
	sum     []imageVelocity  // the images of all rings in the steady flow
	atMid   [][states]r3.Vec // the images of all sources in each of the states

	// On the control points, along the normal:
	toNormal, toNormalByZ, toNormalByT []float64 // pairs: of the images of the sources; derivatives with height and pitch

	along  []float64         // pairs: local stream due to the image of a ring
	stream [states][]float64 // local stream
	base   [states][]float64 // the part of it that does not depend on the circulations
}

func newThickStates(n int) *thickStates {
	t := &thickStates{
		source: make([]sourceVelocity, n), vortex: make([]vec, n*n), sources: make([]sourceVelocity, n*n), sum: make([]imageVelocity, n), atMid: make([][states]r3.Vec, n),
		toNormal: make([]float64, n*n), toNormalByZ: make([]float64, n*n), toNormalByT: make([]float64, n*n),
		along: make([]float64, n*n),
	}
	for s := range states {
		t.stream[s], t.base[s] = make([]float64, n), make([]float64, n)
	}
	return t
}

// sourceVelocities computes the velocity at (x, y, z), as seen, of the image of the sources
// of every cell, in ws.thick.source.
func (ws *workspace) sourceVelocities(p *PitchedLattice, x, y, z, height float64) {
	im, t := ws.image, ws.thick
	k := &sourceKernel{v: t.fine, tx: 2 * (z + height), tz: 2 * x}
	im.field.evaluateSources(x, y, -z-2*height, k, &ws.rows)
	for i, g := range p.l.grids {
		if !g.thick {
			continue
		}
		f, w := im.grids[i], im.sourceWeights[i]
		fine, section := t.fine[f.cell:f.cell+f.rows*g.strips], p.l.section[g.cell:g.cell+g.strips]
		for r := range g.rows {
			weighSources(t.source[g.cell+r*g.strips:][:g.strips], fine, section, w[r:], g.rows)
		}
	}
}

// weighSourcesGo computes the velocity of the sources of a row of cells from that of the
// image's cells, row by row as wide. Those of a strip have every rows-th of the weights;
// section is per strip. weighSources does the same, with vector registers where there is
// code for them.
func weighSourcesGo(to, fine []sourceVelocity, section, weight []float64, rows int) {
	for j := range to {
		// Component by component, so that sums stay in registers.
		var vx, vy, vz, zx, zy, zz, tx, ty, tz float64
		for q, at := j, 0; q < len(fine); q, at = q+len(to), at+rows {
			o, w := &fine[q], weight[at]
			vx += w * o.v.x
			vy += w * o.v.y
			vz += w * o.v.z
			zx += w * o.vz.x
			zy += w * o.vz.y
			zz += w * o.vz.z
			tx += w * o.vt.x
			ty += w * o.vt.y
			tz += w * o.vt.z
		}
		c := section[j]
		to[j] = sourceVelocity{vec{c * vx, c * vy, c * vz}, vec{c * zx, c * zy, c * zz}, vec{c * tx, c * ty, c * tz}}
	}
}

// inWater returns the velocity of an image from that of the craft itself at the reflected
// point, and derivatives with height and pitch.
func (s *sourceVelocity) inWater() imageVelocity {
	const c = over4Pi
	return imageVelocity{
		v:      vec{c * s.v.x, c * s.v.y, -c * s.v.z},
		height: vec{-2 * c * s.vz.x, -2 * c * s.vz.y, 2 * c * s.vz.z},
		pitch:  vec{c * (s.vt.x + s.v.z), c * s.vt.y, -c * (s.vt.z - s.v.x)},
	}
}

// along returns the local stream along a tangent t (water axes) of a velocity; and
// its derivatives with height and pitch while t turns with the craft.
func (v imageVelocity) along(t r3.Vec) (stream, byHeight, byPitch float64) {
	return r3.Dot(t, v.v.r3()), r3.Dot(t, v.height.r3()), r3.Dot(t, v.pitch.r3()) + r3.Dot(pitchDerivative(t), v.v.r3())
}

// thicken adds the sources' part to the equations: to the matrix in ws.a, and to the
// right-hand sides in ws.state of the steady flow and the two rates. It comes before the
// matrix is factorized.
func (ws *workspace) thicken(c *canceller, p *PitchedLattice, height float64) error {
	t, l, n := ws.thick, p.l, p.l.Cells()
	// The stream along the chord, without images.
	for i := range n {
		tangent := p.tangent.at(i)
		t.stream[steady][i] = tangent.X
		t.stream[byHeaveRate][i] = -tangent.Z
		t.stream[byPitchRate][i] = -r3.Dot(tangent, pitchDerivative(p.mid.at(l.bound[i])))
		t.stream[byHeight][i] = 0
		t.stream[byPitch][i] = pitchDerivative(tangent).X
	}
	for s := range states {
		copy(t.base[s], t.stream[s])
	}
	for _, g := range l.grids {
		ws.selectImage(p, g.sheet, height)
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			if err := c.spend(2 * len(ws.imageFilament) * operationsPerFilament); err != nil {
				return err
			}
			x := p.seenCtrl.at(i)
			ws.sourceVelocities(p, x.X, x.Y, x.Z, height)
			normal := p.normal.at(i)
			for j := range t.source {
				v := t.source[j].inWater()
				t.toNormal[i*n+j], t.toNormalByZ[i*n+j], t.toNormalByT[i*n+j] = v.along(normal)
			}
			x = p.seenMid.at(l.bound[i])
			tangent := p.tangent.at(i)
			ws.imageVelocitiesAt(p, x.X, x.Y, x.Z, height)
			copy(t.vortex[i*n:(i+1)*n], ws.ring)
			for j, v := range ws.ring {
				t.along[i*n+j] = over4Pi * (tangent.X*v.x + tangent.Y*v.y - tangent.Z*v.z)
			}
			ws.sourceVelocities(p, x.X, x.Y, x.Z, height)
			copy(t.sources[i*n:(i+1)*n], t.source)
			var steadily sourceVelocity
			for j := range t.source {
				v := t.source[j].inWater()
				steadily.add(t.stream[steady][j], &t.source[j])
				a := r3.Dot(tangent, v.v.r3())
				for s := range states {
					t.base[s][i] += a * t.stream[s][j]
				}
			}
			_, byH, byP := steadily.inWater().along(tangent)
			t.base[byHeight][i] += byH
			t.base[byPitch][i] += byP
		}
	}
	along := func(k int) []float64 { return t.along[k*n : (k+1)*n] }
	for i := range n {
		row, to := ws.a.row(i), t.toNormal[i*n:(i+1)*n]
		k := 0
		for ; k+4 <= n; k += 4 {
			addFour(row, along(k), along(k+1), along(k+2), along(k+3), (*[4]float64)(to[k:]))
		}
		for ; k < n; k++ {
			for j, v := range along(k) {
				row[j] += to[k] * v
			}
		}
		for _, s := range [...]int{steady, byHeaveRate, byPitchRate} {
			ws.state[s][i] -= dot(to, t.base[s])
		}
	}
	return nil
}

// thickenDerivatives completes the right-hand sides for height and pitch, once the steady
// circulations are known.
func (ws *workspace) thickenDerivatives(c *canceller, p *PitchedLattice, height float64) error {
	t, l, n := ws.thick, p.l, p.l.Cells()
	steadily := ws.state[steady]
	for _, g := range l.grids {
		ws.selectImage(p, g.sheet, height)
		ws.image.prolong(l.grids, steadily, ws.imageGamma)
		circulations(ws.image.grids, ws.imageGamma, ws.strength)
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			if err := c.spend(len(ws.imageFilament) * operationsPerFilament); err != nil {
				return err
			}
			x := p.seenMid.at(l.bound[i])
			t.sum[i] = ws.imageVelocityAt(p, x.X, x.Y, x.Z, height)
			_, byH, byP := t.sum[i].along(p.tangent.at(i))
			t.base[byHeight][i] += byH
			t.base[byPitch][i] += byP
		}
	}
	ws.localStream(steady, n)
	for i := range n {
		to := t.toNormal[i*n : (i+1)*n]
		ws.state[byHeight][i] -= dot(t.toNormalByZ[i*n:(i+1)*n], t.stream[steady]) + dot(to, t.base[byHeight])
		ws.state[byPitch][i] -= dot(t.toNormalByT[i*n:(i+1)*n], t.stream[steady]) + dot(to, t.base[byPitch])
	}
	return nil
}

// localStream completes the local stream in a state from its circulations.
func (ws *workspace) localStream(state, n int) {
	t := ws.thick
	for i := range n {
		t.stream[state][i] = t.base[state][i] + dot(t.along[i*n:(i+1)*n], ws.state[state])
	}
}

// strength returns the strength of the sources of a cell of the lattice itself, m2 (per U).
func (l *Lattice) strength(g grid, cell int, stream []float64) (q float64) {
	l.strengthOf(g, cell, func(from int, weight float64) { q += weight * stream[from] })
	return q
}

// strengthOf calls add with the cells whose local streams make the strength of the sources
// of a cell of the lattice itself, and with their weights, m2.
func (l *Lattice) strengthOf(g grid, cell int, add func(from int, weight float64)) {
	w := l.sourceWeights[g.surface]
	row, j := (cell-g.cell)/g.strips, (cell-g.cell)%g.strips
	for r := range g.rows {
		add(g.cell+r*g.strips+j, w[row*g.rows+r]*l.section[cell])
	}
}

// sourceStrengths adds to `to` the strengths of the sources of an image, per cell of it, from
// the local stream at the lattice's cells.
func (im *imageLattice) sourceStrengths(l *Lattice, stream, to []float64) {
	for i, g := range l.grids {
		if !g.thick {
			continue
		}
		f, w := im.grids[i], im.sourceWeights[i]
		for row := range f.rows {
			to := to[f.cell+row*g.strips:][:g.strips]
			for r := range g.rows {
				weight, o := w[row*g.rows+r], g.cell+r*g.strips
				for j := range to {
					to[j] += weight * l.section[o+j] * stream[o+j]
				}
			}
		}
	}
}

// atMiddles fills in t.atMid: the velocity of the images of all sources at the middle of each
// bound element, in each of the states.
func (t *thickStates) atMiddles(n int) {
	for i := range t.atMid {
		var sum [states]vec
		var steadily sourceVelocity
		source := t.sources[i*n : (i+1)*n]
		for j := range source {
			o := &source[j]
			for s := range states {
				sum[s].add(t.stream[s][j], &o.v)
			}
			q := t.stream[steady][j]
			steadily.vz.add(q, &o.vz)
			steadily.vt.add(q, &o.vt)
		}
		steadily.v = sum[steady]
		v := &t.atMid[i]
		for s := range states {
			v[s] = sum[s].inWater()
		}
		im := steadily.inWater()
		v[byHeight] = r3.Add(v[byHeight], im.height.r3())
		v[byPitch] = r3.Add(v[byPitch], im.pitch.r3())
	}
}

// sourceImages returns the velocity of the images of all sources at the middle of element
// e, in each of the states. At a chordwise element it is the mean of what the bound ones
// about it see, which lie within a cell of it: the images lie apart, and their velocity
// changes little from one to the next.
func (ws *workspace) sourceImages(p *PitchedLattice, e int) (v [states]r3.Vec) {
	t, l := ws.thick, p.l
	if c := l.cell[e]; c >= 0 {
		return t.atMid[c]
	}
	about, n := l.about(e)
	for _, c := range about[:n] {
		for s := range v {
			v[s] = r3.Add(v[s], r3.Scale(1/float64(n), t.atMid[c][s]))
		}
	}
	return v
}

// about returns the cells, n of them, whose bound elements lie about a chordwise element:
// at its front and at its back, on either side.
func (l *Lattice) about(e int) (cells [4]int, n int) {
	for _, side := range [...]int{l.plus[e], l.minus[e]} {
		if side < 0 {
			continue
		}
		g := l.grids[l.grid[l.bound[side]]]
		for _, c := range [...]int{side, side + g.strips} {
			if c < g.cell+g.rows*g.strips {
				cells[n] = c
				n++
			}
		}
	}
	return cells, n
}

// inWater returns the velocity of an image from that of the craft itself at the reflected
// point.
func (v vec) inWater() r3.Vec { return r3.Vec{X: over4Pi * v.x, Y: over4Pi * v.y, Z: -over4Pi * v.z} }

// sourceForces returns half the force, per q, on the sources of a cell and its derivatives,
// given the velocity of the images of all sources there: a source of strength Q in a
// stream V bears -rho Q V (Lagally 1922). Without it a section in plane flow would have drag.
func (ws *workspace) sourceForces(p *PitchedLattice, cell int, sources [states]r3.Vec) (force [states]r3.Vec) {
	t, l, n := ws.thick, p.l, p.l.Cells()
	g := l.grids[l.grid[l.bound[cell]]]
	if !g.thick {
		return force
	}
	var sum [states]vec
	for j, v := range t.vortex[cell*n : (cell+1)*n] {
		for s := range states {
			sum[s].add(ws.gamma[j*states+s], &v)
		}
	}
	var q [states]float64
	v := sources
	for s := range states {
		v[s] = r3.Add(v[s], sum[s].inWater())
		q[s] = l.strength(g, cell, t.stream[s])
	}
	v[byHeight] = r3.Add(v[byHeight], t.sum[cell].height.r3())
	v[byPitch] = r3.Add(v[byPitch], t.sum[cell].pitch.r3())
	if p.motion != nil {
		for m, image := range ws.wakes.image {
			d := image[l.bound[cell]].r3()
			v[wakeState[m]] = r3.Add(v[wakeState[m]], d)
			v[wakeRate[m]] = r3.Sub(v[wakeRate[m]], r3.Scale(p.motion.Lag, d))
		}
	}
	for s := range states {
		force[s] = r3.Scale(-q[s], v[steady])
		if s != steady {
			force[s] = r3.Sub(force[s], r3.Scale(q[steady], v[s]))
		}
	}
	return force
}
