package vlm

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxPitch bounds the pitch and the incidence, rad: thin wings in attached flow
// mean nothing far below it.
const maxPitch = 45 * math.Pi / 180

// PitchedLattice is a lattice at one pitch. It holds the part of the influence
// coefficients that does not change with height, so that many heights at one pitch
// cost little more than the images in the water. It is immutable and safe for use
// by several goroutines.
type PitchedLattice struct {
	l                 *Lattice
	pitch             float64
	bank, slip        float64 // 0 but in a BankedLattice
	turn              rotation
	field             field
	ctrl              points
	normal            points
	mid, seg          points
	seenCtrl, seenMid points    // where they see the images from: lowered by some of the thickness
	tangent           points    // per cell, see Lattice; if it is thick
	lowest            []float64 // per surface, z of its lowest point from the datum, m
	deepest           []float64 // per surface, the same of the sheet that it is part of

	aic             []float64   // cells x cells: normal velocity at control point i of ring j
	aicByPitch      []float64   // cells x strips: its derivative with pitch in craft axes, per circulation shed
	u, t            points      // per element: directions perpendicular to it, see loads
	velocity        []pair      // elements x cells: velocity at the middle of element e of ring j
	velocityByPitch []pair      // elements x strips: its derivative with pitch in craft axes, per circulation shed
	sheets          []Sheet     // the wakes, without their circulations
	motion          *WakeMotion // of bent legs; nil if they hold their way

	mu     sync.Mutex
	images map[string]*pitchedImage // by the surfaces' refinements
}

// AtPitch returns the lattice with its nose up by pitch (rad) about the datum. It
// returns an error if the pitch is not within ±45 degrees, and the context's error
// once that is done.
func (l *Lattice) AtPitch(ctx context.Context, pitch float64) (*PitchedLattice, error) {
	if !(math.Abs(pitch) <= maxPitch) {
		return nil, fmt.Errorf("a pitch of %.4g degrees is outside the method's range of ±%.0f degrees", pitch*180/math.Pi, maxPitch*180/math.Pi)
	}
	c := &canceller{ctx: ctx}
	body, err := l.bodyInfluence(c)
	if err != nil {
		return nil, err
	}
	p := l.pitchedTo(pitch)
	p.u, p.t = body.u.turned(p.turn), body.t.turned(p.turn)
	if err := p.influence(c, body); err != nil {
		return nil, err
	}
	if err := p.elementInfluence(c, body); err != nil {
		return nil, err
	}
	return p, nil
}

// pitchedTo returns the lattice at a pitch without the influence coefficients.
func (l *Lattice) pitchedTo(pitch float64) *PitchedLattice { return l.turnedTo(pitch, 0, 0) }

// turnedTo is pitchedTo for a craft that is also banked and slipping, see rotationTo.
func (l *Lattice) turnedTo(pitch, bank, slip float64) *PitchedLattice {
	turn := rotationTo(pitch, bank, slip)
	p := &PitchedLattice{
		l: l, pitch: pitch, bank: bank, slip: slip, turn: turn,
		field:  field{grids: l.grids, node: l.node.turned(turn), mirror: l.mirror},
		ctrl:   l.ctrl.turned(turn),
		normal: l.normal.turned(turn),
		mid:    l.mid.turned(turn),
		seg:    l.seg.turned(turn),
		lowest: make([]float64, len(l.surfaces)),
	}
	p.seenCtrl, p.seenMid = p.ctrl, p.mid
	if l.thick {
		p.seenCtrl, p.seenMid = l.seenCtrl.turned(turn), l.seenMid.turned(turn)
		p.tangent = l.tangent.turned(turn)
	}
	for i, h := range l.hull {
		p.lowest[i] = math.Inf(1)
		for _, v := range h {
			p.lowest[i] = math.Min(p.lowest[i], r3.Dot(turn[2], v))
		}
	}
	p.deepest = slices.Clone(p.lowest)
	for i, g := range l.grids {
		for k, o := range l.grids {
			if o.sheet == g.sheet {
				p.deepest[i] = math.Min(p.deepest[i], p.lowest[k])
			}
		}
	}
	return p
}

// influence fills in the influence coefficients at the control points, which the circulations
// follow from, from those of the craft's rings without
// their trailing legs and from the legs as they lie.
func (p *PitchedLattice) influence(c *canceller, body *bodyInfluence) error {
	l := p.l
	n, strips := l.Cells(), len(l.stripGeometry)
	p.aic, p.aicByPitch = make([]float64, n*n), make([]float64, n*strips)
	ws := l.scratch.Get().(*workspace)
	defer l.scratch.Put(ws)
	operations := n + strips*operationsPerFilament
	for _, g := range l.grids {
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			if err := c.spend(operations); err != nil {
				return err
			}
			row := p.aic[i*n : (i+1)*n]
			copy(row, body.aic[i*n:])
			normal := r3.Scale(over4Pi, p.normal.at(i))
			ws.legVelocities(p, p.ctrl.x[i], p.ctrl.y[i], p.ctrl.z[i], g.body, func(st int, v, byPitch vec) {
				row[l.trailingCell[st]] += r3.Dot(normal, v.r3())
				p.aicByPitch[i*strips+st] = r3.Dot(normal, byPitch.r3())
			})
		}
	}
	return nil
}

// elementInfluence likewise fills in those at the elements, which the loads follow from, and the
// wakes.
func (p *PitchedLattice) elementInfluence(c *canceller, body *bodyInfluence) error {
	l := p.l
	p.sheets = p.wakeSheets()
	n, elements, strips := l.Cells(), l.mid.len(), len(l.stripGeometry)
	p.velocity, p.velocityByPitch = make([]pair, elements*n), make([]pair, elements*strips)
	ws := l.scratch.Get().(*workspace)
	defer l.scratch.Put(ws)
	operations := n + strips*operationsPerFilament
	for e, g := range l.grid {
		if err := c.spend(operations); err != nil {
			return err
		}
		row := p.velocity[e*n : (e+1)*n]
		copy(row, body.velocity[e*n:])
		u, t := r3.Scale(over4Pi, p.u.at(e)), r3.Scale(over4Pi, p.t.at(e))
		ws.legVelocities(p, p.mid.x[e], p.mid.y[e], p.mid.z[e], l.grids[g].body, func(st int, v, byPitch vec) {
			to := &row[l.trailingCell[st]]
			to.u += r3.Dot(u, v.r3())
			to.t += r3.Dot(t, v.r3())
			p.velocityByPitch[e*strips+st] = pair{r3.Dot(u, byPitch.r3()), r3.Dot(t, byPitch.r3())}
		})
	}
	return nil
}

// bend returns the lattice at the same pitch with other courses of its trailing legs, per
// surface and column of nodes; nil stands for straight ones. It serves for circulations, and only
// with forces for loads.
func (p *PitchedLattice) bend(c *canceller, paths [][]path, forces bool) (*PitchedLattice, error) {
	body, err := p.l.bodyInfluence(c)
	if err != nil {
		return nil, err
	}
	q := &PitchedLattice{
		l: p.l, pitch: p.pitch, bank: p.bank, slip: p.slip, turn: p.turn, field: p.field,
		ctrl: p.ctrl, normal: p.normal, mid: p.mid, seg: p.seg,
		seenCtrl: p.seenCtrl, seenMid: p.seenMid, tangent: p.tangent,
		lowest: p.lowest, deepest: p.deepest, u: p.u, t: p.t,
	}
	q.field.bent = paths
	if err := q.influence(c, body); err != nil {
		return nil, err
	}
	if forces {
		if err := q.elementInfluence(c, body); err != nil {
			return nil, err
		}
	}
	return q, nil
}

// pitchedImage is an image lattice at the pitch.
type pitchedImage struct {
	*imageLattice
	field field
}

// imageFor returns the image lattice with a refinement for each surface.
func (p *PitchedLattice) imageFor(refinement []byte) *pitchedImage {
	p.mu.Lock()
	defer p.mu.Unlock()
	if im := p.images[string(refinement)]; im != nil {
		return im
	}
	il := p.l.imageFor(refinement)
	im := &pitchedImage{il, field{grids: il.grids, node: il.node.turned(p.turn), mirror: p.l.mirror, bent: p.field.bent}}
	if p.images == nil {
		p.images = map[string]*pitchedImage{}
	}
	p.images[string(refinement)] = im
	return im
}

// Pitch returns the lattice's pitch, rad.
func (p *PitchedLattice) Pitch() float64 { return p.pitch }

// checkWater returns a *WetError for the surface that lies deepest in the water with
// the datum at the height, if any does.
func (p *PitchedLattice) checkWater(height float64) error {
	worst, depth := -1, 0.0
	for i, z := range p.lowest {
		if d := -(height + z); d >= 0 && (worst < 0 || d > depth) {
			worst, depth = i, d
		}
	}
	if worst < 0 {
		return nil
	}
	return &WetError{Surface: p.l.surfaces[worst].Name, Side: p.l.side(worst), Depth: depth, Height: height, Pitch: p.pitch, Bank: p.bank}
}

// WetError says that a surface touches the water or lies under it, where the
// flow above it has no meaning.
type WetError struct {
	Surface string
	Side    Side    // of a banked craft
	Depth   float64 // m under the water, 0 if it just touches
	Height  float64 // m, of the datum
	Pitch   float64 // rad
	Bank    float64 // rad, starboard down
}

func (e *WetError) Error() string {
	name, bank := fmt.Sprintf("%q", e.Surface), ""
	if e.Side != BothSides {
		name = fmt.Sprintf("the %s half of %q", e.Side, e.Surface)
	}
	if e.Bank != 0 {
		bank = fmt.Sprintf(", banked %.2f degrees to starboard", e.Bank*180/math.Pi)
		if e.Bank < 0 {
			bank = fmt.Sprintf(", banked %.2f degrees to port", -e.Bank*180/math.Pi)
		}
	}
	return fmt.Sprintf("%s is in the water: with the datum %.3f m above it and the nose up %.2f degrees%s its lowest point lies %.3f m deep; raise the craft", name, e.Height, e.Pitch*180/math.Pi, bank, e.Depth)
}

// pitchDerivative returns the derivative with pitch of a vector fixed in the craft.
func pitchDerivative(v r3.Vec) r3.Vec { return r3.Vec{X: v.Z, Z: -v.X} }
