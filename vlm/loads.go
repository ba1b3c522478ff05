package vlm

import (
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r3"
)

// loads fills in s from the circulations: on every filament of a surface acts the
// force rho G V x l (Kutta and Joukowski), V the whole velocity at its middle,
// images included; per q that is 2 G V x l. The derivatives are the same
// expression differentiated.
func (ws *workspace) loads(p *Pose, height float64, water bool, s *Solution) {
	l := p.l
	n := l.Cells()
	derivs := [states]*Load{byHeight: &s.Derivatives.Height, byPitch: &s.Derivatives.Pitch, byHeaveRate: &s.HeaveRate, byPitchRate: &s.PitchRate}
	for e, gi := range l.grid {
		pos, seg := p.mid.at(e), p.seg.at(e)
		vx, vy, vz := p.vx[e*n:(e+1)*n], p.vy[e*n:(e+1)*n], p.vz[e*n:(e+1)*n]
		gs := ws.g[steady]
		own := r3.Vec{X: floats.Dot(vx, gs), Y: floats.Dot(vy, gs), Z: floats.Dot(vz, gs)}
		if water {
			ws.velocityRow(p, e, -pos.Z-2*height, -1, -1, ws.vx, ws.vy, ws.vz)
			floats.Add(ws.vx, vx)
			floats.Add(ws.vy, vy)
			floats.Add(ws.vz, vz)
			vx, vy, vz = ws.vx, ws.vy, ws.vz
		}
		var gamma [states]float64
		var v [states]r3.Vec
		for i, gs := range ws.g {
			if c := l.plus[e]; c >= 0 {
				gamma[i] += gs[c]
			}
			if c := l.minus[e]; c >= 0 {
				gamma[i] -= gs[c]
			}
			v[i] = r3.Vec{X: floats.Dot(vx, gs), Y: floats.Dot(vy, gs), Z: floats.Dot(vz, gs)}
		}
		m := ws.moved(p, pos.X, pos.Y, pos.Z, height, l.grids[gi].body, water)
		v[steady].X++
		v[byHeight] = r3.Add(v[byHeight], m.height.r3())
		v[byPitch] = r3.Add(v[byPitch], r3.Add(m.pitch.r3(), rot(r3.Sub(own, m.wake.r3()))))
		v[byHeaveRate].Z--
		v[byPitchRate] = r3.Sub(v[byPitchRate], rot(pos))

		across := r3.Cross(v[steady], seg)
		force := r3.Scale(2*gamma[steady], across)
		load := Load{force, r3.Cross(pos, force)}
		s.Surfaces[l.grids[gi].surface].add(load)
		half := Load{r3.Scale(.5, force), r3.Scale(.5, load.Moment)}
		for _, st := range l.strip[e] {
			s.Strips[st].Load.add(half)
		}
		if c := l.cell[e]; c >= 0 {
			s.Pressure[c] = r3.Dot(force, p.normal.at(c)) / l.area[c]
		}
		for i, d := range derivs {
			if d == nil {
				continue
			}
			f := r3.Add(r3.Scale(gamma[i], across), r3.Scale(gamma[steady], r3.Cross(v[i], seg)))
			t := r3.Vec{}
			if i == byPitch {
				f = r3.Add(f, r3.Scale(gamma[steady], r3.Cross(v[steady], rot(seg))))
				t = r3.Cross(rot(pos), force)
			}
			f = r3.Scale(2, f)
			d.add(Load{f, r3.Add(t, r3.Cross(pos, f))})
		}
	}
	st := 0
	for _, g := range l.grids {
		for j := range g.strips {
			var normal r3.Vec
			for k := range g.rows {
				c := g.cell + k*g.strips + j
				normal = r3.Add(normal, r3.Scale(l.area[c], p.normal.at(c)))
			}
			s.Strips[st].Normal = r3.Dot(s.Strips[st].Load.Force, r3.Unit(normal))
			st++
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
}
