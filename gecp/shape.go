package gecp

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

// Mesh is the fineness of the lattice on every wing.
type Mesh struct {
	Rows   int // cells along the chord, 1 or more
	Strips int // cells along a half span; a wing has at least one a bay between stations
}

// plate is a tip plate: the tip section moved by dz along z.
type plate struct {
	name string
	dz   float64 // m, up positive; zero for none
}

// plates returns the wing's tip plates, down and up, there or not.
func (w *Wing) plates() [2]plate {
	return [2]plate{
		{w.Name + " plate down", -w.TipPlates.Down},
		{w.Name + " plate up", w.TipPlates.Up},
	}
}

const maxPlateStrips = 3

// Sections returns the wing's stations in craft axes: the incidence turns all
// of them about the root leading edge, the twist each about its own.
func (w *Wing) Sections() []vlm.Station {
	s := make([]vlm.Station, len(w.Stations))
	sin, cos := math.Sincos(w.IncidenceDeg * math.Pi / 180)
	for i, st := range w.Stations {
		s[i] = vlm.Station{
			LE:        r3.Vec{X: w.X + st.LEX*cos + st.LEZ*sin, Y: st.Y, Z: w.Z + st.LEZ*cos - st.LEX*sin},
			Chord:     st.Chord,
			Incidence: (w.IncidenceDeg + st.TwistDeg) * math.Pi / 180,
			Camber:    vlm.Camber(w.Camber),
			Thickness: w.Thickness,
		}
	}
	return s
}

// Surfaces returns the craft's starboard wings and tip plates for the lattice. A
// wing's surface bears its name; its plates follow it as "<wing> plate down" and
// "<wing> plate up", each from the tip section to the same section moved along
// z, thin, with strips about as wide as the wing's, three at most. The craft passes
// Check.
func (c *Craft) Surfaces(m Mesh) []vlm.Surface {
	var s []vlm.Surface
	edges := c.stripEdges(m)
	for i := range c.Wings {
		w := &c.Wings[i]
		sec := w.Sections()
		n := len(sec)
		strips := max(m.Strips, n-1)
		if edges[i] != nil {
			strips = len(edges[i]) - 1
		}
		s = append(s, vlm.Surface{Name: w.Name, Stations: sec, Rows: m.Rows, Strips: strips, Edges: edges[i]})
		var width float64
		for j := 1; j < n; j++ {
			d := r3.Sub(sec[j].LE, sec[j-1].LE)
			width += math.Hypot(d.Y, d.Z)
		}
		width /= float64(strips)
		for _, p := range w.plates() {
			if p.dz == 0 {
				continue
			}
			root := sec[n-1]
			root.Thickness = 0
			end := root
			end.LE.Z += p.dz
			s = append(s, vlm.Surface{
				Name:     p.name,
				Stations: []vlm.Station{root, end},
				Rows:     m.Rows,
				Strips:   min(max(1, int(math.Round(math.Abs(p.dz)/width))), maxPlateStrips),
			})
		}
	}
	return s
}

// WingShape holds the plan of one wing, both halves, in metres and square
// metres. Chords count with their true length, the span across the stream as
// seen from above.
type WingShape struct {
	Name        string
	Area        float64
	Span        float64 // tip to tip
	AspectRatio float64 // Span^2 / Area
	MAC         float64 // mean aerodynamic chord
	MACX        float64 // its leading edge, m aft of the datum
	MACY        float64 // its place on the half wing, m from the centreline
}

// Shape holds the plan of the craft.
type Shape struct {
	Area  float64 // reference area: all wings, both halves, m2
	Span  float64 // the widest wing's, m
	MAC   float64 // reference chord: the wings' mean chords weighted by their areas, m
	MACX  float64 // its leading edge, weighted likewise, m aft of the datum
	Wings []WingShape
}

// meanIncidence returns the wings' incidence, weighted by their areas, rad.
func (s Shape) meanIncidence(c *Craft) (mean float64) {
	for i, w := range s.Wings {
		mean += w.Area / s.Area * Radians(c.Wings[i].IncidenceDeg)
	}
	return mean
}

// Shape returns the plan of the craft and of its wings, tip plates left out. The
// craft passes Check.
//
// With S = 2 int c dy over the half span: mean aerodynamic chord 2/S int c^2 dy,
// its leading edge 2/S int c x_le dy, its place 2/S int c y dy (Etkin and Reid,
// Dynamics of Flight, 3rd ed., appendix C, from memory). Between stations c and
// x_le run straight, and the integrals are exact.
func (c *Craft) Shape() Shape {
	s := Shape{Wings: make([]WingShape, len(c.Wings))}
	for i := range c.Wings {
		w := c.Wings[i].shape()
		s.Wings[i] = w
		s.Area += w.Area
		s.Span = max(s.Span, w.Span)
		s.MAC += w.Area * w.MAC
		s.MACX += w.Area * w.MACX
	}
	s.MAC /= s.Area
	s.MACX /= s.Area
	return s
}

func (w *Wing) shape() WingShape {
	sec := w.Sections()
	s := WingShape{Name: w.Name, Span: 2 * sec[len(sec)-1].LE.Y}
	for j := 1; j < len(sec); j++ {
		a, b := sec[j-1], sec[j]
		// twice the integral of the product of two quantities that run straight
		twice := func(p0, p1, q0, q1 float64) float64 {
			return (b.LE.Y - a.LE.Y) / 3 * (2*p0*q0 + p0*q1 + p1*q0 + 2*p1*q1)
		}
		s.Area += twice(a.Chord, b.Chord, 1, 1)
		s.MAC += twice(a.Chord, b.Chord, a.Chord, b.Chord)
		s.MACX += twice(a.Chord, b.Chord, a.LE.X, b.LE.X)
		s.MACY += twice(a.Chord, b.Chord, a.LE.Y, b.LE.Y)
	}
	s.MAC /= s.Area
	s.MACX /= s.Area
	s.MACY /= s.Area
	s.AspectRatio = s.Span * s.Span / s.Area
	return s
}
