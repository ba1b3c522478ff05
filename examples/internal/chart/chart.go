// Package chart holds the look of the examples' ordinary charts: colours, letters, axes,
// and the sheet that they are put on.
package chart

import (
	"image/color"
	"io"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// The colours: those of Okabe and Ito that the height picture has.
var (
	Paper     = color.RGBA{0xfb, 0xfa, 0xf6, 0xff}
	Ink       = color.RGBA{0x2b, 0x34, 0x40, 0xff}
	Hairline  = color.RGBA{0xd9, 0xd8, 0xd2, 0xff}
	Vermilion = color.RGBA{0xd5, 0x5e, 0x00, 0xff}
	Green     = color.RGBA{0x00, 0x9e, 0x73, 0xff}
	Blue      = color.RGBA{0x00, 0x72, 0xb2, 0xff}
	Purple    = color.RGBA{0xcc, 0x79, 0xa7, 0xff}
)

// Font returns the letters of all charts in a size.
func Font(size vg.Length) font.Font {
	return font.From(font.Font{Typeface: "Liberation", Variant: "Sans"}, size)
}

// Letters sets a style of letters to a size.
func Letters(s *text.Style, size vg.Length) { s.Color, s.Font = Ink, Font(size) }

// Style returns letters of a size, aligned at x, below the point they are put to.
func Style(size vg.Length, x text.XAlignment) text.Style {
	return text.Style{Color: Ink, Font: Font(size), XAlign: x, YAlign: draw.YTop, Handler: plot.DefaultTextHandler}
}

// New returns an empty chart with a grid, its axes named.
func New(x, y string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = Paper
	p.X.Label.Text, p.Y.Label.Text = x, y
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		Letters(&a.Label.TextStyle, 11)
		Letters(&a.Tick.Label, 11)
		a.LineStyle.Color, a.Tick.LineStyle.Color = Ink, Hairline
	}
	grid := plotter.NewGrid()
	grid.Vertical.Color, grid.Horizontal.Color = Hairline, Hairline
	p.Add(grid)
	return p
}

// Sheet is what charts and words are drawn on.
type Sheet struct {
	draw.Canvas
	svg *vgsvg.Canvas
}

// NewSheet returns an empty sheet of a size.
func NewSheet(width, height vg.Length) Sheet {
	svg := vgsvg.New(width, height)
	s := Sheet{draw.New(svg), svg}
	s.FillPolygon(Paper, []vg.Point{{}, {X: width}, {X: width, Y: height}, {Y: height}})
	return s
}

// Lines puts lines of letters below each other, the first one's top at a point.
func (s Sheet) Lines(size, step vg.Length, at vg.Point, lines []string) {
	for i, line := range lines {
		s.FillText(Style(size, draw.XLeft), vg.Point{X: at.X, Y: at.Y - step*vg.Length(i)}, line)
	}
}

// WriteSVG writes the sheet.
func (s Sheet) WriteSVG(out io.Writer) error {
	var b strings.Builder
	if _, err := s.svg.WriteTo(&b); err != nil {
		return err
	}
	// The letters are measured in a face that has the widths of Arial.
	_, err := io.WriteString(out, strings.ReplaceAll(b.String(), "font-family:Liberation Sans", "font-family:'Liberation Sans',Arial,'Helvetica Neue',sans-serif"))
	return err
}

// Wrap cuts a text into lines of at most so many letters, at spaces.
func Wrap(s string, letters int) []string {
	var lines []string
	var line string
	for _, w := range strings.Fields(s) {
		if line != "" && len(line)+1+len(w) > letters {
			lines = append(lines, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += w
	}
	return append(lines, line)
}
