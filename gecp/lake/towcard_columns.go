package lake

import (
	"fmt"
	"slices"
	"strings"

	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// column is a column of the card's table.
type column struct {
	head, unit string
	cell       func(r *TowRung) string
}

// title returns the head and the unit of a column in one.
func (c column) title() string { return strings.TrimSuffix(c.head+", "+c.unit, ", ") }

const none = "–"

// columns returns those of the table for the tow, and those of the figures behind
// it.
func (t *TowCard) columns() (towed, behind []column) {
	u := t.Units
	h, p, v := u.Clearance(), u.Position(), u.Speed()
	ceiling := func(kind tow.LimitKind) func(*TowRung) string {
		return func(r *TowRung) string {
			switch g := &r.Range; {
			case !g.Flies:
				return none
			case g.Limits[kind].OK:
				return h.Number(g.Limits[kind].At, units.Down)
			case kind == tow.LimitSelfHolding && g.None == tow.NoneUnstable, kind == tow.LimitReach && g.Low.TravelMargin < 0:
				return "none"
			}
			return "all"
		}
	}
	held := func(s Stop) func(*TowRung) string { return func(r *TowRung) string { return t.held(r, s) } }
	pilot := func(b func(*tow.Range) tow.Trim) func(*TowRung) string {
		return func(r *TowRung) string {
			if !r.Range.OK {
				return none
			}
			return p.Number(b(&r.Range).Pilot.X, units.Nearest)
		}
	}
	speed := column{"speed", v.Name, func(r *TowRung) string { return v.Number(r.Speed, units.Nearest) }}
	towed = []column{
		speed,
		{"let go above", h.Name, t.letGo},
		{"tow from", h.Name, func(r *TowRung) string {
			if !r.Range.OK {
				return none
			}
			return h.Number(r.Range.Low.Clearance, units.Up)
		}},
		{"pilot, low", p.Name, pilot(func(g *tow.Range) tow.Trim { return g.Low })},
		{"pilot, high", p.Name, pilot(func(g *tow.Range) tow.Trim { return g.High })},
		{"line tension", u.Force().Name, t.tension},
		{"on the floats", "% of weight", func(r *TowRung) string {
			if !r.Water.Known {
				return none
			}
			return fmt.Sprintf("%.0f", 100*(1-r.Water.Carried))
		}},
	}
	behind = []column{
		speed,
		{"held, pilot aft", h.Name, held(StopAft)},
		{"held, middle", h.Name, held(StopMiddle)},
		{"held, forward", h.Name, held(StopForward)},
		{"self-holding to", h.Name, ceiling(tow.LimitSelfHolding)},
		{"reach to", h.Name, ceiling(tow.LimitReach)},
		{"let go, calculated", h.Name, func(r *TowRung) string {
			if !r.Trust.Range.OK {
				return none
			}
			return h.Number(r.Trust.LetGo.Plain, units.Down)
		}},
		{"may be", h.Name, t.mayBe},
		{"no chop of", h.Name, func(r *TowRung) string {
			if !r.Range.OK {
				return none
			}
			return h.Number(r.Range.MostChop(), units.Down)
		}},
		{headReaction, h.Name, func(r *TowRung) string {
			if l := r.Range.Limits; l != nil && l[tow.LimitReaction].OK {
				if r.Range.None == tow.NoneReaction {
					return "none"
				}
				return h.Number(l[tow.LimitReaction].At, units.Down)
			}
			if r.Range.OK {
				return "all"
			}
			return none
		}},
		{"most loaded strip", "% of limit", func(r *TowRung) string {
			if r.Strip.Limit == 0 {
				return none
			}
			flag := ""
			if r.Strip.Over() {
				flag = " !"
			}
			return fmt.Sprintf("%s %.0f%s", r.Strip.Wing, 100*r.Strip.ShareOfLimit(), flag)
		}},
		{"gain, low", u.Pace().Name, func(r *TowRung) string { return t.gain(r.Gains[0]) }},
		{"gain, high", u.Pace().Name, func(r *TowRung) string { return t.gain(r.Gains[1]) }},
		{headLate + ", low", "s", func(r *TowRung) string { return mayBeLate(r.Margins[0]) }},
		{headLate + ", high", "s", func(r *TowRung) string { return mayBeLate(r.Margins[1]) }},
		{"water down", u.Small().Name, func(r *TowRung) string {
			if !r.Range.Flies || r.rests() {
				return none
			}
			return u.Small().Number(r.Depression.Depth, units.Up)
		}},
	}
	if t.model() {
		behind = slices.DeleteFunc(behind, func(c column) bool { return c.head == headReaction || strings.HasPrefix(c.head, headLate) })
	}
	return towed, behind
}

// Heads of the columns that a model's card does without.
const (
	headReaction = "reaction to"
	headLate     = "may be late"
)

// mayBeLate tells the reaction margin that counts.
func mayBeLate(m ReactionMargins) string {
	switch c := m.Counts(); {
	case !m.OK:
		return none
	case m.Fixed.Saved():
		return "any"
	case !c.OK:
		return "none"
	case c.Beyond:
		return fmt.Sprintf("over %d", motion.MaxDelay)
	default:
		return units.Seconds().Number(c.Delay, units.Down)
	}
}

// gain tells a gain of the boat's speed.
func (t *TowCard) gain(g Gain) string {
	switch n := t.Units.Pace().Number(g.Value, units.Down); {
	case !g.OK:
		return none
	case g.More:
		return "over " + n
	default:
		return n
	}
}

// mayBe tells between which two the height to let go may lie.
func (t *TowCard) mayBe(r *TowRung) string {
	h, b := t.Units.Clearance(), r.Trust.LetGo
	switch high := h.Number(b.High, units.Up); {
	case !r.Trust.Range.OK:
		return none
	case b.NoLow:
		return "none to " + high
	default:
		return h.Number(b.Low, units.Down) + " to " + high
	}
}

func (t *TowCard) letGo(r *TowRung) string {
	switch {
	case r.Range.OK:
		return t.Units.Clearance().Number(r.Range.High.Clearance, units.Down)
	case r.rests():
		return "on the water"
	}
	return "do not fly"
}

func (t *TowCard) tension(r *TowRung) string {
	f := t.Units.Force()
	switch {
	case r.rests():
		return f.Number(r.Water.LineTension, units.Up) + " +"
	case r.Range.Flies:
		return f.Number(r.Range.LineTension, units.Up)
	}
	return none
}

// held lists the heights held with the pilot at a stop.
func (t *TowCard) held(r *TowRung, s Stop) string {
	if !r.Range.Flies {
		return none
	}
	var l []string
	for _, hold := range r.Held[s] {
		n := t.Units.Clearance().Number(hold.Clearance, units.Nearest)
		if !hold.HeightStable {
			n = "unstable " + n
		}
		l = append(l, n)
	}
	if l == nil {
		return "none"
	}
	return strings.Join(l, ", ")
}
