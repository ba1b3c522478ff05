package main

import (
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"example.org/groundeffect/gecp"
)

// The colours of the charts: those of Okabe and Ito that the other pictures have.
var (
	paper     = color.RGBA{0xfb, 0xfa, 0xf6, 0xff}
	ink       = color.RGBA{0x2b, 0x34, 0x40, 0xff}
	hairline  = color.RGBA{0xd9, 0xd8, 0xd2, 0xff}
	vermilion = color.RGBA{0xd5, 0x5e, 0x00, 0xff}
	green     = color.RGBA{0x00, 0x9e, 0x73, 0xff}
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
	p.Legend.Add(name+"  ", points)
	return nil
}

// letters sets a style of letters to a size.
func letters(s *text.Style, size vg.Length) {
	s.Color, s.Font = ink, font.From(font.Font{Typeface: "Liberation", Variant: "Sans"}, size)
}

func chart(title, x, y string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = paper
	p.Title.Text, p.X.Label.Text, p.Y.Label.Text = title, x, y
	letters(&p.Title.TextStyle, 12)
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		letters(&a.Label.TextStyle, 11)
		letters(&a.Tick.Label, 11)
		a.LineStyle.Color, a.Tick.LineStyle.Color = ink, hairline
	}
	p.Legend.Top = true
	letters(&p.Legend.TextStyle, 11)
	grid := plotter.NewGrid()
	grid.Vertical.Color, grid.Horizontal.Color = hairline, hairline
	p.Add(grid)
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
	left := chart("Pilot's position, log less prediction", "clearance, "+h.Name, p.Name+" aft")
	right := chart("Pilot's position, log against corrected prediction", "predicted, "+p.Name+" aft of the datum", "in the log, "+p.Name)
	one, err := plotter.NewLine(plotter.XYs{{X: lo, Y: lo}, {X: hi, Y: hi}})
	if err != nil {
		return err
	}
	one.LineStyle = draw.LineStyle{Color: ink, Width: 1, Dashes: []vg.Length{4, 3}}
	right.Add(one)
	for _, b := range []struct {
		bars
		to    *plot.Plot
		name  string
		c     color.Color
		shape draw.GlyphDrawer
	}{
		{before, left, "without the correction", vermilion, draw.RingGlyph{}},
		{after, left, fmt.Sprintf("corrected by %d runs", s.fit.Used), green, draw.CircleGlyph{}},
		{wild, left, "not used", ink, draw.CrossGlyph{}},
		{good, right, "used", green, draw.CircleGlyph{}},
		{wide, right, "not used", ink, draw.CrossGlyph{}},
	} {
		if err := b.put(b.to, b.name, b.c, b.shape); err != nil {
			return err
		}
	}
	for _, p := range []*plot.Plot{left, right} { // room for the legend
		p.Y.Max += .25 * (p.Y.Max - p.Y.Min)
	}
	const width, height, foot = 900, 470, 76
	svg := vgsvg.New(width, height)
	all := draw.New(svg)
	all.FillPolygon(paper, []vg.Point{{}, {X: width}, {X: width, Y: height}, {Y: height}})
	style := left.X.Tick.Label
	style.XAlign, style.YAlign = draw.XLeft, draw.YBottom
	notes := append([]string{"Bars: two standard errors by the stated accuracies, those of speed and clearance included."}, wrap(gecp.Cautions, 165)...)
	for i, line := range notes {
		letters(&style, 9.5)
		all.FillText(style, vg.Point{X: 14, Y: foot - 18 - 12*vg.Length(i)}, line)
	}
	tiles := draw.Tiles{Rows: 1, Cols: 2, PadX: 24}
	for i, c := range plot.Align([][]*plot.Plot{{left, right}}, tiles, draw.Crop(all, 10, -18, foot, -10))[0] {
		[]*plot.Plot{left, right}[i].Draw(c)
	}
	var b strings.Builder
	if _, err := svg.WriteTo(&b); err != nil {
		return err
	}
	// The letters are measured in a face that has the widths of Arial.
	_, err = io.WriteString(out, strings.ReplaceAll(b.String(), "font-family:Liberation Sans", "font-family:'Liberation Sans',Arial,'Helvetica Neue',sans-serif"))
	return err
}

// wrap breaks a text into lines of at most so many letters.
func wrap(s string, most int) []string {
	lines := []string{""}
	for _, word := range strings.Fields(s) {
		last := &lines[len(lines)-1]
		switch {
		case *last == "":
			*last = word
		case len(*last)+1+len(word) > most:
			lines = append(lines, word)
		default:
			*last += " " + word
		}
	}
	return lines
}
