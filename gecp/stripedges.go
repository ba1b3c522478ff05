package gecp

import (
	"math"
	"slices"
)

// stripEdges returns, per wing, where the strips of its lattice have their edges, as
// [vlm.Surface].Edges has them; nil for a wing on its own.
//
// Where one wing flies in another's wake, the trailing vortices of the one pass over the
// strips of the other. Only if both have their edges at the same distances from the
// centreline do the vortices pass along the edges, and the control points, half way
// between, see what they would see of the sheet itself. So all wings share their edges:
// each stretch between two stations, of whatever wings, has strips about as wide as the
// wing with the narrowest asks for, and all wings there have these. (Narrower strips on one
// part of a wing only are of no use: a lattice wants its strips to change slowly.) A wing
// that ends free stops a quarter strip short of its tip (Hough 1973), where the others then
// have an edge, too.
func (c *Craft) stripEdges(m Mesh) [][]float64 {
	edges := make([][]float64, len(c.Wings))
	if len(c.Wings) < 2 {
		return edges
	}
	var marks []float64
	width := make([]float64, len(c.Wings)) // of a strip that the mesh asks for
	free := make([]bool, len(c.Wings))     // whether the tip has no plate
	y := make([][]float64, len(c.Wings))
	for i := range c.Wings {
		w := &c.Wings[i]
		free[i] = w.TipPlates == (TipPlates{})
		n := float64(max(m.Strips, len(w.Stations)-1))
		if free[i] {
			n += .25
		}
		width[i] = w.tipY() / n
		for _, st := range w.Stations {
			marks = append(marks, st.Y)
		}
		y[i] = []float64{0}
		if w.Stations[0].Y != 0 {
			return make([][]float64, len(c.Wings)) // a wing that begins off the centreline
		}
	}
	slices.Sort(marks)
	marks = slices.Compact(marks)
	from, narrowest := 0., slices.Min(width)
	for _, to := range marks[1:] {
		ends, corner := false, false
		for i := range c.Wings {
			if c.Wings[i].tipY() == to {
				ends, corner = ends || free[i], corner || !free[i]
			}
		}
		// A stretch that is hardly longer than so many strips gets no further one.
		n := max(1, int(math.Ceil((to-from)/narrowest-.3)))
		var shared []float64 // the edges of the stretch, without `from`
		switch {
		case corner: // narrowing towards the plate, as a wing on its own
			for j := 1; j <= n; j++ {
				shared = append(shared, from+(to-from)*math.Sin(math.Pi/2*float64(j)/float64(n)))
			}
		case ends:
			for j := 1; j <= n; j++ {
				shared = append(shared, from+(to-from)*float64(j)/(float64(n)+.25))
			}
		default:
			for j := 1; j <= n; j++ {
				shared = append(shared, from+(to-from)*float64(j)/float64(n))
			}
		}
		last := shared[n-1]
		if corner || !ends {
			last, shared[n-1] = to, to
		}
		for i := range c.Wings {
			w := &c.Wings[i]
			if w.tipY() < to {
				continue
			}
			y[i] = append(y[i], shared...)
			if last < to && w.tipY() > to && w.hasStation(to) {
				y[i] = append(y[i], to)
			}
			if last == to && w.tipY() == to && free[i] {
				// Another wing's plate stands at this wing's free tip: a quarter strip short of it.
				k := len(y[i]) - 1
				y[i][k] -= (y[i][k] - y[i][k-1]) / 5
			}
		}
		from = last
	}
	for i := range c.Wings {
		edges[i] = c.Wings[i].alongStations(y[i])
	}
	return edges
}

func (w *Wing) tipY() float64 { return w.Stations[len(w.Stations)-1].Y }

func (w *Wing) hasStation(y float64) bool {
	return slices.ContainsFunc(w.Stations, func(s Station) bool { return s.Y == y })
}

// alongStations turns distances from the centreline, rising, into places along the
// stations: 1.5 is half way from the second to the third.
func (w *Wing) alongStations(y []float64) []float64 {
	out := make([]float64, len(y))
	i := 0
	for k, v := range y {
		for v > w.Stations[i+1].Y && i+2 < len(w.Stations) {
			i++
		}
		a, b := w.Stations[i].Y, w.Stations[i+1].Y
		switch v {
		case a:
			out[k] = float64(i)
		case b:
			out[k] = float64(i + 1)
		default:
			out[k] = float64(i) + (v-a)/(b-a)
		}
	}
	return out
}
