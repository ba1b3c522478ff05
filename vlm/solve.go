package vlm

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r3"
)

// Attitude is the height of the craft's datum over the water and the pitch about the
// datum.
type Attitude struct {
	Height float64 // m; +Inf is free air, without the water
	Pitch  float64 // rad, nose-up positive
}

// FreeAir returns the attitude at the pitch without any water.
func FreeAir(pitch float64) Attitude { return Attitude{Height: math.Inf(1), Pitch: pitch} }

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
	PitchRate Load // per 1/m: (nose-up pitch rate about the datum, rad/s) / U
}

// Strip is one strip of a surface and the load on it; of the starboard half in
// symmetric flight.
type Strip struct {
	Surface int     // index into the surfaces
	Y, Z    float64 // its middle at the quarter chord, craft axes, m
	Width   float64 // across the stream, m
	Chord   float64 // m
	// InnerY and OuterY are y of its edges, m, the inner one towards the first station.
	// Neighbouring strips share an edge; at a free tip the last one ends a quarter strip
	// short of the wing's tip, as the lattice does.
	InnerY, OuterY float64
	Load           Load
	// NormalForce is the force of the strip's bound filaments perpendicular to the
	// surface per dynamic pressure, m2; up for a level wing. Load includes the chordwise
	// filaments, whose force the lattice concentrates at tips and corners.
	NormalForce float64
}

// SectionLiftCoefficient returns the section lift coefficient of the strip.
func (s Strip) SectionLiftCoefficient() float64 { return s.NormalForce / (s.Width * s.Chord) }

// Solution is the flow at one attitude. All values are per dynamic pressure, as
// the package comment says. Lattice.Layouts tells which strips and cells belong to
// which surface.
type Solution struct {
	Attitude
	// Per cell: surface by surface, each of them row by row from the leading edge, each
	// row strip by strip along the stations.
	Gamma    []float64 // circulation of the cell's ring, m
	Pressure []float64 // pressure below less pressure above; of a thick section with the force on its sources
	Surfaces []Load    // per surface, both halves in symmetric flight
	Strips   []Strip
	Total    Load
	// TrefftzDrag is the induced drag from the flow in the Trefftz plane, across the wake
	// far downstream, m2; Total.Drag() is the same from the forces on the filaments.
	TrefftzDrag float64
	Derivatives Derivatives
}

// Solve returns the flow at the attitude. It returns an error if a surface touches the
// water (*WetError), if the height or pitch lie outside the method's range, and the
// context's error once that is done. For several heights at one pitch, call AtPitch
// once and PitchedLattice.Solve for each.
func (l *Lattice) Solve(ctx context.Context, at Attitude) (*Solution, error) {
	p, err := l.AtPitch(ctx, at.Pitch)
	if err != nil {
		return nil, err
	}
	return p.Solve(ctx, at.Height)
}

// Solve returns the flow with the datum at the height over the water, m; +Inf is
// free air. Its errors are those of Lattice.Solve.
func (p *PitchedLattice) Solve(ctx context.Context, height float64) (*Solution, error) {
	ws := p.l.scratch.Get().(*workspace)
	defer p.l.scratch.Put(ws)
	return p.solveIn(&canceller{ctx: ctx}, ws, height)
}

// solveIn is Solve in a workspace, which then holds the factors of the equations.
func (p *PitchedLattice) solveIn(c *canceller, ws *workspace, height float64) (*Solution, error) {
	if err := p.checkHeight(height); err != nil {
		return nil, err
	}
	water := !math.IsInf(height, 1)
	if err := ws.solve(c, p, height, water); err != nil {
		return nil, err
	}
	s := &Solution{
		Attitude: Attitude{Height: height, Pitch: p.pitch},
		Surfaces: make([]Load, len(p.l.surfaces)),
		Strips:   slices.Clone(p.l.stripGeometry),
	}
	n := p.l.Cells()
	cells := make([]float64, 2*n)
	s.Gamma, s.Pressure = cells[:n:n], cells[n:]
	copy(s.Gamma, ws.state[steady])
	if err := ws.loads(c, p, height, water, s); err != nil {
		return nil, err
	}
	s.TrefftzDrag = p.wake(s.Gamma).InducedDrag(height)
	if p.l.mirror {
		s.TrefftzDrag *= 2
	}
	return s, nil
}

// checkHeight returns an error if the height has no meaning or a surface is in the water.
func (p *PitchedLattice) checkHeight(height float64) error {
	if math.IsInf(height, 1) {
		return nil
	}
	if !(math.Abs(height) <= 1e6) {
		return fmt.Errorf("a height of %v m has no meaning here; give metres between the water and 1e6, or +Inf for free air", height)
	}
	return p.checkWater(height)
}

// thinCirculations fills in the steady circulations, as if the wings were thin.
func (ws *workspace) thinCirculations(c *canceller, p *PitchedLattice, height float64, water bool) error {
	if err := ws.equations(c, p, height, water, false, false); err != nil {
		return err
	}
	ws.a.solve(ws.state[steady])
	return nil
}

// solve fills ws.state and ws.gamma: no flow through the surface at the control points,
// in each of the states.
func (ws *workspace) solve(c *canceller, p *PitchedLattice, height float64, water bool) error {
	n, strips := p.l.Cells(), len(p.l.stripGeometry)
	x, thick := &ws.state, water && p.l.thick
	if err := ws.equations(c, p, height, water, thick, true); err != nil {
		return err
	}
	if err := c.spend(2 * n * n); err != nil {
		return err
	}
	ws.a.solve(x[steady])
	for st, cell := range p.l.trailingCell {
		ws.shed[st] = x[steady][cell]
	}
	for i := range n {
		if err := c.spend(4*n + 2*strips); err != nil {
			return err
		}
		// The craft's own field rotates with it, except for the trailing legs.
		x[byPitch][i] = -p.normal.z[i] - floats.Dot(p.aicByPitch[i*strips:(i+1)*strips], ws.shed)
		x[byHeight][i] = 0
		if water {
			x[byPitch][i] -= floats.Dot(ws.byT[i*n:(i+1)*n], x[steady])
			x[byHeight][i] = -floats.Dot(ws.byZ[i*n:(i+1)*n], x[steady])
		}
	}
	if p.motion != nil {
		if ws.wakes == nil {
			ws.wakes = newWakeFlow(p.l)
		}
		if err := ws.followWakes(c, p, height, water); err != nil {
			return err
		}
	}
	if thick {
		if err := ws.thickenDerivatives(c, p, height); err != nil {
			return err
		}
	}
	for s := range x {
		if s != steady {
			if err := c.spend(2 * n * n); err != nil {
				return err
			}
			ws.a.solve(x[s])
			if thick {
				ws.localStream(s, n)
			}
		}
		for i, g := range x[s] {
			ws.gamma[i*states+s] = g
		}
	}
	return nil
}

// equations fills in the matrix, factorized, and the right-hand sides of the steady flow
// and the two rates; thick is whether with the thickness of the wings, slopes whether ws.byZ and
// ws.byT are asked for, too.
func (ws *workspace) equations(c *canceller, p *PitchedLattice, height float64, water, thick, slopes bool) error {
	n := p.l.Cells()
	if err := c.spend(n * n); err != nil {
		return err
	}
	copy(ws.a.a, p.aic)
	if water {
		for _, g := range p.l.grids {
			ws.selectImage(p, g.sheet, height)
			for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
				if err := c.spend(len(ws.imageFilament) * operationsPerFilament); err != nil {
					return err
				}
				a := ws.a.row(i)
				if !slopes {
					x := p.seenCtrl.at(i)
					ws.imageVelocitiesAt(p, x.X, x.Y, x.Z, height)
					normal := r3.Scale(over4Pi, p.normal.at(i))
					for j, v := range ws.ring {
						a[j] += normal.X*v.x + normal.Y*v.y - normal.Z*v.z
					}
					continue
				}
				ws.imageAIC(p, i, height)
				byZ, byT := ws.byZ[i*n:(i+1)*n], ws.byT[i*n:(i+1)*n]
				for j, v := range ws.ring {
					a[j] += over4Pi * v.x
					byZ[j] = -2 * over4Pi * v.y
					byT[j] = over4Pi * v.z
				}
			}
		}
	}
	x := &ws.state
	for i := range n {
		nx, nz := p.normal.x[i], p.normal.z[i]
		x[steady][i] = -nx
		x[byHeaveRate][i] = nz
		x[byPitchRate][i] = nx*p.ctrl.z[i] - nz*p.ctrl.x[i]
	}
	if thick {
		if err := ws.thicken(c, p, height); err != nil {
			return err
		}
	}
	return ws.a.factorize(c)
}
