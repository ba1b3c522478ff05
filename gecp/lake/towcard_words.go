package lake

import (
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// thin is the depth of a range under which a card warns of it, m, times the scale of a
// model: a chosen figure.
const thin = .1

// touchy is how many times farther than the pilot moves a craft may rise before a
// card warns of it: a chosen figure.
const touchy = 5

// noRoom is the gain of the boat's speed under which a card says that there is no room
// above the let-go height, m/s, for a model by Froude's rule: a chosen figure, what a boat
// does not hold.
const noRoom = .25

// isThin, isTouchy and hasNoRoom decide three warnings of the card.
func isThin(low, high, scale float64) bool { return high-low < scale*thin }

func isTouchy(low, high tow.Trim) bool {
	return high.Clearance-low.Clearance > touchy*math.Abs(high.Pilot.X-low.Pilot.X)
}

func hasNoRoom(g Gain, scale float64) bool {
	return g.OK && !g.More && g.Value < noRoom*Similarity(scale).Speed()
}

// verdict says in plain words what to expect at a rung.
func (t *TowCard) verdict(r *TowRung) string {
	u := t.Units
	p := u.Position()
	var s []string
	say := func(format string, a ...any) { s = append(s, fmt.Sprintf(format, a...)) }
	g := &r.Range
	switch {
	case g.OK:
		say("%s", g.Words(u))
		say("%s", r.Trust.AloneWords(u))
		if isThin(g.Low.Clearance, g.High.Clearance, t.Scale) {
			say("Only %s lie between the two.", u.Small().Words(g.High.Clearance-g.Low.Clearance, units.Down))
		}
		if isTouchy(g.Low, g.High) {
			say("Touchy: it rises more than %d times as far as the pilot moves.", touchy)
		}
		say("%s", g.Bank.Words())
		if v := r.Gains[1]; hasNoRoom(v, t.Scale) {
			say("No room above: there a gain of the boat's speed of %s is too much if the pilot stays still.", u.SpeedGain(v.Value))
		}
	case r.rests():
		say("%s", t.water(r.Water.OnFloats))
		if g.Flies {
			say("Thrown clear of the water: %s.", g.Reason(u))
		}
	default:
		say("%s", g.Words(u))
		if g.Flies && r.Water.Known {
			say("Stay slower: with the pilot at %s it leaves the water.", p.Words(t.Start, units.Nearest))
		}
	}
	if r.Strip.Limit > 0 && r.Strip.Over() && !r.rests() {
		say("The flow may leave wing %q: its section lift of %.2f is over the limit of %.2f, and the figures mean little.", r.Strip.Wing, r.Strip.LiftCoefficient, r.Strip.Limit)
	}
	if g.OK && !r.Depression.Flat() {
		say("The water gives way by %.0f %% of the clearance.", 100*r.Depression.Share)
	}
	return strings.Join(s, " ")
}

func (t *TowCard) water(s tow.OnFloats) string {
	left := 100 * (1 - s.Carried)
	switch s.Support {
	case tow.SupportAftFloat:
		return fmt.Sprintf("On the aft float, %s: it carries %.0f %% of the weight.", tow.Tilt(s.Pitch, 0), left)
	case tow.SupportForeFloat:
		return fmt.Sprintf("On the fore float, %s: it carries %.0f %% of the weight.", tow.Tilt(s.Pitch, 0), left)
	}
	return fmt.Sprintf("On the floats: they carry %.0f %% of the weight.", left)
}

// samePosition reports whether two positions of the pilot are one to a crew.
func samePosition(a, b float64) bool { return math.Abs(a-b) < .005 }

// facts are the sentences around the table.
func (t *TowCard) facts() []string {
	u := t.Units
	m := u.Mass()
	var s []string
	say := func(format string, a ...any) { s = append(s, fmt.Sprintf(format, a...)) }
	say("Craft %s, pilot %s, together %s.", m.Words(t.Craft.EmptyMass(), units.Nearest), m.Words(t.Craft.Pilot.Mass, units.Nearest), m.Words(t.Craft.Mass(), units.Nearest))
	if words, ok := t.Craft.CorrectionWords(); ok {
		say("The wings' loads are %s.", words)
	}
	if t.NoFloats != "" {
		say("Nothing is known of the run on the water: %s.", oneLine(t.NoFloats))
	} else {
		say("Run up: %s.", t.Windows[0].Words(u))
		if t.LiftOff.Plain > 0 {
			say("It lifts off at %s.", t.LiftOff.LiftOffWords(u))
		}
		for i, w := range t.Windows[1:] {
			if !samePosition(w.LiftOff.Pilot, t.Start) {
				say("Pilot %s: %s.", Stop(i), w.Words(u))
			}
		}
	}
	for _, w := range t.Windows {
		if w.Folds {
			say("Pilot kept at %s: above %s it finds no height to hold and runs away upwards from about %s.",
				u.Position().Words(w.Fold.Pilot, units.Nearest), u.StayBelow(w.Fold.Speed), u.Clearance().Words(w.Fold.Clearance, units.Down))
			break
		}
	}
	for i := range t.Rungs {
		if r := &t.Rungs[i]; r.rests() && r.Strip.Limit > 0 && r.Strip.Over() {
			say("On the floats the flow may leave wing %q, its section lift of %.2f being over the limit of %.2f: there the wings may carry less than told.", r.Strip.Wing, r.Strip.LiftCoefficient, r.Strip.Limit)
			break
		}
	}
	if r := t.trusted(); r != nil {
		say("How far to trust it, at %s: %s", u.Speed().Words(r.Speed, units.Nearest), r.Trust.Words(u))
	}
	say("At %s: %s", u.Speed().Words(t.WakeAt, units.Nearest), t.Wake.Words(u))
	var worst *TowRung
	for i := range t.Rungs {
		if r := &t.Rungs[i]; r.Range.OK && (worst == nil || r.Depression.Share > worst.Depression.Share) {
			worst = r
		}
	}
	if worst != nil {
		say("%s", worst.Depression.Words(u))
	}
	if lean := t.lean(); lean != "" {
		say("%s", lean)
	}
	if radii := motion.GuessedRadii(t.Craft); radii != "" && !t.model() {
		say("%s", radii)
	}
	return s
}

// lean says how far the pilot leans to either side, where there is a range to lean in; a
// model's weight does not.
func (t *TowCard) lean() string {
	if t.model() {
		return ""
	}
	for i := range t.Rungs {
		if r := &t.Rungs[i].Range; r.OK {
			return r.Bank.LeanWords(t.Units)
		}
	}
	return ""
}

// trusted returns the rung in the middle of those that have a range as calculated; nil if there
// is none.
func (t *TowCard) trusted() *TowRung {
	var all []*TowRung
	for i := range t.Rungs {
		if r := &t.Rungs[i]; r.Trust.Range.OK {
			all = append(all, r)
		}
	}
	if all == nil {
		return nil
	}
	return all[len(all)/2]
}

// notes are what the reader of the table has to know.
func (t *TowCard) notes() []string {
	h, p := t.Units.Clearance(), t.Units.Position()
	if t.model() {
		return []string{
			"A weight takes the pilot's place. Nobody reacts on the model, so that this card leaves out what people can react to: a height that the model holds may still be too quick for a person on the craft.",
			fmt.Sprintf("Let-go height: the lowest of the height that the model holds by itself less %s, the end of the weight's reach less %s, the height at which the flow may leave a wing, and your own limit of %s; rounded down.",
				p.Words(t.Rules.SelfHoldingMargin, units.Nearest), p.Words(t.Rules.ReachMargin, units.Nearest), h.Words(t.Rules.OwnLimit, units.Down)),
			noteTrust, noteChop, noteHeights, noteGain, noteFloats, noteStrip,
		}
	}
	up := motion.StandardSpeedUp().SpeedUp
	return []string{
		fmt.Sprintf("Let-go height: the lowest of the height that the craft holds by itself less %s, the end of the pilot's reach less %s, the height above which no one can react within %s, the height at which the flow may leave a wing, and your own limit of %s; rounded down.",
			p.Words(t.Rules.SelfHoldingMargin, units.Nearest), p.Words(t.Rules.ReachMargin, units.Nearest), units.Metric.ReactionTime(t.Rules.MinReaction), h.Words(t.Rules.OwnLimit, units.Down)),
		noteTrust,
		noteChop,
		noteHeights,
		noteGain,
		fmt.Sprintf("May be late: how late the pilot may react when the boat gains %.0f m/s within %.0f s, for the craft to come to rest below your own limit with no float striking the water; the smaller figure of %s and of %s. None: no reaction saves it within the pilot's travel. %s. A simulation teaches, it does not train.",
			up.By, up.Over, motion.KnowingPilot, motion.SeeingPilot, upperFirst(motion.HumanRange)),
		noteFloats,
		noteStrip,
	}
}

const (
	noteTrust   = "Of that it is the low end: what the calculation leaves out, all at once in the way that lowers it. The lowest height to tow it at is the high end, likewise. Mesh, map, the wakes' way, the wings' thickness, viscosity (a lift of 0.95 to 1 of the calculated), the air that the boat drags along, the line's weight and the dent in the water are in it."
	noteChop    = "Chop: waves from trough to crest take half their height off both ends: tow it so much higher and let go so much lower. From the height told on the calculation means nothing: no room is left, or the waves are no longer small beside the clearance."
	noteHeights = "Heights are clearances under the lowest point of the wings; positions of the pilot are aft of the datum (the nose). Speeds are through calm air."
	noteGain    = "Gain: by how much the boat may gain speed, slowly, before a craft with its pilot still finds no height to hold; at the let-go height there is little or none."
	noteFloats  = "+ The water's drag on the floats comes on top of the line's tension. The floats count as points that the water holds up."
	noteStrip   = "Most loaded strip: the section lift of the wing strip nearest to its limit, in per cent of it. ! Over it, and the figures mean little."
)

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// oneLine keeps text from outside on the line where it is put.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

func (t *TowCard) title() string { return "Tow card of " + oneLine(t.Craft.Name) }
