// Command trust says how far to trust what is calculated of a craft at one speed: between
// which two its height to let go, its pilot's position and its lift-off may lie, what each
// thing left out does to them, and what waves take.
package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("trust", "How far to trust the height to let go, the pilot's position and the lift-off, and what waves take.", "the bands")
	craftFile := p.Craft()
	speed := p.Number("speed", "of the boat through the air, `m/s`", 16, .1, gecp.MaxSpeed)
	calm := p.Flags.Bool("equilibrium", false, "leave out whether anyone can react in time")
	chop := p.Numbers("chop", "heights of waves, trough to crest, `metres`, as 0.05,0.1")
	density := p.Density()
	mesh := p.Mesh()
	system := p.Units()
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
		v, err := tow.NewVariants(ctx, m, p.Stage("fitting what it leaves out"))
		if err != nil {
			return err
		}
		p.Stage("looking at each of it")
		s := study{craft: craft, u: system()}
		var rules tow.Rules
		if !*calm {
			rules.Reaction = motion.InTime
		}
		st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: *speed, Density: *density})
		if err != nil {
			return err
		}
		r, err := st.Range(ctx, rules)
		if err != nil {
			return err
		}
		if s.trust, err = v.Trust(ctx, r); err != nil {
			return err
		}
		if craft.Require(gecp.BlockFloats) == nil {
			if s.off, s.liftOff, err = v.LiftOff(ctx, *density, craft.Pilot.Middle()); err != nil {
				return err
			}
		}
		return s.report(out, *chop)
	}
}

// study is what was found of a craft.
type study struct {
	craft   *gecp.Craft
	trust   tow.Trust
	off     tow.LiftOff
	liftOff tow.Trusted // zero where it does not lift off, or has no floats
	u       units.System
}

func (s *study) report(out io.Writer, chop []float64) error {
	w := bufio.NewWriter(out)
	r := s.trust.Range
	fmt.Fprintf(w, "%s at %s: %s\n\n", s.craft.Name, s.u.FineSpeed().Words(r.Tow.Freestream().Speed, units.Nearest), r.Words(s.u))
	if words := s.trust.Words(s.u); words != "" {
		fmt.Fprintln(w, words)
	}
	if s.liftOff.Plain > 0 {
		fmt.Fprintf(w, "Lift-off with the pilot at %s: %s.\n", s.u.Position().Words(s.off.Pilot, units.Nearest), s.liftOff.LiftOffWords(s.u))
	}
	fmt.Fprintln(w)
	s.table(w)
	if err := s.chop(w, chop); err != nil {
		return err
	}
	fmt.Fprintf(w, "\n%s\n", gecp.Cautions)
	return w.Flush()
}

// table tells each thing left out, what it alone could do, and all at once.
func (s *study) table(w io.Writer) {
	rows := s.trust.Rows(s.liftOff, s.u)
	if len(rows) == 0 {
		return
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "left out\theight to let go, %[1]s\tlowest, %[1]s\tpilot, %[1]s\tlift-off, %s\ttaken as\n", s.u.Small().Name, s.u.FineSpeed().Name)
	for _, r := range rows {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", r.Name, r.LetGo, r.Lowest, r.Pilot, r.LiftOff, r.Source)
	}
	t.Flush()
}

// chop tells what waves leave of the range that the bands leave.
func (s *study) chop(w io.Writer, heights []float64) error {
	r, err := s.trust.Cut()
	if err != nil || !r.OK {
		return err
	}
	fmt.Fprintf(w, "\n%s\n", r.ChopWords(s.u))
	c := s.u.Clearance()
	for _, h := range heights {
		if h < 0 || math.IsNaN(h) {
			return fmt.Errorf("a chop is %v m high; give 0 or more", h)
		}
		// As told: the height from which it means nothing is rounded down.
		if x := r.InChop(h); x.OK && h < c.Rounded(r.MostChop(), units.Down) {
			fmt.Fprintf(w, "In a chop of %s tow it between %s and %s over the mean water.\n", c.Words(h, units.Nearest), s.u.TowAbove(x.Low), s.u.LetGo(x.High))
		} else {
			fmt.Fprintf(w, "In a chop of %s do not fly: the calculation means nothing.\n", c.Words(h, units.Nearest))
		}
	}
	return nil
}
