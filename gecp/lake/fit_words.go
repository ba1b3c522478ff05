package lake

import (
	"fmt"

	"example.org/groundeffect/gecp/units"
)

// Words says the estimate of a parameter: "lift factor 0.95, between 0.93 and 0.97", or
// why there is none.
func (f *Fit) Words(q Parameter, u units.System) string {
	e := f.Estimates[q]
	if !e.Fitted {
		return q.Words() + ": " + e.Why
	}
	// Two digits of the standard error are worth reading; a centimetre reads as 0.010 m.
	unit := units.Unit{Name: "", Size: 1, Decimals: 3}
	switch q {
	case CPOffset:
		unit = u.Position()
		unit.Decimals++
	case CPPerM:
		unit.Name = "m per m"
	}
	say := func(v float64) string { return unit.Number(v, units.Nearest) }
	tail := ""
	if unit.Name != "" {
		tail = " " + unit.Name
	}
	way := ""
	if q == CPOffset {
		way = " (aft positive)"
	}
	return fmt.Sprintf("%s: %s%s, 95 %% interval %s to %s%s%s", q.Words(), say(e.Value), tail, say(e.Low), say(e.High), tail, way)
}

// Sentences says what the fit rests on and what it is worth, without the estimates.
func (f *Fit) Sentences() []string {
	var s []string
	say := func(format string, a ...any) { s = append(s, fmt.Sprintf(format, a...)) }
	fitted := 0
	for _, e := range f.Estimates {
		if e.Fitted {
			fitted++
		}
	}
	say("It rests on %d runs with %d readings of the pilot's position and the pitch; %d degrees of freedom.", f.Used, f.Readings, f.DegreesOfFreedom)
	if fitted > 0 {
		say("What is left is %.1f times what the stated accuracies lead to expect; the intervals rest on what is left (Student's t).", f.Spread)
	}
	for q := range parameters {
		for r := range q {
			if f.Estimates[q].Fitted && f.Estimates[r].Fitted {
				say("Correlation of %s and %s: %.2f.", r.Words(), q.Words(), f.Correlation[q][r])
			}
		}
	}
	if f.Growth.OK {
		verdict := "it does not join"
		if f.Growth.Asked {
			verdict = "it joins"
		}
		say("Growth with clearance by the F test: F = %.1f, P %s; %s, which takes P below %v.", f.Growth.F, share(f.Growth.P), verdict, growthLevel)
	}
	if f.Correcting.OK {
		if f.Correcting.Asked {
			say("The runs ask for a correction (F = %.1f, P %s).", f.Correcting.F, share(f.Correcting.P))
		} else {
			say("The runs do not ask for a correction: the calculation without one fits them as well as chance has it (F = %.1f, P %s).", f.Correcting.F, share(f.Correcting.P))
		}
	}
	return s
}

// share writes the P of a test.
func share(p float64) string {
	if p < .001 {
		return "below 0.001"
	}
	return fmt.Sprintf("= %.3f", p)
}
