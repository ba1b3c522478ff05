package lake

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// WriteCSV writes the card's figures, unrounded, in its units; the words follow the
// # of comment lines. A figure that does not exist is an empty field. The let-go
// height stands in a column of its own, shown as everywhere, rounded down.
func (t *TowCard) WriteCSV(w io.Writer) error {
	b := bufio.NewWriter(w)
	u := t.Units
	h, v, f, pace := u.Clearance(), u.Speed(), u.Force(), u.Pace()
	fmt.Fprintf(b, "# %s\n", t.title())
	for _, part := range [][]string{t.facts(), t.notes(), {gecp.Cautions}} {
		for _, s := range part {
			fmt.Fprintf(b, "# %s\n", oneLine(s))
		}
	}
	num := func(ok bool, x, unit float64) string {
		if !ok {
			return ""
		}
		return strconv.FormatFloat(x/unit, 'g', 6, 64)
	}
	perSpeed := strings.ReplaceAll(v.Name, "/", "")
	perPace := strings.ReplaceAll(pace.Name, "/", "p")
	c := csv.NewWriter(b)
	head := []string{"speed_" + perSpeed, "let_go_" + h.Name, "high_" + h.Name, "lowest_" + h.Name, "pilot_lowest_" + h.Name, "pilot_high_" + h.Name, "line_tension_" + f.Name, "tension_without_water_drag", "on_floats_share"}
	for s := range stops {
		head = append(head, "held_pilot_"+s.String()+"_"+h.Name, "unstable_pilot_"+s.String()+"_"+h.Name)
	}
	head = append(head, "let_go_calculated_"+h.Name, "let_go_at_worst_"+h.Name, "let_go_at_best_"+h.Name, "lowest_calculated_"+h.Name, "lowest_at_worst_"+h.Name, "no_chop_of_"+h.Name,
		"self_holding_"+h.Name, "reach_"+h.Name, "reaction_"+h.Name, "most_loaded_wing", "section_lift", "section_lift_limit", "water_depression_"+h.Name,
		"gain_lowest_"+perPace, "gain_high_"+perPace, "reaction_margin_lowest_s", "reaction_margin_high_s", "verdict")
	c.Write(head) // errors stay with the writer
	for i := range t.Rungs {
		r := &t.Rungs[i]
		g := &r.Range
		letGo := ""
		if g.OK {
			letGo = t.letGo(r)
		}
		tension := g.LineTension
		if r.rests() {
			tension = r.Water.LineTension
		}
		row := []string{
			num(true, r.Speed, v.Size), letGo, num(g.OK, g.High.Clearance, h.Size), num(g.Flies, g.Low.Clearance, h.Size),
			num(g.OK, g.Low.Pilot.X, h.Size), num(g.OK, g.High.Pilot.X, h.Size),
			num(g.Flies || r.rests(), tension, f.Size), strconv.FormatBool(r.rests()), num(r.Water.Known, 1-r.Water.Carried, 1),
		}
		for s := range stops {
			var held, un []string
			for _, k := range r.Held[s] {
				if n := num(true, k.Clearance, h.Size); k.HeightStable {
					held = append(held, n)
				} else {
					un = append(un, n)
				}
			}
			row = append(row, strings.Join(held, " "), strings.Join(un, " "))
		}
		ceiling := func(k tow.LimitKind) string {
			if g.Limits == nil {
				return ""
			}
			return num(g.Limits[k].OK, g.Limits[k].At, h.Size)
		}
		known := r.Strip.Limit > 0
		offered, may, from := r.Trust.Range.OK, r.Trust.LetGo, r.Trust.Lowest
		row = append(row, num(offered, may.Plain, h.Size), num(offered && !may.NoLow, may.Low, h.Size), num(offered, may.High, h.Size), num(offered, from.Plain, h.Size), num(offered && !from.NoHigh, from.High, h.Size), num(g.OK, g.MostChop(), h.Size))
		row = append(row, ceiling(tow.LimitSelfHolding), ceiling(tow.LimitReach), ceiling(tow.LimitReaction),
			notFormula(oneLine(r.Strip.Wing)), num(known, r.Strip.LiftCoefficient, 1), num(known, r.Strip.Limit, 1), num(g.Flies && !r.rests(), r.Depression.Depth, h.Size))
		for _, g := range r.Gains {
			row = append(row, num(g.OK && !g.More, g.Value, pace.Size))
		}
		for _, m := range r.Margins {
			x := m.Counts()
			row = append(row, num(m.OK && x.OK && !m.Fixed.Saved(), x.Delay, 1))
		}
		c.Write(append(row, oneLine(r.Verdict)))
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return err
	}
	return b.Flush()
}

// notFormula keeps a name from being read as a formula by a spreadsheet: one that
// begins as formulas do gets an apostrophe before it.
func notFormula(s string) string {
	if s != "" && strings.ContainsRune("=+-@", rune(s[0])) {
		return "'" + s
	}
	return s
}
