package design

import (
	"fmt"
	"strings"

	"example.org/groundeffect/gecp/units"
)

// Words says what would give the craft of some sensitivities a height to tow it at and a speed
// window that a boat can hold; "" where it has both.
func (a *Advice) Words(s *Sensitivities, u units.System) string {
	if !a.Needed {
		return ""
	}
	speed := u.FineSpeed().Words(s.Options.Question.Speed, units.Nearest)
	window := u.FineSpeed().Words(a.Options.LeastWindow, units.Nearest)
	lacks := fmt.Sprintf("It has no height at which to tow it at %s.", speed)
	if s.Base.Range.OK {
		lacks = fmt.Sprintf("Its speed window is narrower than the %s that a boat can hold.", window)
	}
	if len(a.Changes) == 0 {
		return fmt.Sprintf("%s No single dimension changed by up to %d of a builder's steps gives it both a height at %s and a window of %s: it takes several changes together, or another speed.",
			lacks, a.Options.MaxSteps, speed, window)
	}
	var b strings.Builder
	number := "The smallest changes that give it both, each"
	if len(a.Changes) == 1 {
		number = "One change gives it both,"
	}
	fmt.Fprintf(&b, "%s %s solved in full:", lacks, number)
	for i := range a.Changes {
		fmt.Fprintf(&b, "\n- %s", a.Changes[i].Words(s, u))
	}
	return b.String()
}

// Words says one change and what the craft does then.
func (c *Change) Words(s *Sensitivities, u units.System) string {
	f := c.Answers.Figures
	words := fmt.Sprintf("%s (%s=%.6g): tow it between %s and %s", c.ChangeWords(s.Craft, c.By(), u), c.Path, c.Value+c.By(),
		u.TowAbove(f[AnswerLowest].Value), u.LetGo(f[AnswerLetGo].Value))
	if f[AnswerWindow].OK {
		w := c.Answers.Window
		words += fmt.Sprintf("; with the pilot in the middle of the travel it flies from %s to %s", u.FlyAbove(w.From), u.StayBelow(w.To))
	}
	return words + "."
}
