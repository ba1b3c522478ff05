package design

import (
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp/units"
)

// FineUnit returns the unit in which changes of the answer are shown: finer than the answer itself.
func (a Answer) FineUnit(u units.System) units.Unit {
	switch a {
	case AnswerTravel, AnswerLowest, AnswerLetGo, AnswerSelfHolding, AnswerReach:
		return fine(u.Small())
	}
	return fine(a.Unit(u))
}

// verbs are what a change makes of an answer, up and down.
func (a Answer) verbs() (up, down string) {
	switch a {
	case AnswerTravel, AnswerReaction:
		return "lengthens", "cuts"
	case AnswerWindow:
		return "widens", "narrows"
	}
	return "raises", "lowers"
}

// ChangeWords says a change of the answer, in SI units: "raises the height to let go by 3.0 mm".
func (a Answer) ChangeWords(by float64, u units.System) string {
	up, down := a.verbs()
	verb := up
	if by < 0 {
		verb = down
	}
	return fmt.Sprintf("%s %s by %s", verb, a.Words(), a.FineUnit(u).Words(math.Abs(by), units.Nearest))
}

// visible reports whether a step changes an answer by what its figure of a change can show.
func (e Effect) visible(a Answer, u units.System) bool {
	f := a.FineUnit(u)
	return e.OK && f.Rounded(e.PerStep, units.Nearest) != 0
}

// Words says in a sentence what a step of the dimension does, the answer that was ranked by
// first, and how far that holds.
func (d *Sensitivity) Words(s *Sensitivities, u units.System) string {
	step := d.ChangeWords(s.Craft, d.Step, u)
	step = strings.ToUpper(step[:1]) + step[1:]
	if d.Err != nil {
		return fmt.Sprintf("%s: neither this nor the contrary makes a craft that can be calculated.", step)
	}
	rank := s.Options.Rank
	var does []string
	for _, a := range append([]Answer{rank}, others(rank)...) {
		if a == AnswerSelfHolding && a != rank && d.Effects[a].PerStep == d.Effects[AnswerLetGo].PerStep && d.Effects[AnswerLetGo].OK {
			continue // which ends the range, and goes with it
		}
		if e := d.Effects[a]; e.visible(a, u) {
			does = append(does, a.ChangeWords(e.PerStep, u))
		}
	}
	if does == nil {
		return step + " changes nothing that shows."
	}
	words := step + " " + joined(does)
	e := d.Effects[rank]
	of := fmt.Sprintf("Of %s", rank.Words())
	way := "either way"
	switch {
	case e.OneSided && e.way < 0:
		way = "the contrary way; this way there is none"
	case e.OneSided:
		way = "this way; the contrary way there is none"
	}
	switch {
	case !e.OK || !d.Far:
		return words + "."
	case e.Bends:
		return fmt.Sprintf("%s. %s this is the mean of both ways, which differ: no straight line.", words, of)
	case e.Straight >= maxFar:
		return fmt.Sprintf("%s. %s the straight line holds to within a fifth as far as was looked, %s %s.", words, of, d.Amount(float64(e.Straight)*d.Step, u), way)
	}
	return fmt.Sprintf("%s. %s the straight line holds to within a fifth up to %s %s.", words, of, d.Amount(float64(e.Straight)*d.Step, u), way)
}

// others returns all answers but one, in their order.
func others(but Answer) []Answer {
	var all []Answer
	for a := range numAnswers {
		if a != but {
			all = append(all, a)
		}
	}
	return all
}

// joined joins clauses with commas and an and.
func joined(s []string) string {
	if len(s) < 2 {
		return strings.Join(s, "")
	}
	return strings.Join(s[:len(s)-1], ", ") + " and " + s[len(s)-1]
}
