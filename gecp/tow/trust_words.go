package tow

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.org/groundeffect/gecp/units"
)

// words says a band in a unit, its ends rounded outwards: "0.30 m; between 0.22 and 0.33 m".
// none stands where there may be no such figure.
func (b Band) words(u units.Unit, plain units.Rounding, none string) string {
	s := u.Words(b.Plain, plain)
	low, high := u.Number(b.Low, units.Down), u.Number(b.High, units.Up)
	switch at := u.Number(b.Plain, plain); {
	case b.NoLow && b.NoHigh:
		return fmt.Sprintf("%s; between %s and %s %s, or %s", s, low, high, u.Name, none)
	case b.NoLow:
		return fmt.Sprintf("%s; between %s and %s %s", s, none, high, u.Name)
	case b.NoHigh:
		return fmt.Sprintf("%s; from %s %s to %s", s, low, u.Name, none)
	case low == at && high == at:
		return s
	}
	return fmt.Sprintf("%s; between %s and %s %s", s, low, high, u.Name)
}

// Shift says how far the ends of a band lie from the calculated figure, in a unit without its
// name, each rounded outwards: "-12 to +3", or "none" for an end where there may be no such
// figure.
func (b Band) Shift(u units.Unit) string {
	low, high := u.Signed(u.Rounded(b.Low-b.Plain, units.Down)), u.Signed(u.Rounded(b.High-b.Plain, units.Up))
	if b.NoLow {
		low = "none"
	}
	if b.NoHigh {
		high = "none"
	}
	if low == high {
		return low
	}
	return low + " to " + high
}

// TrustRow says what one thing left out could do to four figures: how far each may lie from
// the calculated one, as Shift has it, or a dash where there is no such figure.
type TrustRow struct {
	Name, LetGo, Lowest, Pilot, LiftOff string
	Source                              string // what it is taken as
}

// Rows says what each thing left out could do alone, and at the end all of it at once: to the
// height to let go, the lowest clearance and the pilot's position in a system's small unit, to the
// lift-off, which is zero where it is not known, in its fine speed. There are none for a craft that does not fly.
func (t Trust) Rows(liftOff Trusted, u units.System) []TrustRow {
	effects := t.Pilot.Effects
	if !t.HasPilot {
		effects = t.LetGo.Effects
	}
	if len(effects) == 0 {
		return nil
	}
	row := func(name, source string, of func(f Trusted) Band) TrustRow {
		cell := func(f Trusted, u units.Unit) string {
			if len(f.Effects) == 0 {
				return "–"
			}
			return of(f).Shift(u)
		}
		return TrustRow{name, cell(t.LetGo, u.Small()), cell(t.Lowest, u.Small()), cell(t.Pilot, u.Small()), cell(liftOff, u.FineSpeed()), source}
	}
	var rows []TrustRow
	for i, e := range effects {
		rows = append(rows, row(e.Effect.String(), e.Effect.Source(), func(f Trusted) Band { return f.Effects[i].Band }))
	}
	return append(rows, row("all at once", "in the way that lowers each figure, and in the way that raises it", func(f Trusted) Band { return f.Band }))
}

// LetGoWords says a band of the height to let go: "0.30 m; between 0.22 and 0.33 m", or
// "between none" where there may be no height to tow the craft at.
func (b Band) LetGoWords(u units.System) string { return b.words(u.Clearance(), units.Down, "none") }

// LowestWords says a band of the lowest clearance to tow the craft at: "0.16 m; between 0.16 and
// 0.38 m", or "to no height at all" where there may be none.
func (b Band) LowestWords(u units.System) string {
	return b.words(u.Clearance(), units.Up, "no height at all")
}

// PilotWords says a band of the pilot's position.
func (b Band) PilotWords(u units.System) string {
	return b.words(u.Position(), units.Nearest, "out of what can fly there")
}

// LiftOffWords says a band of the speed at which the craft lifts off.
func (b Band) LiftOffWords(u units.System) string {
	return b.words(u.FineSpeed(), units.Up, "no lift-off at all")
}

// AloneWords says what the range would be by the calculation alone, with the bands: one sentence
// for its end, one for its beginning where that is not sure. Only for a range that is OK.
func (t Trust) AloneWords(u units.System) string {
	s := "By the calculation alone the height to let go is " + t.LetGo.LetGoWords(u) + "."
	if words, ok := t.lowest(u); ok {
		s += " The lowest to tow it at is " + words + "."
	}
	return s
}

// lowest says the band of the lowest clearance; ok is false where it shows no width.
func (t Trust) lowest(u units.System) (words string, ok bool) {
	at := t.Lowest.Plain
	words = t.Lowest.LowestWords(u)
	return words, words != Band{Plain: at, Low: at, High: at}.LowestWords(u)
}

// String says how far to trust the range, in metric units.
func (t Trust) String() string { return t.Words(units.Metric) }

// Words says how far to trust the range: the bands of the height to let go, of the lowest
// clearance and of the pilot's position, and what could lower the one and raise the other most. It is empty for a craft that does not fly.
func (t Trust) Words(u units.System) string {
	var s []string
	if t.Range.OK {
		s = append(s, "Height to let go: "+t.LetGo.LetGoWords(u)+"."+mostly(t.LetGo, u, "takes", func(b Band) (float64, bool) { return b.Plain - b.Low, b.NoLow }))
		if words, ok := t.lowest(u); ok {
			s = append(s, "Lowest height to tow it at: "+words+"."+mostly(t.Lowest, u, "adds", func(b Band) (float64, bool) { return b.High - b.Plain, b.NoHigh }))
		}
	}
	if t.HasPilot {
		s = append(s, fmt.Sprintf("Pilot at %s: %s.", u.TowAbove(t.PilotAt), t.Pilot.PilotWords(u)))
	}
	return strings.Join(s, " ")
}

// told is how many of the effects on a height are told in words.
const told = 3

// mostly says which effects do most to a height towards danger, with a space before it; nothing
// where none does anything. by tells how far one moves it, m, and whether it leaves none; verb what it does.
func mostly(f Trusted, u units.System, verb string, by func(b Band) (far float64, none bool)) string {
	type cause struct {
		Effect
		far  float64
		none bool
	}
	var causes []cause
	for _, e := range f.Effects {
		far, none := by(e.Band)
		if none || u.Clearance().Number(far, units.Up) != u.Clearance().Number(0, units.Up) {
			causes = append(causes, cause{e.Effect, far, none})
		}
	}
	if causes == nil {
		return ""
	}
	slices.SortStableFunc(causes, func(a, b cause) int {
		if a.none != b.none {
			if a.none {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.far, a.far)
	})
	var words []string
	for _, c := range causes[:min(told, len(causes))] {
		how := "takes it away"
		if !c.none {
			how = verb + " " + u.Clearance().Words(c.far, units.Up)
		}
		words = append(words, fmt.Sprintf("%s %s", c.Effect, how))
	}
	return " At most, each alone: " + strings.Join(words, "; ") + "."
}
