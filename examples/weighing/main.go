// Command weighing finds mass, centre of gravity and radius of gyration of a craft from
// scales under it and from its swinging, and sets them beside the craft file.
package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("weighing", "What scales under the craft, a raised nose and ten swings say of its mass, its centre of gravity and its radius of gyration.", "the weighing")
	craftFile := p.Craft()
	level := p.Flags.String("scales", "", "the scales under the level craft, `x:kg,x:kg`: where it stands on each, m aft of the datum, and the reading; behind a second colon the support's height, m above the datum (the floats' line if not given)")
	raised := p.Flags.String("raised", "", "the same with the nose raised, `x:kg,x:kg`, x along the craft as before")
	angle := p.Number("angle", "by which the nose is raised, `degrees`", 15, 0, 90)
	swing := p.Number("swing", "time of ten full swings about an axis above the centre of gravity, `seconds`; 0 if the craft was not swung", 0, 0, 1000)
	pivot := p.Number("pivot", "height of that axis above the datum, `metres`", 2, -50, 50)
	d := lake.DefaultWeighingAccuracy()
	scaleOff := p.Number("scale-accuracy", "how far off a scale may be, one standard deviation, `kg`", d.Scale, .001, 50)
	tapeOff := p.Number("tape-accuracy", "how far off a length may be, likewise, `metres`", d.Tape, .0001, .5)
	angleOff := p.Number("angle-accuracy", "how far off an angle may be, that of the level craft too, likewise, `degrees`", gecp.Degrees(d.Angle), .001, 5)
	clockOff := p.Number("clock-accuracy", "how far off the time of the ten swings may be, likewise, `seconds`", d.Clock, .001, 10)
	density := p.Density()
	system := p.Units()
	asCSV := p.Flags.Bool("csv", false, "print quantity,weighed,standard_uncertainty,file,unit, in SI units")
	name := p.Flags.String("o", "", "write the craft with one weight, as weighed, into this `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		craft, err := craftFile()
		if err != nil {
			return err
		}
		if *level == "" {
			return errors.New("no scales are given; put places and readings behind -scales, as in -scales 0.40:38.5,4.40:31.5")
		}
		w := lake.Weighing{
			Density:  *density,
			Accuracy: lake.WeighingAccuracy{Scale: *scaleOff, Tape: *tapeOff, Angle: gecp.Radians(*angleOff), Clock: *clockOff},
		}
		if w.Level, err = lake.ParseScales(*level, craft, units.Metric); err != nil {
			return fmt.Errorf("-scales: %w", err)
		}
		if *raised != "" {
			if w.Raised, err = lake.ParseScales(*raised, craft, units.Metric); err != nil {
				return fmt.Errorf("-raised: %w", err)
			}
			w.Angle = gecp.Radians(*angle)
		}
		w.Swing = lake.Swing{TenSwings: *swing, Pivot: *pivot}
		got, err := lake.Weigh(craft, w)
		if err != nil {
			return err
		}
		if *asCSV {
			err = writeCSV(out, craft, got)
		} else {
			err = report(out, craft, got, system())
		}
		if err != nil || *name == "" {
			return err
		}
		weighed, err := got.Apply(craft)
		if err != nil {
			return fmt.Errorf("%s is not written, no craft can weigh this; look at the readings:\n%w", *name, err)
		}
		return files.Write(*name, weighed.Write)
	}
}

func report(out io.Writer, craft *gecp.Craft, w lake.Weighed, u units.System) error {
	b := bufio.NewWriter(out)
	fmt.Fprintf(b, "%s without its pilot, as weighed:\n\n", craft.Name)
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "\tweighed\twithin\tfile\tweighed less file\t")
	for _, r := range w.Rows(craft, u) {
		mark := ""
		if !r.Agrees {
			mark = "more than the readings can be off"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", r.Name, r.Weighed, r.Within, r.File, r.Difference, mark)
	}
	t.Flush()
	fmt.Fprintln(b, "\nWithin: twice the standard uncertainty, from the stated accuracy of scales, tape, level and watch.")
	for _, s := range w.Sentences(craft, u) {
		fmt.Fprintln(b, s)
	}
	fmt.Fprint(b, "\nHow to weigh:\n\n")
	for i, s := range lake.WeighingSteps() {
		fmt.Fprintf(b, "%d. %s\n", i+1, s)
	}
	fmt.Fprintf(b, "\n%s\n", gecp.Cautions)
	return b.Flush()
}

// writeCSV prints what was weighed, and an empty field for what was not.
func writeCSV(out io.Writer, craft *gecp.Craft, w lake.Weighed) error {
	c := csv.NewWriter(out)
	c.Write([]string{"quantity", "weighed", "standard_uncertainty", "file", "unit"})
	num := func(ok bool, v float64) string {
		if !ok {
			return ""
		}
		return strconv.FormatFloat(v, 'g', 8, 64)
	}
	sum, known := lake.Sum(craft)
	for _, q := range []struct {
		name string
		u    lake.Uncertain
		file float64
		unit string
	}{{"mass", w.Mass, sum.Mass, "kg"}, {"cg_x", w.X, sum.X, "m"}, {"cg_z", w.Z, sum.Z, "m"}, {"radius_of_gyration", w.Radius, sum.Radius(), "m"}} {
		c.Write([]string{q.name, num(q.u.OK, q.u.Value), num(q.u.OK, q.u.Error), num(known, q.file), q.unit})
	}
	c.Flush()
	return c.Error()
}
