package main

import (
	"fmt"
	"image/color"
	"io"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/groundeffect/examples/internal/chart"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/units"
)

// newChart returns an empty chart whose scales begin at its corner.
func newChart(x, y string) *plot.Plot {
	p := chart.New(x, y)
	p.X.Padding, p.Y.Padding = 0, 0
	p.X.Tick.Marker, p.Y.Tick.Marker = plot.TickerFunc(ticks), plot.TickerFunc(ticks)
	return p
}

// ticks marks a scale at round distances, four to nine of them.
func ticks(lo, hi float64) []plot.Tick {
	step := math.Pow10(int(math.Floor(math.Log10((hi - lo) / 4))))
	for _, times := range []float64{5, 2} {
		if (hi-lo)/(step*times) >= 4 {
			step *= times
			break
		}
	}
	var t []plot.Tick
	for i := math.Ceil(lo/step - 1e-9); i*step <= hi+1e-9*step; i++ {
		t = append(t, plot.Tick{Value: i * step, Label: strconv.FormatFloat(i*step+0, 'f', max(0, int(math.Ceil(-math.Log10(step)-1e-9))), 64)})
	}
	return t
}

// write puts charts of one width under a title, and the cautions under them.
func write(out io.Writer, title, note string, charts ...*plot.Plot) error {
	const width, head, foot = 680, 66, 74
	height := vg.Length(head + foot + 380)
	if len(charts) > 1 {
		height = vg.Length(head + foot + 200*len(charts))
	}
	sheet := chart.NewSheet(width, height)
	sheet.Lines(14, 0, vg.Point{X: 18, Y: height - 12}, []string{title})
	sheet.Lines(10.5, 13, vg.Point{X: 18, Y: height - 32}, strings.Split(note, "\n"))
	sheet.Lines(9, 12, vg.Point{X: 18, Y: foot - 16}, chart.Wrap("A simulation teaches, it does not train. "+gecp.Cautions, 138))
	rows := make([][]*plot.Plot, len(charts))
	for i, c := range charts {
		rows[i] = []*plot.Plot{c}
	}
	tiles := draw.Tiles{Rows: len(charts), Cols: 1, PadX: 8, PadY: 10}
	for i, c := range plot.Align(rows, tiles, draw.Crop(sheet.Canvas, 14, -18, foot, -head)) {
		charts[i].Draw(c[0])
	}
	return sheet.WriteSVG(out)
}

// courses draws clearance, pitch and the pilot's position of the flights over time.
func (s *study) courses(out io.Writer) error {
	title, rows, err := s.rows()
	if err != nil {
		return err
	}
	const most = 10. // s; what comes later is rest or long lost
	h, p := s.u.Clearance(), s.u.Position()
	var charts []*plot.Plot
	for i, c := range []struct {
		name  string
		value func(motion.FlightState) float64
	}{
		{"clearance, " + h.Name, func(f motion.FlightState) float64 { return f.Clearance / h.Size }},
		{"nose up, degrees", func(f motion.FlightState) float64 { return gecp.Degrees(f.Pitch) }},
		{"pilot, " + p.Name + " aft", func(f motion.FlightState) float64 { return f.Pilot / p.Size }},
	} {
		pl := newChart("", c.name)
		if i == 2 {
			pl.X.Label.Text = "time since the boat began to gain speed, s"
		}
		for j, r := range rows {
			var at plotter.XYs
			for _, f := range r.states {
				if f.Time <= most {
					at = append(at, plotter.XY{X: f.Time, Y: c.value(f)})
				}
			}
			line, err := plotter.NewLine(at)
			if err != nil {
				return err
			}
			line.LineStyle = courseStyle(j, r.lost)
			pl.Add(line)
			if r.lost { // a cross where it is lost
				cross, err := plotter.NewScatter(at[len(at)-1:])
				if err != nil {
					return err
				}
				cross.GlyphStyle = draw.GlyphStyle{Color: line.Color, Radius: 4, Shape: draw.CrossGlyph{}}
				pl.Add(cross)
			}
			if i == 0 {
				pl.Legend.Add(r.title+": "+r.end, line)
			}
		}
		pl.X.Min, pl.X.Max = 0, most
		if i == 0 {
			limit, err := plotter.NewLine(plotter.XYs{{X: 0, Y: s.limit / h.Size}, {X: most, Y: s.limit / h.Size}})
			if err != nil {
				return err
			}
			limit.LineStyle = draw.LineStyle{Color: chart.Ink, Width: .7}
			pl.Add(limit)
			pl.Legend.Add("limit, "+s.u.LetGo(s.limit), limit)
		}
		charts = append(charts, pl)
	}
	l := &charts[0].Legend
	chart.Letters(&l.TextStyle, 9)
	l.Top, l.Left, l.ThumbnailWidth, l.Padding = true, true, 34, 2 // on the left wide letters cover nothing
	// Room over the courses for the legend.
	y := &charts[0].Y
	y.Min, y.Max = 0, math.Max(y.Max, s.limit/h.Size)*1.75
	return write(out, title, "A cross marks where a flight is lost; the courses end where it is decided.", charts...)
}

// courseStyle returns the line of a flight: no two of the four alike, in colour or dash.
func courseStyle(i int, lost bool) draw.LineStyle {
	if !lost {
		return draw.LineStyle{Color: chart.Green, Width: 1.8}
	}
	return draw.LineStyle{
		Color:  []color.Color{chart.Vermilion, chart.Vermilion, chart.Purple, chart.Ink}[i],
		Width:  1.6,
		Dashes: [][]vg.Length{{9, 4}, {6, 3}, {8, 3, 2, 3}, {2, 3}}[i],
	}
}

// edge is the fastest motion that the picture of the modes shows, 1/s; faster ones stand
// at it.
const edge = 3.5

// roots draws how the modes wander as the craft rises at the middle speed: how fast a
// motion grows or dies to the right and left, how fast it swings upwards. A craft left
// alone comes back only where all of them are left of the middle.
func (s *study) roots(out io.Writer) error {
	t, err := s.still.At(s.speeds[len(s.speeds)/2])
	if err != nil {
		return err
	}
	// From where the slopes are good, about, up to m.
	const steps, top = 60, 1.2
	low := math.Max(s.bounds.ClearanceMin, gecp.CloseGap*t.Map().Model().LowestPoints().At(0).Chord)
	var ladder []float64
	for i := range steps {
		k := float64(i) / (steps - 1)
		ladder = append(ladder, low+(top-low)*k*k)
	}
	h, speed := s.u.Clearance(), s.u.FineSpeed().Words(t.Freestream().Speed, units.Nearest)
	all := motion.RootsAlong(t, ladder)
	if len(all) == 0 {
		return fmt.Errorf("at %s there is no steady state whose motions could be drawn; choose other -speeds", speed)
	}
	pl := newChart("growth, 1/s (0.7 doubles in a second)", "swing, rad/s (3.1 has a period of 2 s)")
	pl.X.Min, pl.X.Max, pl.Y.Min, pl.Y.Max = -edge, edge, 0, edge
	middle, err := plotter.NewLine(plotter.XYs{{X: 0, Y: 0}, {X: 0, Y: edge}})
	if err != nil {
		return err
	}
	middle.LineStyle = draw.LineStyle{Color: chart.Ink, Width: 1.2}
	pl.Add(middle)
	at := func(m motion.Mode) plotter.XY {
		return plotter.XY{X: math.Max(-edge, math.Min(edge, real(m.Root))), Y: math.Min(edge, imag(m.Root))}
	}
	for _, grows := range []bool{false, true} {
		var dots plotter.Scatter
		var size []vg.Length
		for _, r := range all {
			for _, m := range r.Modes {
				if (real(m.Root) > 0) == grows {
					dots.XYs = append(dots.XYs, at(m))
					size = append(size, vg.Length(1.3+3.2*r.Clearance))
				}
			}
		}
		dots.GlyphStyleFunc = func(i int) draw.GlyphStyle {
			if grows {
				return draw.GlyphStyle{Color: chart.Vermilion, Radius: size[i], Shape: draw.PyramidGlyph{}}
			}
			return draw.GlyphStyle{Color: chart.Blue, Radius: size[i], Shape: draw.CircleGlyph{}}
		}
		pl.Add(&dots)
	}
	first, last := all[0], all[len(all)-1]
	var ends plotter.XYLabels
	for _, r := range []motion.RootsAt{first, last} {
		x := at(r.Modes[0])
		ends.XYs, ends.Labels = append(ends.XYs, plotter.XY{X: x.X, Y: x.Y + .12}), append(ends.Labels, h.Words(r.Clearance, units.Nearest))
	}
	labels, err := plotter.NewLabels(ends)
	if err != nil {
		return err
	}
	for i := range labels.TextStyle {
		labels.TextStyle[i] = chart.Style(10.5, draw.XCenter)
		labels.TextStyle[i].YAlign = draw.YBottom
	}
	pl.Add(labels)
	words := func(r motion.RootsAt) string { return h.Words(r.Clearance, units.Nearest) + ": " + r.Modes[0].String() }
	note := fmt.Sprintf("A mark is a motion at one clearance, larger higher up; a triangle grows: the pilot must act. Faster ones stand at the edge.\nThe fastest at %s; at %s.", words(first), words(last))
	return write(out, fmt.Sprintf("How %s moves when left alone, %s", s.craft.Name, speed), note, pl)
}
