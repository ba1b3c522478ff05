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
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"slices"
	"strconv"

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
	fs := flag.NewFlagSet("compare", flag.ContinueOnError)
	speed := fs.Float64("speed", 0, "speed through the air for both, `m/s`; a little above the later lift-off if not given")
	density := fs.Float64("density", gecp.AirDensity, "air density, `kg/m3`")
	us := fs.Bool("us", false, "print inches, pounds and miles per hour")
	fs.Usage = func() {
		fmt.Fprintln(fs.Output(), "usage: compare [flags] [craft.json other.json]")
		fs.PrintDefaults()
	}
	if err := fs.Parse(args); err != nil {
		return err
	}
	a, b := gecp.Demo(), gecp.Demo()
	switch fs.NArg() {
	case 0:
		b.Name += ", last wing one degree more"
		b.Wings[len(b.Wings)-1].IncidenceDeg++
	case 2:
		var err error
		if a, err = gecp.ReadFile(fs.Arg(0)); err != nil {
			return err
		}
		if b, err = gecp.ReadFile(fs.Arg(1)); err != nil {
			return err
		}
	default:
		return fmt.Errorf("%d craft file was given; give two to compare, or none for the demo craft", fs.NArg())
	}
	var both [2]side
	for i, c := range []*gecp.Craft{a, b} {
		var err error
		if both[i], err = build(ctx, c, *density); err != nil {
			return fmt.Errorf("%s: %w", c.Name, err)
		}
	}
	if *speed == 0 {
		*speed = later(both)
	}
	for i := range both {
		if err := both[i].measure(*speed, *density); err != nil {
			return fmt.Errorf("%s: %w", both[i].craft.Name, err)
		}
	}
	u := metric
	if *us {
		u = customary
	}
	return report(out, both, *speed, u)
}

// side is one of the two craft and what was found of it.
type side struct {
	craft   *gecp.Craft
	m       *gecp.Map
	liftOff [3]gecp.LiftOff
	fold    gecp.Fold
	folds   bool

	why    string // it does not fly at the speed
	low    gecp.Trim
	self   gecp.Ceiling
	reach  gecp.Ceiling
	travel gecp.Travel
	to     float64 // m, where the travel is counted to
}

// stops are the places of the pilot compared.
var stops = [3]gecp.Stop{gecp.Aft, gecp.Middle, gecp.Forward}

func build(ctx context.Context, c *gecp.Craft, density float64) (side, error) {
	s := side{craft: c}
	if err := c.Require(gecp.BlockPilot, gecp.BlockWeights, gecp.BlockTow, gecp.BlockFloats); err != nil {
		return s, err
	}
	var err error
	if s.m, err = c.BuildMap(ctx, gecp.MapOptions{}); err != nil {
		return s, err
	}
	for i, stop := range stops {
		if s.liftOff[i], err = s.m.LiftOff(stop.At(c.Pilot), density); err != nil {
			return s, err
		}
	}
	s.fold, s.folds, err = s.m.Fold(gecp.Middle.At(c.Pilot), density, 5, 30)
	return s, err
}

// later returns a speed a little above the later lift-off of the two.
func later(both [2]side) float64 {
	v := 0.
	for _, s := range both {
		for _, l := range s.liftOff {
			if l.OK {
				v = math.Max(v, l.Speed)
			}
		}
	}
	if v == 0 {
		return 15
	}
	return math.Ceil(2*v) / 2
}

func (s *side) measure(speed, density float64) error {
	r, err := s.m.Run(speed, density)
	if err != nil {
		return err
	}
	all, err := r.TrimCurve()
	if err != nil {
		s.why = err.Error()
		return nil
	}
	c, ok := all.AboveFloats()
	if !ok {
		s.why = "the wings carry the weight only at heights where a float still lies in the water"
		return nil
	}
	s.low, s.self = c.States[0], c.SelfHolding()
	if s.reach, err = c.Reach(); err != nil {
		return err
	}
	s.to = math.Min(.6, c.States[len(c.States)-1].Clearance)
	s.to = math.Max(s.to, s.low.Clearance)
	s.travel, err = c.Travel(s.low.Clearance, s.to)
	return err
}

// units is a system of units for the table.
type units struct {
	length, speed, force                   float64 // SI in one unit
	lengthName, speedName, forceName       string
	lengthDecimals, speedDecimals, forceDc int
}

var (
	metric    = units{1, 1, 1, "m", "m/s", "N", 2, 1, 0}
	customary = units{.0254, .44704, 4.4482216152605, "in", "mph", "lbf", 1, 1, 1} // NIST SP 811
)

// row is one thing compared. A value that does not exist is told in words.
type row struct {
	what     string
	unit     string
	decimals int
	value    [2]float64 // in the unit
	words    [2]string
}

// place is a position along the craft, the others are sizes.
const place = "pilot's place there"

func rows(both [2]side, u units) []row {
	var rs []row
	add := func(what, unit string, decimals int, size float64, get func(s *side) (float64, string)) {
		r := row{what: what, unit: unit, decimals: decimals}
		for i := range both {
			v, words := get(&both[i])
			r.value[i], r.words[i] = v/size, words
		}
		rs = append(rs, r)
	}
	length := func(what string, get func(s *side) (float64, string)) {
		add(what, u.lengthName, u.lengthDecimals, u.length, func(s *side) (float64, string) {
			if s.why != "" {
				return 0, "does not fly"
			}
			return get(s)
		})
	}
	limit := func(l gecp.Ceiling) (float64, string) {
		switch {
		case l.OK:
			return l.Clearance, ""
		case l.Always:
			return 0, "to the top"
		}
		return 0, "none"
	}
	for i, stop := range stops {
		add("lift-off speed with the pilot "+map[gecp.Stop]string{gecp.Aft: "aft", gecp.Middle: "in the middle", gecp.Forward: "forward"}[stop], u.speedName, u.speedDecimals, u.speed, func(s *side) (float64, string) {
			if !s.liftOff[i].OK {
				return 0, "none found"
			}
			return s.liftOff[i].Speed, ""
		})
	}
	add("runaway speed with the pilot in the middle", u.speedName, u.speedDecimals, u.speed, func(s *side) (float64, string) {
		if !s.folds {
			return 0, "none found"
		}
		return s.fold.Speed, ""
	})
	length("clearance with the floats just clear", func(s *side) (float64, string) { return s.low.Clearance, "" })
	length(place, func(s *side) (float64, string) { return s.low.Pilot.X, "" })
	length("pilot's travel needed from there up", func(s *side) (float64, string) { return s.travel.Aft - s.travel.Forward, "" })
	length("self-holding ceiling", func(s *side) (float64, string) { return limit(s.self) })
	length("ceiling of the pilot's reach", func(s *side) (float64, string) { return limit(s.reach) })
	add("pull with the floats just clear", u.forceName, u.forceDc, u.force, func(s *side) (float64, string) {
		if s.why != "" {
			return 0, "does not fly"
		}
		return s.low.LineTension, ""
	})
	return rs
}

func (r row) cell(i int) string {
	if r.words[i] != "" {
		return r.words[i]
	}
	return fmt.Sprintf("%.*f", r.decimals, r.value[i])
}

// change says in a plain sentence what the second craft does to a value.
func (r row) change() string {
	a, b := r.cell(0), r.cell(1)
	switch {
	case a == b:
		return fmt.Sprintf("The %s stays the same.", r.what)
	case r.words[0] != "" || r.words[1] != "":
		return fmt.Sprintf("The %s was: %s. Now: %s.", r.what, a, b)
	}
	verb := [2]string{"rises", "falls"}
	if r.what == place {
		verb = [2]string{"moves aft", "moves forward"}
	}
	way := verb[0]
	if r.value[1] < r.value[0] {
		way = verb[1]
	}
	return fmt.Sprintf("The %s %s from %s to %s %s.", r.what, way, a, b, r.unit)
}

func report(out io.Writer, both [2]side, speed float64, u units) error {
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
	fmt.Fprintf(w, "\nWhat it does, in flight at %.1f %s; places aft of the datum, travel up to a clearance of %.*f %s for A and %.*f for B:\n\n", speed/u.speed, u.speedName, u.lengthDecimals, both[0].to/u.length, u.lengthName, u.lengthDecimals, both[1].to/u.length)
	rs := rows(both, u)
	fmt.Fprintf(w, "%-43s %4s %13s %13s\n", "", "", "A", "B")
	for _, r := range rs {
		fmt.Fprintf(w, "%-43s %4s %13s %13s\n", r.what, r.unit, r.cell(0), r.cell(1))
	}
	fmt.Fprintln(w)
	for _, r := range rs {
		fmt.Fprintln(w, r.change())
	}
	for i, s := range both {
		if s.why != "" {
			fmt.Fprintf(w, "%c does not fly at this speed: %s.\n", 'A'+rune(i), s.why)
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
