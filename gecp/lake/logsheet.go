package lake

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"

	"example.org/groundeffect/gecp/units"
)

// lines is the number of lines that a log sheet has for a rung: two in flight, where the
// pilot tries more than one position.
func lines(r *TowRung) int {
	if r.Range.OK {
		return 2
	}
	return 1
}

// Heads of the columns of a log's CSV form that repeat the card: a reader of the log knows
// them and leaves them alone.
const (
	planLetGo = "plan_let_go_"
	planPilot = "plan_pilot_"
)

// logged returns the rungs that may be run: those in flight, and those on the floats.
func (t *TowCard) logged() []*TowRung {
	var out []*TowRung
	for i := range t.Rungs {
		if r := &t.Rungs[i]; r.Range.OK || r.rests() {
			out = append(out, r)
		}
	}
	return out
}

// plannedPilot is where the card has the pilot at a rung.
func (t *TowCard) plannedPilot(r *TowRung) float64 {
	if r.Range.OK {
		return r.Range.Low.Pilot.X
	}
	return t.Start
}

// LogSheet returns the card's ladder with empty columns, to be filled in by hand at the
// water. Speeds at which the card says not to fly are left out.
func (t *TowCard) LogSheet() *Sheet {
	u := t.Units
	v, h, p, f := u.Speed(), u.Clearance(), u.Position(), u.Force()
	table := SheetPart{Head: []string{
		"speed, " + v.Name, "let go above, " + h.Name, "pilot by the card, " + p.Name,
		"clearance, " + h.Name, "pilot, " + p.Name, "pitch, degrees", "pull, " + f.Name, "what happened",
	}}
	for _, r := range t.logged() {
		for range lines(r) {
			table.Rows = append(table.Rows, []string{v.Number(r.Speed, units.Nearest), t.letGo(r), p.Number(t.plannedPilot(r), units.Nearest), "", "", "", "", ""})
		}
	}
	if table.Rows == nil {
		table.Lines = []string{"At no speed of the card may it be towed; there is nothing to log."}
	} else {
		table.Lines = []string{
			"Speed is that through the air: note the wind's part of it. Clearance is under the lowest point of the wings, from a mark on a strut or a picture taken from the side; pitch is the datum line's, nose-up; the pilot's position is that of their belt, aft of the nose. A line at a steady height is worth more than many words; note what you did not measure as empty, not as 0.",
			"Go up the ladder one step at a time; let go above the height told. Whoever steers the boat does not write.",
		}
	}
	return &Sheet{
		Title: "Log of runs of " + oneLine(t.Craft.Name),
		Parts: []SheetPart{
			{
				Head: []string{"date", "water, waves", "wind", "air, degrees C", "crew"},
				Rows: [][]string{{"", "", "", "", ""}},
			},
			table,
		},
	}
}

// WriteLogCSV writes the log sheet as a log that [ReadLog] takes once it is filled in: the
// speeds are there, and what the card says of them; lines with nothing but these count as
// not run.
func (t *TowCard) WriteLogCSV(w io.Writer) error {
	u := t.Units
	v, h, f := "kmh", u.Clearance(), u.Force()
	if u.IsCustomary() {
		v = "mph"
	}
	c := csv.NewWriter(w)
	c.Write([]string{"speed_" + v, planLetGo + h.Name, planPilot + h.Name, "clearance_" + h.Name, "pilot_" + h.Name, "pitch_deg", "pull_" + f.Name, "air_temp_C", "note"}) // errors stay with the writer
	for _, r := range t.logged() {
		letGo := ""
		if r.Range.OK {
			letGo = t.letGo(r)
		}
		for range lines(r) {
			c.Write([]string{u.Speed().Number(r.Speed, units.Nearest), letGo, h.Number(t.plannedPilot(r), units.Nearest), "", "", "", "", "", ""})
		}
	}
	c.Flush()
	return c.Error()
}

// planned reports whether a head is one that only repeats the card.
func planned(head string) bool {
	head = strings.ToLower(head)
	return strings.HasPrefix(head, planLetGo) || strings.HasPrefix(head, planPilot)
}

// notRun says in words how many lines of a log have a speed and nothing else.
func notRun(n int) string {
	if n == 1 {
		return "One line has a speed and nothing else; it counts as not run."
	}
	return fmt.Sprintf("%d lines have a speed and nothing else; they count as not run.", n)
}
