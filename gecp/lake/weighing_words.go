package lake

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// WeighingSteps returns how to weigh a craft, in five lines.
func WeighingSteps() []string {
	return []string{
		"Nobody sits on the craft, it is dry, and nothing is aboard but what its file lists; work indoors, out of the wind.",
		"Put the craft on two or more scales of one kind, its datum line level by a spirit level, on a hard level floor; each scale under one support, far apart, and note where each support stands aft of the datum.",
		"Raise the nose by 15 degrees or more on blocks, the supports on the same scales and free to slide; note the angle of the datum line and the readings once more. A helper holds the craft from tipping and takes no weight.",
		"Hang the craft level from a bar across it, straight above its centre of gravity, high enough to clear the floor; let it swing in pitch by less than 5 degrees and time ten full swings, there and back. Secure it with a slack second line, nobody under it.",
		"Read everything twice. Add the pilot to the file as they are dressed for the lake, wet.",
	}
}

// mostText is the longest list of scales that is read, bytes.
const mostText = 1000

// ParseScales reads a list of scales as in "0.40:38.5,4.40:31.5": where the craft stands
// on each, aft of the datum, and its reading, in the units of [units.System.FinePosition]
// and FineMass; behind a second colon the height of that support above the datum. Where
// that is not given it is that of the line through the craft's foremost and aftmost float,
// or 0 without floats. The error names the entry.
func ParseScales(s string, c *gecp.Craft, u units.System) ([]Scale, error) {
	length, mass := u.FinePosition().Size, u.FineMass().Size
	if len(s) > mostText {
		return nil, fmt.Errorf("the list of scales has %d letters; give at most %d", len(s), mostText)
	}
	var out []Scale
	for i, entry := range strings.Split(s, ",") {
		parts := strings.Split(entry, ":")
		if len(parts) < 2 || len(parts) > 3 {
			return nil, fmt.Errorf("scale %d is %q; give place and reading as in 0.40:38.5, the scales parted by commas", i+1, shortCell(strings.TrimSpace(entry)))
		}
		var v [3]float64
		for j, p := range parts {
			x, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
			if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
				return nil, fmt.Errorf("%q of scale %d is not a number; give place and reading as in 0.40:38.5", shortCell(strings.TrimSpace(p)), i+1)
			}
			v[j] = x
		}
		k := Scale{X: v[0] * length, Mass: v[1] * mass, Z: v[2] * length}
		if len(parts) == 2 {
			k.Z = supportHeight(c, k.X)
		}
		out = append(out, k)
	}
	return out, nil
}

// supportHeight returns the height of the floats' line at x, m above the datum.
func supportHeight(c *gecp.Craft, x float64) float64 {
	if len(c.Floats) == 0 {
		return 0
	}
	fore, aft := c.Floats[0], c.Floats[0]
	for _, f := range c.Floats {
		if f.X < fore.X {
			fore = f
		}
		if f.X > aft.X {
			aft = f
		}
	}
	if aft.X-fore.X < .1 {
		return fore.Z
	}
	return fore.Z + (aft.Z-fore.Z)*(x-fore.X)/(aft.X-fore.X)
}

// WeighedRow is a line of what was weighed beside the craft file, in words.
type WeighedRow struct {
	Name       string
	Weighed    string // "–" if it was not measured
	Within     string // twice the standard uncertainty, within which 19 of 20 weighings lie
	File       string // the sum of the file's weights
	Difference string // weighed less file
	Agrees     bool   // the difference lies within Within, or nothing can be said
}

// Rows sets what was weighed beside the sum of the craft file's weights.
func (w Weighed) Rows(c *gecp.Craft, u units.System) []WeighedRow {
	sum, known := Sum(c)
	row := func(name string, unit units.Unit, v Uncertain, file float64) WeighedRow {
		r := WeighedRow{name, none, none, none, none, true}
		if v.OK {
			r.Weighed, r.Within = unit.Words(v.Value, units.Nearest), unit.Words(2*v.Error, units.Up)
		}
		if known {
			r.File = unit.Words(file, units.Nearest)
		}
		if v.OK && known {
			r.Difference = unit.Signed(v.Value-file) + " " + unit.Name
			r.Agrees = math.Abs(v.Value-file) <= 2*v.Error
		}
		return r
	}
	m, p := u.FineMass(), u.FinePosition()
	return []WeighedRow{
		row("mass", m, w.Mass, sum.Mass),
		row("centre of gravity, aft of the datum", p, w.X, sum.X),
		row("centre of gravity, above the datum", p, w.Z, sum.Z),
		row("radius of gyration in pitch", p, w.Radius, sum.Radius()),
	}
}

// Sentences says what the weighing means for the craft.
func (w Weighed) Sentences(c *gecp.Craft, u units.System) []string {
	var out []string
	sum, known := Sum(c)
	if !known {
		return []string{"The craft file has no weights to compare with."}
	}
	beyond := false
	for _, r := range w.Rows(c, u) {
		beyond = beyond || !r.Agrees
	}
	if beyond {
		out = append(out, "The file's weights do not add up to what was weighed: the difference is more than the readings can be off.")
	} else {
		out = append(out, "The file's weights agree with what was weighed, within what the readings can be off.")
	}
	if p := c.Pilot; p != nil {
		// Both with the pilot in the middle of the travel of the file's craft.
		cg, _ := c.CG(p.Middle())
		moved := ((w.Mass.Value+p.Mass)*cg-w.Mass.Value*w.X.Value)/p.Mass - p.Middle()
		way := "aft"
		if moved < 0 {
			way = "forward"
		}
		out = append(out, fmt.Sprintf("For the same centre of gravity in flight the pilot sits %s further %s than with the file's weights.", u.FinePosition().Words(math.Abs(moved), units.Nearest), way))
	}
	if !w.Z.OK {
		out = append(out, "The height of the centre of gravity was not weighed; a corrected file keeps that of the file's weights.")
	}
	switch {
	case w.Radius.OK:
		out = append(out, fmt.Sprintf("The air that swings along with the wings, by an estimate with strips of flat plate, is taken off; without that the radius would be %s.", u.FinePosition().Words(math.Sqrt(w.Radius.Value*w.Radius.Value+w.Air/w.Mass.Value), units.Nearest)))
	case sum.Pitch > 0:
		out = append(out, "The radius of gyration was not measured; a corrected file keeps that of the file's weights.")
	}
	return out
}
