// Command balance shows where the pilot has to be at every height: the place that
// balances the craft in tow, for several speeds, against the travel that the craft
// gives.
package main

import (
	"bufio"
	"context"
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
	fs := flag.NewFlagSet("balance", flag.ContinueOnError)
	file := fs.String("craft", "", "craft `file`; the demo craft if not given")
	list := fs.String("speeds", "", "speeds through the air, `m/s`, as 13,14,15; around the lift-off if not given")
	density := fs.Float64("density", gecp.AirDensity, "air density, `kg/m3`")
	us := fs.Bool("us", false, "print feet and miles per hour")
	svg := fs.String("svg", "", "also draw the picture into this `file`")
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
	if err := craft.Require(gecp.BlockPilot, gecp.BlockWeights, gecp.BlockTow); err != nil {
		return err
	}
	m, err := craft.BuildMap(ctx, gecp.MapOptions{})
	if err != nil {
		return err
	}
	speeds, err := parse(*list, m, craft.Pilot, *density)
	if err != nil {
		return err
	}
	u := metric
	if *us {
		u = customary
	}
	lines := make([]line, len(speeds))
	for i, v := range speeds {
		if lines[i], err = balance(m, craft.Pilot, v, *density); err != nil {
			return err
		}
	}
	if *svg != "" {
		if err := draw(*svg, craft, lines, u); err != nil {
			return err
		}
	}
	return report(out, m, craft, lines, u)
}

// parse reads the speeds, or takes five around the lift-off with the pilot in the
// middle.
func parse(list string, m *gecp.Map, p *gecp.Pilot, density float64) ([]float64, error) {
	var speeds []float64
	if list == "" {
		l, err := m.LiftOff(gecp.Middle.At(p), density)
		if err != nil {
			return nil, fmt.Errorf("the lift-off cannot be found; give -speeds:\n%w", err)
		}
		if !l.OK {
			return nil, fmt.Errorf("give -speeds, for %v", l)
		}
		for i := range 5 {
			speeds = append(speeds, math.Round(l.Speed)+float64(i-1))
		}
		return speeds, nil
	}
	for _, s := range strings.Split(list, ",") {
		v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			return nil, fmt.Errorf("%q in -speeds is not a number of metres per second; write them as 13,14,15", s)
		}
		speeds = append(speeds, v)
	}
	return speeds, nil
}

// line is the balance at one speed.
type line struct {
	run   gecp.SteadyTow
	pilot *gecp.Pilot
	speed float64
	curve gecp.TrimCurve // floats clear; without states if the craft cannot fly
	why   string     // it cannot
}

func balance(m *gecp.Map, p *gecp.Pilot, speed, density float64) (line, error) {
	r, err := m.Run(speed, density)
	if err != nil {
		return line{}, err
	}
	l := line{run: r, pilot: p, speed: speed}
	all, err := r.TrimCurve()
	if err != nil {
		l.why = err.Error()
		return l, nil
	}
	above, ok := all.AboveFloats()
	if !ok {
		l.why = "the wings carry the weight only at heights where a float still lies in the water"
	}
	l.curve = above
	return l, nil
}

// units is a system of units for the table.
type units struct {
	length, speed         float64 // SI in one unit
	lengthName, speedName string
}

var (
	metric    = units{1, 1, "m", "m/s"}
	customary = units{.3048, .44704, "ft", "mph"} // NIST SP 811
)

func report(out io.Writer, m *gecp.Map, c *gecp.Craft, lines []line, u units) error {
	w := bufio.NewWriter(out)
	fmt.Fprintf(w, "%s: where the pilot has to be, %s aft of the datum; the craft gives %.2f to %.2f\n\n%9s", c.Name, u.lengthName, c.Pilot.XForward/u.length, c.Pilot.XAft/u.length, "clearance")
	for _, l := range lines {
		fmt.Fprintf(w, " %12s", fmt.Sprintf("%.1f %s", l.speed/u.speed, u.speedName))
	}
	fmt.Fprintf(w, "\n%9s\n", u.lengthName)
	least, most, _, _ := m.Range()
	for _, clearance := range gecp.DefaultClearances {
		if clearance < least || clearance > most {
			continue
		}
		fmt.Fprintf(w, "%9.2f", clearance/u.length)
		for _, l := range lines {
			fmt.Fprintf(w, " %12s", l.cell(clearance, u))
		}
		fmt.Fprintln(w)
	}
	fmt.Fprint(w, "\n~ not height-stable: the craft does not stay there by itself   < > forward, aft of the pilot's travel\nw a float still lies in the water   - the wings do not carry just the weight\n\n")
	for _, l := range lines {
		fmt.Fprintf(w, "%.1f %s: %s\n", l.speed/u.speed, u.speedName, l.sentence(u))
	}
	fmt.Fprintf(w, "\n%s\n", gecp.Cautions)
	return w.Flush()
}

func (l line) cell(clearance float64, u units) string {
	b, err := l.run.Trim(clearance)
	switch {
	case err != nil:
		return "-"
	case len(l.curve.States) == 0 || clearance < l.curve.States[0].Clearance:
		return "w"
	}
	s := fmt.Sprintf("%.2f", b.Pilot.X/u.length)
	switch {
	case b.Pilot.X < l.pilot.XForward:
		s = "< " + s
	case b.Pilot.X > l.pilot.XAft:
		s = "> " + s
	}
	if !b.HeightStable {
		s = "~ " + s
	}
	return s
}

func (l line) sentence(u units) string {
	if l.why != "" {
		return l.why
	}
	low := l.curve.States[0]
	s := fmt.Sprintf("the floats are clear from %.2f %s", low.Clearance/u.length, u.lengthName)
	switch top := l.curve.SelfHolding(); {
	case top.OK:
		s += fmt.Sprintf("; the craft holds its height by itself up to %.2f %s", top.Clearance/u.length, u.lengthName)
	case top.Always:
		s += "; the craft holds its height by itself up to the top of the calculation"
	default:
		s += "; the craft holds no height by itself"
	}
	return s + "."
}

func draw(name string, c *gecp.Craft, lines []line, u units) error {
	p := picture.Picture{
		Title: "Where the pilot of " + c.Name + " has to be, height by height",
		Note:  "Solid where the craft holds its height by itself, dashed where not. A calculation; prove it in small steps.",
		Craft: c, Top: 1, PerUnit: u.length, Unit: u.lengthName,
		Bands: []picture.Band{{Name: "pilot's travel", From: c.Pilot.XForward, To: c.Pilot.XAft}},
	}
	for _, l := range lines {
		stable := picture.Curve{Style: picture.Pilot}
		loose := picture.Curve{Style: picture.Unstable, Name: fmt.Sprintf("%.1f %s", l.speed/u.speed, u.speedName)}
		for i, b := range l.curve.States {
			// The point where one line ends is the other's first.
			joint := i > 0 && l.curve.States[i-1].HeightStable != b.HeightStable
			put := func(to *picture.Curve, yes bool) {
				x := math.NaN()
				if yes || joint {
					x = b.Pilot.X
				}
				to.X, to.Height = append(to.X, x), append(to.Height, b.Clearance)
			}
			put(&stable, b.HeightStable)
			put(&loose, !b.HeightStable)
		}
		p.Curves = append(p.Curves, stable, loose)
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
