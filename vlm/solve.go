package vlm

import (
	"errors"
	"fmt"
	"math"

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
	Normal  float64 // force square to the surface per dynamic pressure, m2; up for a level wing
}

// SectionLift returns the section lift coefficient of the strip.
func (s Strip) SectionLift() float64 { return s.Normal / (s.Width * s.Chord) }

// Solution is the flow at one placement. All values are per dynamic pressure, as
// the package comment says.
type Solution struct {
	Placement
	Gamma    []float64 // per cell, circulation of its ring, m
	Pressure []float64 // per cell, pressure below less pressure above
	Surfaces []Load    // per surface, both halves in symmetric flight
	Strips   []Strip
	Total    Load
	// FarDrag is the induced drag found in the wake far downstream, m2; Total.Drag()
	// is the same found from the forces on the filaments.
	FarDrag float64
	Derivatives
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
	if err := ws.circulations(p, height, water); err != nil {
		return nil, err
	}
	s := &Solution{
		Placement: Placement{Height: height, Pitch: p.pitch},
		Gamma:     append([]float64(nil), ws.g[steady]...),
		Pressure:  make([]float64, p.l.Cells()),
		Surfaces:  make([]Load, len(p.l.surfaces)),
		Strips:    p.l.strips(),
	}
	ws.loads(p, height, water, s)
	s.FarDrag = p.wake(s.Gamma).InducedDrag(height)
	if p.l.mirror {
		s.FarDrag *= 2
	}
	return s, nil
}

// strips returns the strips without their loads.
func (l *Lattice) strips() []Strip {
	s := make([]Strip, len(l.stripWidth))
	i := 0
	for g, gr := range l.grids {
		for range gr.strips {
			s[i] = Strip{Surface: g, Y: l.stripY[i], Z: l.stripZ[i], Width: l.stripWidth[i], Chord: l.stripChord[i]}
			i++
		}
	}
	return s
}

// circulations fills ws.g: no flow through the surface at the control points, in
// each of the states.
func (ws *workspace) circulations(p *Pose, height float64, water bool) error {
	n := p.l.Cells()
	a := ws.a.RawMatrix()
	copy(a.Data, p.wash)
	if water {
		for i := range n {
			ws.washRow(p, i, -p.ctrl.z[i]-2*height, -p.normal.z[i], -1, ws.images)
			floats.Add(a.Data[i*n:(i+1)*n], ws.images)
		}
	}
	ws.lu.Factorize(ws.a)
	if c := ws.lu.Cond(); !(c < 1e13) {
		return errors.New("the lattice has no single solution here: two wings, or a wing and the water, are closer than the cells can tell apart")
	}
	rhs := ws.rhs.RawMatrix()
	for i := range n {
		r := rhs.Data[i*states : (i+1)*states]
		r[steady] = -p.normal.x[i]
		r[byHeaveRate] = p.normal.z[i]
		r[byPitchRate] = p.normal.x[i]*p.ctrl.z[i] - p.normal.z[i]*p.ctrl.x[i]
		r[byHeight], r[byPitch] = 0, 0
	}
	if err := ws.solve(); err != nil {
		return err
	}
	filaments(p.l.grids, ws.g[steady], ws.b, ws.l)
	for _, g := range p.l.grids {
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			nx, ny, nz := p.normal.x[i], p.normal.y[i], p.normal.z[i]
			v := ws.moved(p, p.ctrl.x[i], p.ctrl.y[i], p.ctrl.z[i], height, g.body, water)
			r := rhs.Data[i*states : (i+1)*states]
			r[byHeight] = -(nx*v.height.x + ny*v.height.y + nz*v.height.z)
			// The normal turns; it and the real surfaces' part turn together.
			ux, uz := 1+v.wake.x+v.image.x, v.wake.z+v.image.z
			r[byPitch] = -(nx*v.pitch.x + ny*v.pitch.y + nz*v.pitch.z + nz*ux - nx*uz)
		}
	}
	return ws.solve()
}

// solve solves for all right-hand sides and lays the states out one by one.
func (ws *workspace) solve() error {
	if err := ws.lu.SolveTo(ws.gamma, false, ws.rhs); err != nil {
		return fmt.Errorf("the lattice's equations could not be solved: %w", err)
	}
	g := ws.gamma.RawMatrix().Data
	for s := range ws.g {
		for i := range ws.g[s] {
			ws.g[s][i] = g[i*states+s]
		}
	}
	return nil
}
