package vlm

import "gonum.org/v1/gonum/spatial/r3"

// loads fills in s from the circulations: the force on each filament of a surface is
// rho G V x l (Kutta and Joukowski), V the total velocity at its middle, images
// included; per q that is 2 G V x l. The derivatives are the same expression
// differentiated.
//
// Since only V x l counts, a ring's velocity is kept as its components along two
// directions perpendicular to l, u and t = l x u, |u| = 1: V x l = (V.t) u - (V.u) t.
func (ws *workspace) loads(cn *canceller, p *PitchedLattice, height float64, water bool, s *Solution) error {
	l := p.l
	n, strips := l.Cells(), len(l.stripGeometry)
	derivs := [states]*Load{byHeight: &s.Derivatives.Height, byPitch: &s.Derivatives.Pitch, byHeaveRate: &s.Derivatives.HeaveRate, byPitchRate: &s.Derivatives.PitchRate}
	imagesOf := -1 // the grid that ws has the images for
	all := ws.gamma
	clear(ws.ring)
	thick := water && l.thick
	if thick {
		ws.thick.atMiddles(n)
	}
	for e, gi := range l.grid {
		pos, seen, seg, u, t := p.mid.at(e), p.seenMid.at(e), p.seg.at(e), p.u.at(e), p.t.at(e)
		cross := func(c pair) r3.Vec { return r3.Sub(r3.Scale(c.t, u), r3.Scale(c.u, t)) }
		var im imageVelocity
		if err := cn.spend(len(ws.imageFilament)*operationsPerFilament + 26*n); err != nil {
			return err
		}
		bound := l.cell[e] // and in a thick lattice its images' velocity is known
		if water && gi != imagesOf {
			imagesOf = gi
			ws.selectImage(p, l.grids[gi].sheet, height)
			ws.image.prolong(l.grids, s.Gamma, ws.imageGamma)
			circulations(ws.image.grids, ws.imageGamma, ws.strength)
		}
		ring := ws.ring
		switch {
		case thick && bound >= 0:
			ring, im = ws.thick.vortex[bound*n:(bound+1)*n], ws.thick.sum[bound]
		case water:
			im = ws.imageVelocityAt(p, seen.X, seen.Y, seen.Z, height)
		}
		c := contract(p.velocity[e*n:(e+1)*n], ring, all, u, t)
		var gamma [states]float64
		var f [states]r3.Vec // V x l
		plus, minus := l.plus[e], l.minus[e]
		for i := range f {
			if plus >= 0 {
				gamma[i] += all[plus*states+i]
			}
			if minus >= 0 {
				gamma[i] -= all[minus*states+i]
			}
			f[i] = cross(c[i])
		}
		images := r3.Cross(im.v.r3(), seg)
		own := r3.Sub(f[steady], images)
		var legs pair // derivative of the trailing legs' velocity with pitch, in craft axes
		for j, v := range p.velocityByPitch[e*strips : (e+1)*strips] {
			legs.u += v.u * ws.shed[j]
			legs.t += v.t * ws.shed[j]
		}
		segByPitch := pitchDerivative(seg)
		var sources [states]r3.Vec // velocity of the sources' images
		if thick {
			sources = ws.sourceImages(p, e)
		}
		f[byPitch] = r3.Add(f[byPitch], r3.Add(r3.Add(pitchDerivative(own), cross(legs)), r3.Add(r3.Cross(im.pitch.r3(), seg), r3.Cross(r3.Add(r3.Add(im.v.r3(), sources[steady]), r3.Vec{X: 1}), segByPitch))))
		f[byHeight] = r3.Add(f[byHeight], r3.Cross(im.height.r3(), seg))
		f[steady] = r3.Add(f[steady], r3.Cross(r3.Vec{X: 1}, seg))
		f[byHeaveRate] = r3.Sub(f[byHeaveRate], r3.Cross(r3.Vec{Z: 1}, seg))
		f[byPitchRate] = r3.Sub(f[byPitchRate], r3.Cross(pitchDerivative(pos), seg))

		if p.motion != nil {
			ws.wakes.follow(e, p.motion.Lag, seg, &f)
		}
		var onSources [states]r3.Vec // half the force on them
		if thick {
			for i, v := range sources {
				f[i] = r3.Add(f[i], r3.Cross(v, seg))
			}
			if bound >= 0 {
				onSources = ws.sourceForces(p, bound, sources)
			}
		}

		across := f[steady]
		force := r3.Scale(2*gamma[steady], across)
		force = r3.Add(force, r3.Scale(2, onSources[steady]))
		if bound >= 0 {
			s.Pressure[bound] = r3.Dot(force, p.normal.at(bound)) / l.area[bound]
		}
		load := Load{force, r3.Cross(pos, force)}
		s.Surfaces[l.grids[gi].surface].add(load)
		half := Load{r3.Scale(.5, force), r3.Scale(.5, load.Moment)}
		for _, st := range l.strip[e] {
			s.Strips[st].Load.add(half)
		}
		if bound >= 0 {
			s.Strips[l.strip[e][0]].NormalForce += r3.Dot(force, p.normal.at(bound))
		}
		for i, d := range derivs {
			if d == nil {
				continue
			}
			df := r3.Scale(2, r3.Add(r3.Scale(gamma[i], across), r3.Scale(gamma[steady], f[i])))
			df = r3.Add(df, r3.Scale(2, onSources[i]))
			m := r3.Cross(pos, df)
			if i == byPitch {
				m = r3.Add(m, r3.Cross(pitchDerivative(pos), force))
			}
			d.add(Load{df, m})
		}
	}
	for i := range s.Surfaces {
		if l.mirror {
			s.Surfaces[i] = s.Surfaces[i].bothSides()
		}
		s.Total.add(s.Surfaces[i])
	}
	for _, d := range derivs {
		if d != nil && l.mirror {
			*d = d.bothSides()
		}
	}
	return nil
}

// pair is a velocity's components along an element's u and t.
type pair struct{ u, t float64 }

// contract returns the velocity in each of the states: of the rings themselves, given,
// and of their images, as imageAt has left them.
func contract(own []pair, ring []vec, gamma []float64, u, t r3.Vec) (c [states]pair) {
	ux, uy, uz := over4Pi*u.X, over4Pi*u.Y, -over4Pi*u.Z // reflected in the water
	tx, ty, tz := over4Pi*t.X, over4Pi*t.Y, -over4Pi*t.Z
	ring = ring[:len(own)]
	var u0, u1, u2, u3, u4, t0, t1, t2, t3, t4 float64
	for j := range own {
		v := &ring[j]
		g := (*[states]float64)(gamma[j*states:])
		a := own[j].u + ux*v.x + uy*v.y + uz*v.z
		b := own[j].t + tx*v.x + ty*v.y + tz*v.z
		u0 += a * g[0]
		u1 += a * g[1]
		u2 += a * g[2]
		u3 += a * g[3]
		u4 += a * g[4]
		t0 += b * g[0]
		t1 += b * g[1]
		t2 += b * g[2]
		t3 += b * g[3]
		t4 += b * g[4]
	}
	return [states]pair{{u0, t0}, {u1, t1}, {u2, t2}, {u3, t3}, {u4, t4}}
}
