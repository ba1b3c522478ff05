package design

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// Words says in sentences what a hundred craft built to the file do: up to which clearance they
// hold themselves, how many find none, from which speed they lift off, where their
// pilots sit. Figures and counts are rounded towards safety.
func (t *Tolerances) Words(u units.System) string {
	var s []string
	say := func(format string, args ...any) { s = append(s, fmt.Sprintf(format, args...)) }
	v, h := u.FineSpeed(), u.Clearance()
	speed := v.Words(t.Options.Speed, units.Nearest)
	none := func(q Quantity) int { return hundredths(t.Spreads[q].ShareNone) }
	switch n, at, ok := t.most(SelfHolding); {
	case !ok:
		say("Of 100 such builds hardly one holds a height by itself at %s with its pilot in reach.", speed)
	default:
		find := "%d find no height to tow them at"
		if none(LetGoClearance) == 1 {
			find = "%d finds no height to tow it at"
		}
		say("Of 100 such builds %d hold themselves to %s or more at %s%s.", n, h.Words(at, units.Down), speed, but(none(LetGoClearance), find))
	}
	if f := t.Spreads[LetGoClearance]; f.OK {
		say("The height to let go is %s in half of those that have one; in 95 of 100 of them it lies between %s and %s.",
			h.Words(f.P50, units.Down), h.Words(f.P2_5, units.Down), h.Words(f.P97_5, units.Down))
	}
	if a, b := t.Spreads[PilotForward], t.Spreads[PilotAft]; a.OK && b.OK {
		p := u.Position()
		say("To be right for 95 of 100 of them the pilot's positions reach from %s to %s aft of the datum.", p.Words(a.P2_5, units.Down), p.Words(b.P97_5, units.Up))
	}
	if f := t.Spreads[LiftOffSpeed]; f.OK || t.Unknown > 0 {
		not := hundredths(f.ShareNone - float64(t.Unknown)/float64(len(t.Builds)))
		words := "With the pilot in the middle of the travel none is known to lift off"
		if f.OK {
			words = fmt.Sprintf("With the pilot in the middle of the travel those that lift off do so between %s and %s, as the boat shows it (95 of 100 of them)",
				v.Words(f.P2_5, units.Down), u.FlyAbove(f.P97_5))
		}
		words += but(not, "%d of 100 do not lift off")
		if t.Unknown > 0 {
			words += fmt.Sprintf("; of %d of 100 it is not known; the first such: %v", t.hundred(t.Unknown), t.FirstWindowErr)
		}
		say("%s.", words)
	}
	if f := t.Spreads[WindowWidth]; f.OK {
		say("The speed window is %s wide in half of those that have one, %s or less in one of 40; %d of 100 have none%s.",
			v.Words(f.P50, units.Down), v.Words(f.P2_5, units.Up), none(WindowWidth), map[bool]string{true: ", or it is not known"}[t.Unknown > 0])
	}
	if t.Failed > 0 {
		say("%d of 100 could not be calculated; the first: %v.", t.hundred(t.Failed), t.FirstErr)
	}
	return strings.Join(s, " ")
}

// but returns a clause for a count that is not 0.
func but(n int, format string) string {
	if n == 0 {
		return ""
	}
	return "; " + fmt.Sprintf(format, n)
}

// hundred returns a count of the builds, of 100, rounded up.
func (t *Tolerances) hundred(n int) int { return hundredths(float64(n) / float64(len(t.Builds))) }

// hundredths returns a share as a count of 100, rounded up: a share above 0 never shows as none.
func hundredths(share float64) int { return int(math.Ceil(100*share - 1e-9)) }

// most returns the largest round number of builds out of 100, 95 at most, that reach some value of a
// quantity, and that value; those that do not have it reach none. ok is false if that is
// not even one of 20.
func (t *Tolerances) most(q Quantity) (n int, at float64, ok bool) {
	v := make([]float64, len(t.Builds))
	for i := range t.Builds {
		v[i] = math.Inf(-1)
		if f := t.Builds[i].Figures[q]; f.OK {
			v[i] = f.Value
		}
	}
	slices.Sort(v)
	for n = 95; n > 0; n -= 5 {
		// As many builds as n of 100, rounded up, are at or above it.
		at = v[len(v)-int(math.Ceil(float64(n*len(v))/100))]
		if !math.IsInf(at, -1) {
			return n, at, true
		}
	}
	return 0, 0, false
}

// Words says what is unknown of a build.
func (u Unknowns) Words(s units.System) string {
	small, v := s.Small(), s.FineSpeed()
	deg := func(rad float64) string { return fmt.Sprintf("%.2g degrees", gecp.Degrees(rad)) }
	return fmt.Sprintf("incidence %s and twist %s of each half wing (the halves correlated by %.2g), each wing's position lengthwise and upwards %s, "+
		"mass %s, centre of gravity of the craft without its pilot %s, lift %.2g %%, boat's speed %s",
		deg(u.Incidence), deg(u.Twist), u.Halves, small.Words(u.Position, units.Nearest), s.FineMass().Words(u.Mass, units.Nearest),
		small.Words(u.CG, units.Nearest), 100*u.LiftFactor, v.Words(u.Speed, units.Nearest))
}

// Words says how far expanded builds differ from builds solved in full.
func (c BuildCheck) Words(u units.System) string {
	if c.Builds == 0 {
		return "No build was solved in full for a check."
	}
	disagree := 0
	for _, n := range c.Disagree {
		disagree = max(disagree, n)
	}
	off := func(n units.Unit, quantities ...Quantity) string {
		var largest, most float64
		for _, q := range quantities {
			largest, most = max(largest, c.Largest[q]), max(most, c.Most[q])
		}
		words := fine(n).Words(largest, units.Up)
		if isRare(largest, most) {
			words += fmt.Sprintf(" (nine of ten by %s at most)", fine(n).Words(most, units.Up))
		}
		return words
	}
	s := fmt.Sprintf("%d builds solved in full differ by up to %s in clearances, %s in the pilot's positions, %s in speeds",
		c.Builds, off(u.Small(), LetGoClearance, LowestClearance, SelfHolding), off(u.Small(), PilotForward, PilotAft), off(u.FineSpeed(), LiftOffSpeed, WindowWidth))
	if disagree > 0 {
		s += fmt.Sprintf("; %d of them have a figure that the other way has not", disagree)
	}
	return s + "."
}

// isRare reports whether the largest difference is that of a few builds: more than twice what
// nine of ten differ by.
func isRare(largest, most float64) bool { return largest > 2*most }

// fine returns a unit with one decimal more.
func fine(u units.Unit) units.Unit {
	u.Decimals++
	return u
}
