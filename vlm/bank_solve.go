package vlm

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// The ways in which the flow of a banked craft changes, each with the others held: as it
// rises, as it turns about each axis of the stream, with the speed of rising and with the
// rates of turning. Bank, pitch and slip, and the rates about the craft's own axes, are put
// together from these at the end.
const (
	rising    = 0
	turned    = 1 // and the next two
	heaving   = turned + axes
	rotating  = heaving + 1 // and the next two
	allStates = rotating + axes
)

// bankedWorkspace holds everything a banked solution needs on the way.
type bankedWorkspace struct {
	*workspace
	oneSide  oneSideKernel
	sums     movingKernel
	gamma    []float64            // per cell, steady
	change   [allStates][]float64 // per cell, change of the flow through it, then of the circulation
	byGamma  [][6]float64         // per cell, change of the total load with its circulation
	explicit [allStates]Load      // change of the total load with the circulations and streams held

	// Of a thick lattice. Pairs are of a cell acted upon, first, and one that acts.
	fineSource       []vec                // per cell of the image lattice, velocity of its source
	source           []vec                // per cell, velocity of its sources for a local stream of 1
	inLocal, inFree  []float64            // per cell of the image lattice, of its sources in the local stream and in the free one
	free, stream     []float64            // per cell, local stream without images, and with
	streamBy         [allStates][]float64 // change of the local stream
	toNormal         []float64            // pairs: flow through the surface of the images of the sources
	along            []float64            // pairs: local stream due to the image of a ring
	alongSources     []float64            // pairs: the same of the images of the sources
	vortex, sources  []vec                // pairs: velocities at the middle of the bound element, not reflected
	atMid, sourceMid []movingFlow         // per cell, at that place: of the images of all rings, and of all sources
	byStream         [][6]float64         // per cell, change of the total load with its local stream
	bySources        []byVelocity         // per cell, change of the total load with the velocity of the sources' images there
}

func (l *Lattice) bankedWorkspace() *bankedWorkspace {
	if ws, ok := l.banked.scratch.Get().(*bankedWorkspace); ok {
		return ws
	}
	n := l.Cells()
	ws := &bankedWorkspace{workspace: newWorkspace(l), gamma: make([]float64, n), byGamma: make([][6]float64, n)}
	for s := range ws.change {
		ws.change[s] = make([]float64, n)
	}
	if !l.thick {
		return ws
	}
	ws.source, ws.free, ws.stream = make([]vec, n), make([]float64, n), make([]float64, n)
	for s := range ws.streamBy {
		ws.streamBy[s] = make([]float64, n)
	}
	ws.toNormal, ws.along, ws.alongSources = make([]float64, n*n), make([]float64, n*n), make([]float64, n*n)
	ws.vortex, ws.sources = make([]vec, n*n), make([]vec, n*n)
	ws.atMid, ws.sourceMid = make([]movingFlow, n), make([]movingFlow, n)
	ws.byStream, ws.bySources = make([][6]float64, n), make([]byVelocity, n)
	return ws
}

// Solve returns the flow with the datum at the height over the water, m; +Inf is free air.
// It returns an error if a surface touches the water (*WetError, which names the surface and
// the side), if the height lies outside the method's range, and the context's error once
// that is done.
func (b *BankedLattice) Solve(ctx context.Context, height float64) (*BankedSolution, error) {
	p := b.p
	if err := p.checkHeight(height); err != nil {
		return nil, err
	}
	l, c := p.l, &canceller{ctx: ctx}
	water := !math.IsInf(height, 1)
	ws := l.bankedWorkspace()
	defer l.banked.scratch.Put(ws)
	if err := ws.steadyFlow(c, b, height, water); err != nil {
		return nil, err
	}
	if err := ws.changes(c, b, height, water); err != nil {
		return nil, err
	}
	n := l.Cells()
	s := &BankedSolution{BankedAttitude: b.Attitude(height), Strips: slices.Clone(l.stripGeometry)}
	s.Gamma, s.Pressure = slices.Clone(ws.gamma), make([]float64, n)
	surfaces := make([]Load, len(l.surfaces))
	if err := ws.bankedLoads(c, b, height, water, s, surfaces); err != nil {
		return nil, err
	}
	s.TrefftzDrag = p.wake(s.Gamma).InducedDrag(height)
	by := ws.totalChanges(l, water)
	s.inHeading(p.turn, by, surfaces, l.banked.halves)
	return s, nil
}

// velocities computes what the image of every ring induces at a point, in ws.ring, not yet
// reflected and without 1/(4 pi).
func (ws *bankedWorkspace) velocities(p *PitchedLattice, at r3.Vec, height float64) {
	ws.oneSide.v = ws.imageFilament
	ws.evaluateImage(p, at.X, at.Y, -at.Z-2*height, &ws.oneSide)
}

// sourceVelocities computes what the image of the sources of every cell induces at a point,
// in ws.source, likewise.
func (ws *bankedWorkspace) sourceVelocities(p *PitchedLattice, at r3.Vec, height float64) {
	im := ws.image
	ws.fineSource = zeroed(ws.fineSource, im.cells)
	im.field.eachSourceRow(at.X, at.Y, -at.Z-2*height, &ws.rows, func(first int, row []nodeOffset) {
		sourceRow(ws.fineSource[first:first+len(row)-1], row)
	})
	for i, g := range p.l.grids {
		if !g.thick {
			continue
		}
		f, w := im.grids[i], im.sourceWeights[i]
		fine, section := ws.fineSource[f.cell:f.cell+f.rows*g.strips], p.l.section[g.cell:g.cell+g.strips]
		for r := range g.rows {
			to := ws.source[g.cell+r*g.strips:][:g.strips]
			for j := range to {
				var v vec
				for q, at := j, r; q < len(fine); q, at = q+g.strips, at+g.rows {
					v.add(w[at], &fine[q])
				}
				c := section[j]
				to[j] = vec{c * v.x, c * v.y, c * v.z}
			}
		}
	}
}

// eachSourceRow calls row with the offsets of each row of nodes of the thick surfaces from
// the point (x, y, z), and the first of the cells whose sources lie along it.
func (f *field) eachSourceRow(x, y, z float64, r *offsetRows, row func(first int, row []nodeOffset)) {
	for i := range f.grids {
		g := &f.grids[i]
		if !g.thick {
			continue
		}
		nodes := r[0][:g.strips+1]
		for n := range g.rows {
			f.offsets(nodes, g.node+n*(g.strips+1), x, y, z, noMirror)
			row(g.cell+n*g.strips, nodes)
		}
	}
}

// steadyFlow fills in the factors of the equations, the circulations and the local streams.
func (ws *bankedWorkspace) steadyFlow(c *canceller, b *BankedLattice, height float64, water bool) error {
	p, l := b.p, b.p.l
	n := l.Cells()
	if err := c.spend(n * n); err != nil {
		return err
	}
	copy(ws.a.a, b.aic)
	for i := range n {
		ws.gamma[i] = -p.normal.x[i]
	}
	thick := water && l.thick
	if water {
		for _, g := range l.grids {
			ws.selectImage(p, g.sheet, height)
			for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
				if err := c.spend(4 * len(ws.imageFilament) * operationsPerFilament / 2); err != nil {
					return err
				}
				ws.velocities(p, p.seenCtrl.at(i), height)
				nx, ny, nz := over4Pi*p.normal.x[i], over4Pi*p.normal.y[i], -over4Pi*p.normal.z[i]
				a := ws.a.row(i)
				for j, v := range ws.ring {
					a[j] += nx*v.x + ny*v.y + nz*v.z
				}
				if thick {
					ws.thicken(p, i, height)
				}
			}
		}
	}
	if thick {
		for i := range n {
			ws.free[i] = p.tangent.x[i]
		}
		ws.withSources(ws.free, ws.stream)
		for i := range n {
			if err := c.spend(2 * n * n); err != nil {
				return err
			}
			row, to := ws.a.row(i), ws.toNormal[i*n:(i+1)*n]
			for k, s := range to {
				for j, v := range ws.along[k*n : (k+1)*n] {
					row[j] += s * v
				}
			}
			ws.gamma[i] -= dot(to, ws.stream)
		}
	}
	if err := ws.a.factorize(c); err != nil {
		return err
	}
	ws.a.solve(ws.gamma)
	for st, cell := range l.trailingCell {
		ws.shed[st] = ws.gamma[cell]
	}
	if thick {
		for i := range n {
			ws.stream[i] += dot(ws.along[i*n:(i+1)*n], ws.gamma)
		}
	}
	return nil
}

// thicken fills in the pairs of a cell.
func (ws *bankedWorkspace) thicken(p *PitchedLattice, i int, height float64) {
	n := p.l.Cells()
	inWater := func(t r3.Vec, v vec) float64 { return over4Pi * (t.X*v.x + t.Y*v.y - t.Z*v.z) }
	ws.sourceVelocities(p, p.seenCtrl.at(i), height)
	normal := p.normal.at(i)
	for j, v := range ws.source {
		ws.toNormal[i*n+j] = inWater(normal, v)
	}
	mid, tangent := p.seenMid.at(p.l.bound[i]), p.tangent.at(i)
	ws.velocities(p, mid, height)
	copy(ws.vortex[i*n:(i+1)*n], ws.ring)
	for j, v := range ws.ring {
		ws.along[i*n+j] = inWater(tangent, v)
	}
	ws.sourceVelocities(p, mid, height)
	copy(ws.sources[i*n:(i+1)*n], ws.source)
	for j, v := range ws.source {
		ws.alongSources[i*n+j] = inWater(tangent, v)
	}
}

// withSources sets the local stream from that without images: the images of the sources in
// it add theirs.
func (ws *bankedWorkspace) withSources(free, stream []float64) {
	n := len(free)
	for i := range free {
		stream[i] = free[i] + dot(ws.alongSources[i*n:(i+1)*n], free)
	}
}

// moving returns the flow of the image of all rings in the steady flow at a point, and leaves
// the velocities of its filaments for singly.
func (ws *bankedWorkspace) moving(at r3.Vec, height float64) movingFlow {
	k := &ws.sums
	*k = movingKernel{v: ws.imageFilament, g: ws.strength}
	ws.image.field.evaluate(at.X, at.Y, -at.Z-2*height, k, &ws.rows)
	return k.flow(imageMotion(at.X, at.Y, at.Z, height))
}

// singly returns what the image of each ring induces at the point that moving was last asked
// for, not yet reflected and without 1/(4 pi).
func (ws *bankedWorkspace) singly(p *PitchedLattice) []vec {
	im := ws.image
	rings(im.grids, ws.imageFilament, ws.imageRing)
	im.restrict(p.l.grids, ws.imageRing, ws.ring)
	return ws.ring
}

// movingSources returns the same of the images of all sources: in the local stream, and in
// that without images.
func (ws *bankedWorkspace) movingSources(at r3.Vec, height float64) (local, free movingFlow) {
	var k movingSources
	ws.image.field.eachSourceRow(at.X, at.Y, -at.Z-2*height, &ws.rows, func(first int, row []nodeOffset) {
		last := first + len(row) - 1
		k.row(ws.inLocal[first:last], ws.inFree[first:last], row)
	})
	move := imageMotion(at.X, at.Y, at.Z, height)
	return k.flow(0, move), k.flow(1, move)
}

// selectActing is selectImage with the steady circulations and sources of the image.
func (ws *bankedWorkspace) selectActing(p *PitchedLattice, g grid, height float64) {
	ws.selectImage(p, g.sheet, height)
	im := ws.image
	im.prolong(p.l.grids, ws.gamma, ws.imageGamma)
	circulations(im.grids, ws.imageGamma, ws.strength)
	if p.l.thick {
		ws.inLocal, ws.inFree = zeroed(ws.inLocal, im.cells), zeroed(ws.inFree, im.cells)
		im.sourceStrengths(p.l, ws.stream, ws.inLocal)
		im.sourceStrengths(p.l, ws.free, ws.inFree)
	}
}

// changes fills in how the circulations and local streams change in each of the states: the
// flow through the surface stays 0.
func (ws *bankedWorkspace) changes(c *canceller, b *BankedLattice, height float64, water bool) error {
	p, l := b.p, b.p.l
	n, strips := l.Cells(), len(l.stripGeometry)
	thick := water && l.thick
	if thick {
		if err := ws.streamChanges(c, b, height); err != nil {
			return err
		}
	}
	for _, g := range l.grids {
		if water {
			ws.selectActing(p, g, height)
		}
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			if err := c.spend(len(ws.imageFilament)*operationsPerFilament + 8*n); err != nil {
				return err
			}
			var images movingFlow
			at, normal := p.ctrl.at(i), p.normal.at(i)
			if water {
				images = ws.moving(p.seenCtrl.at(i), height)
			}
			if thick {
				local, _ := ws.movingSources(p.seenCtrl.at(i), height)
				images.add(1, &local)
			}
			ws.change[rising][i] = r3.Dot(normal, images.rise)
			ws.change[heaving][i] = -normal.Z
			for a := range axes {
				// The craft's own field turns with it, except for the trailing legs.
				ws.change[turned+a][i] = r3.Dot(turning(a, normal), r3.Add(r3.Vec{X: 1}, images.v)) + r3.Dot(normal, images.turn[a]) +
					dot(b.legAIC[a][i*strips:(i+1)*strips], ws.shed)
				ws.change[rotating+a][i] = -r3.Dot(normal, turning(a, at))
			}
			if thick {
				for s := range ws.change {
					ws.change[s][i] += dot(ws.toNormal[i*n:(i+1)*n], ws.streamBy[s])
				}
			}
		}
	}
	for s := range ws.change {
		if err := c.spend(2 * n * n); err != nil {
			return err
		}
		x := ws.change[s]
		for i := range x {
			x[i] = -x[i]
		}
		ws.a.solve(x)
	}
	return nil
}

// streamChanges fills in how the local streams change in each of the states, the
// circulations held, and the flow of the images at the middles of the bound elements.
func (ws *bankedWorkspace) streamChanges(c *canceller, b *BankedLattice, height float64) error {
	p, l := b.p, b.p.l
	free := make([]float64, l.Cells())
	for s := range ws.streamBy {
		for i := range free {
			tangent, at := p.tangent.at(i), p.mid.at(l.bound[i])
			switch {
			case s == rising:
				free[i] = 0
			case s < heaving:
				free[i] = turning(s-turned, tangent).X
			case s == heaving:
				free[i] = -tangent.Z
			default:
				free[i] = -r3.Dot(tangent, turning(s-rotating, at))
			}
		}
		ws.withSources(free, ws.streamBy[s])
	}
	for _, g := range l.grids {
		ws.selectActing(p, g, height)
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			if err := c.spend(2 * len(ws.imageFilament) * operationsPerFilament); err != nil {
				return err
			}
			seen, tangent := p.seenMid.at(l.bound[i]), p.tangent.at(i)
			ws.atMid[i] = ws.moving(seen, height)
			var inFree movingFlow
			ws.sourceMid[i], inFree = ws.movingSources(seen, height)
			inFree.add(1, &ws.atMid[i])
			ws.streamBy[rising][i] += r3.Dot(tangent, inFree.rise)
			for a := range axes {
				ws.streamBy[turned+a][i] += r3.Dot(turning(a, tangent), inFree.v) + r3.Dot(tangent, inFree.turn[a])
			}
		}
	}
	return nil
}
