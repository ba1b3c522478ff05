package design

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/groundeffect/gecp"
)

// Variation is a dimension of a craft that a search may change, within bounds in the unit
// of the craft file.
type Variation struct {
	Path     string // as in Set
	From, To float64
}

// ParseVariations reads a list of variations as a command line has it, such as
// "wings[1].x_m=3..4.5,wings[1].incidence_deg=0..6". An error tells which entry is wrong
// and what is meant; whether the craft has the dimension is not looked at.
func ParseVariations(s string) ([]Variation, error) {
	var out []Variation
	for _, entry := range strings.Split(s, ",") {
		v, err := parseVariation(strings.TrimSpace(entry))
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

func parseVariation(entry string) (Variation, error) {
	wrong := func(what string) (Variation, error) {
		return Variation{}, fmt.Errorf("%q: %s; write a dimension with its bounds as wings[1].x_m=3..4.5, several with commas between them", entry, what)
	}
	path, bounds, ok := strings.Cut(entry, "=")
	if !ok {
		return wrong("it has no = between the dimension and its bounds")
	}
	low, high, ok := strings.Cut(bounds, "..")
	if !ok {
		return wrong("its bounds have no .. between them")
	}
	v := Variation{Path: strings.TrimSpace(path)}
	if v.Path == "" {
		return wrong("the dimension is missing")
	}
	for _, b := range []struct {
		text string
		to   *float64
	}{{low, &v.From}, {high, &v.To}} {
		x, err := strconv.ParseFloat(strings.TrimSpace(b.text), 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			return wrong(fmt.Sprintf("%q is not a number", b.text))
		}
		*b.to = x
	}
	if !(v.From < v.To) {
		return wrong("its bounds must rise")
	}
	return v, nil
}

// String returns the variation as ParseVariations reads it.
func (v Variation) String() string {
	num := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	return v.Path + "=" + num(v.From) + ".." + num(v.To)
}

// check returns an error if the bounds do not rise or the craft lacks the dimension.
func (v Variation) check(c *gecp.Craft) error {
	if !(v.From < v.To) || math.IsInf(v.From, 0) || math.IsInf(v.To, 0) {
		return fmt.Errorf("%s is to vary from %v to %v; give finite bounds that rise", v.Path, v.From, v.To)
	}
	_, err := v.value(c)
	return err
}

// value returns where the dimension of a craft stands, in the unit of the craft file; 0 for a
// shift.
func (v Variation) value(c *gecp.Craft) (float64, error) {
	n, err := find(c, v.Path)
	return n.value, err
}

// step returns the step that a builder would make in the dimension, in its unit of the craft file: 10 mm, half
// a degree, 1 kg, and a hundredth of what has no unit.
func (v Variation) step() float64 {
	switch {
	case strings.HasSuffix(v.Path, "_deg"):
		return .5
	case strings.HasSuffix(v.Path, "_kg"):
		return 1
	}
	return .01
}
