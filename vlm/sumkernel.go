package vlm

import "math"

// sumKernel adds up the velocity of all filaments with their circulations.
type sumKernel struct {
	g     []float64 // per filament
	first int       // number of the first filament along the stream
	// core is per node the radius of a leg's core to the 4th, m4, nil for legs without, and
	// widen the factor on it. Legs of the body that the point belongs to have none; noBody is
	// a point of none.
	core  []float64
	widen float64
	body  int
	wing  float64 // radius of the cores of all other filaments to the 4th, m4; 0 for none
	v     vec
}

// noBody is no body of a lattice.
const noBody = -1

// segmentsGo is what segments does with vector registers where there is code for them.
func (k *sumKernel) segmentsGo(i int, from, to []nodeOffset) {
	g, to := k.g[i:i+len(from)], to[:len(from)]
	v := k.v
	for j := range from {
		p, q := &from[j], &to[j]
		flat := p.x*q.x + p.z*q.z
		ab, abm := p.r*q.r, p.rm*q.rm
		s, sm := ab+flat+p.y*q.y, abm+flat+p.ym*q.ym
		if s <= onAxis*ab {
			s = onFilament
		}
		if sm <= onAxis*abm {
			sm = onFilament
		}
		a, b := ab*s, abm*sm
		inv := g[j] / (a * b) // one division for both
		f, fm := (p.r+q.r)*b*inv, (p.rm+q.rm)*a*inv
		cx, cy, cz := p.y*q.z-p.z*q.y, p.z*q.x-p.x*q.z, p.x*q.y-p.y*q.x
		mx, mz := p.ym*q.z-p.z*q.ym, p.x*q.ym-p.ym*q.x
		if k.wing > 0 {
			dx, dy, dz := q.x-p.x, q.y-p.y, q.z-p.z
			l2 := dx*dx + dy*dy + dz*dz + nodeGuard
			h2, hm := (cx*cx+cy*cy+cz*cz)/l2, (mx*mx+cy*cy+mz*mz)/l2
			f *= h2 / math.Sqrt(h2*h2+k.wing)
			fm *= hm / math.Sqrt(hm*hm+k.wing)
		}
		v.x += f*cx + fm*mx
		v.y += (f - fm) * cy
		v.z += f*cz + fm*mz
	}
	k.v = v
}

// core4 returns the radius to the 4th of the core of leg i of a body, m4.
func (k *sumKernel) core4(i, body int) float64 {
	if k.core == nil || body == k.body {
		return 0
	}
	return k.widen * k.core[i-k.first]
}

func (k *sumKernel) legs(i int, from []nodeOffset, body int) {
	for j := range from {
		p, g, core4 := &from[j], k.g[i+j], k.core4(i+j, body)
		y, inv, r, side := p.y, p.inv, p.r, 1.0
		for range 2 {
			flat := y*y + p.z*p.z
			var f float64
			switch {
			case core4 > 0:
				f = (1 + p.x*inv) / math.Sqrt(flat*flat+core4)
			case p.x < 0:
				f = inv / (r - p.x) // as (1 + x/r)/flat, without 0/0 on the axis ahead
			default:
				f = (1 + p.x*inv) / (flat + axisGuard)
			}
			k.v.y -= side * g * p.z * f
			k.v.z += g * y * f
			y, inv, r, side = p.ym, p.invm, p.rm, -1
		}
	}
}

func (k *sumKernel) paths(i int, from []nodeOffset, body int, paths []path) {
	for j := range from {
		l := paths[j].bothSides(&from[j], k.core4(i+j, body), direction{}, direction{})
		k.v.add(k.g[i+j], &l.v)
	}
}
