package gecp

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"runtime"

	"example.org/groundeffect/vlm"
)

// DefaultMesh is the lattice that keeps lift within 0.3 % and the centre of
// pressure within 0.2 % of the mean chord of the converged values for the ready
// craft, 0.1 and 0.5 m above the water; the README shows the study.
func DefaultMesh() Mesh { return Mesh{Rows: 4, Strips: 9} }

// Model is a craft that has passed [Craft.Check], with the lattice of its wings: all
// questions about the flow start from it. It keeps its own copy of the craft, is
// immutable and safe for use by several goroutines.
type Model struct {
	craft   *Craft
	mesh    Mesh
	lattice *vlm.Lattice
	low     *LowestPoints
	shape   Shape
	wing    []int // the wing of each surface of the lattice
	strips  []wingStrip
	wake    WakeWay
	// What the craft's loads are corrected by; the lattice knows nothing of it.
	correction correction
}

// wingStrip is a strip of a wing, tip plates left out since they carry side force.
type wingStrip struct {
	index int // in the lattice
	wing  int
	y     float64 // m from the centreline
}

// NewModel returns the model of a craft with a mesh, whose zero value stands for
// DefaultMesh. It returns [Problems] if the craft fails Check, and an error if the
// mesh makes no lattice.
func NewModel(c *Craft, mesh Mesh) (*Model, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	if mesh == (Mesh{}) {
		mesh = DefaultMesh()
	}
	c = c.Clone()
	l, err := vlm.New(c.Surfaces(mesh), vlm.Options{})
	if err != nil {
		return nil, err
	}
	m := &Model{craft: c, mesh: mesh, lattice: l, low: c.LowestPoints(), shape: c.Shape(), correction: c.correction()}
	for i := range c.Wings {
		m.wing = append(m.wing, i)
		for _, p := range c.Wings[i].plates() {
			if p.dz != 0 {
				m.wing = append(m.wing, i)
			}
		}
	}
	for i, st := range l.Strips() {
		wing := m.wing[st.Surface]
		if st.Surface > 0 && m.wing[st.Surface-1] == wing { // a plate follows its wing
			continue
		}
		m.strips = append(m.strips, wingStrip{i, wing, st.Y})
	}
	return m, nil
}

// Craft returns a copy of the model's craft.
func (m *Model) Craft() *Craft { return m.craft.Clone() }

// Mesh returns the fineness of the lattice.
func (m *Model) Mesh() Mesh { return m.mesh }

// Shape returns the plan of the craft.
func (m *Model) Shape() Shape { return m.shape }

// LowestPoints returns what tells the wings' lowest point at any pitch.
func (m *Model) LowestPoints() *LowestPoints { return m.low }

// ErrOtherWings says that a model or map was asked to serve a craft whose wings are
// not its own.
var ErrOtherWings = errors.New("the wings differ and need a model of their own")

// For returns the model for a craft with the same wings and other weights, pilot,
// tow, floats or correction, at no cost. It returns [Problems] if the craft fails Check, and an
// error that wraps ErrOtherWings if its wings differ.
func (m *Model) For(c *Craft) (*Model, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	if !reflect.DeepEqual(c.Wings, m.craft.Wings) {
		return nil, fmt.Errorf("%q after %q: %w", c.Name, m.craft.Name, ErrOtherWings)
	}
	n := *m
	n.craft = c.Clone()
	n.correction = c.correction()
	return &n, nil
}

// Drag is a drag and the point of the craft that it acts at, m.
type Drag struct{ Force, X, Z float64 }

// FrictionDrag returns the profile drag of wings and tip plates in a stream, at the
// wings' mean point weighted by area. The stream has passed Checked.
func (m *Model) FrictionDrag(f Freestream) Drag {
	d := Drag{Force: f.DynamicPressure() * m.craft.frictionArea(f)}
	for i, w := range m.shape.Wings {
		part := w.Area / m.shape.Area
		d.X += part * (w.MACX + w.MAC/2)
		d.Z += part * m.craft.Wings[i].Z
	}
	return d
}

// ParasiteDrag returns the drag of all but the wings in a stream, at the centre of
// gravity with the pilot in the middle of the travel.
func (m *Model) ParasiteDrag(f Freestream) Drag {
	var middle float64
	if p := m.craft.Pilot; p != nil {
		middle = p.Middle()
	}
	x, z := m.craft.CG(middle)
	return Drag{f.DynamicPressure() * m.craft.ParasiteArea, x, z}
}

// workMemory is what all solutions under way at once may take, bytes; a solution takes
// about solveMatrices matrices of cells by cells.
const (
	workMemory    = 512 << 20
	solveMatrices = 4
)

// workers returns how many solutions of the lattice may be under way at once.
func (m *Model) workers() int {
	n := m.lattice.Cells()
	return max(1, min(runtime.GOMAXPROCS(0), workMemory/(solveMatrices*8*max(1, n*n))))
}

// CriticalStrip returns the strip nearest to its section's limit at a clearance, m,
// and a pitch, rad. It returns an error if a point of a wing is in the water.
func (m *Model) CriticalStrip(ctx context.Context, clearance, pitch float64) (CriticalStrip, error) {
	s, err := m.solve(ctx, clearance, pitch)
	if err != nil {
		return CriticalStrip{}, err
	}
	cl := m.stripLift(s)
	return m.criticalStrip(func(i int) float64 { return cl[i] }), nil
}

// solve solves for one attitude.
func (m *Model) solve(ctx context.Context, clearance, pitch float64) (*vlm.Solution, error) {
	p, err := m.lattice.AtPitch(ctx, pitch)
	if err != nil {
		return nil, err
	}
	return m.flow(ctx, p, m.low.HeightFor(clearance, pitch))
}

// criticalStrip returns the strip nearest to its limit, if lift tells the calculated
// section lift coefficient of each of the model's strips.
func (m *Model) criticalStrip(lift func(i int) float64) CriticalStrip {
	var worst CriticalStrip
	for i, st := range m.strips {
		w := &m.craft.Wings[st.wing]
		c := CriticalStrip{Wing: w.Name, Y: st.y, LiftCoefficient: m.correction.strip(lift(i)), Limit: SectionLimit(w.Thickness)}
		if worst.Limit == 0 || c.ShareOfLimit() > worst.ShareOfLimit() {
			worst = c
		}
	}
	return worst
}

// stripLift returns the calculated section lift coefficients of the model's strips.
func (m *Model) stripLift(s *vlm.Solution) []float64 {
	cl := make([]float64, len(m.strips))
	for i, st := range m.strips {
		cl[i] = s.Strips[st.index].SectionLiftCoefficient()
	}
	return cl
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
