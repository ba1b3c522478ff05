package vlm

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Station is one section of a surface, in craft axes.
type Station struct {
	LE        r3.Vec  // leading edge, m
	Chord     float64 // m, > 0
	Incidence float64 // rad, nose-up positive, about the leading edge
	Camber    Camber
	Thickness float64 // largest, in chords, of the form FourDigitThickness; 0 is thin, at most 0.3
}

// Point returns the mean line's point at xi chords from the leading edge.
func (s Station) Point(xi float64) r3.Vec {
	sin, cos := math.Sincos(s.Incidence)
	x, z := xi*s.Chord, s.Camber.Ordinate(xi)*s.Chord
	return r3.Vec{X: s.LE.X + x*cos + z*sin, Y: s.LE.Y, Z: s.LE.Z + z*cos - x*sin}
}

// tangent returns the derivative of Point with xi where the mean line has a slope.
func (s Station) tangent(slope float64) r3.Vec {
	sin, cos := math.Sincos(s.Incidence)
	x, z := s.Chord, slope*s.Chord
	return r3.Vec{X: x*cos + z*sin, Z: z*cos - x*sin}
}

// Surface is a lifting surface about its mean surface, ruled between neighbouring stations: points
// at equal xi are joined by straight lines. Its normal is aft x (along the
// stations), so a wing whose stations run to starboard lifts with positive
// circulation.
//
// Edges of two surfaces that coincide are joined: the vortex sheet continues from one
// to the other, as from a wing into its tip plate. In symmetric flight an edge in the
// plane y = 0 continues into its reflection.
type Surface struct {
	Name     string
	Stations []Station // 2 or more; neighbours apart across the stream
	Rows     int       // cells along the chord, 1 or more
	Strips   int       // cells along the span, 1 or more a bay between stations
	// Edges are the edges of the strips along the stations, if they are not to be spread
	// evenly: rising numbers, 1 more than Strips, 0 at the first station and 1.5 half way from
	// the second to the third, with each station between the first and the last among them. At
	// a free edge the lattice has to stop a quarter strip short. Surfaces that fly in each
	// other's wakes are the more exact for having their edges at the same places across the
	// stream.
	Edges []float64
}

// span returns the width of bay i across the stream, m, at the quarter chord.
func (s Surface) span(i int) float64 {
	a, b := s.Stations[i].Point(.25), s.Stations[i+1].Point(.25)
	return math.Hypot(b.Y-a.Y, b.Z-a.Z)
}

// level returns how level the surface lies at station i: the squared cosine of the dihedral,
// the mean of both sides.
func (s Surface) level(i int) float64 {
	sum, n := 0.0, 0.0
	for b := max(i-1, 0); b <= i && b+1 < len(s.Stations); b++ {
		d := r3.Sub(s.Stations[b+1].Point(.25), s.Stations[b].Point(.25))
		sum, n = sum+d.Y*d.Y/(d.Y*d.Y+d.Z*d.Z), n+1
	}
	return sum / n
}

// maxThickness bounds a section's thickness, in chords: the method is of the first order in it.
const maxThickness = .3

// maxCells bounds a lattice, so that a mistyped number cannot fill the memory: the
// influence matrices grow with its square.
const maxCells = 4000

func (s Surface) check() error {
	if len(s.Stations) < 2 {
		return fmt.Errorf("surface %q has %d stations; it needs at least 2", s.Name, len(s.Stations))
	}
	bays := len(s.Stations) - 1
	if s.Rows < 1 || s.Strips < bays {
		return fmt.Errorf("surface %q has %d rows and %d strips; it needs at least 1 row and %d strips, one a bay between stations", s.Name, s.Rows, s.Strips, bays)
	}
	if s.Edges != nil {
		if err := s.checkEdges(); err != nil {
			return err
		}
	}
	if s.Rows > maxCells || s.Strips > maxCells {
		return fmt.Errorf("surface %q has %d rows and %d strips; the lattice holds at most %d cells", s.Name, s.Rows, s.Strips, maxCells)
	}
	for i, st := range s.Stations {
		for _, v := range [...]float64{st.LE.X, st.LE.Y, st.LE.Z, st.Chord, st.Incidence, st.Camber.Height, st.Camber.At} {
			if math.IsNaN(v) || math.Abs(v) > 1e6 {
				return fmt.Errorf("surface %q, station %d holds the number %v; lengths and angles lie between -1e6 and 1e6", s.Name, i, v)
			}
		}
		if st.Chord <= 0 {
			return fmt.Errorf("surface %q, station %d has a chord of %v m; it must be above 0", s.Name, i, st.Chord)
		}
		if math.Abs(st.Incidence) > maxPitch {
			return fmt.Errorf("surface %q, station %d has an incidence of %.1f degrees; the method holds within ±%.0f", s.Name, i, st.Incidence*180/math.Pi, maxPitch*180/math.Pi)
		}
		if st.Camber.Height != 0 && (st.Camber.At <= 0 || st.Camber.At >= 1) {
			return fmt.Errorf("surface %q, station %d has its highest camber at %v chords; it must lie between 0 and 1", s.Name, i, st.Camber.At)
		}
		if !(st.Thickness >= 0 && st.Thickness <= maxThickness) {
			return fmt.Errorf("surface %q, station %d has a thickness of %v chords; it must lie between 0 and %v", s.Name, i, st.Thickness, maxThickness)
		}
		if i > 0 && !(s.span(i-1) > 1e-9*st.Chord) {
			return fmt.Errorf("surface %q: stations %d and %d lie at the same position across the stream; move them apart", s.Name, i-1, i)
		}
	}
	return nil
}

func (s Surface) checkEdges() error {
	last := len(s.Stations) - 1
	if len(s.Edges) != s.Strips+1 {
		return fmt.Errorf("surface %q has %d edges for %d strips; it needs one more than strips", s.Name, len(s.Edges), s.Strips)
	}
	next := 1 // the station whose turn it is to be an edge
	for i, e := range s.Edges {
		if !(e >= 0 && e <= float64(last)) || i > 0 && !(e > s.Edges[i-1]) {
			return fmt.Errorf("surface %q: edge %d of its strips is %v; they must rise, from 0 at the first station to %d at the last", s.Name, i, e, last)
		}
		if e == float64(next) {
			next++
		} else if e > float64(next) {
			break
		}
	}
	if next < last || s.Edges[0] >= 1 || s.Edges[s.Strips] <= float64(last-1) {
		return fmt.Errorf("surface %q: station %d is no edge of its strips, or a bay has none; each station between the first and the last must be one", s.Name, next)
	}
	return nil
}

// bayEdges returns, per bay, the edges and middles of its strips in turn, in fractions of
// the bay; ends are the kinds of the surface's first and last edge.
func (s Surface) bayEdges(a Arrangement, ends [2]edge) [][]float64 {
	bays := len(s.Stations) - 1
	out := make([][]float64, bays)
	if s.Edges != nil {
		mids := s.edgeMiddles(ends)
		i := 0
		for b := range out {
			for ; i < len(s.Edges) && s.Edges[i] <= float64(b+1); i++ {
				if len(out[b]) > 0 {
					out[b] = append(out[b], mids[i-1]-float64(b))
				}
				out[b] = append(out[b], s.Edges[i]-float64(b))
			}
			i-- // the station is the first edge of the next bay
		}
		return out
	}
	widths := make([]float64, bays)
	for b := range widths {
		widths[b] = s.span(b)
	}
	for b, n := range shareStrips(widths, s.Strips) {
		first, last := continuous, continuous
		if b == 0 && a != QuarterChord {
			first = ends[0]
		}
		if b == bays-1 && a != QuarterChord {
			last = ends[1]
		}
		out[b] = stripPositions(n, first, last)
	}
	return out
}

// edgeMiddles returns where between the given edges the strips have their control points.
// A vortex lattice is at its best where edges and middles are a smooth function, of whole
// and half numbers, as with Lan's positions. So the middle is the cubic's through the four
// edges about it: half way between equal strips, nearer to the narrower neighbour otherwise.
// In the plane of symmetry the edges go on mirrored, at a corner they turn back, at a free
// edge they go on alike.
func (s Surface) edgeMiddles(ends [2]edge) []float64 {
	along := make([]float64, len(s.Stations)) // of the stations, across the stream
	for b := range len(along) - 1 {
		along[b+1] = along[b] + s.span(b)
	}
	n := s.Strips
	e := make([]float64, n+3)
	for i, v := range s.Edges {
		b := min(int(v), len(along)-2)
		e[i+1] = along[b] + (v-float64(b))*(along[b+1]-along[b])
	}
	beyond := func(kind edge, last, before float64) float64 {
		if kind == corner {
			return before
		}
		return 2*last - before
	}
	e[0], e[n+2] = beyond(ends[0], e[1], e[2]), beyond(ends[1], e[n+1], e[n])
	mids := make([]float64, n)
	for i := range mids {
		m := (9*(e[i+1]+e[i+2]) - e[i] - e[i+3]) / 16
		// Never near an edge, however uneven the strips.
		w := e[i+2] - e[i+1]
		m = math.Min(math.Max(m, e[i+1]+.3*w), e[i+2]-.3*w)
		b := min(int(s.Edges[i]), len(along)-2)
		mids[i] = float64(b) + (m-along[b])/(along[b+1]-along[b])
	}
	return mids
}

// thick reports whether any station has a thickness.
func (s Surface) thick() bool {
	return slices.ContainsFunc(s.Stations, func(st Station) bool { return st.Thickness > 0 })
}

// sameSection reports whether two sections coincide to a millionth of the chord, which
// joins the edges that they bound.
func sameSection(a, b Station) bool {
	tol := 1e-6 * math.Max(a.Chord, b.Chord)
	for _, xi := range [...]float64{0, .3, .7, 1} {
		if r3.Norm(r3.Sub(a.Point(xi), b.Point(xi))) > tol {
			return false
		}
	}
	return true
}

// inSymmetryPlane reports whether the section lies in the plane of symmetry.
func inSymmetryPlane(s Station) bool { return math.Abs(s.LE.Y) <= 1e-9*s.Chord }
