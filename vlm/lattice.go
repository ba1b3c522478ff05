package vlm

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r3"
)

// Arrangement says where along the chord the bound filaments and the control
// points lie.
type Arrangement int

const (
	// Semicircle puts filament k of m at (1-cos((2k-1)pi/2m))/2 chords and control
	// point k at (1-cos(k pi/m))/2, the last one on the trailing edge. For a thin
	// section in plane flow lift and moment are then exact for any m (Lan 1974).
	// At a free tip the lattice stops a quarter strip short (Hough 1973).
	Semicircle Arrangement = iota
	// QuarterChord is the classic arrangement: equal rows, the filament at a
	// quarter and the control point at three quarters of each, strips to the tip.
	QuarterChord
)

// Options choose the lattice. The zero value is the default: semicircle
// positions, symmetric flight.
type Options struct {
	Arrangement Arrangement
	NoMirror    bool // solve for the surfaces as given, without their reflection in y = 0
}

// grid is one surface's part of the lattice. Row k = 0..rows of nodes, column
// j = 0..strips; row `rows` lies on the trailing edge.
type grid struct {
	surface      int
	rows, strips int
	node, cell   int // offsets of its first node and its first cell
	first, end   int // columns of chordwise filaments: none in the plane of symmetry, where the reflection cancels it
	body         int // surfaces joined to each other are one body
	sheet        int // surfaces joined without a corner are one sheet
	thick        bool
}

// points is a list of vectors as three slices, for the inner loops.
type points struct{ x, y, z []float64 }

func makePoints(n int) points {
	b := make([]float64, 3*n)
	return points{b[:n:n], b[n : 2*n : 2*n], b[2*n:]}
}

func (p points) set(i int, v r3.Vec) { p.x[i], p.y[i], p.z[i] = v.X, v.Y, v.Z }
func (p points) at(i int) r3.Vec     { return r3.Vec{X: p.x[i], Y: p.y[i], Z: p.z[i]} }
func (p points) len() int            { return len(p.x) }

// Lattice is the vortex lattice of a craft in craft axes. It is immutable and
// safe for use by several goroutines.
type Lattice struct {
	surfaces []Surface
	grids    []grid
	mirror   bool
	rows     Arrangement // of filaments and control points along the chord

	node          points     // ring corners
	core          []float64  // per node of each trailing edge, core radius to the 4th, m4; by node index
	ctrl, normal  points     // per cell
	area          []float64  // per cell, m2
	stripMid      []float64  // per strip, position of its control points between its edges, 0..1
	stripGeometry []Strip    // per strip, without its load
	stripColumn   []column   // per strip, its middle
	trailingCell  []int      // per strip, its cell at the trailing edge
	spacing       []float64  // per surface, nearness times its widest row, m; 0 if its image is never refined
	columns       [][]column // per surface, of its nodes
	hull          [][]r3.Vec // per surface, points among which its lowest lies

	// Force elements: filaments of the rings on the surface. Element e carries
	// Gamma[plus[e]] - Gamma[minus[e]] along seg[e]; -1 stands for none.
	mid, seg    points
	plus, minus []int
	strip       [][2]int // the strips that carry the element's force, half each
	ends        [][2]int // the nodes at its ends
	cell        []int    // the cell across which a bound element runs, -1 for a chordwise one
	grid        []int    // the element's grid

	// Thickness, see sources.go.
	thick             bool
	seenCtrl, seenMid points      // where control points and middles of elements see the images from
	tangent           points      // per cell, along the chord at the middle of its bound element
	bound             []int       // per cell, its bound element
	section           []float64   // per cell, its strip's largest thickness times its width, m2
	sourceWeights     [][]float64 // per surface, for the sources at its own bound filaments; nil if it is thin

	scratch sync.Pool

	bodyLock chan struct{} // held by whoever computes body
	body     *bodyInfluence

	imagesMu sync.Mutex
	images   map[string]*imageLattice // by the surfaces' refinements

	banked bankedPart
}

// New builds the lattice of the surfaces, in any order. Its errors name the surface,
// the value and the range.
func New(surfaces []Surface, o Options) (*Lattice, error) {
	if len(surfaces) == 0 {
		return nil, errors.New("there is no surface to build a lattice on; give at least one")
	}
	l := &Lattice{
		surfaces: surfaces, mirror: !o.NoMirror, rows: o.Arrangement,
		bodyLock: make(chan struct{}, 1), images: map[string]*imageLattice{},
	}
	var errs []error
	nodes, cells, strips := 0, 0, 0
	for _, s := range surfaces {
		if err := s.check(); err != nil {
			errs = append(errs, err)
			continue
		}
		if l.mirror {
			for i, st := range s.Stations {
				if st.LE.Y < 0 && !inSymmetryPlane(st) {
					errs = append(errs, fmt.Errorf("surface %q, station %d lies at y = %v m; in symmetric flight give the starboard half, y >= 0", s.Name, i, st.LE.Y))
					break
				}
			}
		}
		l.grids = append(l.grids, grid{surface: len(l.grids), rows: s.Rows, strips: s.Strips, node: nodes, cell: cells, body: len(l.grids), sheet: len(l.grids), thick: s.thick()})
		nodes += (s.Rows + 1) * (s.Strips + 1)
		cells += s.Rows * s.Strips
		strips += s.Strips
	}
	if cells > maxCells {
		errs = append(errs, fmt.Errorf("the lattice would have %d cells; it holds at most %d: use fewer rows or strips", cells, maxCells))
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	edges, err := l.join()
	if err != nil {
		return nil, err
	}

	l.node, l.core = makePoints(nodes), make([]float64, nodes)
	l.ctrl, l.normal = makePoints(cells), makePoints(cells)
	l.area = make([]float64, cells)
	for i, s := range surfaces {
		l.layOut(i, s, o.Arrangement, edges[i])
		l.hull = append(l.hull, hull(s))
	}
	for gi := range l.grids {
		g := &l.grids[gi]
		g.end = g.strips + 1
		if l.mirror {
			g.first = l.cancelled(g, 0)
			g.end -= l.cancelled(g, g.strips)
		}
		for j := range g.strips {
			l.trailingCell = append(l.trailingCell, g.cell+(g.rows-1)*g.strips+j)
		}
	}
	l.widenCores()
	l.elements()
	l.thicken()
	l.spacings()
	l.scratch.New = func() any { return newWorkspace(l) }
	return l, nil
}

// edge is the kind of a surface's first or last edge.
type edge int

const (
	free       edge = iota // the sheet ends: the load falls to zero as the root of the distance
	continuous             // it continues without a corner, or into its reflection
	corner                 // it continues round a corner, as from a wing into a tip plate
)

// straight is the cosine above which two sheets that meet continue each other without a
// corner: a fold of less than 25 degrees.
const straight = .9

// join finds the edges that coincide, makes joined surfaces one body, and returns
// the kind of each surface's first and last edge.
func (l *Lattice) join() ([][2]edge, error) {
	// ends returns the first and last section and the direction from each inwards.
	ends := func(i int) (e [2]Station, in [2]r3.Vec) {
		st := l.surfaces[i].Stations
		n := len(st) - 1
		dir := func(a, b Station) r3.Vec {
			d := r3.Sub(b.Point(.25), a.Point(.25))
			return r3.Unit(r3.Vec{Y: d.Y, Z: d.Z})
		}
		return [2]Station{st[0], st[n]}, [2]r3.Vec{dir(st[0], st[1]), dir(st[n], st[n-1])}
	}
	kind := make([][2]edge, len(l.surfaces))
	for i := range l.surfaces {
		ei, di := ends(i)
		for a := range ei {
			if l.mirror && inSymmetryPlane(ei[a]) {
				kind[i][a] = continuous
			}
			for k := 0; k < i; k++ {
				ek, dk := ends(k)
				for b := range ek {
					if !sameSection(ei[a], ek[b]) {
						continue
					}
					if l.surfaces[i].Rows != l.surfaces[k].Rows {
						return nil, fmt.Errorf("surfaces %q and %q meet at an edge with %d and %d rows; give both the same", l.surfaces[k].Name, l.surfaces[i].Name, l.surfaces[k].Rows, l.surfaces[i].Rows)
					}
					met := continuous
					if r3.Dot(di[a], dk[b]) > -straight {
						met = corner
					}
					kind[i][a], kind[k][b] = max(kind[i][a], met), max(kind[k][b], met)
					from, to := l.grids[i], l.grids[k]
					for j := range l.grids {
						g := &l.grids[j]
						if g.body == from.body {
							g.body = to.body
						}
						if met == continuous && g.sheet == from.sheet {
							g.sheet = to.sheet
						}
					}
				}
			}
		}
	}
	return kind, nil
}

// stripPositions returns the edges and middles of n strips of a bay in turn: 2n+1
// fractions of the bay.
//
// Strips are equal, with a quarter strip left out at a free edge. At a corner the
// load changes as the 2/3 power of the distance, which equal strips resolve
// poorly. So there the strips narrow towards it on a cosine, and a free edge at the
// other end is treated as Lan treats a leading edge. (On a wing of 2 m half span with
// a plate 0.15 m deep, 4 x 8 cells are then as accurate as 8 x 48 equal ones.)
func stripPositions(n int, first, last edge) []float64 {
	if first == corner && last == continuous {
		p := stripPositions(n, last, first)
		slices.Reverse(p)
		for i := range p {
			p[i] = 1 - p[i]
		}
		return p
	}
	p := make([]float64, 2*n+1)
	for i := range p {
		u := float64(i) / 2
		switch {
		case first != corner && last != corner:
			var in, out float64
			if first == free {
				in = .25
			}
			if last == free {
				out = .25
			}
			p[i] = (in + u) / (float64(n) + in + out)
		case first == continuous:
			p[i] = math.Sin(math.Pi / 2 * u / float64(n))
		default:
			var in, out float64
			if first == free {
				in = .5
			}
			if last == free {
				out = .5
			}
			p[i] = (1 - math.Cos(math.Pi*(u+in)/(float64(n)+in+out))) / 2
		}
	}
	return p
}

// chordPositions returns the positions along the chord of m filaments, of their
// control points, and of the m+1 edges of the cells, in chords.
func chordPositions(a Arrangement, m int) (bound, ctrl, edges []float64) {
	edges = append(edges, 0)
	for k := 1; k <= m; k++ {
		if a == QuarterChord {
			bound = append(bound, (float64(k)-.75)/float64(m))
			ctrl = append(ctrl, (float64(k)-.25)/float64(m))
			edges = append(edges, float64(k)/float64(m))
			continue
		}
		bound = append(bound, (1-math.Cos(float64(2*k-1)*math.Pi/float64(2*m)))/2)
		ctrl = append(ctrl, (1-math.Cos(float64(k)*math.Pi/float64(m)))/2)
		edges = append(edges, ctrl[k-1])
	}
	return bound, ctrl, edges
}

// shareStrips deals n strips out to the bays in proportion to their widths, at
// least one each, by largest remainder.
func shareStrips(widths []float64, n int) []int {
	share := make([]int, len(widths))
	rest := make([]float64, len(widths))
	total := floats.Sum(widths)
	left := n
	for i, w := range widths {
		ideal := w / total * float64(n)
		share[i] = max(1, int(ideal))
		rest[i] = ideal - float64(share[i])
		left -= share[i]
	}
	for ; left > 0; left-- {
		i := floats.MaxIdx(rest)
		share[i]++
		rest[i]--
	}
	for ; left < 0; left++ { // the minimum of one took too many: from the widest share
		most := -1
		for i, s := range share {
			if s > 1 && (most < 0 || rest[i] < rest[most]) {
				most = i
			}
		}
		share[most]--
		rest[most]++
	}
	return share
}

// cancelled returns 1 if the column of nodes lies exactly in the plane of symmetry,
// else 0.
func (l *Lattice) cancelled(g *grid, col int) int {
	for k := range g.rows + 1 {
		if l.node.y[g.node+k*(g.strips+1)+col] != 0 {
			return 0
		}
	}
	return 1
}

// column is a line of points along the chord, a part eta of the way from one
// station to the next.
type column struct {
	from, to Station
	eta      float64
	level    [2]float64 // how level the surface lies at the two stations, see Surface.level
}

func (c column) at(xi float64) r3.Vec {
	return r3.Add(r3.Scale(1-c.eta, c.from.Point(xi)), r3.Scale(c.eta, c.to.Point(xi)))
}

// layOut fills in surface i's nodes, control points and cells; ends are the kinds of its
// first and last edge.
func (l *Lattice) layOut(i int, s Surface, a Arrangement, ends [2]edge) {
	g := l.grids[i]
	l.columns = append(l.columns, make([]column, g.strips+1))
	bays := len(s.Stations) - 1
	widths := make([]float64, bays)
	for b := range widths {
		widths[b] = s.span(b)
	}
	bound, ctrl, edges := chordPositions(a, s.Rows)
	nodes := append(append([]float64{}, bound...), 1)
	col := 0
	for b, eta := range s.bayEdges(a, ends) {
		s0, s1, n := s.Stations[b], s.Stations[b+1], len(eta)/2
		level := [2]float64{s.level(b), s.level(b + 1)}
		at := func(eta, xi float64) r3.Vec { return column{from: s0, to: s1, eta: eta}.at(xi) }
		slopes := func(c Camber) []float64 {
			if a == Semicircle {
				return c.controlSlopes(s.Rows)
			}
			var v []float64
			for _, xi := range ctrl {
				v = append(v, c.Slope(xi))
			}
			return v
		}
		slope0, slope1 := slopes(s0.Camber), slopes(s1.Camber)
		for j := 0; j <= n; j++ {
			c := column{s0, s1, eta[2*j], level}
			l.columns[i][col+j] = c
			for k, xi := range nodes {
				id := g.node + k*(g.strips+1) + col + j
				l.node.set(id, c.at(xi))
				l.core[id] = math.Pow(coreChords*((1-eta[2*j])*s0.Chord+eta[2*j]*s1.Chord), 4)
			}
			if j == n {
				continue
			}
			mid, step := eta[2*j+1], eta[2*j+2]-eta[2*j]
			l.stripMid = append(l.stripMid, (mid-eta[2*j])/step)
			l.stripColumn = append(l.stripColumn, column{s0, s1, mid, level})
			quarter := at(mid, .25)
			l.stripGeometry = append(l.stripGeometry, Strip{
				Surface: i, Y: quarter.Y, Z: quarter.Z, Width: step * widths[b], Chord: (1-mid)*s0.Chord + mid*s1.Chord,
				InnerY: at(eta[2*j], 0).Y, OuterY: at(eta[2*j+2], 0).Y,
			})
			across := func(xi float64) r3.Vec { return r3.Sub(s1.Point(xi), s0.Point(xi)) }
			for k, xi := range ctrl {
				id := g.cell + k*g.strips + col + j
				l.ctrl.set(id, at(mid, xi))
				along := r3.Add(r3.Scale(1-mid, s0.tangent(slope0[k])), r3.Scale(mid, s1.tangent(slope1[k])))
				l.normal.set(id, r3.Unit(r3.Cross(along, across(xi))))
				chordwise := r3.Sub(at(mid, edges[k+1]), at(mid, edges[k]))
				l.area[id] = r3.Norm(r3.Cross(chordwise, r3.Scale(step, across(bound[k]))))
			}
		}
		col += n
	}
}

// spacings fills in l.spacing; the surfaces of one sheet have the same.
func (l *Lattice) spacings() {
	l.spacing = make([]float64, len(l.grids))
	if l.rows == QuarterChord {
		return
	}
	for i, g := range l.grids {
		for k, o := range l.grids {
			if o.sheet != g.sheet {
				continue
			}
			for _, st := range l.surfaces[k].Stations {
				l.spacing[i] = math.Max(l.spacing[i], nearness*st.Chord*math.Pi/2/float64(g.rows))
			}
		}
	}
}

// The radius of a wake filament's core, in its effect on other bodies. A wake is a sheet as
// thick as the boundary layers that it is made of, it is never still, and what rolls up from
// it has a core of some hundredths of the span (common practice). coreChords, in chords of
// the section that sheds it, is of that size and does not depend on the mesh, so that the
// flow about a wing in another's wake does not either. That takes strips narrow enough to
// resolve it: no core is narrower than coreStrips of the strips that shed it and of those of
// any body that it may meet. (Without that a narrow foreplane's wake that met a wing with
// strips twice as wide changed the lift by 17 % from mesh to mesh.)
const (
	coreChords = 0.15
	coreStrips = 0.5
)

// widenCores makes no core narrower than coreStrips.
func (l *Lattice) widenCores() {
	mean := make([]float64, len(l.grids)) // strip width
	for _, st := range l.stripGeometry {
		mean[st.Surface] += st.Width / float64(l.grids[st.Surface].strips)
	}
	for k, g := range l.grids {
		for i, o := range l.grids {
			if i != k && o.body == g.body {
				continue
			}
			least := math.Pow(coreStrips*mean[i], 4)
			for n := g.node; n < g.node+(g.rows+1)*(g.strips+1); n++ {
				l.core[n] = max(l.core[n], least)
			}
		}
	}
}

// hull returns points of the surface, and of its underside, among which its lowest lies at
// any pitch. The surface is ruled, so its extremes lie on the stations' sections.
func hull(s Surface) []r3.Vec {
	const n = 32
	var h []r3.Vec
	for i, st := range s.Stations {
		for k := 0; k <= n; k++ {
			h = append(h, st.Point(float64(k)/n))
		}
		if st.Thickness == 0 {
			continue
		}
		c := column{from: st, to: st, level: [2]float64{s.level(i), s.level(i)}}
		for k := 1; k < n; k++ {
			h = append(h, c.below(float64(k)/n, .5))
		}
	}
	return h
}

// elements lists the filaments that carry force: bound ones across the stream
// and chordwise ones on the surface. The wake, along the stream, carries none, nor
// does a chordwise filament in the plane of symmetry, which its reflection cancels.
func (l *Lattice) elements() {
	var mid, seg []r3.Vec
	add := func(grid, a, b, cell, plus, minus, s0, s1 int) {
		na, nb, t := l.node.at(a), l.node.at(b), .5
		if cell >= 0 {
			t = l.stripMid[s0]
		}
		mid = append(mid, r3.Add(r3.Scale(1-t, na), r3.Scale(t, nb)))
		seg = append(seg, r3.Sub(nb, na))
		l.plus, l.minus = append(l.plus, plus), append(l.minus, minus)
		l.strip = append(l.strip, [2]int{s0, s1})
		l.cell, l.grid = append(l.cell, cell), append(l.grid, grid)
		l.ends = append(l.ends, [2]int{a, b})
	}
	strips := 0
	for i, g := range l.grids {
		w := g.strips + 1
		for k := 0; k < g.rows; k++ {
			for j := 0; j < g.strips; j++ {
				c, before := g.cell+k*g.strips+j, -1
				if k > 0 {
					before = c - g.strips
				}
				n := g.node + k*w + j
				add(i, n, n+1, c, c, before, strips+j, strips+j)
			}
		}
		for k := 0; k < g.rows; k++ {
			for j := 0; j < w; j++ {
				n := g.node + k*w + j
				if j == 0 && l.mirror && inSymmetryPlane(l.surfaces[i].Stations[0]) {
					continue
				}
				in, out := g.cell+k*g.strips+j-1, g.cell+k*g.strips+j
				si, so := strips+j-1, strips+j
				if j == 0 {
					in, si = -1, so
				}
				if j == g.strips {
					out, so = -1, si
				}
				add(i, n, n+w, -1, in, out, si, so)
			}
		}
		strips += g.strips
	}
	l.mid, l.seg = makePoints(len(mid)), makePoints(len(seg))
	for e := range mid {
		l.mid.set(e, mid[e])
		l.seg.set(e, seg[e])
	}
}

// Cells returns the number of cells, the unknowns of the problem.
func (l *Lattice) Cells() int { return l.ctrl.len() }

// Layout says which part of a Solution belongs to one surface.
type Layout struct {
	Rows int
	// Its strips are Solution.Strips[FirstStrip:EndStrip].
	FirstStrip, EndStrip int
	// Its cells are Solution.Pressure[FirstCell:EndCell], and the same of Solution.Gamma:
	// row by row from the leading edge, EndStrip - FirstStrip strips in each.
	FirstCell, EndCell int
	// ChordEdges are the chordwise edges of its cells in chords from the leading edge,
	// one more than rows: row k lies between ChordEdges[k] and ChordEdges[k+1].
	ChordEdges []float64
}

// Layouts returns the layout of each surface, in the order that New was given them.
func (l *Lattice) Layouts() []Layout {
	layouts := make([]Layout, len(l.grids))
	strip := 0
	for i, g := range l.grids {
		_, _, edges := chordPositions(l.rows, g.rows)
		layouts[i] = Layout{
			Rows: g.rows, FirstStrip: strip, EndStrip: strip + g.strips,
			FirstCell: g.cell, EndCell: g.cell + g.rows*g.strips, ChordEdges: edges,
		}
		strip += g.strips
	}
	return layouts
}
