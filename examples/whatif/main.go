// Command whatif shows what each dimension of a craft does to what a builder asks of it: the change
// of travel, height to let go, lift-off, speed window and more with a step that a builder would make;
// and what one change does in full.
package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("whatif", "What each dimension of a craft does, and what one change does in full.", "the look at changes")
	craftFile := p.Craft()
	speed := p.Number("speed", "speed through the air, `m/s`", 57*units.KMH, .1, gecp.MaxSpeed)
	var set []design.Setting
	p.Flags.Func("set", "a `dimension` and its value, as 'wings[1].incidence_deg=3': first shows what this changes, and then all else of the craft so changed; may be given again", func(s string) error {
		v, err := design.ParseSet(s)
		set = append(set, v)
		return err
	})
	by := p.Flags.String("by", "", "rank the dimensions by this `answer`, one of "+strings.Join(answerNames(), ", ")+"; the speed window if not given, or what else the craft has")
	stations := p.Flags.Bool("stations", false, "also take the stations of the wings one by one")
	reaction := p.Flags.Bool("reaction", false, "also the reaction margin: takes a minute or more")
	least := p.Number("least-window", "the narrowest speed window that your boat can hold, `m/s`: for a craft with a narrower one, or with no height to tow it at, the smallest changes are named that give it both", 4*units.KMH, .01, 30)
	density := p.Density()
	mesh := p.Mesh()
	system := p.Units()
	file := p.Flags.String("csv", "", "also write the table, in SI units, into this `file`")
	svg := p.Flags.String("svg", "", "also draw a bar chart into this `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		o := design.SensitivityOptions{
			Question: design.Question{Speed: *speed, Density: *density, Reaction: *reaction},
			Mesh:     *mesh, Details: *stations,
		}
		if *by != "" {
			a, ok := answerOf(*by)
			if !ok || a == design.AnswerReaction && !*reaction {
				return fmt.Errorf("-by %q is no answer asked for; give one of %s, the last with -reaction", *by, strings.Join(answerNames(), ", "))
			}
			o.Rank, o.Ranked = a, true
		}
		craft, err := craftFile()
		if err != nil {
			return err
		}
		w := bufio.NewWriter(out)
		if set != nil {
			if craft, err = change(ctx, p, w, craft, set, o, system()); err != nil {
				return err
			}
		}
		o.Progress = p.Stage("changing one dimension after the other")
		s, err := design.FindSensitivities(ctx, craft, o)
		if err != nil {
			return err
		}
		advice, err := s.Advise(ctx, design.AdviceOptions{LeastWindow: *least, Progress: p.Stage("looking for changes that give it what it lacks")})
		if err != nil {
			return err
		}
		report(w, &s, advice, system())
		if err := w.Flush(); err != nil {
			return err
		}
		if *file != "" {
			err = files.Write(*file, func(w io.Writer) error { return writeCSV(w, &s) })
		}
		return errors.Join(err, files.Draw(*svg, func(w io.Writer) error { return draw(w, &s, system()) }))
	}
}

// answers are all that are shown, in the order of tables.
func answers(reaction bool) []design.Answer {
	all := []design.Answer{
		design.AnswerTravel, design.AnswerLowest, design.AnswerLetGo, design.AnswerSelfHolding, design.AnswerReach,
		design.AnswerLiftOff, design.AnswerWindow, design.AnswerPull,
	}
	if reaction {
		all = append(all, design.AnswerReaction)
	}
	return all
}

func answerNames() []string {
	var names []string
	for _, a := range answers(true) {
		names = append(names, a.String())
	}
	return names
}

func answerOf(name string) (design.Answer, bool) {
	for _, a := range answers(true) {
		if a.String() == name {
			return a, true
		}
	}
	return 0, false
}

// change reports one change in full and returns the craft so changed.
func change(ctx context.Context, p *command.Program, w io.Writer, craft *gecp.Craft, set []design.Setting, o design.SensitivityOptions, u units.System) (*gecp.Craft, error) {
	changed, err := design.SetAll(craft, set)
	if err != nil {
		return nil, err
	}
	var both [2]design.Answers
	for i, c := range []*gecp.Craft{craft, changed} {
		m, err := p.BuildMap(ctx, c, o.Mesh, []string{"fitting the map as it is", "fitting the map as changed"}[i])
		if err != nil {
			return nil, err
		}
		if both[i], err = o.Question.Ask(ctx, m); err != nil {
			return nil, err
		}
	}
	fmt.Fprintf(w, "%s at %s, with", craft.Name, u.FineSpeed().Words(o.Question.Speed, units.Nearest))
	for i, s := range set {
		if i > 0 {
			fmt.Fprint(w, ",")
		}
		fmt.Fprintf(w, " %s", s)
	}
	fmt.Fprint(w, "\n\n")
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tab, "\tas it is\tchanged\tdifference")
	for _, a := range answers(o.Question.Reaction) {
		was, is := both[0].Figures[a], both[1].Figures[a]
		difference := "-"
		if was.OK && is.OK {
			f := a.FineUnit(u)
			difference = f.Signed(is.Value-was.Value) + " " + f.Name
		}
		fmt.Fprintf(tab, "%s\t%s\t%s\t%s\n", a.Words(), cell(a, was, u), cell(a, is, u), difference)
	}
	tab.Flush() // errors stay with w
	for i, title := range []string{"As it is", "Changed"} {
		fmt.Fprintf(w, "\n%s: %s %s\n", title, both[i].Range.Words(u), windowWords(&both[i], u))
	}
	fmt.Fprint(w, "\nAll that follows is of the craft as changed.\n\n")
	return changed, nil
}

func cell(a design.Answer, f design.Figure, u units.System) string {
	if !f.OK {
		return "-"
	}
	return a.Unit(u).Words(f.Value, a.Rounding())
}

// windowWords says the speed window, or why it is not known.
func windowWords(a *design.Answers, u units.System) string {
	switch {
	case a.WindowErr != nil:
		return fmt.Sprintf("The speed window is not known: %v.", a.WindowErr)
	case a.Range.Tow.Craft().Require(gecp.BlockPilot, gecp.BlockFloats) != nil:
		return "Without pilot and floats there is no speed window."
	}
	return "Speed window: " + a.Window.Words(u) + "."
}

func report(w io.Writer, s *design.Sensitivities, advice design.Advice, u units.System) {
	reaction := s.Options.Question.Reaction
	fmt.Fprintf(w, "%s at %s: what a step of each dimension does\n\n", s.Craft.Name, u.FineSpeed().Words(s.Options.Question.Speed, units.Nearest))
	if words, ok := s.Craft.CorrectionWords(); ok {
		fmt.Fprintf(w, "The wings' loads are %s.\n\n", words)
	}
	fmt.Fprintf(w, "As it is: %s %s\n\n", s.Base.Range.Words(u), windowWords(&s.Base, u))
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(tab, "dimension\tstep")
	for _, a := range answers(reaction) {
		fmt.Fprintf(tab, "\t%s, %s", a, a.FineUnit(u).Name)
	}
	fmt.Fprint(tab, "\nas it is\t")
	for _, a := range answers(reaction) {
		fmt.Fprintf(tab, "\t%s", cell(a, s.Base.Figures[a], u))
	}
	fmt.Fprintln(tab)
	ranked := s.By(s.Options.Rank)
	for _, d := range ranked {
		fmt.Fprintf(tab, "%s\t%s", d.Path, d.Amount(d.Step, u))
		for _, a := range answers(reaction) {
			fmt.Fprintf(tab, "\t%s", effect(a, d.Effects[a], u))
		}
		fmt.Fprintln(tab)
	}
	tab.Flush() // errors stay with w
	fmt.Fprint(w, "\n* one way only: the other way there is none   ~ the two ways differ, this is their mean   - the craft has none\n")
	fmt.Fprintf(w, "Ranked by %s. The first of them in words:\n\n", s.Options.Rank.Words())
	for _, d := range ranked {
		if d.Far {
			fmt.Fprintf(w, "%s\n", d.Words(s, u))
		}
	}
	if advice.Needed {
		fmt.Fprintf(w, "\n%s\n", advice.Words(s, u))
	}
	fmt.Fprint(w, `
The table is from the craft with each dimension a step larger and a step smaller: the wings' loads by the derivatives of
the lattice with their shape, all else anew. The wakes' way is held: where they follow, the height to let go may change
by half as much, or twice. By equilibrium`)
	if !reaction {
		fmt.Fprint(w, `: whether anyone can react in time
is not asked here (see leap and balance, or give -reaction)`)
	}
	fmt.Fprintf(w, ".\n\n%s\n", gecp.Cautions)
}

// effect is the cell of one effect.
func effect(a design.Answer, e design.Effect, u units.System) string {
	if !e.OK {
		return "-"
	}
	text := a.FineUnit(u).Signed(e.PerStep)
	switch {
	case e.OneSided:
		text += " *"
	case e.Bends:
		text += " ~"
	}
	return text
}

// columns are those of the CSV file. Others read this table, so they stay these.
var columns = []design.Answer{
	design.AnswerTravel, design.AnswerLetGo, design.AnswerSelfHolding, design.AnswerReach, design.AnswerLiftOff, design.AnswerWindow, design.AnswerPull,
}

// writeCSV writes SI values: first the craft as it is, then the change a step of each dimension. What there
// is not is an empty field.
func writeCSV(out io.Writer, s *design.Sensitivities) error {
	w := csv.NewWriter(out)
	w.Write([]string{"dimension", "step", "unit", "travel_m", "let_go_m", "self_holding_m", "reach_m", "lift_off_mps", "window_mps", "pull_N"})
	num := func(v float64, ok bool) string {
		if !ok {
			return ""
		}
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	row := []string{"base", "0", ""}
	for _, a := range columns {
		row = append(row, num(s.Base.Figures[a].Value, s.Base.Figures[a].OK))
	}
	w.Write(row)
	for i := range s.Dimensions {
		d := &s.Dimensions[i]
		row := []string{d.Path, num(d.Step, true), d.Unit}
		for _, a := range columns {
			row = append(row, num(d.Effects[a].PerStep, d.Effects[a].OK))
		}
		w.Write(row)
	}
	w.Flush()
	return w.Error()
}
