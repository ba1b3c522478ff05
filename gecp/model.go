package gecp

import (
	"math"

	"example.org/groundeffect/vlm"
)

// AirDensity is the air's at sea level in the International Standard Atmosphere,
// 15 degrees Celsius, kg/m3 (ISO 2533:1975).
const AirDensity = 1.225

// DefaultMesh is the lattice that keeps lift within 0.3 % and the centre of
// pressure within 0.3 % of the mean chord of the converged values for the craft
// and clearances that this package is for; the README shows the study.
var DefaultMesh = Mesh{Rows: 4, Strips: 8}

// Model is a craft with its lattice: what all questions about the flow start
// from. It is immutable.
type Model struct {
	craft   *Craft
	lattice *vlm.Lattice
	under   *LowestPoints
	shape   Shape
	wing    []int // the wing of each surface of the lattice
}

func NewModel(c *Craft, m Mesh) (*Model, error) {
	if p := c.Check(); p != nil {
		return nil, p
	}
	if m == (Mesh{}) {
		m = DefaultMesh
	}
	l, err := vlm.New(c.Surfaces(m), vlm.Options{})
	if err != nil {
		return nil, err
	}
	mo := &Model{craft: c, lattice: l, under: c.LowestPoints(), shape: c.Shape()}
	for i := range c.Wings {
		mo.wing = append(mo.wing, i)
		for _, p := range c.Wings[i].plates() {
			if p.dz != 0 {
				mo.wing = append(mo.wing, i)
			}
		}
	}
	return mo, nil
}

// peak returns the strip nearest to its limit. Tip plates, which carry side
// force, are left out.
func (m *Model) peak(s *vlm.Solution) CriticalStrip {
	var worst CriticalStrip
	for _, st := range s.Strips {
		i := m.wing[st.Surface]
		if st.Surface > 0 && m.wing[st.Surface-1] == i { // a plate follows its wing
			continue
		}
		w := &m.craft.Wings[i]
		p := CriticalStrip{Wing: w.Name, Y: st.Y, LiftCoefficient: st.SectionLiftCoefficient(), Limit: sectionLimit(w.Thickness)}
		if worst.Limit == 0 || math.Abs(p.LiftCoefficient)*worst.Limit > math.Abs(worst.LiftCoefficient)*p.Limit {
			worst = p
		}
	}
	return worst
}

// wingLoads returns the load of each wing, its plates included.
func (m *Model) wingLoads(s *vlm.Solution) []vlm.Load {
	loads := make([]vlm.Load, len(m.craft.Wings))
	for i, l := range s.Surfaces {
		w := &loads[m.wing[i]]
		w.Force.X += l.Force.X
		w.Force.Z += l.Force.Z
		w.Moment.Y += l.Moment.Y
	}
	return loads
}
