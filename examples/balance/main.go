// Command balance shows where the pilot has to be at every height: the position that
// balances the craft in tow, for several speeds, against the travel that the craft
// gives; and what the nose does where the pilot is somewhere else.
package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/picture"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("balance", "Where the pilot has to be at every height, and what the nose does where they are not.", "the balance")
	craftFile := p.Craft()
	speeds := p.Numbers("speeds", "speeds through the air, `m/s`, as 13,14,15; around the lift-off if not given")
	pilot := p.Numbers("pilot", "positions of the pilot to look at, `metres` aft of the datum, as 1.2,1.5; the middle of the travel if not given")
	density := p.Density()
	mesh := p.Mesh()
	system := p.Units()
	svg := p.Flags.String("svg", "", "also draw the picture into this `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		craft, err := craftFile()
		if err != nil {
			return err
		}
		if err := craft.Require(gecp.BlockPilot, gecp.BlockWeights, gecp.BlockTow); err != nil {
			return err
		}
		m, err := p.BuildMap(ctx, craft, *mesh, "fitting the map")
		if err != nil {
			return err
		}
		s := study{craft: craft, m: m, pilots: *pilot, u: system()}
		if s.pilots == nil {
			s.pilots = []float64{lake.StopMiddle.At(craft.Pilot)}
		}
		p.Stage("looking for the lift-off")
		if craft.Require(gecp.BlockFloats) == nil {
			for _, at := range s.pilots {
				w, err := tow.FindWindow(ctx, m, *density, at)
				if err != nil {
					return err
				}
				s.windows = append(s.windows, w)
			}
		}
		if *speeds == nil {
			if *speeds, err = s.around(); err != nil {
				return err
			}
		}
		tell := p.Stage("looking for the towing range")
		for i, v := range *speeds {
			tell(float64(i) / float64(len(*speeds)))
			t, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: v, Density: *density})
			if err != nil {
				return err
			}
			r, err := t.Range(ctx, tow.Rules{Reaction: motion.InTime})
			if err != nil {
				return err
			}
			s.ranges = append(s.ranges, r)
		}
		if err := s.report(out); err != nil {
			return err
		}
		return files.Draw(*svg, s.draw)
	}
}

// study is what was found of a craft.
type study struct {
	craft   *gecp.Craft
	m       *gecp.Map
	pilots  []float64    // the positions asked for, m aft of the datum
	windows []tow.Window // one a position; none for a craft file without floats
	ranges  []tow.Range  // one a speed
	u       units.System
}

// around returns five speeds around the lift-off from the first position.
func (s *study) around() ([]float64, error) {
	if s.windows == nil {
		return nil, fmt.Errorf("give -speeds, for the lift-off is not known:\n%w", s.craft.Require(gecp.BlockFloats))
	}
	l := s.windows[0].LiftOff
	if !l.OK {
		return nil, fmt.Errorf("give -speeds, for %s", l.Words(s.u))
	}
	var speeds []float64
	for i := range 5 {
		speeds = append(speeds, math.Round(l.Speed)+float64(i-1))
	}
	return speeds, nil
}

func (s *study) report(out io.Writer) error {
	w := bufio.NewWriter(out)
	h, p, v := s.u.Clearance(), s.u.Position(), s.u.FineSpeed()
	fmt.Fprintf(w, "%s: where the pilot has to be, %s aft of the datum; the craft gives %s to %s\n\n", s.craft.Name, p.Name, p.Number(s.craft.Pilot.XForward, units.Nearest), p.Number(s.craft.Pilot.XAft, units.Nearest))
	if words, ok := s.craft.CorrectionWords(); ok {
		fmt.Fprintf(w, "The wings' loads are %s.\n\n", words)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "clearance\t")
	for _, r := range s.ranges {
		fmt.Fprintf(t, "%s\t", v.Words(r.Tow.Freestream().Speed, units.Nearest))
	}
	fmt.Fprintf(t, "\n%s\t\n", h.Name)
	for _, clearance := range gecp.DefaultClearances() {
		fmt.Fprintf(t, "%s\t", h.Number(clearance, units.Nearest))
		for _, r := range s.ranges {
			fmt.Fprintf(t, "%s\t", s.cell(r, clearance))
		}
		fmt.Fprintln(t)
	}
	t.Flush()
	fmt.Fprint(w, "\n~ not height-stable: the craft does not stay there by itself   < > forward, aft of the pilot's travel\nw a float still lies in the water   * too close to the water to know   - the wings do not carry just the weight\n\n")
	for _, window := range s.windows {
		fmt.Fprintf(w, "Speed window: %s.\n", window.Words(s.u))
	}
	for _, r := range s.ranges {
		fmt.Fprintf(w, "%s: %s\n", v.Words(r.Tow.Freestream().Speed, units.Nearest), r.Words(s.u))
		if r.Flies {
			fmt.Fprintf(w, "  %s\n", r.Tow.LineWords(r.Low, s.u))
		}
	}
	fmt.Fprint(w, "\nAnd where the pilot is not where the table wants them:\n\n")
	s.imbalances(w)
	fmt.Fprintf(w, "\n%s\n", gecp.Cautions)
	return w.Flush()
}

// imbalances says what the nose does with the pilot at each of the positions.
func (s *study) imbalances(w io.Writer) {
	h, v := s.u.Clearance(), s.u.FineSpeed()
	for _, r := range s.ranges {
		fmt.Fprintf(w, "%s\n", v.Words(r.Tow.Freestream().Speed, units.Nearest))
		if !r.Flies {
			fmt.Fprintf(w, "  %s\n", r.Reason(s.u))
			continue
		}
		for _, clearance := range []float64{.15, .3, .5, .8} {
			fmt.Fprintf(w, "  at %s ", h.Words(clearance, units.Nearest))
			if clearance < r.Curve.States[0].Clearance {
				fmt.Fprintln(w, "a float still lies in the water")
				continue
			}
			for i, at := range s.pilots {
				words := "the wings do not carry just the weight"
				if b, err := r.Tow.Imbalance(clearance, at); err == nil {
					words = b.Words(s.u)
				}
				if i > 0 {
					fmt.Fprint(w, "; ")
				}
				fmt.Fprint(w, words)
			}
			fmt.Fprintln(w)
		}
	}
}

// cell is the pilot's position at a clearance, with marks.
func (s *study) cell(r tow.Range, clearance float64) string {
	b, err := r.Tow.Trim(clearance)
	switch {
	case err != nil:
		return "-"
	case len(r.Curve.States) == 0 || clearance < r.Curve.States[0].Clearance:
		return "w"
	}
	text := s.u.Position().Number(b.Pilot.X, units.Nearest)
	switch {
	case b.Pilot.X < s.craft.Pilot.XForward:
		text = "< " + text
	case b.Pilot.X > s.craft.Pilot.XAft:
		text = "> " + text
	}
	switch {
	case b.Close:
		text = "* " + text
	case !b.HeightStable:
		text = "~ " + text
	}
	return text
}

func (s *study) draw(w io.Writer) error {
	p := picture.Picture{
		Title: "Where the pilot of " + s.craft.Name + " has to be, height by height",
		Note:  "Solid where the craft holds its height by itself, dotted where not. A calculation; prove it in small steps.",
		Craft: s.craft, Top: 1, Units: s.u,
		Bands: []picture.Band{{Name: "pilot's travel", From: s.craft.Pilot.XForward, To: s.craft.Pilot.XAft}},
	}
	if words, ok := s.craft.CorrectionWords(); ok {
		p.Note += " The wings' loads are " + words + "."
	}
	for _, r := range s.ranges {
		held, loose := picture.PilotCurves(r.Curve)
		loose.Name = s.u.FineSpeed().Words(r.Tow.Freestream().Speed, units.Nearest)
		p.Curves = append(p.Curves, held, loose)
	}
	return p.WriteSVG(w)
}
