// Command compare puts two craft side by side: which values of their files differ,
// and what that does to the pilot's travel, the ceilings, the pull and the speed at
// which they leave the water. Without files it compares the demo craft with itself,
// the last wing's incidence raised by one degree.
package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("compare", "Two craft side by side; without files the demo craft and the same with its last wing one degree up.", "the comparison")
	p.Files = 2
	p.Flags.Func("craft", "not for this program: it takes two `files`, compare A.json B.json", func(string) error {
		return errors.New("name the two craft files without a flag: compare A.json B.json")
	})
	speed := p.Number("speed", "speed through the air for both, `m/s`; a little above the later lift-off, the pilot in the middle, if not given", math.NaN(), .1, gecp.MaxSpeed)
	density := p.Density()
	mesh := p.Mesh()
	system := p.Units()
	return p, func(ctx context.Context, out io.Writer) error {
		a, b := gecp.Demo(), gecp.Demo()
		b.Name += ", last wing one degree more"
		b.Wings[len(b.Wings)-1].IncidenceDeg++
		if len(p.Given) == 2 {
			var err error
			if a, err = p.ReadCraft(p.Given[0]); err != nil {
				return err
			}
			if b, err = p.ReadCraft(p.Given[1]); err != nil {
				return err
			}
		}
		var both [2]side
		for i, c := range []*gecp.Craft{a, b} {
			var err error
			if both[i], err = build(ctx, c, *mesh, *density, p); err != nil {
				return fmt.Errorf("%s: %w", c.Name, err)
			}
		}
		v := *speed
		if math.IsNaN(v) {
			v = later(both)
		}
		for i := range both {
			p.Stage("looking for the towing range of " + both[i].craft.Name)
			if err := both[i].measure(ctx, v, *density); err != nil {
				return fmt.Errorf("%s: %w", both[i].craft.Name, err)
			}
		}
		return report(out, both, v, system())
	}
}

// side is one of the two craft and what was found of it.
type side struct {
	craft   *gecp.Craft
	m       *gecp.Map
	windows [3]tow.Window // with the pilot at the stops
	towed   tow.Range
	travel  tow.Travel // over the heights from just clear of the floats up to the usual own limit
}

// stops are the positions of the pilot compared.
var stops = [3]lake.Stop{lake.StopAft, lake.StopMiddle, lake.StopForward}

func build(ctx context.Context, c *gecp.Craft, mesh gecp.Mesh, density float64, p *command.Program) (side, error) {
	s := side{craft: c}
	if err := c.Require(gecp.BlockPilot, gecp.BlockWeights, gecp.BlockTow, gecp.BlockFloats); err != nil {
		return s, err
	}
	var err error
	if s.m, err = p.BuildMap(ctx, c, mesh, "fitting the map of "+c.Name); err != nil {
		return s, err
	}
	for i, stop := range stops {
		if s.windows[i], err = tow.FindWindow(ctx, s.m, density, stop.At(c.Pilot)); err != nil {
			return s, err
		}
	}
	return s, nil
}

// later returns a speed a little above the later lift-off of the two, the pilot in the
// middle.
func later(both [2]side) float64 {
	v := 0.
	for _, s := range both {
		if l := s.windows[lake.StopMiddle].LiftOff; l.OK {
			v = math.Max(v, l.Speed)
		}
	}
	if v == 0 {
		return 15
	}
	return math.Ceil(2*v) / 2
}

func (s *side) measure(ctx context.Context, speed, density float64) error {
	t, err := tow.NewSteadyTow(s.m, gecp.Freestream{Speed: speed, Density: density})
	if err != nil {
		return err
	}
	if s.towed, err = t.Range(ctx, tow.Rules{Reaction: motion.InTime}); err != nil || !s.towed.Flies {
		return err
	}
	c := s.towed.Curve
	low := c.States[0].Clearance
	s.travel, err = c.Travel(low, math.Max(low, math.Min(tow.DefaultOwnLimit, c.States[len(c.States)-1].Clearance)))
	return err
}

// row is one thing compared. A value that does not exist is told in words.
type row struct {
	what  string
	unit  units.Unit
	round units.Rounding
	value [2]float64 // SI
	words [2]string
}

// position is one along the craft, the others are sizes.
const position = "pilot's position there"

func rows(both [2]side, u units.System) []row {
	var rs []row
	add := func(what string, unit units.Unit, round units.Rounding, get func(s *side) (float64, string)) {
		r := row{what: what, unit: unit, round: round}
		for i := range both {
			r.value[i], r.words[i] = get(&both[i])
		}
		rs = append(rs, r)
	}
	flying := func(get func(s *side) (float64, string)) func(s *side) (float64, string) {
		return func(s *side) (float64, string) {
			if !s.towed.Flies {
				return 0, "does not fly"
			}
			return get(s)
		}
	}
	ceiling := func(k tow.LimitKind) func(s *side) (float64, string) {
		return flying(func(s *side) (float64, string) {
			if l := s.towed.Limits[k]; l.OK {
				return l.At, ""
			}
			return 0, "not met"
		})
	}
	towed := func(get func(r *tow.Range) float64) func(s *side) (float64, string) {
		return func(s *side) (float64, string) {
			if !s.towed.OK {
				return 0, "do not fly"
			}
			return get(&s.towed), ""
		}
	}
	v := u.FineSpeed()
	for i, stop := range stops {
		at := map[lake.Stop]string{lake.StopAft: "aft", lake.StopMiddle: "in the middle", lake.StopForward: "forward"}[stop]
		add("lift-off speed with the pilot "+at, v, units.Up, func(s *side) (float64, string) {
			if !s.windows[i].LiftOff.OK {
				return 0, "none found"
			}
			return s.windows[i].LiftOff.Speed, ""
		})
		add("speed window with the pilot "+at, v, units.Nearest, func(s *side) (float64, string) {
			if !s.windows[i].OK {
				return 0, "none"
			}
			return v.Rounded(s.windows[i].To, units.Down) - v.Rounded(s.windows[i].From, units.Up), "" // as the words have it
		})
	}
	add("let-go height", u.Clearance(), units.Down, towed(func(r *tow.Range) float64 { return r.High.Clearance }))
	add("lowest clearance to tow at", u.Clearance(), units.Up, towed(func(r *tow.Range) float64 { return r.Low.Clearance }))
	add(position, u.Position(), units.Nearest, towed(func(r *tow.Range) float64 { return r.Low.Pilot.X }))
	add("self-holding ceiling", u.Clearance(), units.Down, ceiling(tow.LimitSelfHolding))
	add("ceiling of the pilot's reach", u.Clearance(), units.Down, ceiling(tow.LimitReach))
	add("pilot's travel needed from the floats up", u.Position(), units.Up, flying(func(s *side) (float64, string) { return s.travel.Aft - s.travel.Forward, "" }))
	add("line tension", u.Force(), units.Up, flying(func(s *side) (float64, string) { return s.towed.LineTension, "" }))
	return rs
}

func (r row) cell(i int) string {
	if r.words[i] != "" {
		return r.words[i]
	}
	return r.unit.Number(r.value[i], r.round)
}

// change says in a plain sentence what the second craft does to a value.
func (r row) change() string {
	a, b := r.cell(0), r.cell(1)
	switch {
	case a == b && r.words[0] != "":
		return fmt.Sprintf("The %s: %s, for both.", r.what, a)
	case a == b:
		return fmt.Sprintf("The %s stays the same.", r.what)
	case r.words[0] != "" || r.words[1] != "":
		return fmt.Sprintf("The %s was: %s. Now: %s.", r.what, a, b)
	}
	verb := [2]string{"rises", "falls"}
	if r.what == position {
		verb = [2]string{"moves aft", "moves forward"}
	}
	way := verb[0]
	if r.value[1] < r.value[0] {
		way = verb[1]
	}
	return fmt.Sprintf("The %s %s from %s to %s %s.", r.what, way, a, b, r.unit.Name)
}

func report(out io.Writer, both [2]side, speed float64, u units.System) error {
	w := bufio.NewWriter(out)
	fmt.Fprintf(w, "A  %s\nB  %s\n\nWhat differs in the craft files:\n", both[0].craft.Name, both[1].craft.Name)
	diffs, err := differences(both[0].craft, both[1].craft)
	if err != nil {
		return err
	}
	if diffs == nil {
		fmt.Fprintln(w, "  nothing")
	}
	for _, d := range diffs {
		fmt.Fprintf(w, "  %s\n", d)
	}
	fmt.Fprintf(w, "\nWhat it does, in flight at %s; positions aft of the datum:\n\n", u.FineSpeed().Words(speed, units.Nearest))
	rs := rows(both, u)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "\t\tA\tB\n")
	for _, r := range rs {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", r.what, r.unit.Name, r.cell(0), r.cell(1))
	}
	t.Flush()
	fmt.Fprintln(w)
	for _, r := range rs {
		fmt.Fprintln(w, r.change())
	}
	for i, s := range both {
		fmt.Fprintf(w, "\n%c at this speed: %s\n", 'A'+rune(i), s.towed.Words(u))
		for j, window := range s.windows {
			fmt.Fprintf(w, "%c, pilot %s: %s.\n", 'A'+rune(i), stops[j], window.Words(u))
		}
	}
	fmt.Fprintf(w, "\n%s\n", gecp.Cautions)
	return w.Flush()
}

// differences lists the keys of the two craft files whose values differ.
func differences(a, b *gecp.Craft) ([]string, error) {
	var flat [2]map[string]string
	var keys []string
	for i, c := range []*gecp.Craft{a, b} {
		var text bytes.Buffer
		if err := c.Write(&text); err != nil {
			return nil, err
		}
		var v any
		if err := json.Unmarshal(text.Bytes(), &v); err != nil {
			return nil, err
		}
		flat[i] = map[string]string{}
		flatten(flat[i], "", v)
		for k := range flat[i] {
			if !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	slices.Sort(keys)
	var d []string
	for _, k := range keys {
		va, vb := flat[0][k], flat[1][k]
		or := func(s string) string {
			if s == "" {
				return "absent"
			}
			return s
		}
		if va != vb {
			d = append(d, fmt.Sprintf("%s: %s, then %s", k, or(va), or(vb)))
		}
	}
	return d, nil
}

func flatten(to map[string]string, path string, v any) {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			if path != "" {
				k = path + "." + k
			}
			flatten(to, k, x)
		}
	case []any:
		for i, x := range v {
			flatten(to, path+"["+strconv.Itoa(i)+"]", x)
		}
	case string:
		to[path] = strconv.Quote(v)
	default:
		to[path] = fmt.Sprint(v)
	}
}
