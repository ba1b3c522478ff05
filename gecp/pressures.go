package gecp

import (
	"context"

	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

// WingPressures is the load over the starboard half of one wing at one attitude, per
// dynamic pressure, corrected by the lift factor if a correction is on. Tip plates are
// left out.
type WingPressures struct {
	Wing  string
	Rows  int            // of cells, nose to tail
	Cells []PressureCell // strip by strip from the root, each nose to tail
	Spans []SpanLoad     // one a strip, root to tip
}

// PressureCell is a cell of the lattice.
type PressureCell struct {
	// Corners are seen from above, craft axes [x, y], m: the inner side nose to tail, then
	// the outer side tail to nose.
	Corners     [4][2]float64
	Coefficient float64 // pressure below less pressure above, per dynamic pressure
}

// SpanLoad is the load of a strip.
type SpanLoad struct {
	Y               float64 // m from the centreline
	Width           float64 // of the strip across the stream, m
	ForcePerSpan    float64 // square to the wing, per dynamic pressure and metre, m
	LiftCoefficient float64 // of the section
}

// Pressures solves for one attitude and returns the load over each wing, in the order
// of the file, at a clearance, m, and a pitch, rad. It returns an error if a point of
// a wing is in the water or the context is cancelled.
func (m *Model) Pressures(ctx context.Context, clearance, pitch float64) ([]WingPressures, error) {
	s, err := m.solve(ctx, clearance, pitch)
	if err != nil {
		return nil, err
	}
	var out []WingPressures
	surfaces := m.craft.Surfaces(m.mesh)
	for i, l := range m.lattice.Layouts() {
		if i > 0 && m.wing[i-1] == m.wing[i] { // a plate follows its wing
			continue
		}
		out = append(out, m.pressuresOf(surfaces[i], l, s))
	}
	return out, nil
}

// pressuresOf lays out a wing's cells and strips as seen from above, craft axes.
func (m *Model) pressuresOf(sf vlm.Surface, l vlm.Layout, s *vlm.Solution) WingPressures {
	w := WingPressures{Wing: sf.Name, Rows: sf.Rows}
	edges := l.ChordEdges
	corrected := m.correction.strip
	for j, st := range s.Strips[l.FirstStrip:l.EndStrip] {
		w.Spans = append(w.Spans, SpanLoad{Y: st.Y, Width: st.Width, ForcePerSpan: corrected(st.NormalForce / st.Width), LiftCoefficient: corrected(st.SectionLiftCoefficient())})
		for k := range sf.Rows {
			at := func(y float64, k int) [2]float64 {
				v := pointOf(sf, y, edges[k])
				return [2]float64{v.X, v.Y}
			}
			w.Cells = append(w.Cells, PressureCell{
				Corners:     [4][2]float64{at(st.InnerY, k), at(st.InnerY, k+1), at(st.OuterY, k+1), at(st.OuterY, k)},
				Coefficient: corrected(s.Pressure[l.FirstCell+k*sf.Strips+j]),
			})
		}
	}
	return w
}

// pointOf returns the point of a ruled surface at y, m, and xi chords.
func pointOf(sf vlm.Surface, y, xi float64) r3.Vec {
	for j := 1; j < len(sf.Stations); j++ {
		a, b := sf.Stations[j-1], sf.Stations[j]
		if y > b.LE.Y && j < len(sf.Stations)-1 {
			continue
		}
		t := (y - a.LE.Y) / (b.LE.Y - a.LE.Y)
		return r3.Add(r3.Scale(1-t, a.Point(xi)), r3.Scale(t, b.Point(xi)))
	}
	return sf.Stations[0].Point(xi)
}
