// Command improve looks for the craft that does something best, as the widest speed
// window, among all that differ from a craft file in a few dimensions, and tells what a
// builder would change.
package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("improve", "The best craft among those that differ from a craft file in a few dimensions.", "the search")
	craftFile := p.Craft()
	var vary []design.Variation
	p.Flags.Func("vary", "`dimensions` and their bounds, as 'wings[1].x_m=3..4.5,pilot.x_m=-0.3..0.3'; pilot.x_m moves both ends of the pilot's travel (default the rear wing's x and incidence, for a craft of two wings)", func(s string) (err error) {
		vary, err = design.ParseVariations(s)
		return err
	})
	var goal design.Goal
	p.Flags.Func("goal", "what to improve it for: `window`, the widest speed window; travel, the least travel of the pilot; let_go, the highest let-go height (default window)", func(s string) (err error) {
		goal, err = design.ParseGoal(s)
		return err
	})
	liftOff := p.Number("liftoff", "it must lift off at this speed or below, `m/s`", 15, 1, tow.MaxLiftOff)
	holding := p.Number("holding", "it must hold itself up to this clearance, `m`", .3, .02, 2)
	seed := p.Number("seed", "the same `number` gives the same craft", 1, 0, 1<<53)
	effort := p.Number("effort", "how many `craft` to look at, about; 400 a dimension if 0", 0, 0, 100_000)
	density := p.Density()
	mesh := p.Mesh()
	system := p.Units()
	file := p.Flags.String("o", "", "write the craft in whole steps into this craft `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		craft, err := craftFile()
		if err != nil {
			return err
		}
		if vary == nil {
			if vary, err = standard(craft); err != nil {
				return err
			}
		}
		im, err := design.Improve(ctx, craft, design.ImproveOptions{
			Vary: vary, Goal: goal, Requirements: design.Requirements{LiftOff: *liftOff, SelfHolding: *holding},
			Density: *density, Mesh: *mesh, Seed: uint64(*seed), Effort: int(*effort), Progress: p.Stage("searching"),
		})
		if err != nil {
			return err
		}
		if err := report(out, craft, &im, system()); err != nil {
			return err
		}
		if *file == "" {
			return nil
		}
		if im.Rounded.Craft == nil {
			return errors.New("no craft file is written, for there is no craft to write")
		}
		return files.Write(*file, im.Rounded.Craft.Write)
	}
}

// standard returns what is varied of a tandem if nothing is said.
func standard(c *gecp.Craft) ([]design.Variation, error) {
	if len(c.Wings) < 2 {
		return nil, fmt.Errorf("%q has one wing; say with -vary what to change, as -vary 'wings[0].incidence_deg=0..8'", c.Name)
	}
	w := &c.Wings[1]
	return []design.Variation{
		{Path: "wings[1].x_m", From: w.X - .5, To: w.X + .5},
		{Path: "wings[1].incidence_deg", From: w.IncidenceDeg - 3, To: w.IncidenceDeg + 3},
	}, nil
}

func report(out io.Writer, craft *gecp.Craft, im *design.Improvement, u units.System) error {
	w := bufio.NewWriter(out)
	fmt.Fprintf(w, "%s improved: %s\n\n", craft.Name, im.Options.Goal.Words())
	if words, ok := craft.CorrectionWords(); ok {
		fmt.Fprintf(w, "The wings' loads are %s. The correction belongs to the wings that it was fitted to: changed wings should be without it.\n\n", words)
	}
	fmt.Fprintf(w, "%s\n\n", im.Words(u))
	table(w, im.Table(u))
	fmt.Fprintln(w)
	table(w, im.RequirementTable(u))
	fmt.Fprintf(w, `
* missed. Steps are those of the column "to build": 10 mm, half a degree. "Nine tenths kept": how far the dimension may be
changed alone from the best, to what the search sees. Windows end at %s, where nothing is looked for any more. Weights and floats
stay where the craft file has them: weigh the craft that is built. All figures by equilibrium: whether anyone can react
in time is not asked here (see leap and balance), and what an inexact build does to it is told by tolerance.

%s
`, u.StayBelow(tow.MaxLiftOff), gecp.Cautions)
	return w.Flush()
}

func table(w io.Writer, rows [][]string) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintln(t, strings.Join(r, "\t"))
	}
	t.Flush() // errors stay with w
}
