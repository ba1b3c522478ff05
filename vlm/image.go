package vlm

import "math"

// Close to the water a wing's image is nearer to it than its filaments are to each
// other, and filaments are a poor approximation of the vortex sheet. But the sheet is
// known better than that: along the chord the circulations of m bound filaments at
// Lan's positions define a cosine series of m terms, with the correct behaviour at the
// leading and the trailing edge (Lan 1974). So the image has as many filaments as the
// gap requires, with circulations from the series (prolongation). That adds no
// unknown: the rows only have to resolve the shape of the load. (Without it a flat
// wing of 4 rows at a gap of a fortieth of its chord has lift that grows with
// height.)

// nearness is the least ratio of half the distance to an image to the spacing of its
// filaments at mid chord at which these represent the sheet well enough.
const nearness = 1.25

// imageLattice is the lattice whose reflection is the image in the water: as the
// lattice, but some surfaces have more rows.
type imageLattice struct {
	grids         []grid
	node          points // craft axes
	cells         int
	sourceWeights [][]float64 // per grid, for the sources at its bound filaments; nil if it is thin
	prolongation  [][]float64 // per grid, its rows x the lattice's, for circulations of rings; nil for the same rows
}

// refinements are the ratios of an image's rows, rounded up, to the lattice's; the last
// serves all smaller gaps. The steps are small because unneeded rows cost time.
var refinements = [...]float64{1, 1.25, 1.5, 1.75, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 10, 12, 14, 16}

// refine sets, per surface, which of the refinements its image needs to act on a
// sheet, with the datum at the height, m. The distance between the sheet's lowest
// point and the nearest of an image is the sum of their heights; surfaces of one
// sheet are refined alike.
func (p *PitchedLattice) refine(refinement []byte, sheet int, height float64) {
	var lowest float64
	for i, g := range p.l.grids {
		if g.sheet == sheet {
			lowest = p.deepest[i]
		}
	}
	for i, need := range p.l.spacing {
		gap := height + (lowest+p.deepest[i])/2
		k := 0
		for k < len(refinements)-1 && gap*refinements[k] < need {
			k++
		}
		// With few rows, several refinement levels give identical images.
		for rows := p.l.grids[i].rows; k > 0 && refined(rows, k-1) == refined(rows, k); {
			k--
		}
		refinement[i] = byte(k)
	}
}

// refined returns the number of an image's rows from the lattice's.
func refined(rows, refinement int) int {
	return int(math.Ceil(float64(rows) * refinements[refinement]))
}

// imageFor returns the image lattice with a refinement for each surface.
func (l *Lattice) imageFor(refinement []byte) *imageLattice {
	l.imagesMu.Lock()
	defer l.imagesMu.Unlock()
	if im := l.images[string(refinement)]; im != nil {
		return im
	}
	im := &imageLattice{}
	nodes := 0
	for i, g := range l.grids {
		g.rows = refined(g.rows, int(refinement[i]))
		g.node, g.cell = nodes, im.cells
		nodes += (g.rows + 1) * (g.strips + 1)
		im.cells += g.rows * g.strips
		im.grids = append(im.grids, g)
	}
	im.node = makePoints(nodes)
	for i, g := range im.grids {
		rows := l.grids[i].rows
		var s []float64
		if g.rows > rows {
			s = prolongation(rows, g.rows)
		}
		im.prolongation = append(im.prolongation, s)
		var weights []float64
		if g.thick {
			weights = sourceWeights(l.rows, rows, g.rows)
		}
		im.sourceWeights = append(im.sourceWeights, weights)
		positions, _, _ := chordPositions(l.rows, g.rows)
		for k, xi := range append(positions, 1) {
			for j, c := range l.columns[i] {
				im.node.set(g.node+k*len(l.columns[i])+j, c.below(xi, exchange))
			}
		}
	}
	l.images[string(refinement)] = im
	return im
}

// prolongation returns the matrix, n x m, that interpolates the ring circulations of n
// rows from those of m. The bound circulations are the differences of the rings' down
// the chord; times their number they follow the cosine series in the angle along it.
func prolongation(m, n int) []float64 {
	s := make([]float64, n*m)
	bound := make([]float64, m)
	for k := range n {
		t := (float64(k) + .5) * math.Pi / float64(n)
		for i := range bound {
			u := (float64(i) + .5) * math.Pi / float64(m)
			v := 1.0
			for h := 1; h < m; h++ {
				v += 2 * math.Cos(float64(h)*t) * math.Cos(float64(h)*u)
			}
			bound[i] = v / float64(n)
		}
		for i, v := range bound {
			if i+1 < m {
				v -= bound[i+1]
			}
			if k > 0 {
				v += s[(k-1)*m+i]
			}
			s[k*m+i] = v
		}
	}
	return s
}

// restrict sums influences of the image's rings to those of the lattice's: it is the
// transpose of prolong.
func (im *imageLattice) restrict(grids []grid, fine, ring []vec) {
	for i, g := range grids {
		f := im.grids[i]
		n := g.rows * g.strips
		from, to := fine[f.cell:f.cell+f.rows*f.strips], ring[g.cell:g.cell+n]
		s := im.prolongation[i]
		if s == nil {
			copy(to, from)
			continue
		}
		r := 0
		for ; r+1 < g.rows; r += 2 {
			restrictTwoRows(from, s[r:], g.strips, g.rows, to[r*g.strips:(r+1)*g.strips], to[(r+1)*g.strips:(r+2)*g.strips])
		}
		if r < g.rows {
			out := to[r*g.strips : (r+1)*g.strips]
			restrictTwoRows(from, s[r:], g.strips, g.rows, out, out)
		}
	}
}

// restrictTwoRows sums the rows of `from`, weighted by the first and the second of each
// m weights, to a and b: two rows at once, since memory loads are the bottleneck. If a is
// b the first weights serve for both.
func restrictTwoRows(from []vec, weight []float64, strips, m int, a, b []vec) {
	second := 1
	if &a[0] == &b[0] {
		second = 0
	}
	for j := range a {
		var u, v vec
		for i, w := j, 0; i < len(from); i, w = i+strips, w+m {
			p, x, y := &from[i], weight[w], weight[w+second]
			u.x += x * p.x
			u.y += x * p.y
			u.z += x * p.z
			v.x += y * p.x
			v.y += y * p.y
			v.z += y * p.z
		}
		p, q := &a[j], &b[j]
		p.x, p.y, p.z = u.x, u.y, u.z
		q.x, q.y, q.z = v.x, v.y, v.z
	}
}

// prolong interpolates the circulations of the image's rings from those of the lattice's.
func (im *imageLattice) prolong(grids []grid, ring, fine []float64) {
	for i, g := range grids {
		f := im.grids[i]
		from, to := ring[g.cell:g.cell+g.rows*g.strips], fine[f.cell:f.cell+f.rows*f.strips]
		s := im.prolongation[i]
		if s == nil {
			copy(to, from)
			continue
		}
		for k := range f.rows {
			out := to[k*g.strips : (k+1)*g.strips]
			clear(out)
			for r, w := range s[k*g.rows : (k+1)*g.rows] {
				for j, v := range from[r*g.strips : (r+1)*g.strips] {
					out[j] += w * v
				}
			}
		}
	}
}
