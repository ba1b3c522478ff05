package vlm

import (
	"math"
	"slices"
)

// Wake is the vortex sheet of one or several wings in the Trefftz plane, perpendicular
// to the stream far downstream. The induced drag follows from the flow in that plane
// (Trefftz 1921), which includes the images in the water.
type Wake struct {
	Sheets []Sheet
	Mirror bool // sheets are starboard halves, to be completed by their reflection in y = 0
}

// Sheet is one surface's trailing sheet: strip j lies between edges j and j+1.
type Sheet struct {
	Y, Z  []float64 // edges, m; z over any fixed level; one more than Gamma
	Gamma []float64 // circulation of each strip, m (per U), positive lifting for y growing
	Mid   []float64 // where between its edges the flow through each strip is taken, 0..1; nil is half way
	Core  []float64 // core radius of each edge's filament in its effect on other bodies, m; nil is none
	Body  int       // sheets of one body act on each other without cores
}

// InducedDrag returns the drag per dynamic pressure, m2, of the sheets given
// (without their reflections): the sum over the strips of circulation times the flow
// through the strip. The level from which z counts lies at the height over the water,
// m; +Inf is free air. Slices of unequal length panic.
func (w Wake) InducedDrag(height float64) float64 {
	water := !math.IsInf(height, 1)
	drag := 0.0
	for _, s := range w.Sheets {
		for j, g := range s.Gamma {
			ty, tz := s.Y[j+1]-s.Y[j], s.Z[j+1]-s.Z[j]
			mid := .5
			if s.Mid != nil {
				mid = s.Mid[j]
			}
			y, z := s.Y[j]+mid*ty, s.Z[j]+mid*tz
			vy, vz := w.across(y, z, s.Body)
			if water {
				iy, iz := w.across(y, -z-2*height, -1)
				vy, vz = vy+iy, vz-iz
			}
			// Flow through the strip, down where the strip runs to starboard. Far
			// downstream it is twice that at the wing, hence 2 and not 4.
			drag -= g * (vz*ty - vy*tz)
		}
	}
	return drag
}

// across returns the velocity at (y, z) of the whole sheet and its reflection.
func (w Wake) across(y, z float64, body int) (vy, vz float64) {
	for _, s := range w.Sheets {
		cored := body >= 0 && body != s.Body && s.Core != nil
		for j := range s.Y {
			g := 0.0
			if j > 0 {
				g += s.Gamma[j-1]
			}
			if j < len(s.Gamma) {
				g -= s.Gamma[j]
			}
			core := 0.0
			if cored {
				core = s.Core[j]
			}
			dy, dz := planar(g, y-s.Y[j], z-s.Z[j], core)
			vy, vz = vy+dy, vz+dz
			if w.Mirror {
				dy, dz = planar(-g, y+s.Y[j], z-s.Z[j], core)
				vy, vz = vy+dy, vz+dz
			}
		}
	}
	return vy, vz
}

// planar is the velocity of an endless filament along +x of circulation g.
func planar(g, y, z, core float64) (vy, vz float64) {
	s2 := y*y + z*z
	if core > 0 {
		s2 = math.Sqrt(s2*s2 + core*core*core*core)
	}
	q := g / (2 * math.Pi) / (s2 + axisGuard)
	return -z * q, y * q
}

// wakeSheets returns the trailing sheets of the lattice, without circulations.
func (p *PitchedLattice) wakeSheets() (sheets []Sheet) {
	strip := 0
	for i, g := range p.l.grids {
		n := g.strips + 1
		o := g.node + g.rows*n
		core := make([]float64, n)
		for j := range core {
			core[j] = math.Sqrt(math.Sqrt(p.l.core[o+j]))
		}
		y, z := p.field.node.y[o:o+n], p.field.node.z[o:o+n]
		if p.field.bent != nil && p.field.bent[i] != nil {
			y, z = slices.Clone(y), slices.Clone(z)
			for j, w := range p.field.bent[i] {
				end := w[len(w)-1]
				y[j], z[j] = y[j]+end.y, z[j]+end.z
			}
		}
		sheets = append(sheets, Sheet{
			Y: y, Z: z,
			Mid: p.l.stripMid[strip : strip+g.strips], Core: core, Body: g.body,
		})
		strip += g.strips
	}
	return sheets
}

// wake returns the wake of the lattice with the circulations of its cells.
func (p *PitchedLattice) wake(gamma []float64) Wake {
	sheets := slices.Clone(p.sheets)
	for i, g := range p.l.grids {
		c := g.cell + (g.rows-1)*g.strips
		sheets[i].Gamma = gamma[c : c+g.strips]
	}
	return Wake{Sheets: sheets, Mirror: p.l.mirror}
}
