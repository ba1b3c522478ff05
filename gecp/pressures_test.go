package gecp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The cells lie side by side over the whole half wing but the quarter strip at its tip,
// and their pressures add up to the strips' forces: exactly but for the tilt of the
// surface, since the cells are seen from above.
func TestPressuresAddUp(t *testing.T) {
	for name, c := range demoCrafts(t) {
		m, err := NewModel(c, Mesh{})
		require.NoError(t, err)
		wings, err := m.Pressures(t.Context(), .2, .05)
		require.NoError(t, err)
		require.Len(t, wings, len(c.Wings), name)
		strip := 0
		s, err := m.solve(t.Context(), .2, .05)
		require.NoError(t, err)
		for i, w := range wings {
			assert.Equal(t, c.Wings[i].Name, w.Wing)
			require.Len(t, w.Cells, w.Rows*len(w.Spans))
			var cells, spans, area float64
			for j, sp := range w.Spans {
				own := s.Strips[m.strips[strip].index]
				strip++
				assert.InDelta(t, own.NormalForce, sp.ForcePerSpan*sp.Width, 1e-12, name)
				assert.Equal(t, own.SectionLiftCoefficient(), sp.LiftCoefficient)
				spans += sp.ForcePerSpan * sp.Width
				for k := range w.Rows {
					cell := w.Cells[j*w.Rows+k]
					a := planArea(cell.Corners)
					area += a
					cells += cell.Coefficient * a
				}
			}
			shape := m.shape.Wings[i]
			last := w.Spans[len(w.Spans)-1]
			assert.InDelta(t, shape.Area/2, area, .3*last.Width*shape.Area/shape.Span+.01*shape.Area, "%s, %s: the plan", name, w.Wing)
			assert.InEpsilon(t, spans, cells, .02, "%s, %s: cells and strips", name, w.Wing)
		}
	}
}

func planArea(c [4][2]float64) float64 {
	var a float64
	for i := range c {
		j := (i + 1) % 4
		a += c[i][0]*c[j][1] - c[j][0]*c[i][1]
	}
	return math.Abs(a) / 2
}
