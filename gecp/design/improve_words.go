package design

import (
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp/units"
)

// Words names the goal in a table.
func (g Goal) Words() string {
	return [...]string{"speed window", "pilot's travel needed", "height to let go"}[g]
}

// figure returns the goal's figure in words, rounded towards what a builder can count on.
func (g Goal) figure(f Figure, u units.System) string {
	switch {
	case !f.OK:
		return "none"
	case g == WidestWindow:
		return u.FineSpeed().Words(f.Value, units.Down)
	case g == LeastTravel:
		return fine(u.Position()).Words(f.Value, units.Up)
	}
	return u.LetGo(f.Value)
}

// Words says what a craft must do, as in "it lifts off at 54.0 km/h or below".
func (r Requirement) Words(need Requirements, u units.System) string {
	switch r {
	case RequireLiftOff:
		return "it lifts off at " + u.StayBelow(need.LiftOff) + " or below"
	case RequireWindow:
		return "it then holds a height with the pilot in the middle"
	case RequireSelfHolding:
		return "it holds itself up to " + u.Clearance().Words(need.SelfHolding, units.Nearest)
	case RequireReach:
		return "the pilot's travel reaches"
	}
	return "no strip is over its section's limit"
}

// figure says how a craft stands to a requirement.
func (r Requirement) figure(k *Candidate, u units.System) string {
	none := func(f Figure, words string) string {
		if !f.OK {
			return "none"
		}
		return words
	}
	switch r {
	case RequireLiftOff:
		return none(k.LiftOff, u.FlyAbove(k.LiftOff.Value))
	case RequireWindow:
		return none(k.Window, u.FineSpeed().Words(k.Window.Value, units.Down)+" of speed")
	case RequireSelfHolding:
		return none(k.SelfHolding, u.LetGo(k.SelfHolding.Value))
	case RequireReach:
		return none(k.ReachMargin, fine(u.Position()).Words(k.ReachMargin.Value, units.Down)+" to the nearer stop")
	}
	return none(k.StripShare, units.Unit{Name: "% of the limit", Size: .01}.Words(k.StripShare.Value, units.Up))
}

// Words says in sentences what the search found, what binds, and what is lost by
// building in whole steps.
func (im *Improvement) Words(u units.System) string {
	var s []string
	say := func(format string, args ...any) { s = append(s, fmt.Sprintf(format, args...)) }
	g, need := im.Options.Goal, im.Options.Requirements
	best := g.figure(im.Best.goal(g), u)
	switch {
	case im.Best.Err != nil:
		say("No craft within these bounds can be calculated. The last reason: %v.", im.Best.Err)
		return strings.Join(s, " ")
	case !im.Best.Meets():
		say("No craft within these bounds does all that is required; of %d looked at the nearest misses this: %s.", im.Looked, im.Best.missed(need, u))
	default:
		say("Of %d craft looked at the best has a %s of %s; as in the file it is %s.", im.Looked, g.Words(), best, im.before(u))
		say("%d of %d searches ended there.", im.Agree, im.Starts)
	}
	var binds []string
	for _, r := range im.Binding {
		binds = append(binds, "that "+r.Words(need, u))
	}
	for _, d := range im.Dimensions {
		switch {
		case d.AtFrom:
			binds = append(binds, fmt.Sprintf("the lower bound of %s, %s", d.Path, d.words(d.From, u)))
		case d.AtTo:
			binds = append(binds, fmt.Sprintf("the upper bound of %s, %s", d.Path, d.words(d.To, u)))
		}
	}
	if len(binds) > 0 {
		say("What keeps it from being better: %s.", strings.Join(binds, "; "))
	} else if im.Best.Meets() {
		say("No requirement and no bound keeps it from being better.")
	}
	switch {
	case im.Rounded.Err != nil:
		say("In whole steps no craft was found that can be calculated: %v.", im.Rounded.Err)
	case !im.Rounded.Meets():
		say("In whole steps none was found that does all that is required; the nearest misses this: %s.", im.Rounded.missed(need, u))
	case im.Best.Meets():
		say("In whole steps, as a builder would make it, it is %s: %s.", g.figure(im.Rounded.goal(g), u), im.lost(u))
	}
	if d, less := im.steepest(u); d != nil {
		say("The optimum is steep: one step of %s the wrong way leaves %s. Build it only if you can build it that exactly, and look at it with tolerance first.", d.Path, less)
	}
	return strings.Join(s, " ")
}

// steepest returns the dimension of which one step costs the craft in whole steps the most,
// and what is then left of the goal, in words; nil if a half of the goal or more is always
// left and no requirement is missed.
func (im *Improvement) steepest(u units.System) (worst *VariedDimension, left string) {
	g := im.Options.Goal
	if !im.Rounded.Meets() {
		return nil, ""
	}
	least := im.Rounded.merit.cost / 2
	if g == LeastTravel {
		least = im.Rounded.merit.cost * 2
	}
	for i := range im.Dimensions {
		for _, k := range []*Candidate{im.Dimensions[i].Down, im.Dimensions[i].Up} {
			if k == nil || !k.Meets() || !(k.merit.cost > least) {
				continue
			}
			least, worst = k.merit.cost, &im.Dimensions[i]
			left = g.figure(k.goal(g), u)
		}
	}
	return worst, left
}

// before returns the goal's figure of the craft as in the file.
func (im *Improvement) before(u units.System) string {
	if im.Before.Err != nil {
		return "not known (" + im.Before.Err.Error() + ")"
	}
	words := im.Options.Goal.figure(im.Before.goal(im.Options.Goal), u)
	if !im.Before.Meets() {
		words += ", and misses this: " + im.Before.missed(im.Options.Requirements, u)
	}
	return words
}

// lost says what is lost by rounding.
func (im *Improvement) lost(u units.System) string {
	g := im.Options.Goal
	loss := Figure{math.Abs(im.Best.goal(g).Value - im.Rounded.goal(g).Value), true}
	switch a, b := im.Rounded.merit.cost, im.Best.merit.cost; {
	case a == b:
		return "nothing is lost by rounding"
	case a < b:
		return "the search among whole steps came upon a better craft, so that one that looks at more craft may find more"
	}
	if g == LeastTravel {
		return g.figure(loss, u) + " more than without rounding"
	}
	// A loss is rounded up.
	if g == WidestWindow {
		return u.FineSpeed().Words(loss.Value, units.Up) + " is lost by rounding"
	}
	return u.Clearance().Words(loss.Value, units.Up) + " is lost by rounding"
}

// missed lists the requirements that a craft breaks, with its figures.
func (k *Candidate) missed(need Requirements, u units.System) string {
	if k.Err != nil {
		return k.Err.Error()
	}
	var m []string
	for r, b := range k.Broken {
		if b > 0 {
			m = append(m, fmt.Sprintf("%s (%s)", Requirement(r).Words(need, u), Requirement(r).figure(k, u)))
		}
	}
	if m == nil {
		return "there is nothing of what it is improved for"
	}
	return strings.Join(m, "; ")
}

// unit returns the unit of the dimension's figures, as its path in the craft file ends.
func (v Variation) unit(u units.System) units.Unit {
	switch {
	case strings.HasSuffix(v.Path, "_m"):
		return u.FinePosition()
	case strings.HasSuffix(v.Path, "_deg"):
		return units.Unit{Name: "deg", Size: 1, Decimals: 2}
	case strings.HasSuffix(v.Path, "_kg"):
		return u.FineMass()
	}
	return units.Unit{Size: 1, Decimals: 4}
}

func (v Variation) words(x float64, u units.System) string {
	return strings.TrimSpace(v.unit(u).Words(x, units.Nearest))
}

// Table returns the rows of what a builder would do: each dimension as in the file, the best,
// what to build, the bounds between which nine tenths of the goal are kept when the dimension
// is changed alone from the best, and the goal with one step less and more. The first row
// names the columns.
func (im *Improvement) Table(u units.System) [][]string {
	g := im.Options.Goal
	rows := [][]string{{"dimension", "as in the file", "best", "to build", "nine tenths kept", "one step less", "one step more"}}
	neighbour := func(k *Candidate) string {
		switch {
		case k == nil:
			return "outside of the bounds"
		case k.Err != nil:
			return "cannot be calculated"
		case !k.Meets():
			return g.figure(k.goal(g), u) + ", misses a requirement"
		}
		return g.figure(k.goal(g), u)
	}
	for i := range im.Dimensions {
		d := &im.Dimensions[i]
		un := d.unit(u)
		rows = append(rows, []string{d.Path, d.words(d.Before, u), d.words(d.Best, u), d.words(d.Rounded, u),
			fmt.Sprintf("%s to %s", un.Number(d.FlatFrom, units.Nearest), d.words(d.FlatTo, u)), neighbour(d.Down), neighbour(d.Up)})
	}
	return rows
}

// RequirementTable returns the rows of how the craft as in the file, the best and the one to
// build stand to the requirements. The first row names the columns.
func (im *Improvement) RequirementTable(u units.System) [][]string {
	rows := [][]string{{"required", "as in the file", "best", "to build"}}
	cell := func(r Requirement, k *Candidate) string {
		if k.Err != nil {
			return "-"
		}
		words := r.figure(k, u)
		if k.Broken[r] > 0 {
			words += " *"
		}
		return words
	}
	for r := range numRequirements {
		rows = append(rows, []string{r.Words(im.Options.Requirements, u), cell(r, &im.Before), cell(r, &im.Best), cell(r, &im.Rounded)})
	}
	return rows
}
