// Command leap shows the second after lift-off: the boat gains a little speed, the
// craft jumps, the lift runs forward, the nose rises. How late may the pilot be?
package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("leap", "The second after lift-off: how late may the pilot be?", "the look at reactions")
	craftFile := p.Craft()
	speeds := p.Numbers("speeds", "speeds through the air, `m/s`, as 13,14; a few at which a flight can begin if not given")
	clearances := p.Numbers("clearances", "clearances of the lowest wing point to begin at, `metres` (default 0.15,0.2,0.3,0.4)")
	limit := p.Number("limit", "clearance that the craft has to stay below, `metres`", tow.DefaultOwnLimit, .01, 100)
	density := p.Density()
	mesh := p.Mesh()
	system := p.Units()
	svg := p.Flags.String("svg", "", "also draw a saved and lost flights, side by side, into this `file`")
	courses := p.Flags.String("courses", "", "also draw the courses of these flights over time into this `file`")
	roots := p.Flags.String("roots", "", "also draw how the modes wander with clearance, at the middle speed, into this `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		s := study{limit: *limit, clearances: *clearances, u: system()}
		if s.clearances == nil {
			s.clearances = []float64{.15, .2, .3, .4}
		}
		var err error
		if s.craft, err = craftFile(); err != nil {
			return err
		}
		if err := s.craft.Require(gecp.BlockWeights, gecp.BlockPilot, gecp.BlockTow); err != nil {
			return err
		}
		m, err := p.BuildMap(ctx, s.craft, *mesh, "fitting the map")
		if err != nil {
			return err
		}
		s.bounds = m.Range()
		if s.still, err = tow.NewSteadyTow(m, gecp.Freestream{Speed: 1, Density: *density}); err != nil {
			return err
		}
		if s.speeds = *speeds; s.speeds == nil {
			if s.speeds, err = s.flyable(ctx); err != nil {
				return err
			}
		}
		if err := s.fly(ctx, p.Stage("flying")); err != nil {
			return err
		}
		if err := s.report(out); err != nil {
			return err
		}
		var failed []error
		for _, picture := range []struct {
			file string
			draw func(io.Writer) error
		}{{*svg, s.strip}, {*courses, s.courses}, {*roots, s.roots}} {
			failed = append(failed, files.Draw(picture.file, picture.draw))
		}
		return errors.Join(failed...)
	}
}

// study is what was asked and found.
type study struct {
	craft              *gecp.Craft
	bounds             gecp.MapRange // where a flight ends
	still              tow.SteadyTow // of a speed that plays no part
	limit              float64       // m
	speeds, clearances []float64     // m/s, m
	flights            []flight      // one a line of the table
	u                  units.System
}

// flight is one line of the table.
type flight struct {
	tow              tow.SteadyTow
	speed, clearance float64
	mode             motion.Mode // the fastest growing, the pilot still
	reaction         motion.Reaction
	err              error // why no flight begins there
}

// flyable returns up to four speeds, spread over those at which a flight can begin at
// one of the clearances.
func (s *study) flyable(ctx context.Context) ([]float64, error) {
	const first, step, most = 5., .5, 4
	var all []float64
	var last error
	for v := first; v <= tow.MaxLiftOff; v += step {
		t, err := s.still.At(v)
		if err != nil {
			return nil, err
		}
		for _, c := range s.clearances {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if _, last = motion.NewFlight(t, c, motion.StandardSpeedUp()); last == nil {
				all = append(all, v)
				break
			}
		}
	}
	if len(all) == 0 {
		v := s.u.FineSpeed()
		return nil, fmt.Errorf("no flight can begin at any of the clearances between %s and %s; at the last of them: %w", v.Words(first, units.Nearest), v.Words(tow.MaxLiftOff, units.Nearest), last)
	}
	if len(all) <= most {
		return all, nil
	}
	var out []float64
	for i := range most {
		out = append(out, all[i*(len(all)-1)/(most-1)])
	}
	return out, nil
}

// fly fills in the lines of the table.
func (s *study) fly(ctx context.Context, tell func(part float64)) error {
	for i, v := range s.speeds {
		t, err := s.still.At(v)
		if err != nil {
			return err
		}
		for j, c := range s.clearances {
			f := flight{tow: t, speed: v, clearance: c}
			if f.reaction, f.err = motion.ReactionAt(ctx, t, c, s.limit); ctx.Err() != nil {
				return ctx.Err()
			}
			if f.err == nil && c >= s.limit {
				f.err = fmt.Errorf("%s is the limit: let go", s.u.LetGo(s.limit))
			}
			if f.err == nil {
				modes, err := motion.ModesAt(t, c)
				if err != nil {
					return err
				}
				f.mode = modes[0]
			}
			s.flights = append(s.flights, f)
			tell((float64(i) + float64(j+1)/float64(len(s.clearances))) / float64(len(s.speeds)))
		}
	}
	return nil
}

func (s *study) report(out io.Writer) error {
	b := bufio.NewWriter(out)
	u, up := s.u, motion.StandardSpeedUp().SpeedUp
	h, v := u.Clearance(), u.FineSpeed()
	fmt.Fprintf(b, "%s just off the water: the boat gains %s within %.0f s. How late may the pilot be?\n\n", s.craft.Name, u.Pace().Words(up.By, units.Nearest), up.Over)
	if words, ok := s.craft.CorrectionWords(); ok {
		fmt.Fprintf(b, "The wings' loads are %s.\n\n", words)
	}
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "speed\tclearance\tleft alone, a small upset\tmargin (1)\tmargin (2)\tshift\ttravel\tin words")
	for _, f := range s.flights {
		fmt.Fprintf(t, "%s\t%s\t", v.Words(f.speed, units.Nearest), h.Words(f.clearance, units.Nearest))
		if f.err != nil {
			fmt.Fprintf(t, "-\t-\t-\t-\t-\t%s\n", refusal(f.err))
			continue
		}
		r := f.reaction
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", f.mode, r.Knowing.Words(), r.Seeing.Words(), least(r.Shift, u.Pace()), least(r.Travel, u.Position()), r.Verdict())
	}
	t.Flush() // errors stay with b
	guessed := motion.GuessedRadii(s.craft)
	if guessed != "" {
		guessed += "\n"
	}
	fmt.Fprintf(b, `
Margin: the longest delay with which a pilot who answers height, pitch and their rates in proportion still brings the
craft to rest below %s, no float striking the water: (1) for %s,
(2) for %s. The smaller one counts, and makes the words.
%s.
%sShift and travel: the slowest top speed of shifting and the least travel that save it for a delay of %s.
A flight ends where the map does: past %.0f degrees nose-up, where a wing or a hard-met float is in the water, or past %s.
The pilots of the calculation know this craft and nothing else; a simulation teaches, it does not train.

%s
`, u.LetGo(s.limit), motion.KnowingPilot, motion.SeeingPilot, strings.ToUpper(motion.HumanRange[:1])+motion.HumanRange[1:],
		guessed, units.Seconds().Words(motion.DelayPosition, units.Nearest), gecp.Degrees(s.bounds.PitchMax), h.Words(s.bounds.ClearanceMax, units.Nearest), gecp.Cautions)
	return b.Flush()
}

// refusal returns the reason of an error of a flight, without the clearance and speed
// that the line of the table names already.
func refusal(err error) string {
	text := err.Error()
	if _, reason, ok := strings.Cut(text, "m/s: "); ok {
		text = reason
	}
	return "no flight begins here: " + text
}

func least(l motion.Least, u units.Unit) string {
	switch {
	case !l.OK:
		return "none saves"
	case l.None:
		return "none needed"
	}
	return u.Words(l.Value, units.Up)
}

// tells returns the flight whose margin is the nearest to what people need, and that
// margin: of those with a margin that counts or, if there is none, of the others.
func (s *study) tells() (f flight, m motion.Margin, err error) {
	best := math.Inf(1)
	look := func(of func(motion.Reaction) []motion.Margin) {
		for _, l := range s.flights {
			if l.err != nil || l.reaction.Fixed.Saved() {
				continue
			}
			for _, k := range of(l.reaction) {
				if off := math.Abs(k.Delay - tow.SlowestReaction); k.OK && !k.Beyond && off < best {
					best, f, m = off, l, k
				}
			}
		}
	}
	look(func(r motion.Reaction) []motion.Margin { return []motion.Margin{r.Counts()} })
	if math.IsInf(best, 1) {
		look(func(r motion.Reaction) []motion.Margin { return []motion.Margin{r.Knowing, r.Seeing} })
	}
	if math.IsInf(best, 1) {
		return f, m, errors.New("no flight of the table is saved by a reaction in time and lost by a late one; choose other -speeds or -clearances for the picture")
	}
	return f, m, nil
}
