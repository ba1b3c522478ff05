package gecp

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

// BankedAttitude is a craft at a clearance of its lowest point, banked about its datum line.
// The datum stays at its height, so that the clearance is the one before banking.
type BankedAttitude struct {
	Clearance float64 // of the lowest point without bank, m, above 0 and up to 10,000
	Pitch     float64 // rad, nose-up
	Bank      float64 // rad, starboard down
	Slip      float64 // rad, positive with the wind from starboard
}

// SidewaysPerQ are loads sideways per dynamic pressure, or their change with something, about
// the datum: in level axes that follow the heading of the craft.
type SidewaysPerQ struct {
	Side float64 // force to starboard, m2
	Roll float64 // moment about the level axis along the heading, m3, positive where it raises the starboard side
	Yaw  float64 // moment about the upright axis, m3, positive where it turns the nose to starboard
}

// AboutDatumLine returns the rolling moment about the datum line at a pitch, rad: m3,
// positive where it raises the starboard side.
func (s SidewaysPerQ) AboutDatumLine(pitch float64) float64 {
	sin, cos := math.Sincos(pitch)
	return s.Roll*cos + s.Yaw*sin
}

func (s SidewaysPerQ) times(f float64) SidewaysPerQ {
	return SidewaysPerQ{f * s.Side, f * s.Roll, f * s.Yaw}
}

func sidewaysPerQ(l vlm.Load) SidewaysPerQ {
	return SidewaysPerQ{Side: l.Side(), Roll: l.Moment.X, Yaw: l.Yawing()}
}

// BankedPoint is the craft in banked and slipping flight.
type BankedPoint struct {
	BankedAttitude
	Height       float64 // of the datum, m
	TipClearance float64 // of the lowest point in the bank, m
	LowestPoint  BankedLowestPoint
	// GapFill is how much of its gap a section fills with the whole craft as close to the
	// water as the lowest point in the bank: no section fills more.
	GapFill GapFill
	LoadsPerQ
	SidewaysPerQ
	// How the loads sideways change, each with the others held.
	ByBank, BySlip SidewaysPerQ // per rad
	// With the craft's rates about its own axes through the datum, in rad per m of way: about
	// the datum line, starboard down, and about the axis square to it, nose to starboard.
	ByRollRate, ByYawRate SidewaysPerQ
	// Span is the force square to the wings along their spans, tip plates left out.
	Span []BankedSpanLoad
}

// BankedSpanLoad is the force on a strip of a wing square to its surface.
type BankedSpanLoad struct {
	Wing  string
	Y, Z  float64 // of the strip's quarter chord, m to starboard and above the datum, craft axes
	Force float64 // per dynamic pressure and metre of span, m
}

// RollAboutDatumLine returns the rolling moment about the datum line per dynamic pressure,
// m3, positive where it raises the starboard side.
func (p BankedPoint) RollAboutDatumLine() float64 { return p.AboutDatumLine(p.Pitch) }

// Close reports whether the lowest point lies so near to the water that derivatives are not
// good; see CloseGap.
func (p BankedPoint) Close() bool { return p.TipClearance/p.LowestPoint.Chord < CloseGap }

// TipError says that the lower side of a banked craft is in the water, or too close to it
// for anything to be calculated.
type TipError struct {
	BankedLowestPoint
	Bank      float64 // rad
	Clearance float64 // of the point, m; below 0 in the water
}

func (e *TipError) Error() string {
	side := ""
	if e.Side != vlm.BothSides {
		side = fmt.Sprintf("the %s half of ", e.Side)
	}
	if e.Clearance <= 0 {
		return fmt.Sprintf("banked %.2f degrees, %swing %q would be %.3g m deep in the water; bank less or ask for more clearance", Degrees(math.Abs(e.Bank)), side, e.Wing, -e.Clearance)
	}
	return fmt.Sprintf("banked %.2f degrees, %swing %q would be %.3g m above the water, less than %v of its chord there of %.3g m, where nothing can be calculated; bank less or ask for more clearance",
		Degrees(math.Abs(e.Bank)), side, e.Wing, e.Clearance, LeastGap, e.Chord)
}

// Banked solves for the craft in banked and slipping flight: the whole craft with its image
// in the water, thickness and wakes as in [Model.Sweep]. With free wakes the derivatives with
// bank and slip are those of the total change, the wakes following, and that with the rate of
// roll counts their lag; that with the rate of yaw holds the wakes' way. It returns an error if the attitude is out of range, a *TipError if the
// lower side is in the water or too close to it, and a *ResultError if what comes out
// cannot be. A correction by runs scales all loads by its lift factor.
func (m *Model) Banked(ctx context.Context, at BankedAttitude) (BankedPoint, error) {
	if !(at.Clearance > 0 && at.Clearance <= 1e4) {
		return BankedPoint{}, fmt.Errorf("the clearance is %v m; the wings' lowest point must lie above the water and below 10,000 m", at.Clearance)
	}
	b, err := m.lattice.AtBank(ctx, at.Pitch, at.Bank, at.Slip)
	if err != nil {
		return BankedPoint{}, err
	}
	p := BankedPoint{BankedAttitude: at, Height: m.low.HeightFor(at.Clearance, at.Pitch), LowestPoint: m.low.Banked(at.Pitch, at.Bank)}
	p.TipClearance = p.Height - p.LowestPoint.Depth
	if p.TipClearance < LeastGap*(1-1e-9)*p.LowestPoint.Chord {
		return BankedPoint{}, &TipError{p.LowestPoint, at.Bank, p.TipClearance}
	}
	p.GapFill = m.low.GapFill(p.TipClearance, at.Pitch)
	s, err := m.bankedFlow(ctx, b, at, p.Height)
	if err != nil {
		return BankedPoint{}, err
	}
	if err := m.checkResult(&vlm.Solution{Attitude: vlm.Attitude{Height: p.Height, Pitch: at.Pitch}, Total: s.Total}, at.Clearance); err != nil {
		return BankedPoint{}, err
	}
	factor := 1.
	p.LoadsPerQ = loadsPerQ(s.Total)
	if k := m.correction; k.on {
		factor = k.factor
		p.LoadsPerQ = k.loads(p.LoadsPerQ, RotationAt(at.Pitch), k.shift(at.Clearance))
	}
	if at.Bank != 0 || at.Slip != 0 { // level, by symmetry, nothing acts sideways but rounding
		p.SidewaysPerQ = sidewaysPerQ(s.Total).times(factor)
	}
	d := s.Derivatives
	p.ByBank, p.BySlip = sidewaysPerQ(d.Bank).times(factor), sidewaysPerQ(d.Slip).times(factor)
	p.ByRollRate, p.ByYawRate = sidewaysPerQ(d.RollRate).times(factor), sidewaysPerQ(d.YawRate).times(factor)
	for _, st := range s.Strips {
		surface := st.Surface % len(m.wing)
		if surface > 0 && m.wing[surface-1] == m.wing[surface] { // a plate follows its wing
			continue
		}
		p.Span = append(p.Span, BankedSpanLoad{m.craft.Wings[m.wing[surface]].Name, st.Y, st.Z, factor * st.NormalForce / st.Width})
	}
	return p, nil
}

// wakeBankStep is the step in bank and slip over which the change of the wakes' way with
// them is taken, rad.
const wakeBankStep = 1e-5

// bankedFlow solves with the wakes on the model's way.
func (m *Model) bankedFlow(ctx context.Context, b *vlm.BankedLattice, at BankedAttitude, height float64) (*vlm.BankedSolution, error) {
	if m.Wake() == WakeStraight {
		return b.Solve(ctx, height)
	}
	w, err := b.FreeWake(ctx, height)
	if err != nil {
		return nil, err
	}
	s, err := b.SolveWith(ctx, height, w)
	if err != nil {
		return nil, err
	}
	// How the loads here change with the way that the wakes take at an attitude nearby.
	following := func(bank, slip float64) (vlm.Load, error) {
		near, err := m.lattice.AtBank(ctx, at.Pitch, at.Bank+bank, at.Slip+slip)
		if err != nil {
			return vlm.Load{}, err
		}
		v, err := near.FreeWake(ctx, height)
		if err != nil {
			return vlm.Load{}, err
		}
		t, err := b.SolveWith(ctx, height, v)
		if err != nil {
			return vlm.Load{}, err
		}
		const per = 1 / wakeBankStep
		return vlm.Load{
			Force:  r3.Scale(per, r3.Sub(t.Total.Force, s.Total.Force)),
			Moment: r3.Scale(per, r3.Sub(t.Total.Moment, s.Total.Moment)),
		}, nil
	}
	byBank, err := following(wakeBankStep, 0)
	if err != nil {
		return nil, err
	}
	bySlip, err := following(0, wakeBankStep)
	if err != nil {
		return nil, err
	}
	d := &s.Derivatives
	add := func(to *vlm.Load, f float64, l vlm.Load) {
		to.Force = r3.Add(to.Force, r3.Scale(f, l.Force))
		to.Moment = r3.Add(to.Moment, r3.Scale(f, l.Moment))
	}
	add(&d.Bank, 1, byBank)
	add(&d.Slip, 1, bySlip)
	add(&d.RollRate, -m.wakeLag(), byBank)
	return s, nil
}
