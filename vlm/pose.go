package vlm

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxPitch bounds the pitch and the incidence, rad: thin wings in attached flow
// mean nothing far below it.
const maxPitch = 45 * math.Pi / 180

// Pose is a lattice turned to one pitch. It holds the part of the influences
// that does not change with height, so solving a ladder of heights at one pitch
// costs little more than the water's images. It is immutable and safe for use by
// several goroutines.
type Pose struct {
	l        *Lattice
	pitch    float64
	sin, cos float64
	field    field
	ctrl     points
	normal   points
	mid, seg points
	lowest   []float64 // per surface, z of its lowest point from the datum, m

	wash   []float64 // cells x cells: normal velocity at control point i of ring j
	vx     []float64 // elements x cells: velocity at the middle of element e of ring j
	vy, vz []float64
}

// Pose turns the lattice nose-up by pitch (rad) about the datum. It is an error
// if the pitch is not within ±45 degrees.
func (l *Lattice) Pose(pitch float64) (*Pose, error) {
	if !(math.Abs(pitch) <= maxPitch) {
		return nil, fmt.Errorf("a pitch of %.4g degrees is outside the method's range of ±%.0f degrees", pitch*180/math.Pi, maxPitch*180/math.Pi)
	}
	sin, cos := math.Sincos(pitch)
	p := &Pose{
		l: l, pitch: pitch, sin: sin, cos: cos,
		field:  field{grids: l.grids, node: l.node.turned(sin, cos), core: l.core},
		ctrl:   l.ctrl.turned(sin, cos),
		normal: l.normal.turned(sin, cos),
		mid:    l.mid.turned(sin, cos),
		seg:    l.seg.turned(sin, cos),
		lowest: make([]float64, len(l.surfaces)),
	}
	for i, h := range l.hull {
		p.lowest[i] = math.Inf(1)
		for _, v := range h {
			p.lowest[i] = math.Min(p.lowest[i], v.Z*cos-v.X*sin)
		}
	}
	n, e := l.Cells(), l.mid.len()
	p.wash = make([]float64, n*n)
	p.vx, p.vy, p.vz = make([]float64, e*n), make([]float64, e*n), make([]float64, e*n)
	ws := l.scratch.Get().(*workspace)
	defer l.scratch.Put(ws)
	for _, g := range l.grids {
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			ws.washRow(p, i, p.ctrl.z[i], p.normal.z[i], g.body, p.wash[i*n:(i+1)*n])
		}
	}
	for i := 0; i < e; i++ {
		ws.velocityRow(p, i, p.mid.z[i], 1, l.grids[l.grid[i]].body, p.vx[i*n:(i+1)*n], p.vy[i*n:(i+1)*n], p.vz[i*n:(i+1)*n])
	}
	return p, nil
}

// Pitch returns the pose's pitch, rad.
func (p *Pose) Pitch() float64 { return p.pitch }

// checkWater reports the surface that lies in the water with the datum at the
// height, and how deep.
func (p *Pose) checkWater(height float64) error {
	worst, depth := -1, 0.0
	for i, z := range p.lowest {
		if d := -(height + z); d >= 0 && (worst < 0 || d > depth) {
			worst, depth = i, d
		}
	}
	if worst < 0 {
		return nil
	}
	return &WetError{Surface: p.l.surfaces[worst].Name, Depth: depth, Height: height, Pitch: p.pitch}
}

// WetError says that a surface touches the water or lies under it, where the
// flow above it has no meaning.
type WetError struct {
	Surface string
	Depth   float64 // m under the water, 0 if it just touches
	Height  float64 // m, of the datum
	Pitch   float64 // rad
}

func (e *WetError) Error() string {
	return fmt.Sprintf("%q is in the water: with the datum %.3f m above it and the nose up %.2f degrees its lowest point lies %.3f m deep; raise the craft", e.Surface, e.Height, e.Pitch*180/math.Pi, e.Depth)
}

// rot is the derivative with pitch of a vector that turns with the craft.
func rot(v r3.Vec) r3.Vec { return r3.Vec{X: v.Z, Z: -v.X} }
