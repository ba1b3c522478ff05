package tow

import (
	"fmt"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// String says the range in metric units.
func (r Range) String() string { return r.Words(units.Metric) }

// Words says in sentences between which clearances to tow the craft, where the pilot
// sits and what ends the range; or why not to fly.
func (r Range) Words(u units.System) string {
	if !r.OK {
		return "Do not fly: " + r.Reason(u) + "."
	}
	s := fmt.Sprintf("Tow it between %s and %s. Let go above %s: %s.",
		u.TowAbove(r.Low.Clearance), u.LetGo(r.High.Clearance), u.LetGo(r.High.Clearance), r.End.Words(u))
	if r.Low.Pilot.OK {
		s += " " + r.PilotWords(u)
	}
	if r.HasUnproven {
		s += " " + r.Unproven.Words()
	}
	if r.GapFill.Over() {
		s += " " + r.GapFill.Words()
	}
	return s
}

// PilotWords says where the pilot sits in a range that is OK.
func (r Range) PilotWords(u units.System) string {
	p := u.Position()
	move := "moving to " + p.Words(r.High.Pilot.X, units.Nearest)
	if p.Number(r.High.Pilot.X, units.Nearest) == p.Number(r.Low.Pilot.X, units.Nearest) {
		move = "moving by less than can be told here"
	}
	return fmt.Sprintf("It flies low with the pilot at %s; %s raises it to the top.", p.Words(r.Low.Pilot.X, units.Nearest), move)
}

// Words says what is met at a limit: "0.05 m higher the craft no longer holds its
// height by itself".
func (l Limit) Words(u units.System) string {
	switch {
	case l.Margin > 0:
		return u.Position().Words(l.Margin, units.Nearest) + " higher " + l.Kind.String()
	case l.Kind == LimitOwn:
		return l.Kind.String()
	}
	return "higher up " + l.Kind.String()
}

// Reason says why a craft without a range has none, without a full stop.
func (r Range) Reason(u units.System) string {
	switch r.None {
	case NoneNotFlying:
		return r.Err.Error()
	case NoneInWater:
		return "the wings carry the weight only at heights where a float still lies in the water"
	case NoneUnstable:
		if r.Tow.craft.Pilot == nil {
			return "it holds no height by itself with its floats clear"
		}
		return "it holds no height by itself with its floats clear, wherever the pilot sits"
	case NoneOutOfReach:
		return "it holds a height by itself only with the pilot " + r.beyond(u)
	case NoneMargins:
		return fmt.Sprintf("the lowest clearance that it holds by itself is %s; from %s on %s, and a margin of %s below that leaves less than %s to tow it in",
			u.Clearance().Words(r.Low.Clearance, units.Nearest), u.Clearance().Words(r.End.At, units.Nearest), r.End.Kind, u.Position().Words(r.End.Margin, units.Nearest), u.Position().Words(LeastDepth, units.Nearest))
	case NoneReaction:
		return fmt.Sprintf("no one can react in time to a gain of the boat's speed, not even close to its lowest clearance of %s", u.Clearance().Words(r.Low.Clearance, units.Nearest))
	case NoneTooClose:
		return fmt.Sprintf("it seems to hold a height by itself only below %s, too close to the water for this calculation to be sure", u.TowAbove(r.leastSure()))
	case NoneTrust:
		return fmt.Sprintf("by the calculation it may be towed up to %s, but what that leaves out may leave no height to tow it at", u.LetGo(r.End.At))
	case NoneSection:
		return "wherever it holds a height by itself the flow may leave a wing"
	}
	return ""
}

// beyond says how far the pilot is out of reach of the lowest trim.
func (r Range) beyond(u units.System) string {
	p, x := r.Tow.craft.Pilot, r.Low.Pilot.X
	if x < p.XForward {
		return u.Position().Words(p.XForward-x, units.Up) + " further forward than the craft lets them"
	}
	return u.Position().Words(x-p.XAft, units.Up) + " further aft than the craft lets them"
}

// leastSure is the clearance from which, at the pitch of the lowest trim, the height
// stability is known, m.
func (r Range) leastSure() float64 {
	return gecp.CloseGap * r.Tow.m.Model().LowestPoints().At(r.Low.Pitch).Chord
}
