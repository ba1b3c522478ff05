package design

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// moves are the words of a change by the place of its dimension: %s is whose, what follows after the
// bar is the way up and the way down of a movement, or empty for more and less.
var moves = map[string]struct{ what, up, down string }{
	"wings.x_m":               {"moving %s by", "aft", "forward"},
	"wings.z_m":               {"moving %s by", "up", "down"},
	"wings.incidence_deg":     {"turning %s by", "nose-up", "nose-down"},
	"wings.twist_deg":         {"twisting the tips of %s by", "nose-up", "nose-down"},
	"wings.span_m":            {"span of %s", "", ""},
	"wings.chord_m":           {"mean chord of %s", "", ""},
	"wings.sweep_deg":         {"sweep of %s", "", ""},
	"wings.dihedral_deg":      {"dihedral of %s", "", ""},
	"wings.camber.height":     {"camber of %s", "", ""},
	"wings.camber.at":         {"moving the highest camber of %s by", "aft", "forward"},
	"wings.thickness":         {"thickness of %s", "", ""},
	"wings.tip_plates.down_m": {"tip plate below %s", "", ""},
	"wings.tip_plates.up_m":   {"tip plate above %s", "", ""},
	"weights.mass_kg":         {"in %s", "", ""},
	"weights.x_m":             {"moving %s by", "aft", "forward"},
	"weights.z_m":             {"moving %s by", "up", "down"},
	"pilot.mass_kg":           {"of pilot", "", ""},
	"pilot.x_m":               {"moving the pilot's travel by", "aft", "forward"},
	"pilot.x_forward_m":       {"moving the foremost stop of the pilot by", "aft", "forward"},
	"pilot.x_aft_m":           {"moving the aftmost stop of the pilot by", "aft", "forward"},
	"pilot.z_m":               {"moving the pilot by", "up", "down"},
	"tow.x_m":                 {"moving the tow point by", "aft", "forward"},
	"tow.z_m":                 {"moving the tow point by", "up", "down"},
	"tow.boat_height_m":       {"moving the line's end on the boat by", "up", "down"},
	"tow.line_m":              {"line", "", ""},
	"floats.x_m":              {"moving %s by", "aft", "forward"},
	"floats.z_m":              {"moving %s by", "up", "down"},
	"parasite_area_m2":        {"parasite area", "", ""},
}

// ChangeWords says a change of a dimension of a craft, in its unit of the craft file: "turning wing
// "rear" by 0.5° nose-up".
func (d Dimension) ChangeWords(c *gecp.Craft, by float64, u units.System) string {
	m, ok := moves[indices.ReplaceAllString(d.Path, "")]
	amount := d.Amount(math.Abs(by), u)
	if !ok {
		return amount + moreOrLess(by) + d.Path
	}
	what := m.what
	if strings.Contains(what, "%s") {
		what = fmt.Sprintf(what, owner(c, d.Path))
	}
	switch {
	case m.up == "":
		return amount + moreOrLess(by) + what
	case by < 0:
		return what + " " + amount + " " + m.down
	}
	return what + " " + amount + " " + m.up
}

func moreOrLess(by float64) string {
	if by < 0 {
		return " less "
	}
	return " more "
}

// owner says whose a dimension is.
func owner(c *gecp.Craft, path string) string {
	section, rest, _ := strings.Cut(path, "[")
	number, _, _ := strings.Cut(rest, "]")
	i, err := strconv.Atoi(number)
	switch {
	case err != nil:
		return section
	case section == "wings" && i < len(c.Wings):
		return fmt.Sprintf("wing %q", c.Wings[i].Name)
	case section == "weights" && i < len(c.Weights):
		return fmt.Sprintf("weight %q", c.Weights[i].Name)
	}
	return fmt.Sprintf("%s %d", strings.TrimSuffix(section, "s"), i+1)
}

// Amount returns an amount of the dimension, in its unit of the craft file, with a unit for
// people. A length of a metre or more, and a length of line, is in metres or feet.
func (d Dimension) Amount(v float64, u units.System) string {
	short := func(size float64, decimals int) string {
		n := units.Unit{Size: size, Decimals: decimals}.Number(v, units.Nearest)
		if strings.Contains(n, ".") {
			n = strings.TrimRight(strings.TrimRight(n, "0"), ".")
		}
		return n
	}
	switch d.Unit {
	case "deg":
		return short(1, 2) + "°"
	case "chords":
		return short(.01, 2) + " % of the chord"
	case "kg":
		if u.IsCustomary() {
			return short(units.Pound, 1) + " lb"
		}
		return short(1, 1) + " kg"
	case "m":
		switch long := math.Abs(v) >= 1; {
		case long && u.IsCustomary():
			return short(units.Foot, 2) + " ft"
		case long:
			return short(1, 3) + " m"
		case u.IsCustomary():
			return short(units.Inch, 2) + " in"
		}
		return short(1e-3, 1) + " mm"
	}
	return short(1, 3) + " " + d.Unit
}
