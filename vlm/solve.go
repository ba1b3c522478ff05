package vlm

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r3"
)

// Placement is where the craft is: its datum's height over the water and its
// pitch about the datum.
type Placement struct {
	Height float64 // m; +Inf is free air, without the water
	Pitch  float64 // rad, nose-up positive
}

// FreeAir returns the placement at the pitch without any water.
func FreeAir(pitch float64) Placement { return Placement{Height: math.Inf(1), Pitch: pitch} }

// Load is a force and its moment about the datum per dynamic pressure, in the
// axes of the water (x along the stream, y to starboard, z up).
type Load struct {
	Force  r3.Vec // m2
	Moment r3.Vec // m3
}

// Lift returns the upward force, m2.
func (l Load) Lift() float64 { return l.Force.Z }

// Drag returns the force along the stream, m2.
func (l Load) Drag() float64 { return l.Force.X }

// Pitching returns the moment about the datum, m3, nose-up positive.
func (l Load) Pitching() float64 { return l.Moment.Y }

func (l *Load) add(m Load) {
	l.Force = r3.Add(l.Force, m.Force)
	l.Moment = r3.Add(l.Moment, m.Moment)
}

// bothSides returns the load of a starboard half together with its mirror image.
func (l Load) bothSides() Load {
	return Load{
		Force:  r3.Vec{X: 2 * l.Force.X, Z: 2 * l.Force.Z},
		Moment: r3.Vec{Y: 2 * l.Moment.Y},
	}
}

// Derivatives are the changes of a load with the craft's motion, each with the
// other three held. Height means the datum's.
type Derivatives struct {
	Height    Load // per m
	Pitch     Load // per rad
	HeaveRate Load // per unit of (datum's upward speed / U)
	PitchRate Load // per 1/m: (nose-up turning speed about the datum, rad/s) / U
}

// Strip is the load on one strip of a surface; of the starboard half in
// symmetric flight.
type Strip struct {
	Surface int     // index into the surfaces
	Y, Z    float64 // its middle at the quarter chord, craft axes, m
	Width   float64 // across the stream, m
	Chord   float64 // m
	Load    Load
	// Normal is the force of the strip's bound filaments square to the surface per
	// dynamic pressure, m2; up for a level wing. Load has the chordwise filaments too,
	// whose force the lattice gathers in lumps at tips and corners.
	Normal float64
}

// SectionLift returns the section lift coefficient of the strip.
func (s Strip) SectionLift() float64 { return s.Normal / (s.Width * s.Chord) }

// Solution is the flow at one placement. All values are per dynamic pressure, as
// the package comment says.
type Solution struct {
	Placement
	// Per cell: surface by surface, in each row by row from the leading edge, in each
	// row strip by strip along the stations.
	Gamma    []float64 // circulation of the cell's ring, m
	Pressure []float64 // pressure below less pressure above
	Surfaces []Load    // per surface, both halves in symmetric flight
	Strips   []Strip
	Total    Load
	// FarDrag is the induced drag found in the wake far downstream, m2; Total.Drag()
	// is the same found from the forces on the filaments.
	FarDrag     float64
	Derivatives Derivatives
}

// Solve returns the flow at the placement. It is an error if a surface touches
// the water (*WetError), or if the height or pitch lie outside the method's
// range. For several heights at one pitch, Pose once and call Pose.Solve.
func (l *Lattice) Solve(p Placement) (*Solution, error) {
	pose, err := l.Pose(p.Pitch)
	if err != nil {
		return nil, err
	}
	return pose.Solve(p.Height)
}

// Solve returns the flow with the datum at the height over the water, m; +Inf is
// free air.
func (p *Pose) Solve(height float64) (*Solution, error) {
	water := !math.IsInf(height, 1)
	if math.IsNaN(height) || water && math.Abs(height) > 1e6 {
		return nil, fmt.Errorf("a height of %v m has no meaning here; give metres between the water and 1e6, or +Inf for free air", height)
	}
	if water {
		if err := p.checkWater(height); err != nil {
			return nil, err
		}
	}
	ws := p.l.scratch.Get().(*workspace)
	defer p.l.scratch.Put(ws)
	if err := ws.solve(p, height, water); err != nil {
		return nil, err
	}
	s := &Solution{
		Placement: Placement{Height: height, Pitch: p.pitch},
		Surfaces:  make([]Load, len(p.l.surfaces)),
		Strips:    slices.Clone(p.l.blank),
	}
	n := p.l.Cells()
	cells := make([]float64, 2*n)
	s.Gamma, s.Pressure = cells[:n:n], cells[n:]
	copy(s.Gamma, ws.state[steady])
	ws.loads(p, height, water, s)
	s.FarDrag = p.wake(s.Gamma).InducedDrag(height)
	if p.l.mirror {
		s.FarDrag *= 2
	}
	return s, nil
}

// solve fills ws.state and ws.gamma: no flow through the surface at the control points, in each
// of the states.
func (ws *workspace) solve(p *Pose, height float64, water bool) error {
	n, strips := p.l.Cells(), len(p.l.stripWidth)
	copy(ws.a.a, p.wash)
	if water {
		for _, g := range p.l.grids {
			ws.aim(p, g.sheet, height)
			for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
				ws.imageWash(p, i, height)
				a, byZ, byT := ws.a.row(i), ws.byZ[i*n:(i+1)*n], ws.byT[i*n:(i+1)*n]
				for j, v := range ws.ring {
					a[j] += over4Pi * v.x
					byZ[j] = -2 * over4Pi * v.y
					byT[j] = over4Pi * v.z
				}
			}
		}
	}
	if !ws.a.factorize() {
		return errors.New("the lattice has no single solution here: two wings, or a wing and the water, are closer than the cells can tell apart")
	}
	x := &ws.state
	for i := range n {
		nx, nz := p.normal.x[i], p.normal.z[i]
		x[steady][i] = -nx
		x[byHeaveRate][i] = nz
		x[byPitchRate][i] = nx*p.ctrl.z[i] - nz*p.ctrl.x[i]
	}
	ws.a.solve(x[steady])
	for st, c := range p.l.last {
		ws.shed[st] = x[steady][c]
	}
	for i := range n {
		// The craft's own field turns with it, all but the wakes.
		x[byPitch][i] = -p.normal.z[i] - floats.Dot(p.twist[i*strips:(i+1)*strips], ws.shed)
		x[byHeight][i] = 0
		if water {
			x[byPitch][i] -= floats.Dot(ws.byT[i*n:(i+1)*n], x[steady])
			x[byHeight][i] = -floats.Dot(ws.byZ[i*n:(i+1)*n], x[steady])
		}
	}
	for s := range x {
		if s != steady {
			ws.a.solve(x[s])
		}
		for i, g := range x[s] {
			ws.gamma[i*states+s] = g
		}
	}
	return nil
}
