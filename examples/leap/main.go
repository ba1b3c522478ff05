// Command leap shows the second after lift-off: the boat gains a little speed, the
// craft jumps, the lift runs forward, the nose rises. How late may the pilot be?
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
	"text/tabwriter"

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
	fs := flag.NewFlagSet("leap", flag.ContinueOnError)
	file := fs.String("craft", "", "craft `file`; the demo craft if not given")
	speedList := fs.String("speeds", "", "speeds, `m/s`, as 13,14; a few that the craft can fly at if not given")
	clearanceList := fs.String("clearances", "0.2,0.3,0.4,0.6,0.8", "clearances of the lowest wing point, `metres`")
	density := fs.Float64("density", gecp.AirDensity, "air density, `kg/m3`")
	us := fs.Bool("us", false, "print feet, inches and miles per hour")
	svg := fs.String("svg", "", "also draw a saved and a lost flight into this `file`")
	roots := fs.String("roots", "", "also draw how the modes wander with clearance, at the middle speed, into this `file`")
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
	if err := craft.Require(gecp.BlockWeights, gecp.BlockPilot, gecp.BlockTow); err != nil {
		return err
	}
	clearances, err := numbers("clearances", *clearanceList)
	if err != nil {
		return err
	}
	speeds, err := numbers("speeds", *speedList)
	if err != nil {
		return err
	}
	m, err := craft.BuildMap(ctx, gecp.FlightRange)
	if err != nil {
		return err
	}
	if speeds == nil {
		if speeds, err = flyable(m, *density, clearances); err != nil {
			return err
		}
	}
	u := metric
	if *us {
		u = customary
	}
	cases, err := study(ctx, m, *density, speeds, clearances)
	if err != nil {
		return err
	}
	if *svg != "" {
		if err := draw(*svg, craft, cases, u); err != nil {
			return err
		}
	}
	if *roots != "" {
		v := speeds[len(speeds)/2]
		r, err := m.Run(v, *density)
		if err != nil {
			return err
		}
		if err := drawRoots(*roots, craft, r, v, u); err != nil {
			return err
		}
	}
	return report(out, craft, cases, u)
}

func numbers(flag, list string) ([]float64, error) {
	if list == "" {
		return nil, nil
	}
	var out []float64
	for _, s := range strings.Split(list, ",") {
		v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			return nil, fmt.Errorf("%q in -%s is not a number; write them as 0.2,0.4", s, flag)
		}
		out = append(out, v)
	}
	return out, nil
}

// flyable returns up to four speeds, spread over those at which a flight can begin
// at one of the clearances.
func flyable(m *gecp.Map, density float64, clearances []float64) ([]float64, error) {
	var all []float64
	var last error
	for v := 5.; v <= 40; v += .5 {
		r, err := m.Run(v, density)
		if err != nil {
			return nil, err
		}
		for _, c := range clearances {
			if _, err := r.Flight(c, gecp.StandardLeap); err == nil {
				all = append(all, v)
				break
			} else {
				last = err
			}
		}
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("no flight can begin at any of the clearances between 5 and 40 m/s; the last reason: %w", last)
	}
	const most = 4
	if len(all) <= most {
		return all, nil
	}
	var out []float64
	for i := range most {
		out = append(out, all[i*(len(all)-1)/(most-1)])
	}
	return out, nil
}

// leap is one line of the table.
type leap struct {
	speed, clearance float64
	run              gecp.SteadyTow
	mode             gecp.Mode // the fastest growing, the pilot frozen
	reaction         gecp.Reaction
	err              error // why no flight begins there
}

func study(ctx context.Context, m *gecp.Map, density float64, speeds, clearances []float64) ([]leap, error) {
	var out []leap
	for _, v := range speeds {
		r, err := m.Run(v, density)
		if err != nil {
			return nil, err
		}
		for _, c := range clearances {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			l := leap{speed: v, clearance: c, run: r}
			if l.reaction, l.err = r.Reaction(c); l.err == nil {
				modes, err := r.Modes(c)
				if err != nil {
					return nil, err
				}
				l.mode = modes[0]
			}
			out = append(out, l)
		}
	}
	return out, nil
}

// unit is how a quantity is printed.
type unit struct {
	size     float64 // in SI units
	name     string
	decimals int
}

func (u unit) of(v float64) string {
	return fmt.Sprintf("%.*f %s", u.decimals, v/u.size, u.name)
}

type units struct{ speed, height, shift, travel unit }

var (
	metric = units{
		speed: unit{1, "m/s", 1}, height: unit{1, "m", 2},
		shift: unit{1, "m/s", 2}, travel: unit{1, "m", 2},
	}
	customary = units{
		speed: unit{.44704, "mph", 1}, height: unit{.0254, "in", 0},
		shift: unit{.3048, "ft/s", 2}, travel: unit{.0254, "in", 0},
	}
)

func report(out io.Writer, craft *gecp.Craft, cases []leap, u units) error {
	b := bufio.NewWriter(out)
	s := gecp.StandardLeap.SpeedUp
	fmt.Fprintf(b, "%s: the boat gains %s within %.0f s. How late may the pilot be?\n\n", craft.Name, u.speed.of(s.By), s.Over)
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "speed\tclearance\tleft alone, a small upset\treaction margin\tshift\ttravel\tin words")
	for _, l := range cases {
		fmt.Fprintf(w, "%s\t%s\t", u.speed.of(l.speed), u.height.of(l.clearance))
		if l.err != nil {
			fmt.Fprintf(w, "-\t-\t-\t-\t%s\n", refusal(l.err))
			continue
		}
		r := l.reaction
		margin := fmt.Sprintf("%.2f s", r.Margin)
		switch {
		case !r.Known:
			margin = "none"
		case r.Beyond:
			margin = fmt.Sprintf("over %d s", gecp.MaxDelay)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", l.mode, margin, least(r.Shift, u.shift), least(r.Travel, u.travel), r.Verdict())
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(b, `
Reaction margin: the longest delay with which a pilot who knows where to sit and answers height, pitch and their rates
in proportion still settles the craft; the %s.
Shift and travel: the slowest top speed of shifting and the least travel that settle it for a delay of %.2f s.
A flight ends where the map does, past %.0f degrees nose-up, where a wing or a hard-met float is in the water, or past %s.
The pilot of the calculation knows the craft and nothing else; a simulation teaches, it does not train.

%s
`, gecp.HumanRange, gecp.DelayPosition, gecp.FlightRange.PitchMax*180/math.Pi, u.height.of(gecp.FlightRange.ClearanceMax), gecp.Cautions)
	return b.Flush()
}

// refusal returns the reason of an error of a flight, without the place and speed
// that the line of the table names already.
func refusal(err error) string {
	s := err.Error()
	if _, reason, ok := strings.Cut(s, "m/s: "); ok {
		s = reason
	}
	return "no flight begins here: " + s
}

func least(l gecp.Least, u unit) string {
	switch {
	case !l.Found:
		return "none saves"
	case l.Any:
		return "none needed"
	}
	return u.of(l.Value)
}
