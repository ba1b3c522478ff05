package bank

import (
	"context"
	"errors"
	"math"

	"example.org/groundeffect/gecp"
)

// Righting is a rolling moment about the datum line and what it is made of, or its change
// with bank: positive where it raises the starboard side. The sideways force of the wings is
// taken up by the line at the tow point, so that without it no axis is better than another.
type Righting struct {
	Wings  float64 // of the wings, Nm or Nm/rad
	Weight float64 // of the weight, whose centre swings out as it lies above the datum line
	Line   float64 // of the line's pull, of the sideways force that it takes up, and of friction and parasite drag
}

// Total returns the sum.
func (r Righting) Total() float64 { return r.Wings + r.Weight + r.Line }

// Rights reports whether a small bank is righted without any slip.
func (r Righting) Rights() bool { return r.Total() > 0 }

// aboutDatumLine returns the moments of weight and line about the datum line at a bank, rad,
// with a force of the wings to starboard, N.
func (f *Flight) aboutDatumLine(bank, side float64) (weight, line float64) {
	sp, cp := math.Sincos(f.Level.Pitch)
	sb, cb := math.Sincos(bank)
	// Across the datum line the weight pulls down by its share cos(pitch), and so does the
	// line, less what the pull along the way adds.
	weight = -f.Weight() * cp * f.cgZ * sb
	z := f.craft.Tow.Z
	line = sb*f.alongDatumLine(sp, cp) + z*cb*side
	return weight, line
}

// alongDatumLine returns the moment about the datum line, per sine of the bank, of the line
// and of friction and parasite drag, whose points swing out: those forces across the line,
// times their height above it, Nm.
func (f *Flight) alongDatumLine(sp, cp float64) float64 {
	return f.craft.Tow.Z*(f.lift*cp-f.pull*sp) + sp*(f.friction.Z*f.friction.Force+f.parasite.Z*f.parasite.Force)
}

// Righting returns the rolling moment per rad of bank, from level, without slip.
func (f *Flight) Righting() Righting {
	q, d := f.pressure, f.Level.ByBank
	r := Righting{Wings: q * d.AboutDatumLine(f.Level.Pitch)}
	// To the first order in the bank.
	sp, cp := math.Sincos(f.Level.Pitch)
	r.Weight = -f.Weight() * cp * f.cgZ
	r.Line = f.alongDatumLine(sp, cp) + f.craft.Tow.Z*q*d.Side
	return r
}

// Damping returns the moment about the datum line against a rate of roll, Nm per rad/s; above
// 0 it damps.
func (f *Flight) Damping() float64 {
	return f.pressure / f.stream.Speed * f.Level.ByRollRate.AboutDatumLine(f.Level.Pitch)
}

// DihedralEffect returns the rolling moment about the datum line per rad of slip, Nm/rad:
// above 0 a slide to the lowered side raises it.
func (f *Flight) DihedralEffect() float64 {
	return f.pressure * f.Level.BySlip.AboutDatumLine(f.Level.Pitch)
}

// TouchBank returns the bank at which the lower tip touches the water, rad, as
// [gecp.LowestPoints.TouchBank] does.
func (f *Flight) TouchBank() (bank float64, ok bool) {
	return f.model.LowestPoints().TouchBank(f.Level.Clearance, f.Level.Pitch)
}

// Banked is a craft held at a bank, without slip.
type Banked struct {
	gecp.BankedPoint
	SideForce  float64 // of the wings, to starboard, N
	RollMoment float64 // of the wings about the datum line, Nm
	YawMoment  float64 // of the wings about the upright axis through the datum, Nm, nose to starboard positive
	Lift       float64 // of the wings, N
	Righting   Righting
	// Shift is how far to starboard the pilot's centre of gravity has to be for the moments
	// about the datum line to balance, m; none without a pilot.
	Shift gecp.Position
}

// Bank solves for the craft at a bank, rad, without slip. Its errors are those of
// gecp.Model.Banked.
func (f *Flight) Bank(ctx context.Context, bank float64) (Banked, error) {
	p := f.Level
	if bank != 0 {
		var err error
		if p, err = f.model.Banked(ctx, gecp.BankedAttitude{Clearance: f.Level.Clearance, Pitch: f.Level.Pitch, Bank: bank}); err != nil {
			return Banked{}, err
		}
	}
	q := f.pressure
	b := Banked{BankedPoint: p, SideForce: q * p.Side, RollMoment: q * p.RollAboutDatumLine(), YawMoment: q * p.Yaw, Lift: q * p.Lift}
	b.Righting.Wings = b.RollMoment
	b.Righting.Weight, b.Righting.Line = f.aboutDatumLine(bank, b.SideForce)
	if per := f.shiftMoment(); per > 0 {
		b.Shift = gecp.PositionAt(b.Righting.Total() / (per * math.Cos(bank)))
	}
	return b, nil
}

// shiftMoment returns by how much a pilot who moves to starboard lowers that side, Nm per m,
// without bank; 0 without a pilot.
func (f *Flight) shiftMoment() float64 {
	if f.craft.Pilot == nil {
		return 0
	}
	return f.craft.Pilot.Mass * gecp.G * math.Cos(f.Level.Pitch)
}

// ErrNotRighted says that no bank is held, since a bank grows by itself.
var ErrNotRighted = errors.New("without slip a bank grows by itself here: no shift of the pilot holds one")

// BankFrom returns the bank that a pilot who moves to starboard by a shift, m, brings about
// without slip, rad: to the first order. It returns ErrNotRighted where a bank grows by
// itself; without a pilot it is 0.
func (f *Flight) BankFrom(shift float64) (float64, error) {
	r := f.Righting()
	if !r.Rights() {
		return 0, ErrNotRighted
	}
	return f.shiftMoment() * shift / r.Total(), nil
}
