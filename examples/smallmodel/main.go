// Command smallmodel prints what to build to prove a craft as a small model first: its
// sizes and weights, how its figures stand for the craft's, and its own tow card.
package main

import (
	"context"
	"fmt"
	"io"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp/lake"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("smallmodel", "What to build to prove a craft as a small model first, and what a run with it says.", "the small model")
	craftFile := p.Craft()
	scale := p.Number("scale", "the model's `length` over the craft's", .25, .05, 1)
	density := p.Density()
	mesh := p.Mesh()
	system := p.Units()
	name := p.Flags.String("o", "", "write the model as a craft `file`, for the other programs")
	sheet := p.Flags.String("sheet", "", "write the build sheet as a page for printing into this `file`")
	card := p.Flags.String("card", "", "write the model's tow card as a page for printing into this `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		craft, err := craftFile()
		if err != nil {
			return err
		}
		for _, n := range []string{*name, *sheet, *card} {
			if n != "" {
				if err := files.Check(n); err != nil {
					return err
				}
			}
		}
		m, err := p.BuildMap(ctx, craft, *mesh, "fitting the craft's map")
		if err != nil {
			return err
		}
		model, err := lake.NewSmallModel(ctx, m, lake.Similarity(*scale), lake.TowCardOptions{Units: system(), Density: *density}, p.Stage("fitting the model's map"))
		if err != nil {
			return err
		}
		build := model.Sheet()
		if err := build.WriteText(out); err != nil {
			return err
		}
		fmt.Fprintln(out)
		if err := model.Card.WriteText(out); err != nil {
			return err
		}
		for _, f := range []struct {
			name  string
			write func(w io.Writer) error
		}{
			{*name, model.Model.Write}, {*sheet, build.WriteHTML},
			{*card, func(w io.Writer) error { return model.Card.WriteHTML(w, "") }},
		} {
			if f.name != "" {
				if err := files.Write(f.name, f.write); err != nil {
					return err
				}
			}
		}
		return nil
	}
}
