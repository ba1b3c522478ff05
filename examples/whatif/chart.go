package main

import (
	"fmt"
	"image/color"
	"io"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	vgdraw "gonum.org/v1/plot/vg/draw"

	"example.org/groundeffect/examples/internal/chart"
	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/units"
)

// bars is how many dimensions the chart shows, the first by rank.
const bars = 16

// draw draws what a step of the first dimensions does to the answer that they are ranked by.
func draw(out io.Writer, s *design.Sensitivities, u units.System) error {
	a := s.Options.Rank
	unit := a.FineUnit(u)
	p := chart.New(fmt.Sprintf("change of %s with a step, %s", a.Words(), unit.Name), "")
	ranked := s.By(a)
	ranked = ranked[:min(bars, len(ranked))]
	names := make([]string, len(ranked))
	var more, less plotter.Values
	for i, d := range ranked {
		at := len(ranked) - 1 - i // the first on top
		names[at] = d.Path + "  +" + d.Amount(d.Step, u)
		if e := d.Effects[a]; e.OneSided {
			names[at] += " *"
		} else if e.Bends {
			names[at] += " ~"
		}
	}
	for i := range ranked {
		v := ranked[len(ranked)-1-i].Effects[a].PerStep / unit.Size // 0 where there is none
		more, less = append(more, max(v, 0)), append(less, min(v, 0))
	}
	for _, b := range []struct {
		values plotter.Values
		colour color.Color
	}{{more, chart.Blue}, {less, chart.Vermilion}} {
		bar, err := plotter.NewBarChart(b.values, 11)
		if err != nil {
			return err
		}
		bar.Horizontal, bar.Color, bar.LineStyle.Width = true, b.colour, 0
		p.Add(bar)
	}
	p.NominalY(names...)
	p.Y.Padding = 24 // for letters that are wider than those measured
	const width, height, head, foot = 640 * vg.Length(1), 470 * vg.Length(1), 46, 58
	sheet := chart.NewSheet(width, height)
	p.Draw(middle(sheet, head, foot))
	title := fmt.Sprintf("%s at %s", s.Craft.Name, u.FineSpeed().Words(s.Options.Question.Speed, units.Nearest))
	sheet.Lines(15, 18, vg.Point{X: 16, Y: height - 14}, []string{title})
	note := "Blue raises it, orange lowers it. * one way only: the other way there is none. ~ the two ways differ; their mean. A calculation; prove it in small steps."
	if words, ok := s.Craft.CorrectionWords(); ok {
		note += " The wings' loads are " + words + "."
	}
	sheet.Lines(10, 13, vg.Point{X: 16, Y: foot - 6}, chart.Wrap(note, 110))
	return sheet.WriteSVG(out)
}

// middle leaves room at the head and at the foot of a sheet.
func middle(s chart.Sheet, head, foot vg.Length) vgdraw.Canvas {
	return vgdraw.Crop(s.Canvas, 10, -16, foot, -head)
}
