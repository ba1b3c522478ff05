// Command heightsweep shows where the lift of a craft acts, height by height: lift,
// drag, pitching moment, centre of pressure and both neutral points over a ladder
// of clearances at one pitch.
package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/picture"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("heightsweep", "Where the lift of a craft acts, height by height, at one pitch.", "the sweep")
	craftFile := p.Craft()
	pitch := p.Number("pitch", "pitch, `degrees` nose-up about the datum", 3, -20, 20)
	speed := p.Number("speed", "speed through the air, `m/s`", 14, .1, gecp.MaxSpeed)
	density := p.Density()
	clearances := p.Numbers("clearances", "clearances of the lowest wing point, `metres`, as 0.1,0.2,0.5")
	mesh := p.Mesh()
	wake := p.Wake()
	system := p.Units()
	asCSV := p.Flags.Bool("csv", false, "print comma-separated values in SI units, full precision")
	svg := p.Flags.String("svg", "", "also draw the height picture into this `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		craft, err := craftFile()
		if err != nil {
			return err
		}
		m, err := gecp.NewModel(craft, *mesh)
		if err != nil {
			return err
		}
		m = m.WithWake(*wake)
		p.Stage("solving for each clearance")
		q := gecp.SweepQuestion{Speed: *speed, Pitch: gecp.Radians(*pitch), Density: *density, Clearances: *clearances}
		rows, err := m.Sweep(ctx, q)
		if err != nil {
			return err
		}
		var x gecp.Crossing
		if !*asCSV || *svg != "" {
			if x, err = m.Crossing(ctx, q.Pitch); err != nil {
				return err
			}
		}
		if *asCSV {
			err = writeCSV(out, rows)
		} else {
			err = report(out, m, q, rows, x, system())
		}
		if err != nil {
			return err
		}
		return files.Draw(*svg, func(w io.Writer) error { return draw(ctx, w, m, q, rows, x, system()) })
	}
}

// writeCSV prints SI values; a position that does not exist is an empty field. Others read
// this table, so its columns stay these.
func writeCSV(out io.Writer, rows []gecp.SweepRow) error {
	w := csv.NewWriter(out)
	w.Write([]string{"clearance_m", "height_m", "pitch_deg", "lift_N", "induced_drag_N", "moment_Nm", "cp_m", "pitch_neutral_m", "height_neutral_m"})
	num := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	at := func(p gecp.Position) string {
		if !p.OK {
			return ""
		}
		return num(p.X)
	}
	for _, r := range rows {
		w.Write([]string{num(r.Clearance), num(r.Height), num(gecp.Degrees(r.Pitch)), num(r.Lift), num(r.InducedDrag), num(r.Moment), at(r.CP), at(r.PitchNeutral), at(r.HeightNeutral)})
	}
	w.Flush()
	return w.Error()
}

func report(out io.Writer, m *gecp.Model, q gecp.SweepQuestion, rows []gecp.SweepRow, x gecp.Crossing, u units.System) error {
	w := bufio.NewWriter(out)
	c := m.Craft()
	shape := c.Shape()
	length, force, position := u.Length(), u.Force(), u.Position()
	fmt.Fprintf(w, "Where the lift of %s acts, height by height, at %v m/s (%s), %s about the datum, air of %.3f kg/m3\n",
		c.Name, q.Speed, u.FineSpeed().Words(q.Speed, units.Nearest), tow.Tilt(q.Pitch, 1), q.Density)
	area := units.Unit{Name: length.Name + "2", Size: length.Size * length.Size, Decimals: 1}
	fmt.Fprintf(w, "reference area %s, span %s, mean chord %s; positions: %s aft of the datum\n\n",
		area.Words(shape.Area, units.Nearest), length.Words(shape.Span, units.Nearest), length.Words(shape.MAC, units.Nearest), position.Name)
	if m.Wake() == gecp.WakeFree {
		fmt.Fprint(w, "Wakes that pass other wings follow the flow; neutral points are those of the total change, the wakes following.\n\n")
	} else if len(c.Wings) > 1 {
		fmt.Fprint(w, "Wakes run straight: where one passes another wing this errs to the unsafe side.\n\n")
	}
	if words, ok := c.CorrectionWords(); ok {
		fmt.Fprintf(w, "The wings' loads are %s.\n\n", words)
	}

	moment := units.Unit{Name: force.Name + " " + length.Name, Size: force.Size * length.Size}
	at := func(p gecp.Position) string {
		if !p.OK {
			return "-"
		}
		return position.Number(p.X, units.Nearest)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "clearance\theight\tlift\tdrag\tL/D\tmoment\tcentre of\tneutral point\tneutral point\theight-stability\tlift on\t")
	fmt.Fprintf(t, "%s\t%s\t%s\t%s\t\t%s\tpressure\tin pitch\tin height\tmargin\teach wing, %%\t\n", u.Clearance().Name, u.Clearance().Name, force.Name, force.Name, moment.Name)
	over, near := false, false
	var fill gecp.GapFill
	for _, r := range rows {
		note := ""
		if r.Close {
			near, note = true, " *"
		}
		if r.GapFill.Over() {
			note += " #"
			if r.GapFill.Share > fill.Share {
				fill = r.GapFill
			}
		}
		if r.CriticalStrip.Over() {
			over, note = true, note+" !"
		}
		var shares []string
		for _, s := range r.LiftShares {
			shares = append(shares, fmt.Sprintf("%.0f", 100*s))
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%.1f\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n",
			u.Clearance().Number(r.Clearance, units.Nearest), u.Clearance().Number(r.Height, units.Nearest), force.Number(r.Lift, units.Nearest), force.Number(r.Drag(), units.Nearest),
			r.LiftOverDrag(), moment.Number(r.Moment, units.Nearest), at(r.CP), at(r.PitchNeutral), at(r.HeightNeutral), at(r.HeightStabilityMargin), strings.Join(shares, " + "), note)
	}
	t.Flush()
	fmt.Fprintf(w, "\n%s %s\n", movement(rows, u), holding(x, u))
	if near {
		fmt.Fprintf(w, "\n* Closer to the water than %v of the chord: lift and centre of pressure are good to some per cent, the neutral points are not.\n", gecp.CloseGap)
	}
	if fill.Over() {
		fmt.Fprintf(w, "\n# %s\n", fill.Words())
	}
	if over {
		fmt.Fprintf(w, "\n! The flow may leave the wing: its section lift is above the limit for its thickness. Source of the limit: %s.\n", gecp.SectionLimitSource)
	}
	fmt.Fprintf(w, "\nDrag is induced, friction and parasite drag together; moment is about the datum, nose-up positive.\nHeight-stability margin: how far the height neutral point lies ahead of the pitch neutral point; below zero the craft does not hold its height.\n\n%s\n", gecp.Cautions)
	return w.Flush()
}

// movement says in plain words what moves where over the ladder.
func movement(rows []gecp.SweepRow, u units.System) string {
	lo, hi := rows[0], rows[0]
	for _, r := range rows {
		if r.Clearance < lo.Clearance {
			lo = r
		}
		if r.Clearance > hi.Clearance {
			hi = r
		}
	}
	if lo.Clearance == hi.Clearance {
		return "One clearance alone shows no movement; ask for a ladder of them."
	}
	h, p, f := u.Clearance(), u.Position(), u.Force()
	var s strings.Builder
	fmt.Fprintf(&s, "From %s to %s of clearance at this pitch ", h.Words(lo.Clearance, units.Nearest), h.Words(hi.Clearance, units.Nearest))
	if d := hi.CP.X - lo.CP.X; lo.CP.OK && hi.CP.OK {
		way := "forward"
		if d > 0 {
			way = "aft"
		}
		fmt.Fprintf(&s, "the centre of pressure runs %s %s, from %s to %s aft of the datum, and ", p.Words(math.Abs(d), units.Nearest), way, p.Words(lo.CP.X, units.Nearest), p.Words(hi.CP.X, units.Nearest))
	}
	change := "falls"
	if hi.Lift > lo.Lift {
		change = "rises"
	}
	fmt.Fprintf(&s, "the lift %s from %s to %s.", change, f.Number(lo.Lift, units.Nearest), f.Words(hi.Lift, units.Nearest))
	return s.String()
}

// lookedUpTo is how high [gecp.Model.Crossing] looks, m.
const lookedUpTo = 3

// holding says up to which clearance the craft holds its height, if it is balanced and
// stable in pitch there.
func holding(x gecp.Crossing, u units.System) string {
	switch {
	case x.OK:
		return fmt.Sprintf("At this pitch the height neutral point lies ahead of the pitch neutral point only below %s: above it the craft does not hold its height by itself.", u.Clearance().Words(x.Clearance, units.Down))
	case x.Always:
		return "At this pitch the height neutral point lies ahead of the pitch neutral point up to " + u.Clearance().Words(lookedUpTo, units.Down) + ": there, balanced and stable in pitch, the craft holds its height by itself."
	}
	return "At this pitch the height neutral point nowhere lies ahead of the pitch neutral point: the craft does not hold its height by itself."
}

// draw writes the height picture, the curves on a ladder of its own.
func draw(ctx context.Context, w io.Writer, m *gecp.Model, q gecp.SweepQuestion, rows []gecp.SweepRow, x gecp.Crossing, u units.System) error {
	top := 1.2
	for _, r := range rows {
		top = math.Max(top, r.Clearance)
	}
	low := gecp.LeastGap * m.LowestPoints().At(q.Pitch).Chord
	const n = 48
	q.Clearances = nil
	for i := range n {
		t := float64(i) / (n - 1)
		q.Clearances = append(q.Clearances, low+(top-low)*t*t)
	}
	rows, err := m.Sweep(ctx, q)
	if err != nil {
		return err
	}
	curve := func(name string, style picture.Style, at func(gecp.SweepRow) gecp.Position) picture.Curve {
		k := picture.Curve{Name: name, Style: style}
		for _, r := range rows {
			p, x := at(r), math.NaN()
			if p.OK && !(r.Close && name != "centre of pressure") { // where it is not good it is not drawn
				x = p.X
			}
			k.X, k.Height = append(k.X, x), append(k.Height, r.Clearance)
		}
		return k
	}
	c := m.Craft()
	p := picture.Picture{
		Title: "Where the lift of " + c.Name + " acts, height by height",
		Note:  fmt.Sprintf("%s, %s at every height. A calculation; prove it in small steps.", u.FineSpeed().Words(q.Speed, units.Nearest), tow.Tilt(q.Pitch, 1)),
		Craft: c, Pitch: q.Pitch, Top: top,
		Curves: []picture.Curve{
			curve("pitch neutral point", picture.PitchNeutral, func(r gecp.SweepRow) gecp.Position { return r.PitchNeutral }),
			curve("height neutral point", picture.HeightNeutral, func(r gecp.SweepRow) gecp.Position { return r.HeightNeutral }),
			curve("centre of pressure", picture.CP, func(r gecp.SweepRow) gecp.Position { return r.CP }),
		},
		Units: u,
	}
	if words, ok := c.CorrectionWords(); ok {
		p.Note += " The wings' loads are " + words + "."
	}
	if x.OK {
		p.Lines = []picture.Line{{Name: "neutral points cross, " + u.Clearance().Words(x.Clearance, units.Down), Height: x.Clearance}}
	}
	return p.WriteSVG(w)
}
