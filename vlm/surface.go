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

// tangent returns the derivative of Point with xi.
func (s Station) tangent(xi float64) r3.Vec {
	sin, cos := math.Sincos(s.Incidence)
	x, z := s.Chord, s.Camber.Slope(xi)*s.Chord
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
