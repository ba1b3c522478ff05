package vlm

import (
	"fmt"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// Side says which half of a craft is meant.
type Side int

const (
	BothSides Side = iota // or the craft was not given as a starboard half
	Starboard
	Port
)

// String returns "starboard" or "port", and "both" for BothSides.
func (s Side) String() string { return [...]string{"both", "starboard", "port"}[s] }

// bankedPart is what banked flight adds to a lattice, made when first asked for.
type bankedPart struct {
	once    sync.Once
	whole   *Lattice // see Lattice.whole; nil if it has too many cells
	halves  int      // of a whole lattice, how many surfaces are starboard halves; 0 if it was given whole
	scratch sync.Pool
}

// whole returns the lattice of both halves, which banked flight needs: the surfaces as
// given, then their reflections in y = 0, in the ofSide order. A reflection's strips run
// from its tip to its root, so that it lifts with positive circulation, too. Level flight
// gives the loads of the symmetric lattice to the last digits but a few. A lattice
// that was given whole is its own.
func (l *Lattice) whole() (*Lattice, error) {
	if !l.mirror {
		return l, nil
	}
	if n := 2 * l.Cells(); n > maxCells {
		return nil, fmt.Errorf("both halves of the lattice would have %d cells; it holds at most %d: use fewer rows or strips for banked flight", n, maxCells)
	}
	l.banked.once.Do(func() { l.banked.whole = l.reflectedWhole() })
	return l.banked.whole, nil
}

func (l *Lattice) reflectedWhole() *Lattice {
	w := &Lattice{rows: l.rows, bodyLock: make(chan struct{}, 1), images: map[string]*imageLattice{}}
	w.banked.halves = len(l.surfaces)
	nodes, cells := l.node.len(), l.Cells()
	w.node, w.core = makePoints(2*nodes), make([]float64, 2*nodes)
	w.ctrl, w.normal, w.area = makePoints(2*cells), makePoints(2*cells), make([]float64, 2*cells)
	for _, side := range [...]Side{Starboard, Port} {
		firstStrip := 0
		for i, from := range l.grids {
			g := from
			g.first, g.end = 0, g.strips+1
			// As in symmetric flight a surface and its reflection are one body. They also share
			// the refinement of their images, as two halves that are joined have to.
			at := func(j int) int { return j }
			strip := func(j int) int { return j }
			mirror := func(v r3.Vec) r3.Vec { return v }
			ofSide := func(c column) column { return c }
			surface := l.surfaces[i]
			if side == Port {
				g.surface, g.node, g.cell = g.surface+len(l.grids), g.node+nodes, g.cell+cells
				at = func(j int) int { return from.strips - j }
				strip = func(j int) int { return from.strips - 1 - j }
				mirror = reflectedInY
				ofSide = column.reflected
				surface = surface.reflected()
			}
			w.grids, w.surfaces = append(w.grids, g), append(w.surfaces, surface)
			w.spacing = append(w.spacing, l.spacing[i])
			var columns []column
			for j := range g.strips + 1 {
				columns = append(columns, ofSide(l.columns[i][at(j)]))
			}
			w.columns = append(w.columns, columns)
			var hull []r3.Vec
			for _, v := range l.hull[i] {
				hull = append(hull, mirror(v))
			}
			w.hull = append(w.hull, hull)
			for k := range g.rows + 1 {
				for j := range g.strips + 1 {
					a, b := from.node+k*(g.strips+1)+at(j), g.node+k*(g.strips+1)+j
					w.node.set(b, mirror(l.node.at(a)))
					w.core[b] = l.core[a]
				}
			}
			for k := range g.rows {
				for j := range g.strips {
					a, b := from.cell+k*g.strips+strip(j), g.cell+k*g.strips+j
					w.ctrl.set(b, mirror(l.ctrl.at(a)))
					w.normal.set(b, mirror(l.normal.at(a)))
					w.area[b] = l.area[a]
				}
			}
			for j := range g.strips {
				a := firstStrip + strip(j)
				mid, geometry := l.stripMid[a], l.stripGeometry[a]
				if side == Port {
					mid = 1 - mid
					geometry.Surface = g.surface
					geometry.Y, geometry.InnerY, geometry.OuterY = -geometry.Y, -geometry.OuterY, -geometry.InnerY
				}
				w.stripMid, w.stripGeometry = append(w.stripMid, mid), append(w.stripGeometry, geometry)
				w.stripColumn = append(w.stripColumn, ofSide(l.stripColumn[a]))
				w.trailingCell = append(w.trailingCell, g.cell+(g.rows-1)*g.strips+j)
			}
			firstStrip += g.strips
		}
	}
	w.elements()
	w.joinHalves(l)
	w.thicken()
	w.scratch.New = func() any { return newWorkspace(w) }
	return w
}

// joinHalves makes one element of the two chordwise ones that the halves of a surface have in
// the plane of symmetry of the lattice l: what they carry is the difference of both sides.
func (w *Lattice) joinHalves(l *Lattice) {
	m := len(l.grids)
	portCell := map[[2]int]int{} // by starboard grid and row, the port cell at the plane
	for i, g := range l.grids {
		port := w.grids[m+i]
		for k := range g.rows {
			if g.first == 1 {
				portCell[[2]int{i, k}] = port.cell + k*g.strips + g.strips - 1
			} else if g.end == g.strips {
				portCell[[2]int{i, k}] = port.cell + k*g.strips
			}
		}
	}
	inPlane := func(e int) (grid, row int, ok bool) {
		grid = w.grid[e] % m
		g := w.grids[w.grid[e]]
		row = (w.ends[e][0] - g.node) / (g.strips + 1)
		_, ok = portCell[[2]int{grid, row}]
		return grid, row, ok && w.cell[e] < 0 && w.node.y[w.ends[e][0]] == 0 && w.node.y[w.ends[e][1]] == 0
	}
	var keep []int
	for e := range w.cell {
		grid, row, ok := inPlane(e)
		if ok && w.grid[e] >= m {
			continue
		}
		keep = append(keep, e)
		if !ok {
			continue
		}
		c := portCell[[2]int{grid, row}]
		g := w.grids[m+grid]
		firstStrip := 0
		for _, o := range w.grids[:m+grid] {
			firstStrip += o.strips
		}
		strip := firstStrip + (c-g.cell)%g.strips
		if w.plus[e] < 0 {
			w.plus[e], w.strip[e][0] = c, strip
		} else {
			w.minus[e], w.strip[e][1] = c, strip
		}
	}
	w.mid, w.seg = w.mid.picked(keep), w.seg.picked(keep)
	w.plus, w.minus, w.cell, w.grid = picked(w.plus, keep), picked(w.minus, keep), picked(w.cell, keep), picked(w.grid, keep)
	w.strip, w.ends = picked(w.strip, keep), picked(w.ends, keep)
}

func picked[T any](s []T, which []int) (out []T) {
	for _, i := range which {
		out = append(out, s[i])
	}
	return out
}

func (p points) picked(which []int) points {
	return points{picked(p.x, which), picked(p.y, which), picked(p.z, which)}
}

func reflectedInY(v r3.Vec) r3.Vec { return r3.Vec{X: v.X, Y: -v.Y, Z: v.Z} }

func (s Station) reflected() Station {
	s.LE = reflectedInY(s.LE)
	return s
}

func (c column) reflected() column {
	c.from, c.to = c.from.reflected(), c.to.reflected()
	return c
}

// reflected returns the other half of a surface without the edges of its strips.
func (s Surface) reflected() Surface {
	n := len(s.Stations)
	r := s
	r.Edges, r.Stations = nil, make([]Station, n)
	for i, st := range s.Stations {
		r.Stations[n-1-i] = st.reflected()
	}
	return r
}

// side returns which half of the craft a surface of a whole lattice is.
func (l *Lattice) side(surface int) Side {
	switch {
	case l.banked.halves == 0:
		return BothSides
	case surface < l.banked.halves:
		return Starboard
	}
	return Port
}
