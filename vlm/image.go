package vlm

import "math"

// Close to the water a wing's image is nearer to it than its filaments are to each
// other, and filaments are a poor stand-in for the sheet. But the sheet is known
// better than that: along the chord the circulations of m bound filaments at Lan's
// places fix a cosine series of m terms, with a leading and a trailing edge that
// behave as they must (Lan 1974). So the image is made of as many filaments as the
// gap asks for, with the circulations that the series gives them. That adds no
// unknown: the rows have only the shape of the load to resolve. (Without it a flat
// wing at a gap of a fortieth of its chord and 4 rows has lift that grows with
// height.)

// nearness is half the distance to an image over the spacing of its filaments at mid
// chord from which on these pass for a sheet.
const nearness = .75

// images is the lattice as its image is made of it: some surfaces with more rows.
type images struct {
	grids  []grid
	node   points // craft axes
	cells  int
	spread [][]float64 // per grid, its rows x the lattice's: circulations of rings; nil for the same rows
}

// refinements are how many times finer an image may be, its rows rounded up; the
// last is for all gaps. Small steps, since what is not needed costs as much as what
// is.
var refinements = [...]float64{1, 1.25, 1.5, 1.75, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 10, 12, 14, 16}

// refine sets finer to which of the refinements each surface's image needs as seen
// from a sheet, with the datum at a height, m. The sheet's lowest point and the
// nearest of an image are as far apart as their heights together; surfaces that go
// on straight into each other are refined as one.
func (p *Pose) refine(finer []byte, sheet int, height float64) {
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
		// Of few rows several refinements make the same images.
		for rows := p.l.grids[i].rows; k > 0 && refined(rows, k-1) == refined(rows, k); {
			k--
		}
		finer[i] = byte(k)
	}
}

// refined returns how many rows an image has in place of the lattice's.
func refined(rows, refinement int) int {
	return int(math.Ceil(float64(rows) * refinements[refinement]))
}

// imagesFor returns the images with a refinement for each surface.
func (l *Lattice) imagesFor(finer []byte) *images {
	l.imagesMu.Lock()
	defer l.imagesMu.Unlock()
	if im := l.images[string(finer)]; im != nil {
		return im
	}
	im := &images{}
	nodes := 0
	for i, g := range l.grids {
		g.rows = refined(g.rows, int(finer[i]))
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
			s = spread(rows, g.rows)
		}
		im.spread = append(im.spread, s)
		places, _, _ := rowPlaces(l.rows, g.rows)
		for k, xi := range append(places, 1) {
			for j, c := range l.columns[i] {
				im.node.set(g.node+k*len(l.columns[i])+j, c.at(xi))
			}
		}
	}
	l.images[string(finer)] = im
	return im
}

// spread returns the matrix, n x m, that makes the ring circulations of n rows from
// those of m. The bound circulations are the differences of the rings' down the
// chord; times their number they follow the cosine series in the angle along it.
func spread(m, n int) []float64 {
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

// gather turns what the rings of the images induce into what the lattice's do.
func (im *images) gather(grids []grid, fine, ring []vec) {
	for i, g := range grids {
		f := im.grids[i]
		n := g.rows * g.strips
		from, to := fine[f.cell:f.cell+f.rows*f.strips], ring[g.cell:g.cell+n]
		s := im.spread[i]
		if s == nil {
			copy(to, from)
			continue
		}
		r := 0
		for ; r+1 < g.rows; r += 2 {
			gather2(from, s[r:], g.strips, g.rows, to[r*g.strips:(r+1)*g.strips], to[(r+1)*g.strips:(r+2)*g.strips])
		}
		if r < g.rows {
			out := to[r*g.strips : (r+1)*g.strips]
			gather2(from, s[r:], g.strips, g.rows, out, out)
		}
	}
}

// gather2 sums the rows of `from`, weighted by the first and the second of each m weights,
// to a and b: two rows at once, since loads are the bottleneck. If a is b the weights
// are both the first.
func gather2(from []vec, weight []float64, strips, m int, a, b []vec) {
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

// scatter turns circulations of the lattice's rings into those of the images'.
func (im *images) scatter(grids []grid, ring, fine []float64) {
	for i, g := range grids {
		f := im.grids[i]
		from, to := ring[g.cell:g.cell+g.rows*g.strips], fine[f.cell:f.cell+f.rows*f.strips]
		s := im.spread[i]
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
