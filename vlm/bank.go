package vlm

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// BankedAttitude is the attitude of a craft in banked and slipping flight: it is banked
// about its datum line (the craft's x axis), then pitched about the datum, then turned so
// that the wind meets it at an angle. The loads of such an attitude are in the axes of its
// heading: x level along the heading, aft, y level to starboard, z up. Without slip these
// are the axes of the stream.
type BankedAttitude struct {
	Height float64 // of the datum over the water, m; +Inf is free air
	Pitch  float64 // rad, nose-up positive
	Bank   float64 // rad, starboard down positive
	Slip   float64 // rad, positive with the wind from starboard: the craft slides to starboard
}

// Rolling returns the moment of a load about the datum line, m3, positive where it raises
// the starboard side: of a craft banked to starboard, where it rights it.
func (a BankedAttitude) Rolling(l Load) float64 {
	sin, cos := math.Sincos(a.Pitch)
	return l.Moment.X*cos - l.Moment.Z*sin
}

// Side returns the force to starboard, m2: level, and square to the heading.
func (l Load) Side() float64 { return l.Force.Y }

// Yawing returns the moment about the upright axis through the datum, m3, positive where it
// turns the nose to starboard.
func (l Load) Yawing() float64 { return -l.Moment.Z }

// BankedDerivatives are the changes of a load with the craft's attitude and motion, each
// with the others held, in the axes of the heading, which turn with the slip. Height means
// the datum's; the rates are the craft's turning about its own axes through the datum.
type BankedDerivatives struct {
	Height    Load // per m
	Pitch     Load // per rad
	Bank      Load // per rad
	Slip      Load // per rad
	HeaveRate Load // per unit of (datum's upward speed / U)
	RollRate  Load // per 1/m: (rate about the datum line, starboard down, rad/s) / U
	PitchRate Load // per 1/m: (rate about the craft's y axis, nose-up, rad/s) / U
	YawRate   Load // per 1/m: (rate about the craft's z axis, nose to starboard, rad/s) / U
}

// BankedSolution is the flow at one attitude in banked flight. All values are per dynamic
// pressure, as in [Solution], loads in the axes of the heading.
type BankedSolution struct {
	BankedAttitude
	// Gamma and Pressure are per cell: those of the lattice's surfaces as given, then of their
	// reflections in y = 0, whose strips run from the tip inwards.
	Gamma, Pressure []float64
	Surfaces        []Load // per surface as given: the starboard half of a symmetric lattice
	Reflections     []Load // per surface, its port half; nil for a lattice that was given whole
	// Strips are those of the surfaces as given, then those of their reflections. Surface
	// counts on, from the number of surfaces, for reflections.
	Strips []Strip
	Total  Load
	// TrefftzDrag is the induced drag, along the stream, from the flow in the Trefftz plane, m2.
	TrefftzDrag float64
	Derivatives BankedDerivatives
}

// maxBank bounds bank and slip, rad.
const maxBank = 45 * math.Pi / 180

// BankedLattice is a lattice at one pitch, bank and slip: the whole craft, both halves of a
// symmetric lattice, with the image in the water and without the reflection in y = 0. It is
// immutable and safe for use by several goroutines.
type BankedLattice struct {
	p *PitchedLattice // of the whole lattice; without influence coefficients

	aic      []float64       // cells x cells: normal velocity at control point i of ring j
	velocity []pair          // elements x cells: velocity at the middle of element e of ring j
	legAIC   [axes][]float64 // cells x strips: what legsByTurn says of aic, per circulation shed
	legs     [axes][]pair    // elements x strips: the same of velocity
}

// AtBank returns the lattice with its nose up by pitch, its starboard side down by bank, and
// the wind from starboard by slip, all in rad; see BankedAttitude. It returns an error if
// one of them is not within ±45 degrees or if both halves have too many cells, and the
// context's error once that is done.
func (l *Lattice) AtBank(ctx context.Context, pitch, bank, slip float64) (*BankedLattice, error) {
	for _, a := range [...]struct {
		name       string
		value, max float64
	}{{"pitch", pitch, maxPitch}, {"bank", bank, maxBank}, {"slip", slip, maxBank}} {
		if !(math.Abs(a.value) <= a.max) {
			return nil, fmt.Errorf("a %s of %.4g degrees is outside the method's range of ±%.0f degrees", a.name, a.value*180/math.Pi, a.max*180/math.Pi)
		}
	}
	w, err := l.whole()
	if err != nil {
		return nil, err
	}
	return newBankedLattice(&canceller{ctx: ctx}, w.turnedTo(pitch, bank, slip))
}

// newBankedLattice fills in the influence coefficients of a whole lattice as it lies, from
// those of the craft's rings without their trailing legs and from the legs.
func newBankedLattice(c *canceller, p *PitchedLattice) (*BankedLattice, error) {
	l := p.l
	body, err := l.bodyInfluence(c)
	if err != nil {
		return nil, err
	}
	b := &BankedLattice{p: p}
	p.u, p.t = body.u.turned(p.turn), body.t.turned(p.turn)
	p.sheets = p.wakeSheets()
	n, elements, strips := l.Cells(), l.mid.len(), len(l.stripGeometry)
	b.aic, b.velocity = append([]float64(nil), body.aic...), append([]pair(nil), body.velocity...)
	for a := range axes {
		b.legAIC[a], b.legs[a] = make([]float64, n*strips), make([]pair, elements*strips)
	}
	legs := make([]legFlow, l.node.len())
	ws := l.bankedWorkspace()
	defer l.banked.scratch.Put(ws)
	for _, g := range l.grids {
		for i := g.cell; i < g.cell+g.rows*g.strips; i++ {
			if err := c.spend(n + strips*operationsPerFilament); err != nil {
				return nil, err
			}
			p.legFlows(p.ctrl.at(i), g.body, legs, &ws.rows)
			normal := r3.Scale(over4Pi, p.normal.at(i))
			l.eachStripsLegs(legs, func(st int, f legFlow) {
				b.aic[i*n+l.trailingCell[st]] += r3.Dot(normal, f.v.r3())
				for a := range axes {
					b.legAIC[a][i*strips+st] = r3.Dot(normal, f.turn[a].r3())
				}
			})
		}
	}
	for e, g := range l.grid {
		if err := c.spend(n + strips*operationsPerFilament); err != nil {
			return nil, err
		}
		p.legFlows(p.mid.at(e), l.grids[g].body, legs, &ws.rows)
		u, t := r3.Scale(over4Pi, p.u.at(e)), r3.Scale(over4Pi, p.t.at(e))
		on := func(v vec) pair { return pair{r3.Dot(u, v.r3()), r3.Dot(t, v.r3())} }
		l.eachStripsLegs(legs, func(st int, f legFlow) {
			to, v := &b.velocity[e*n+l.trailingCell[st]], on(f.v)
			to.u += v.u
			to.t += v.t
			for a := range axes {
				b.legs[a][e*strips+st] = on(f.turn[a])
			}
		})
	}
	return b, nil
}

// straightLeg runs along the stream from the trailing edge.
var straightLeg = path{vec{}}

// legFlows fills in, by node of the trailing edges, the legs' flow at a point of a body.
func (p *PitchedLattice) legFlows(at r3.Vec, body int, legs []legFlow, rows *offsetRows) {
	l := p.l
	for i, g := range l.grids {
		o := g.node + g.rows*(g.strips+1)
		row := rows[0][:g.strips+1]
		p.field.offsets(row, o, at.X, at.Y, at.Z, noMirror)
		for j := range row {
			leg, core4 := straightLeg, 0.0
			if g.body != body {
				core4 = l.core[o+j]
			}
			if p.field.bent != nil && p.field.bent[i] != nil {
				leg = p.field.bent[i][j]
			}
			legs[o+j] = leg.turning(&row[j], core4)
		}
	}
}

// eachStripsLegs calls set with the flow of the two trailing legs of each strip together.
func (l *Lattice) eachStripsLegs(legs []legFlow, set func(strip int, f legFlow)) {
	st := 0
	for _, g := range l.grids {
		o := g.node + g.rows*(g.strips+1)
		for j := o; j < o+g.strips; j++ {
			f := legs[j+1]
			f.v.add(-1, &legs[j].v)
			for a := range f.turn {
				f.turn[a].add(-1, &legs[j].turn[a])
			}
			set(st, f)
			st++
		}
	}
}

// Attitude returns the lattice's pitch, bank and slip, with the datum at a height, m.
func (b *BankedLattice) Attitude(height float64) BankedAttitude {
	return BankedAttitude{height, b.p.pitch, b.p.bank, b.p.slip}
}

// FreeWake finds the wakes' way in banked flight with the datum at the height over the
// water, m, as [PitchedLattice.FreeWake] does; both halves of a symmetric lattice have legs
// of their own. The wakes are of this lattice's kind only: use them with SolveWith.
func (b *BankedLattice) FreeWake(ctx context.Context, height float64) (*FreeWake, error) {
	body, err := b.p.l.bodyInfluence(&canceller{ctx: ctx})
	if err != nil {
		return nil, err
	}
	p := b.p.l.turnedTo(b.p.pitch, b.p.bank, b.p.slip)
	if err := p.influence(&canceller{ctx: ctx}, body); err != nil {
		return nil, err
	}
	return p.FreeWake(ctx, height)
}

// SolveWith returns the flow with the wakes on the way of w, which the derivatives hold. The
// errors are those of Solve. It panics if w belongs to another lattice.
func (b *BankedLattice) SolveWith(ctx context.Context, height float64, w *FreeWake) (*BankedSolution, error) {
	w.mustBe(b.p.l)
	if !w.Bent() {
		return b.Solve(ctx, height)
	}
	if err := b.p.checkHeight(height); err != nil {
		return nil, err
	}
	p := b.p.l.turnedTo(b.p.pitch, b.p.bank, b.p.slip)
	p.field.bent = w.paths
	q, err := newBankedLattice(&canceller{ctx: ctx}, p)
	if err != nil {
		return nil, err
	}
	return q.Solve(ctx, height)
}

// SolveBanked returns the flow at an attitude of banked flight. Its errors are those of
// AtBank and of BankedLattice.Solve.
func (l *Lattice) SolveBanked(ctx context.Context, at BankedAttitude) (*BankedSolution, error) {
	b, err := l.AtBank(ctx, at.Pitch, at.Bank, at.Slip)
	if err != nil {
		return nil, err
	}
	return b.Solve(ctx, at.Height)
}
