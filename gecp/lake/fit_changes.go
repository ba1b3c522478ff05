package lake

import (
	"context"
	"fmt"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// OrderChange is a stretch of clearances at one speed where the craft held its height by
// the calculation, and no longer does with a correction: there the neutral points of all
// forces change their order, or the craft is no longer stable in pitch.
type OrderChange struct {
	Speed    float64 // m/s
	From, To float64 // clearances, m
}

// Words says the change in a system of units.
func (c OrderChange) Words(u units.System) string {
	h := u.Clearance()
	return fmt.Sprintf("at %s, between %s and %s of clearance", u.Speed().Words(c.Speed, units.Nearest), h.Words(c.From, units.Down), h.Words(c.To, units.Up))
}

// orderSteps is the number of clearances at which the order is compared.
const orderSteps = 60

// OrderChanges returns where, at the given speeds, m/s, and in air of a density, kg/m3, a
// craft that held its height with its floats clear no longer does with a correction. The
// two maps are of one craft, before and after.
func OrderChanges(ctx context.Context, before, after *gecp.Map, density float64, speeds []float64) ([]OrderChange, error) {
	var out []OrderChange
	for _, v := range speeds {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		stream := gecp.Freestream{Speed: v, Density: density}
		a, err := tow.NewSteadyTow(before, stream)
		if err != nil {
			return nil, err
		}
		b, err := tow.NewSteadyTow(after, stream)
		if err != nil {
			return nil, err
		}
		curve, err := a.TrimCurve()
		if err != nil { // it does not fly at that speed
			continue
		}
		flying, ok := curve.AboveFloats()
		if !ok {
			continue
		}
		floor := flying.States[0].Clearance
		lost := false
		for _, cl := range before.Clearances(orderSteps) {
			if cl < floor {
				continue
			}
			x, err := a.Trim(cl)
			held := err == nil && x.HeightStable && !x.Close
			y, err := b.Trim(cl)
			if !held || err != nil || y.HeightStable {
				lost = false
				continue
			}
			if lost {
				out[len(out)-1].To = cl
			} else {
				out = append(out, OrderChange{v, cl, cl})
			}
			lost = true
		}
	}
	return out, nil
}

// CardChanges says, speed by speed, what a correction changes on a tow card: the let-go
// height, whether to fly at all, and where the pilot sits. The cards are of one craft,
// before and after, with the same options; nil where nothing that a card shows differs.
func CardChanges(before, after *TowCard) []string {
	u := after.Units
	p := u.Position()
	var out []string
	for i := range max(len(before.Rungs), len(after.Rungs)) {
		var a, b *tow.Range
		var speed float64
		if i < len(before.Rungs) {
			a, speed = &before.Rungs[i].Range, before.Rungs[i].Speed
		}
		if i < len(after.Rungs) {
			b, speed = &after.Rungs[i].Range, after.Rungs[i].Speed
		}
		at := "at " + u.Speed().Words(speed, units.Nearest)
		was, is := a != nil && a.OK, b != nil && b.OK
		switch {
		case was && is:
			if from, to := u.LetGo(a.High.Clearance), u.LetGo(b.High.Clearance); from != to {
				out = append(out, fmt.Sprintf("let-go height %s: %s in place of %s", at, to, u.Clearance().Number(a.High.Clearance, units.Down)))
			}
			if from, to := p.Number(a.Low.Pilot.X, units.Nearest), p.Words(b.Low.Pilot.X, units.Nearest); from != p.Number(b.Low.Pilot.X, units.Nearest) {
				out = append(out, fmt.Sprintf("pilot at the lowest clearance %s: %s in place of %s", at, to, from))
			}
		case was && b != nil:
			out = append(out, fmt.Sprintf("do not fly %s: %s; without the correction the card had a let-go height of %s", at, b.Reason(u), u.LetGo(a.High.Clearance)))
		case was:
			out = append(out, fmt.Sprintf("do not fly %s: the card ends before; without the correction it had a let-go height of %s", at, u.LetGo(a.High.Clearance)))
		case is:
			reason := "the card ended before"
			if a != nil {
				reason = a.Reason(u)
			}
			out = append(out, fmt.Sprintf("let-go height %s: %s; without the correction the card said not to fly: %s", at, u.LetGo(b.High.Clearance), reason))
		}
	}
	return out
}
