package main

import (
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/groundeffect/examples/internal/chart"
	"example.org/groundeffect/gecp"
)

// bars are points with the two standard deviations to either side.
type bars struct {
	plotter.XYs
	half []float64
}

func (b *bars) add(x, y, half float64) {
	b.XYs, b.half = append(b.XYs, plotter.XY{X: x, Y: y}), append(b.half, half)
}

func (b bars) YError(i int) (low, high float64) { return b.half[i], b.half[i] }

// put adds points with their bars to a chart, under a name.
func (b bars) put(p *plot.Plot, name string, c color.Color, shape draw.GlyphDrawer) error {
	if len(b.XYs) == 0 {
		return nil
	}
	points, err := plotter.NewScatter(b.XYs)
	if err != nil {
		return err
	}
	points.GlyphStyle = draw.GlyphStyle{Color: c, Radius: 3, Shape: shape}
	if slices.Max(b.half) > 0 {
		errs, err := plotter.NewYErrorBars(b)
		if err != nil {
			return err
		}
		errs.LineStyle.Color, errs.CapWidth = c, 4
		p.Add(errs)
	}
	p.Add(points)
	p.Legend.Add(name, points)
	return nil
}

// newChart returns an empty chart with a title and room for a legend.
func newChart(title, x, y string) *plot.Plot {
	p := chart.New(x, y)
	p.Title.Text, p.Legend.Top, p.Legend.Left = title, true, true // on the left wide letters cover nothing
	chart.Letters(&p.Title.TextStyle, 12)
	chart.Letters(&p.Legend.TextStyle, 11)
	return p
}

// draw draws what the fit leaves of the pilot's position against clearance, beside what
// the calculation left, and the log against the corrected prediction.
func (s *study) draw(out io.Writer) error {
	if s.fit == nil {
		return s.few
	}
	h, p := s.u.Clearance(), s.u.Position()
	var before, after, wild, good, wide bars
	lo, hi := math.Inf(1), math.Inf(-1)
	predicted := map[int]float64{}
	for _, c := range s.fit.Runs {
		if c.Err == nil {
			predicted[c.Line] = c.PilotDifference
		}
	}
	for _, r := range s.fit.Residuals {
		x, at := r.Clearance/h.Size, (r.Pilot-r.PilotLeft)/p.Size
		half := 2 * r.PilotError / p.Size
		if d, ok := predicted[r.Line]; ok {
			before.add(x, d/p.Size, 0)
		}
		if r.Outlier {
			wild.add(x, r.PilotLeft/p.Size, half)
			wide.add(at, r.Pilot/p.Size, half)
		} else {
			after.add(x, r.PilotLeft/p.Size, half)
			good.add(at, r.Pilot/p.Size, half)
		}
		lo, hi = math.Min(lo, math.Min(at, r.Pilot/p.Size)), math.Max(hi, math.Max(at, r.Pilot/p.Size))
	}
	left := newChart("Pilot's position, log less prediction", "clearance, "+h.Name, p.Name+" aft")
	right := newChart("Pilot's position, log against corrected prediction", "predicted, "+p.Name+" aft of the datum", "in the log, "+p.Name)
	one, err := plotter.NewLine(plotter.XYs{{X: lo, Y: lo}, {X: hi, Y: hi}})
	if err != nil {
		return err
	}
	one.LineStyle = draw.LineStyle{Color: chart.Ink, Width: 1, Dashes: []vg.Length{4, 3}}
	right.Add(one)
	for _, b := range []struct {
		bars
		to    *plot.Plot
		name  string
		c     color.Color
		shape draw.GlyphDrawer
	}{
		{before, left, "without the correction", chart.Vermilion, draw.RingGlyph{}},
		{after, left, fmt.Sprintf("corrected by %d runs", s.fit.Used), chart.Green, draw.CircleGlyph{}},
		{wild, left, "not used", chart.Ink, draw.CrossGlyph{}},
		{good, right, "used", chart.Green, draw.CircleGlyph{}},
		{wide, right, "not used", chart.Ink, draw.CrossGlyph{}},
	} {
		if err := b.put(b.to, b.name, b.c, b.shape); err != nil {
			return err
		}
	}
	for _, p := range []*plot.Plot{left, right} { // room for the legend
		p.Y.Max += .25 * (p.Y.Max - p.Y.Min)
	}
	const width, height, foot = 900, 470, 76
	sheet := chart.NewSheet(width, height)
	notes := append([]string{"Bars: two standard errors by the stated accuracies, those of speed and clearance included."}, chart.Wrap(gecp.Cautions, 165)...)
	sheet.Lines(9.5, 12, vg.Point{X: 14, Y: foot - 10}, notes)
	tiles := draw.Tiles{Rows: 1, Cols: 2, PadX: 24}
	for i, c := range plot.Align([][]*plot.Plot{{left, right}}, tiles, draw.Crop(sheet.Canvas, 10, -18, foot, -10))[0] {
		[]*plot.Plot{left, right}[i].Draw(c)
	}
	return sheet.WriteSVG(out)
}
