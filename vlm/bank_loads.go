package vlm

import (
	"gonum.org/v1/gonum/spatial/r3"
)

// byVelocity is the change of a load with the velocity along each axis at a place.
type byVelocity [axes][6]float64

// six returns a force at a position and its moment as numbers.
func six(force, at r3.Vec) [6]float64 {
	m := r3.Cross(at, force)
	return [6]float64{force.X, force.Y, force.Z, m.X, m.Y, m.Z}
}

// bankedLoads fills in the steady loads in s and in the surfaces, in the axes of the stream, and in ws
// how the total load changes: explicitly, with the circulations, and with the velocity of
// the sources' images. The forces are those of (*workspace).loads.
func (ws *bankedWorkspace) bankedLoads(cn *canceller, b *BankedLattice, height float64, water bool, s *BankedSolution, surfaces []Load) error {
	p, l := b.p, b.p.l
	n, strips := l.Cells(), len(l.stripGeometry)
	thick := water && l.thick
	clear(ws.byGamma)
	clear(ws.bySources)
	clear(ws.byStream)
	clear(ws.ring)
	ws.explicit = [allStates]Load{}
	actingOn := -1 // the grid that ws has the images for
	for e, gi := range l.grid {
		if err := cn.spend(len(ws.imageFilament)*operationsPerFilament/2 + 36*n); err != nil {
			return err
		}
		g := l.grids[gi]
		pos, seg, u, t := p.mid.at(e), p.seg.at(e), p.u.at(e), p.t.at(e)
		cross := func(c pair) r3.Vec { return r3.Sub(r3.Scale(c.t, u), r3.Scale(c.u, t)) }
		bound := l.cell[e]
		if water && gi != actingOn {
			actingOn = gi
			ws.selectActing(p, g, height)
		}
		var vortices, sources movingFlow // of the images
		ring := ws.ring
		switch {
		case thick && bound >= 0:
			vortices, ring = ws.atMid[bound], ws.vortex[bound*n:(bound+1)*n]
		case water:
			vortices = ws.moving(p.seenMid.at(e), height)
			ring = ws.singly(p)
		}
		var about [4]int // the cells whose sources' images act here, in the mean
		cells := 0
		if thick {
			if about[0], cells = bound, 1; bound < 0 {
				about, cells = l.about(e)
			}
			for _, k := range about[:cells] {
				sources.add(1/float64(cells), &ws.sourceMid[k])
			}
		}
		images := vortices
		images.add(1, &sources)

		plus, minus, gamma := l.plus[e], l.minus[e], 0.0
		if plus >= 0 {
			gamma += ws.gamma[plus]
		}
		if minus >= 0 {
			gamma -= ws.gamma[minus]
		}
		fu, ft := six(r3.Scale(-2*gamma, t), pos), six(r3.Scale(2*gamma, u), pos)
		own := cross(ws.loadsByGamma(b.velocity[e*n:(e+1)*n], ring, u, t, &fu, &ft))
		across := r3.Add(own, r3.Cross(r3.Add(r3.Vec{X: 1}, images.v), seg))
		force := r3.Scale(2*gamma, across)
		byCirculation := six(r3.Scale(2, across), pos)
		for k, v := range byCirculation {
			if plus >= 0 {
				ws.byGamma[plus][k] += v
			}
			if minus >= 0 {
				ws.byGamma[minus][k] -= v
			}
		}
		// The force on the sources of a thick section, see sourceForces.
		q := 0.0
		if thick && bound >= 0 && g.thick {
			q = l.strength(g, bound, ws.stream)
			force = r3.Sub(force, r3.Scale(2*q, images.v))
			ws.onSources(p, bound, q, images.v, pos)
		}
		for k := range about[:cells] {
			for a := range axes {
				unit := axisOf(a)
				f := r3.Scale(2*gamma/float64(cells), r3.Cross(unit, seg))
				if bound >= 0 {
					f = r3.Sub(f, r3.Scale(2*q, unit))
				}
				for i, v := range six(f, pos) {
					ws.bySources[about[k]][a][i] += v
				}
			}
		}

		change := func(state int, f r3.Vec) { ws.explicit[state].add(Load{f, r3.Cross(pos, f)}) }
		forceBy := func(across, images r3.Vec) r3.Vec {
			return r3.Sub(r3.Scale(2*gamma, across), r3.Scale(2*q, images))
		}
		change(rising, forceBy(r3.Cross(images.rise, seg), images.rise))
		change(heaving, r3.Scale(-2*gamma, r3.Cross(r3.Vec{Z: 1}, seg)))
		for a := range axes {
			var legs pair
			for j, v := range b.legs[a][e*strips : (e+1)*strips] {
				legs.u += v.u * ws.shed[j]
				legs.t += v.t * ws.shed[j]
			}
			d := r3.Add(turning(a, own), cross(legs))
			d = r3.Add(d, r3.Cross(images.turn[a], seg))
			d = r3.Add(d, r3.Cross(r3.Add(r3.Vec{X: 1}, images.v), turning(a, seg)))
			change(turned+a, forceBy(d, images.turn[a]))
			ws.explicit[turned+a].Moment = r3.Add(ws.explicit[turned+a].Moment, r3.Cross(turning(a, pos), force))
			change(rotating+a, r3.Scale(-2*gamma, r3.Cross(turning(a, pos), seg)))
		}

		load := Load{force, r3.Cross(pos, force)}
		half := Load{r3.Scale(.5, force), r3.Scale(.5, load.Moment)}
		for _, st := range l.strip[e] {
			s.Strips[st].Load.add(half)
			surfaces[s.Strips[st].Surface].add(half)
		}
		if bound >= 0 {
			normal := r3.Dot(force, p.normal.at(bound))
			s.Pressure[bound] = normal / l.area[bound]
			s.Strips[l.strip[e][0]].NormalForce += normal
		}
	}
	return nil
}

func axisOf(a int) r3.Vec {
	var v [axes]float64
	v[a] = 1
	return r3.Vec{X: v[0], Y: v[1], Z: v[2]}
}

// loadsByGamma adds to ws.byGamma what an element adds through the velocity of each ring and
// of its image: fu and ft are the load per velocity along u and t. It returns the velocity
// of the rings themselves in the steady flow.
func (ws *bankedWorkspace) loadsByGamma(own []pair, ring []vec, u, t r3.Vec, fu, ft *[6]float64) (c pair) {
	ux, uy, uz := over4Pi*u.X, over4Pi*u.Y, -over4Pi*u.Z // reflected in the water
	tx, ty, tz := over4Pi*t.X, over4Pi*t.Y, -over4Pi*t.Z
	ring, gamma, by := ring[:len(own)], ws.gamma[:len(own)], ws.byGamma[:len(own)]
	u0, u1, u2, u3, u4, u5 := fu[0], fu[1], fu[2], fu[3], fu[4], fu[5]
	t0, t1, t2, t3, t4, t5 := ft[0], ft[1], ft[2], ft[3], ft[4], ft[5]
	for j := range own {
		v, o, to := &ring[j], own[j], &by[j]
		c.u += o.u * gamma[j]
		c.t += o.t * gamma[j]
		a := o.u + ux*v.x + uy*v.y + uz*v.z
		b := o.t + tx*v.x + ty*v.y + tz*v.z
		to[0] += a*u0 + b*t0
		to[1] += a*u1 + b*t1
		to[2] += a*u2 + b*t2
		to[3] += a*u3 + b*t3
		to[4] += a*u4 + b*t4
		to[5] += a*u5 + b*t5
	}
	return c
}

// onSources adds the changes of the force on a cell's sources, of strength q, in the
// velocity v of all images there: with the circulations, whose images make v, and with the
// local streams, which make q. That with the velocity of the sources' images is the caller's.
func (ws *bankedWorkspace) onSources(p *PitchedLattice, cell int, q float64, v, pos r3.Vec) {
	l := p.l
	n, g := l.Cells(), l.grids[l.grid[l.bound[cell]]]
	x, y, z := six(r3.Vec{X: -2 * q * over4Pi}, pos), six(r3.Vec{Y: -2 * q * over4Pi}, pos), six(r3.Vec{Z: 2 * q * over4Pi}, pos)
	for j, w := range ws.vortex[cell*n : (cell+1)*n] {
		to := &ws.byGamma[j]
		for k := range to {
			to[k] += x[k]*w.x + y[k]*w.y + z[k]*w.z
		}
	}
	force := six(r3.Scale(-2, v), pos)
	l.strengthOf(g, cell, func(from int, weight float64) {
		for k, f := range force {
			ws.byStream[from][k] += weight * f
		}
	})
}

// totalChanges returns the change of the total load in each of the states, in the axes of
// the stream.
func (ws *bankedWorkspace) totalChanges(l *Lattice, water bool) (by [allStates]Load) {
	n := l.Cells()
	thick := water && l.thick
	if thick {
		for i := range n {
			f := &ws.bySources[i]
			for j, v := range ws.sources[i*n : (i+1)*n] {
				x, y, z := over4Pi*v.x, over4Pi*v.y, -over4Pi*v.z
				for k := range ws.byStream[j] {
					ws.byStream[j][k] += x*f[0][k] + y*f[1][k] + z*f[2][k]
				}
			}
		}
		for i := range n {
			for j, v := range ws.along[i*n : (i+1)*n] {
				for k := range ws.byGamma[j] {
					ws.byGamma[j][k] += v * ws.byStream[i][k]
				}
			}
		}
	}
	for s := range by {
		var sum [6]float64
		for j, x := range ws.change[s] {
			for k := range sum {
				sum[k] += ws.byGamma[j][k] * x
			}
		}
		if thick {
			for j, x := range ws.streamBy[s] {
				for k := range sum {
					sum[k] += ws.byStream[j][k] * x
				}
			}
		}
		by[s] = ws.explicit[s]
		by[s].add(Load{r3.Vec{X: sum[0], Y: sum[1], Z: sum[2]}, r3.Vec{X: sum[3], Y: sum[4], Z: sum[5]}})
	}
	return by
}

// inHeading fills in loads and derivatives in the axes of the heading from those in the
// axes of the stream. turn is the attitude, halves how many surfaces are starboard halves.
func (s *BankedSolution) inHeading(turn rotation, by [allStates]Load, surfaces []Load, halves int) {
	slip := rotationTo(0, 0, -s.Slip)
	heading := func(l Load) Load { return Load{slip.turn(l.Force), slip.turn(l.Moment)} }
	var total Load
	for i := range surfaces {
		total.add(surfaces[i])
		surfaces[i] = heading(surfaces[i])
	}
	s.Surfaces = surfaces
	if halves > 0 {
		s.Surfaces, s.Reflections = surfaces[:halves], surfaces[halves:]
	}
	for i := range s.Strips {
		s.Strips[i].Load = heading(s.Strips[i].Load)
	}
	s.Total = heading(total)
	// about puts together the change as the craft turns about an axis given in the stream's.
	about := func(first int, axis r3.Vec) (l Load) {
		for a, f := range [axes]float64{axis.X, axis.Y, axis.Z} {
			l.add(Load{r3.Scale(f, by[first+a].Force), r3.Scale(f, by[first+a].Moment)})
		}
		return l
	}
	back := rotationTo(0, 0, s.Slip)
	aft, starboard, up := turn.turn(r3.Vec{X: 1}), turn.turn(r3.Vec{Y: 1}), turn.turn(r3.Vec{Z: 1})
	d := &s.Derivatives
	d.Height, d.HeaveRate = heading(by[rising]), heading(by[heaving])
	d.Bank = heading(about(turned, r3.Scale(-1, aft)))
	d.Pitch = heading(about(turned, back.turn(r3.Vec{Y: 1})))
	slipping := about(turned, r3.Vec{Z: 1})
	// The axes turn along.
	slipping.add(Load{r3.Scale(-1, turning(2, total.Force)), r3.Scale(-1, turning(2, total.Moment))})
	d.Slip = heading(slipping)
	d.RollRate = heading(about(rotating, r3.Scale(-1, aft)))
	d.PitchRate = heading(about(rotating, starboard))
	d.YawRate = heading(about(rotating, r3.Scale(-1, up)))
}
