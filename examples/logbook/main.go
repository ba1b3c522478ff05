// Command logbook holds a log of runs against the calculation, fits lift factor and
// centre-of-pressure offset to it, and says what that changes on the tow card.
package main

import (
	"bufio"
	"bytes"
	"context"
	_ "embed"
	"encoding/csv"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/gecp/units"
)

// demoLog is an invented log of the ready craft that demoCraft names.
//
//go:embed testdata/invented_runs.csv
var demoLog []byte

const demoCraft = "teal-tandem"

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("logbook", "What a log of runs says of the calculation: the comparison, a correction with intervals, and what that changes on the tow card.", "the log's fit")
	craftFile := p.Craft()
	runsFile := p.Flags.String("runs", "", "log of runs, a CSV `file`: speed_mps,clearance_m,pilot_m and, where measured, pitch_deg,pull_N,air_temp_C,note")
	demo := p.Flags.Bool("demo", false, "take an invented log of a ready craft")
	speed := p.Number("speed-accuracy", "how far off a speed may be, one standard deviation, `m/s`", .3, .001, 10)
	clearance := p.Number("clearance-accuracy", "how far off a clearance may be, likewise, `metres`", .05, .001, 2)
	pilot := p.Number("pilot-accuracy", "how far off the pilot's position may be, likewise, `metres`", .02, .001, 2)
	pitch := p.Number("pitch-accuracy", "how far off a pitch may be, likewise, `degrees`", .5, .001, 10)
	density := p.Density()
	mesh := p.Mesh()
	system := p.Units()
	asCSV := p.Flags.Bool("csv", false, "print parameter,estimate,low,high,unit of what is fitted, in SI units")
	name := p.Flags.String("o", "", "write the craft with its correction into this `file`")
	svg := p.Flags.String("svg", "", "also draw what is left against clearance, and log against prediction, into this `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		craft, err := craftFile()
		if err != nil {
			return err
		}
		var log *lake.Log
		switch {
		case *demo && *runsFile != "":
			return errors.New("-demo and -runs are both given; give one of them")
		case *demo:
			if !given(p.Flags, "craft") {
				for _, r := range crafts.All() {
					if r.Key == demoCraft {
						craft = r.Craft
					}
				}
			}
			log, err = lake.ReadLog(bytes.NewReader(demoLog))
		case *runsFile == "":
			return errors.New("no log is given; put one behind -runs, or give -demo")
		default:
			log, err = lake.ReadLogFile(*runsFile)
		}
		if err != nil {
			return err
		}
		if *name != "" {
			if err := files.Check(*name); err != nil {
				return err
			}
		}
		m, err := p.BuildMap(ctx, craft, *mesh, "fitting the map")
		if err != nil {
			return err
		}
		p.Stage("fitting the log")
		s := study{log: log, craft: craft, m: m, u: system(), density: *density}
		if s.against, err = lake.CompareRuns(m, log.Runs, *density); err != nil {
			return err
		}
		s.fit, err = lake.FitLog(ctx, m, log.Runs, lake.FitOptions{Density: *density, Accuracy: lake.Accuracy{Speed: *speed, Clearance: *clearance, Pilot: *pilot, Pitch: gecp.Radians(*pitch)}})
		if err != nil && !errors.As(err, &s.few) {
			return err
		}
		if s.fit != nil {
			if err := s.correct(); err != nil {
				return err
			}
		}
		if *asCSV {
			err = s.writeCSV(out)
		} else {
			p.Stage("working out the cards")
			err = s.report(ctx, out)
		}
		if err != nil {
			return err
		}
		if *name != "" {
			if s.fit == nil {
				return fmt.Errorf("%s is not written: %w", *name, s.few)
			}
			if !s.correction.On {
				p.Warn(fmt.Errorf("the runs do not ask for a correction: in %s it is switched off", *name))
			}
			if err := files.Write(*name, s.corrected.Write); err != nil {
				return err
			}
		}
		return files.Draw(*svg, s.draw)
	}
}

// given reports whether a flag stands on the command line.
func given(flags *flag.FlagSet, name string) bool {
	is := false
	flags.Visit(func(f *flag.Flag) { is = is || f.Name == name })
	return is
}

// study is what was found of a log.
type study struct {
	log     *lake.Log
	craft   *gecp.Craft
	m       *gecp.Map
	u       units.System
	density float64
	against []lake.Comparison     // with the craft as its file has it
	fit     *lake.Fit             // nil for too few runs
	few     *lake.TooFewRunsError // why there is no fit
	// The correction that the fit leads to, and the craft with it, switched on for the
	// comparison of cards.
	correction *gecp.Correction
	corrected  *gecp.Craft
	after      *gecp.Map
}

// correct puts the correction on the craft.
func (s *study) correct() (err error) {
	if s.correction, err = s.fit.Correction(); err != nil {
		return fmt.Errorf("no craft file can hold what the runs lead to; look at the log:\n%w", err)
	}
	s.corrected = s.craft.Clone()
	s.corrected.Correction = s.correction
	on := s.corrected.Clone()
	on.Correction.On = true
	s.after, err = s.m.For(on)
	return err
}

// writeCSV prints the parameters fitted, in SI units.
func (s *study) writeCSV(out io.Writer) error {
	w := csv.NewWriter(out)
	w.Write([]string{"parameter", "estimate", "low", "high", "unit"})
	if s.fit != nil {
		num := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
		for q, e := range s.fit.Estimates {
			if p := lake.Parameter(q); e.Fitted {
				w.Write([]string{p.String(), num(e.Value), num(e.Low), num(e.High), p.Unit()})
			}
		}
	}
	w.Flush()
	return w.Error()
}

func (s *study) report(ctx context.Context, out io.Writer) error {
	w := bufio.NewWriter(out)
	var changes []string
	if s.fit != nil {
		before, err := s.m.For(s.craft.Uncorrected())
		if err != nil {
			return err
		}
		a, err := lake.NewTowCard(ctx, before, lake.TowCardOptions{Units: s.u, Density: s.density})
		if err != nil {
			return err
		}
		o, after := lake.TowCardOptions{Units: s.u, Density: s.density}, s.after
		if a.Variants != nil { // they serve both
			if o.Variants, err = a.Variants.For(after.Model().Craft()); err != nil {
				return err
			}
			after = o.Variants.Map()
		}
		b, err := lake.NewTowCard(ctx, after, o)
		if err != nil {
			return err
		}
		changes = lake.CardChanges(a, b)
		if err := s.order(ctx, w, before, a); err != nil {
			return err
		}
	}
	fmt.Fprintf(w, "Log of %d runs of %s against the calculation", len(s.log.Runs), s.craft.Name)
	if words, ok := s.craft.CorrectionWords(); ok {
		fmt.Fprintf(w, ", the wings' loads %s", words)
	}
	fmt.Fprint(w, "\n\n")
	s.table(w)
	for _, words := range s.log.Ignored() {
		fmt.Fprintln(w, words)
	}
	if s.fit == nil {
		fmt.Fprintf(w, "\nNo fit: %v.\n", s.few)
		s.outliers(w, s.few.Outliers)
		fmt.Fprintf(w, "\n%s\n", gecp.Cautions)
		return w.Flush()
	}
	fmt.Fprint(w, "\nWhat the runs say of the craft without a correction:\n\n")
	for q := range s.fit.Estimates {
		fmt.Fprintf(w, "  %s\n", s.fit.Words(lake.Parameter(q), s.u))
	}
	fmt.Fprintln(w)
	for _, words := range s.fit.Sentences() {
		fmt.Fprintln(w, words)
	}
	s.outliers(w, s.fit.Outliers)
	words, _ := s.after.Model().Craft().CorrectionWords()
	fmt.Fprintf(w, "\nWhat changes on the tow card, %s:\n\n", words)
	for _, c := range changes {
		fmt.Fprintf(w, "  %s\n", c)
	}
	if changes == nil {
		fmt.Fprintln(w, "  nothing that it shows")
	}
	fmt.Fprintf(w, "\n%s\n", gecp.Cautions)
	return w.Flush()
}

// order says first where the craft no longer holds its height once it is corrected.
func (s *study) order(ctx context.Context, w io.Writer, before *gecp.Map, card *lake.TowCard) error {
	var speeds []float64
	for _, r := range card.Rungs {
		speeds = append(speeds, r.Speed)
	}
	for _, r := range s.fit.Residuals {
		speeds = append(speeds, s.u.Speed().Rounded(r.Speed, units.Nearest))
	}
	slices.Sort(speeds)
	speeds = slices.Compact(speeds)
	changes, err := lake.OrderChanges(ctx, before, s.after, s.density, speeds)
	if err != nil || changes == nil {
		return err
	}
	fmt.Fprint(w, "Do not go by the old card. With the correction the neutral points change their order, and the craft no longer holds a height that the calculation had it hold:\n\n")
	for _, c := range changes {
		fmt.Fprintf(w, "  %s\n", c.Words(s.u))
	}
	fmt.Fprintln(w)
	return nil
}

func (s *study) outliers(w io.Writer, list []lake.Outlier) {
	if len(list) == 0 {
		return
	}
	fmt.Fprint(w, "\nRuns that the fit does not rest on:\n\n")
	for _, o := range list {
		fmt.Fprintf(w, "  %s\n", o)
	}
}

// table sets every run beside its prediction.
func (s *study) table(w io.Writer) {
	v, h, p, f := s.u.FineSpeed(), s.u.Clearance(), s.u.Position(), s.u.Force()
	angle := units.Unit{Name: "deg", Size: gecp.Radians(1), Decimals: 1}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "line\tspeed\tclearance\tpilot\tpredicted\tlog less\tpitch\tpredicted\tlog less\tpull\tpredicted\tlog less\t")
	fmt.Fprintf(t, "\t%s\t%s\t%s\t\tprediction\t%s\t\tprediction\t%s\t\tprediction\t\n", v.Name, h.Name, p.Name, angle.Name, f.Name)
	measured := func(u units.Unit, m lake.Measured, predicted float64, difference lake.Measured) string {
		if !m.OK {
			return fmt.Sprintf("\t%s\t", u.Number(predicted, units.Nearest))
		}
		return fmt.Sprintf("%s\t%s\t%s", u.Number(m.Value, units.Nearest), u.Number(predicted, units.Nearest), u.Signed(difference.Value))
	}
	var without []string
	for _, c := range s.against {
		fmt.Fprintf(t, "%d\t%s\t%s\t%s\t", c.Line, v.Number(c.Speed, units.Nearest), h.Number(c.Clearance, units.Nearest), p.Number(c.Pilot, units.Nearest))
		if c.Err != nil {
			fmt.Fprint(t, "-\t\t\t-\t\t\t-\t\t\n")
			without = append(without, fmt.Sprintf("line %d has no prediction: %v", c.Line, c.Err))
			continue
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t\n", p.Number(c.Predicted.Pilot.X, units.Nearest), p.Signed(c.PilotDifference),
			measured(angle, c.Pitch, c.Predicted.Pitch, c.PitchDifference), measured(f, c.Pull, c.Predicted.LineTension, c.PullDifference))
	}
	t.Flush()
	if without != nil {
		fmt.Fprintf(w, "\n%s\n", strings.Join(without, "\n"))
	}
}
