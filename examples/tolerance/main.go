// Command tolerance shows what craft do that are built to one file as exactly as a home
// builder can: thousands of builds that differ in incidence, twist, positions, weight,
// centre of gravity, lift and the boat's speed.
package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/picture"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("tolerance", "What craft do that are built to one file as exactly as a home builder can.", "the look at builds")
	craftFile := p.Craft()
	speed := p.Number("speed", "speed on the boat's speedometer, `m/s`", 57*units.KMH, .1, gecp.MaxSpeed)
	builds := p.Number("builds", "how many `builds` to calculate", 2000, 1, design.MaxBuilds)
	seed := p.Number("seed", "the same `number` gives the same builds", 1, 0, 1<<53)
	unknowns := unknownFlags(p)
	density := p.Density()
	mesh := p.Mesh()
	system := p.Units()
	file := p.Flags.String("csv", "", "also write the spreads, in SI units, into this `file`")
	svg := p.Flags.String("svg", "", "also draw the height picture into this `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		craft, err := craftFile()
		if err != nil {
			return err
		}
		u := unknowns(craft)
		t, err := design.Tolerance(ctx, craft, design.ToleranceOptions{
			Speed: *speed, Density: *density, Builds: int(*builds), Seed: uint64(*seed), Unknowns: &u, Mesh: *mesh,
			Progress: p.Stage("calculating builds"),
		})
		if err != nil {
			return err
		}
		if err := report(out, &t, system()); err != nil {
			return err
		}
		if *file != "" {
			err = files.Write(*file, func(w io.Writer) error { return writeCSV(w, &t) })
		}
		return errors.Join(err, files.Draw(*svg, func(w io.Writer) error { return draw(w, &t, system()) }))
	}
}

// unknownFlags defines a flag for each of the unknowns and returns what fills in the
// standard figures where it is not given.
func unknownFlags(p *command.Program) func(c *gecp.Craft) design.Unknowns {
	u := func(name, usage string, most float64) *float64 {
		return p.Number(name, usage, math.NaN(), 0, most)
	}
	incidence := u("incidence", "how far the incidence of 95 of 100 half wings is off, `degrees`; half a degree if not given", 3)
	twist := u("twist", "likewise the twist of the tips, `degrees`; half a degree if not given", 3)
	position := u("position", "likewise each wing's position, lengthwise and upwards, `m`; 0.01 if not given", .1)
	mass := u("mass", "likewise the mass of craft and pilot, `kg`; 2 if not given", 50)
	cg := u("cg", "likewise the centre of gravity of the craft without its pilot, `m`; 0.02 if not given", .3)
	lift := u("lift", "likewise the wings' lift, as a `share` of it; 0.03 if not given, or what the craft file's correction says", .3)
	boat := u("boat", "likewise the boat's speed against its speedometer, `m/s`; 0.2778, that is 1 km/h, if not given", 3)
	halves := u("halves", "correlation of the two halves of a wing, a `share`; 0.5 if not given", 1)
	return func(c *gecp.Craft) design.Unknowns {
		d := design.DefaultUnknowns(c)
		for _, f := range []struct {
			given *float64
			size  float64
			to    *float64
		}{
			{incidence, gecp.Radians(1), &d.Incidence}, {twist, gecp.Radians(1), &d.Twist}, {position, 1, &d.Position}, {mass, 1, &d.Mass},
			{cg, 1, &d.CG}, {lift, 1, &d.LiftFactor}, {boat, 1, &d.Speed}, {halves, 1, &d.Halves},
		} {
			if !math.IsNaN(*f.given) {
				*f.to = *f.given * f.size
			}
		}
		return d
	}
}

// writeCSV writes SI values, and an empty field where no build has the quantity. Others
// read this table, so its columns stay these.
func writeCSV(out io.Writer, t *design.Tolerances) error {
	w := csv.NewWriter(out)
	w.Write([]string{"quantity", "unit", "p2.5", "p50", "p97.5", "share_none"})
	num := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	for _, s := range t.Spreads {
		row := []string{s.Quantity.String(), s.Quantity.Unit(), "", "", "", num(s.ShareNone)}
		if s.OK {
			row[2], row[3], row[4] = num(s.P2_5), num(s.P50), num(s.P97_5)
		}
		w.Write(row)
	}
	w.Flush()
	return w.Error()
}

// rows are the words of the table for each quantity, and which way its figures are
// rounded: towards what a builder must reckon with.
var rows = map[design.Quantity]struct {
	words    string
	rounding units.Rounding
}{
	design.LetGoClearance:  {"height to let go", units.Down},
	design.LowestClearance: {"lowest towing clearance", units.Up},
	design.SelfHolding:     {"holds itself up to", units.Down},
	design.PilotForward:    {"pilot's foremost position", units.Nearest},
	design.PilotAft:        {"pilot's aftmost position", units.Nearest},
	design.LiftOffSpeed:    {"lift-off", units.Up},
	design.WindowWidth:     {"speed window", units.Down},
}

func unit(q design.Quantity, u units.System) units.Unit {
	switch q {
	case design.PilotForward, design.PilotAft:
		return u.Position()
	case design.LiftOffSpeed, design.WindowWidth:
		return u.FineSpeed()
	}
	return u.Clearance()
}

func report(out io.Writer, t *design.Tolerances, u units.System) error {
	w := bufio.NewWriter(out)
	fmt.Fprintf(w, "%s, built %d times, at %s\n\n", t.Craft.Name, len(t.Builds), u.FineSpeed().Words(t.Options.Speed, units.Nearest))
	if words, ok := t.Craft.CorrectionWords(); ok {
		fmt.Fprintf(w, "The wings' loads are %s.\n\n", words)
	}
	fmt.Fprintf(w, "%s\n\n", t.Words(u))
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tab, "\tas in the file\t2.5 of 100 below\thalf below\t97.5 of 100 below\thave none")
	for _, s := range t.Spreads {
		k, un := rows[s.Quantity], unit(s.Quantity, u)
		cell := func(v float64, ok bool) string {
			if !ok {
				return "-"
			}
			return un.Words(v, k.rounding)
		}
		n := t.Nominal.Figures[s.Quantity]
		fmt.Fprintf(tab, "%s\t%s\t%s\t%s\t%s\t%s %%\n", k.words, cell(n.Value, n.OK), cell(s.P2_5, s.OK), cell(s.P50, s.OK), cell(s.P97_5, s.OK),
			units.Unit{Size: .01, Decimals: 1}.Number(s.ShareNone, units.Up))
	}
	tab.Flush() // errors stay with w
	fmt.Fprintf(w, `
Not known exactly, each the bound that 95 of 100 builds keep, normally distributed: %s.
What differs between the halves of a wing rolls the craft; this is not calculated. Percentiles are of the builds that have the
quantity. By equilibrium: whether anyone can react in time is not asked here (see leap and balance).
How exact: builds are expanded about the craft as in the file. %s`, t.Unknowns.Words(u), t.Check.Words(u))
	if t.Solved > 0 {
		fmt.Fprintf(w, " %d builds had to be solved in full.", t.Solved)
	}
	fmt.Fprintf(w, "\n\n%s\n", gecp.Cautions)
	return w.Flush()
}

// least is the share of the builds that must have a position at a clearance for it to be drawn.
const least = .5

func draw(out io.Writer, t *design.Tolerances, u units.System) error {
	p := picture.Picture{
		Title: fmt.Sprintf("%s, built %d times, at %s", t.Craft.Name, len(t.Builds), u.FineSpeed().Words(t.Options.Speed, units.Nearest)),
		Note:  "Where the pilot has to be: 95 of 100 builds lie in the tinted area. A calculation; prove it in small steps.",
		Craft: t.Craft, Top: 1, Units: u,
	}
	if words, ok := t.Craft.CorrectionWords(); ok {
		p.Note += " The wings' loads are " + words + "."
	}
	if c := t.Craft.Pilot; c != nil {
		p.Bands = []picture.Band{{Name: "pilot's travel", From: c.XForward, To: c.XAft}}
		area := picture.Area{Name: "95 of 100 builds", Style: picture.Scatter}
		half := picture.Curve{Name: "half of them", Style: picture.Pilot}
		for i, s := range t.Pilot {
			from, mid, to := s.P2_5, s.P50, s.P97_5
			if !s.OK || s.ShareNone > least {
				from, mid, to = math.NaN(), math.NaN(), math.NaN()
			}
			area.From, area.To, area.Height = append(area.From, from), append(area.To, to), append(area.Height, t.Clearances[i])
			half.X, half.Height = append(half.X, mid), append(half.Height, t.Clearances[i])
		}
		p.Areas, p.Curves = []picture.Area{area}, []picture.Curve{half}
	}
	if s := t.Spreads[design.LetGoClearance]; s.OK {
		p.Lines = []picture.Line{
			{Name: "let go, one of 40: " + u.LetGo(s.P2_5), Height: s.P2_5},
			{Name: "let go, half: " + u.LetGo(s.P50), Height: s.P50},
			{Name: "let go, 39 of 40: " + u.LetGo(s.P97_5), Height: s.P97_5},
		}
	}
	return p.WriteSVG(out)
}
