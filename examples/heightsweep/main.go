// Command heightsweep shows where the lift of a craft acts, height by height: lift,
// drag, pitching moment, centre of pressure and both neutral points over a ladder
// of clearances at one pitch.
package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"strconv"
	"strings"

	"example.org/groundeffect/examples/internal/picture"
	"example.org/groundeffect/gecp"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Args[1:], os.Stdout); err != nil {
		if !errors.Is(err, flag.ErrHelp) {
			fmt.Fprintln(os.Stderr, err)
		}
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string, out io.Writer) error {
	fs := flag.NewFlagSet("heightsweep", flag.ContinueOnError)
	file := fs.String("craft", "", "craft `file`; the demo craft if not given")
	pitch := fs.Float64("pitch", 3, "pitch, `degrees` nose-up about the datum")
	speed := fs.Float64("speed", 14, "speed through the air, `m/s`")
	density := fs.Float64("density", gecp.AirDensity, "air density, `kg/m3`")
	ladder := fs.String("clearances", "", "clearances of the lowest wing point, `metres`, as 0.1,0.2,0.5")
	us := fs.Bool("us", false, "print feet, pounds and miles per hour")
	asCSV := fs.Bool("csv", false, "print comma-separated values in SI units, full precision")
	svg := fs.String("svg", "", "also draw the height picture into this `file`")
	if err := fs.Parse(args); err != nil {
		return err
	}
	if fs.NArg() > 0 {
		return fmt.Errorf("%q is not understood; put a craft file behind -craft", fs.Arg(0))
	}
	craft := gecp.Demo()
	if *file != "" {
		var err error
		if craft, err = gecp.ReadFile(*file); err != nil {
			return err
		}
	}
	clearances, err := parseClearances(*ladder)
	if err != nil {
		return err
	}
	q := gecp.SweepQuestion{Speed: *speed, Pitch: *pitch * math.Pi / 180, Density: *density, Clearances: clearances}
	rows, err := craft.Sweep(ctx, q)
	if err != nil {
		return err
	}
	if *svg != "" {
		if err := draw(ctx, *svg, craft, q, rows); err != nil {
			return err
		}
	}
	if *asCSV {
		return writeCSV(out, rows)
	}
	u := metric
	if *us {
		u = customary
	}
	return report(out, craft, q, rows, u)
}

func parseClearances(list string) ([]float64, error) {
	if list == "" {
		return nil, nil
	}
	var c []float64
	for _, s := range strings.Split(list, ",") {
		v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			return nil, fmt.Errorf("%q in -clearances is not a number of metres; write them as 0.1,0.2,0.5", s)
		}
		c = append(c, v)
	}
	return c, nil
}

// writeCSV prints SI values; a place that does not exist is an empty field.
func writeCSV(out io.Writer, rows []gecp.SweepRow) error {
	w := csv.NewWriter(out)
	w.Write([]string{"clearance_m", "height_m", "pitch_deg", "lift_N", "induced_drag_N", "moment_Nm", "cp_m", "pitch_neutral_m", "height_neutral_m"})
	num := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	place := func(p gecp.Position) string {
		if !p.OK {
			return ""
		}
		return num(p.X)
	}
	for _, r := range rows {
		w.Write([]string{num(r.Clearance), num(r.Height), num(r.Pitch * 180 / math.Pi), num(r.Lift), num(r.InducedDrag), num(r.Moment), place(r.CP), place(r.PitchNeutral), place(r.HeightNeutral)})
	}
	w.Flush()
	return w.Error()
}

// units is a system of units for the table.
type units struct {
	length, force, speed             float64 // SI in one unit
	lengthName, forceName, speedName string
}

var (
	metric    = units{1, 1, 1, "m", "N", "m/s"}
	customary = units{.3048, 4.4482216152605, .44704, "ft", "lbf", "mph"} // NIST SP 811
)

func report(out io.Writer, c *gecp.Craft, q gecp.SweepQuestion, rows []gecp.SweepRow, u units) error {
	w := bufio.NewWriter(out)
	s := c.Shape()
	fmt.Fprintf(w, "%s at %.1f %s, nose up %.1f degrees about the datum, air of %.3f kg/m3\n", c.Name, q.Speed/u.speed, u.speedName, q.Pitch*180/math.Pi, q.Density)
	fmt.Fprintf(w, "reference area %.2f %s2, span %.2f %s, mean chord %.2f %s; places in %s aft of the datum\n\n", s.Area/u.length/u.length, u.lengthName, s.Span/u.length, u.lengthName, s.MAC/u.length, u.lengthName, u.lengthName)
	fmt.Fprintf(w, "%9s %8s %8s %7s %6s %10s %7s %7s %7s %8s  %s\n", "clearance", "height", "lift", "drag", "L/D", "moment", "centre", "neutral", "point", "margin", "lift on each wing")
	fmt.Fprintf(w, "%9s %8s %8s %7s %6s %10s %7s %7s %7s %8s\n", u.lengthName, u.lengthName, u.forceName, u.forceName, "", u.forceName+" "+u.lengthName, "of pr.", "pitch", "height", "")
	place := func(p gecp.Position) string {
		if !p.OK {
			return "-"
		}
		return fmt.Sprintf("%.2f", p.X/u.length)
	}
	over := false
	for _, r := range rows {
		fmt.Fprintf(w, "%9.2f %8.2f %8.0f %7.1f %6.1f %10.0f %7s %7s %7s %8s ", r.Clearance/u.length, r.Height/u.length, r.Lift/u.force, r.Drag()/u.force, r.LiftOverDrag(), r.Moment/u.force/u.length, place(r.CP), place(r.PitchNeutral), place(r.HeightNeutral), place(r.HeightStabilityMargin))
		for i, share := range r.LiftShares {
			fmt.Fprintf(w, " %s %.0f %%", c.Wings[i].Name, 100*share)
		}
		if r.CriticalStrip.Over() {
			over = true
			fmt.Fprintf(w, "  ! section lift %.2f on %s", r.CriticalStrip.LiftCoefficient, r.CriticalStrip.Wing)
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "\n%s\n", sentence(rows, u))
	if over {
		fmt.Fprintf(w, "\n! The flow may leave the wing: its section lift is above the limit for its thickness. Source of the limit: %s.\n", gecp.SectionLimitSource)
	}
	fmt.Fprintf(w, "\nDrag is induced, friction and parasite drag together; moment is about the datum, nose-up positive.\nmargin: how far the height neutral point lies ahead of the pitch neutral point; below zero the craft does not hold its height.\n\n%s\n", gecp.Cautions)
	return w.Flush()
}

// sentence says in plain words what moves where.
func sentence(rows []gecp.SweepRow, u units) string {
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
	at := func(v float64) string { return fmt.Sprintf("%.2f %s", v/u.length, u.lengthName) }
	var s strings.Builder
	fmt.Fprintf(&s, "From %s to %s of clearance at this pitch ", at(lo.Clearance), at(hi.Clearance))
	if d := hi.CP.X - lo.CP.X; lo.CP.OK && hi.CP.OK {
		way := "forward"
		if d > 0 {
			way = "aft"
		}
		fmt.Fprintf(&s, "the centre of pressure runs %s %s, from %s to %s aft of the datum, ", at(math.Abs(d)), way, at(lo.CP.X), at(hi.CP.X))
	}
	if lo.Lift != 0 {
		change := "falls"
		if hi.Lift > lo.Lift {
			change = "rises"
		}
		fmt.Fprintf(&s, "and the lift %s from %.0f to %.0f %s. ", change, lo.Lift/u.force, hi.Lift/u.force, u.forceName)
	}
	holds, ends := false, math.Inf(1)
	for _, r := range rows {
		if r.HeightStabilityMargin.OK && r.HeightStabilityMargin.X > 0 {
			holds = true
		}
		if r.HeightStabilityMargin.OK && r.HeightStabilityMargin.X <= 0 && r.Clearance < ends && holds {
			ends = r.Clearance
		}
	}
	switch {
	case !holds:
		s.WriteString("At none of these heights does the height neutral point lie ahead of the pitch neutral point: the craft does not hold its height by itself.")
	case math.IsInf(ends, 1):
		s.WriteString("The height neutral point lies ahead of the pitch neutral point up to the highest of them: there, balanced and stable in pitch, the craft holds its height by itself.")
	default:
		fmt.Fprintf(&s, "The height neutral point lies ahead of the pitch neutral point only below about %s: above it the craft does not hold its height by itself.", at(ends))
	}
	return s.String()
}

// draw writes the height picture, the curves on a ladder of its own.
func draw(ctx context.Context, name string, c *gecp.Craft, q gecp.SweepQuestion, rows []gecp.SweepRow) error {
	top := 1.2
	for _, r := range rows {
		top = math.Max(top, r.Clearance)
	}
	const n = 48
	q.Clearances = nil
	for i := range n {
		t := float64(i) / (n - 1)
		q.Clearances = append(q.Clearances, .05+(top-.05)*t*t)
	}
	rows, err := c.Sweep(ctx, q)
	if err != nil {
		return err
	}
	curve := func(name string, style picture.Style, place func(gecp.SweepRow) gecp.Position) picture.Curve {
		k := picture.Curve{Name: name, Style: style}
		for _, r := range rows {
			p, x := place(r), math.NaN()
			if p.OK {
				x = p.X
			}
			k.X, k.Height = append(k.X, x), append(k.Height, r.Clearance)
		}
		return k
	}
	p := picture.Picture{
		Title: "Where the lift of " + c.Name + " acts, height by height",
		Note:  fmt.Sprintf("%.0f m/s, nose up %.1f° at every height. A calculation; prove it in small steps.", q.Speed, q.Pitch*180/math.Pi),
		Craft: c, Pitch: q.Pitch, Top: top,
		Curves: []picture.Curve{
			curve("pitch neutral point", picture.PitchNeutral, func(r gecp.SweepRow) gecp.Position { return r.PitchNeutral }),
			curve("height neutral point", picture.HeightNeutral, func(r gecp.SweepRow) gecp.Position { return r.HeightNeutral }),
			curve("centre of pressure", picture.CP, func(r gecp.SweepRow) gecp.Position { return r.CP }),
		},
	}
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	if err := p.WriteSVG(f); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
