package design

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/spelling"
)

// Dimension is a number of a craft that a builder can change. Its path is that of the craft
// file, as wings[1].x_m or wings[0].stations[1].chord_m, counted from 0. What changes a whole
// wing has a path of its own:
//
//   - wings[i].span_m, from tip to tip: all stations move outwards in proportion, sweep and dihedral
//     stay as they are;
//   - wings[i].chord_m, the mean chord (area over span): all chords grow in proportion, the leading edge
//     stays where it is;
//   - wings[i].sweep_deg, of the straight line from the root's leading edge to the tip's, aft positive:
//     the sections slide aft in proportion to their distance from the root;
//   - wings[i].dihedral_deg, of the same line, tip up positive, likewise;
//   - wings[i].twist_deg, of the tip against the root, nose-up positive: it grows evenly from the root.
//
// And pilot.x_m shifts both ends of the pilot's travel; its value is how far aft of the craft
// file's, so that it is 0 for any craft.
type Dimension struct {
	Path  string
	Unit  string  // as in the craft file: m, deg, kg, m2, N, m/s, or chords
	Value float64 // of the craft
	// Step is what a builder would change it by at least: 10 mm, half a degree, 1 kg. Chosen figures.
	Step float64
	// Detail marks a single station of a wing; the paths of the whole wing move it, too.
	Detail bool
	// Motion marks what plays no part in a balance, only in the motion and so in the reaction
	// margin.
	Motion bool
}

// kind is what is known of a number of the craft file by its place.
type kind struct {
	step           float64
	detail, motion bool
}

// kinds are the numbers that a builder can change. What is not here can be set but is no
// builder's choice: what runs on the water have told, and the boat's length.
var kinds = map[string]kind{
	"wings.x_m":                {step: .01},
	"wings.z_m":                {step: .01},
	"wings.incidence_deg":      {step: .5},
	"wings.stations.y_m":       {step: .01, detail: true},
	"wings.stations.chord_m":   {step: .01, detail: true},
	"wings.stations.le_x_m":    {step: .01, detail: true},
	"wings.stations.le_z_m":    {step: .01, detail: true},
	"wings.stations.twist_deg": {step: .5, detail: true},
	"wings.camber.height":      {step: .005},
	"wings.camber.at":          {step: .05},
	"wings.thickness":          {step: .01},
	"wings.tip_plates.down_m":  {step: .05},
	"wings.tip_plates.up_m":    {step: .05},

	"weights.mass_kg":  {step: 1},
	"weights.x_m":      {step: .01},
	"weights.z_m":      {step: .01},
	"weights.radius_m": {step: .01, motion: true},

	"pilot.mass_kg":       {step: 1},
	"pilot.x_forward_m":   {step: .01},
	"pilot.x_aft_m":       {step: .01},
	"pilot.z_m":           {step: .01},
	"pilot.radius_m":      {step: .01, motion: true},
	"pilot.max_shift_mps": {step: .05, motion: true},
	"pilot.y_m":           {step: .01, motion: true},

	"tow.x_m":              {step: .01},
	"tow.z_m":              {step: .01},
	"tow.boat_height_m":    {step: .1},
	"tow.line_m":           {step: 1},
	"tow.line_stiffness_n": {step: 1000, motion: true},

	"floats.x_m": {step: .01},
	"floats.z_m": {step: .01},

	"parasite_area_m2": {step: .01},
}

// PilotShift is the path of a shift of both ends of the pilot's travel, m aft of where the
// craft file has them.
const PilotShift = "pilot.x_m"

// wholeWing is a dimension of a wing with all its stations.
type wholeWing struct {
	key  string
	step float64
	get  func(w *gecp.Wing) float64
	set  func(w *gecp.Wing, v float64) // finite; whether the wing is sound is for Check
}

// defaultCamberAt is the place of the highest camber where a flat wing is given one, in chords:
// that of the sections 2412 and 4412 that builders know best.
const defaultCamberAt = .4

func wholeWings() []wholeWing {
	root := func(w *gecp.Wing) *gecp.Station { return &w.Stations[0] }
	tip := func(w *gecp.Wing) *gecp.Station { return &w.Stations[len(w.Stations)-1] }
	half := func(w *gecp.Wing) float64 { return tip(w).Y - root(w).Y }
	// slope is the angle, deg, of a line over the half span by what of a station it runs along.
	slope := func(key string, of func(s *gecp.Station) *float64) wholeWing {
		get := func(w *gecp.Wing) float64 { return gecp.Degrees(math.Atan2(*of(tip(w))-*of(root(w)), half(w))) }
		return wholeWing{key, .5, get, func(w *gecp.Wing, v float64) {
			more := math.Tan(gecp.Radians(v)) - math.Tan(gecp.Radians(get(w)))
			y0 := root(w).Y
			for i := range w.Stations {
				*of(&w.Stations[i]) += more * (w.Stations[i].Y - y0)
			}
		}}
	}
	span := func(w *gecp.Wing) float64 { return 2 * tip(w).Y }
	chord := func(w *gecp.Wing) float64 {
		var area float64
		for i := 1; i < len(w.Stations); i++ {
			a, b := w.Stations[i-1], w.Stations[i]
			area += (b.Y - a.Y) * (a.Chord + b.Chord) / 2
		}
		return area / half(w)
	}
	washout := func(w *gecp.Wing) float64 { return tip(w).TwistDeg - root(w).TwistDeg }
	return []wholeWing{
		{"span_m", .01, span, func(w *gecp.Wing, v float64) {
			f, r := v/span(w), *root(w)
			for i := range w.Stations {
				s := &w.Stations[i]
				s.Y *= f
				s.LEX = r.LEX + f*(s.LEX-r.LEX)
				s.LEZ = r.LEZ + f*(s.LEZ-r.LEZ)
			}
		}},
		{"chord_m", .01, chord, func(w *gecp.Wing, v float64) {
			f := v / chord(w)
			for i := range w.Stations {
				w.Stations[i].Chord *= f
			}
		}},
		slope("sweep_deg", func(s *gecp.Station) *float64 { return &s.LEX }),
		slope("dihedral_deg", func(s *gecp.Station) *float64 { return &s.LEZ }),
		{"twist_deg", .5, washout, func(w *gecp.Wing, v float64) {
			more, y0, h := v-washout(w), root(w).Y, half(w)
			for i := range w.Stations {
				w.Stations[i].TwistDeg += more * (w.Stations[i].Y - y0) / h
			}
		}},
	}
}

// number is a number of a craft with its path.
type number struct {
	path  string
	value float64
	set   func(v float64) // changes the craft that it was found in; v is finite
}

// numbers returns all numbers of a craft that has passed Check, in the order of the file, those of a
// whole wing before its stations.
func numbers(c *gecp.Craft) []number {
	var all []number
	var walk func(v reflect.Value, path string)
	walk = func(v reflect.Value, path string) {
		switch v.Kind() {
		case reflect.Pointer:
			if !v.IsNil() {
				walk(v.Elem(), path)
			}
		case reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i), fmt.Sprintf("%s[%d]", path, i))
			}
		case reflect.Float64:
			all = append(all, number{path, v.Float(), v.SetFloat})
		case reflect.Struct:
			if path == "pilot" {
				p := c.Pilot
				all = append(all, number{PilotShift, 0, func(by float64) { p.XForward += by; p.XAft += by }})
			}
			for i := range v.NumField() {
				key, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
				if w, ok := v.Addr().Interface().(*gecp.Wing); ok && key == "stations" {
					for _, d := range wholeWings() {
						all = append(all, number{path + "." + d.key, d.get(w), func(v float64) { d.set(w, v) }})
					}
				}
				walk(v.Field(i), strings.TrimPrefix(path+"."+key, "."))
			}
		}
	}
	walk(reflect.ValueOf(c).Elem(), "")
	for i := range c.Wings {
		w := &c.Wings[i]
		at := fmt.Sprintf("wings[%d].camber.height", i)
		j := slices.IndexFunc(all, func(n number) bool { return n.path == at })
		all[j].set = func(v float64) {
			w.Camber.Height = v
			w.Camber.At = cmp.Or(w.Camber.At, defaultCamberAt)
		}
	}
	return all
}

var indices = regexp.MustCompile(`\[\d+\]`)

// unitOf returns the unit of a path, from the end of its key.
func unitOf(path string) string {
	switch {
	case strings.HasSuffix(path, "_deg"):
		return "deg"
	case strings.HasSuffix(path, "_kg"):
		return "kg"
	case strings.HasSuffix(path, "_m2"):
		return "m2"
	case strings.HasSuffix(path, "_mps"):
		return "m/s"
	case strings.HasSuffix(path, "_n"):
		return "N"
	case strings.HasSuffix(path, "_m"):
		return "m"
	}
	return "chords"
}

// Dimensions lists what a builder can change in a craft that passes Check, in the order of the
// craft file: of each wing its place, incidence, span, mean chord, sweep, dihedral, twist, its
// stations one by one, camber, thickness and tip plates; weights, pilot, tow, floats and
// parasite area. Left out are the place of a camber that a wing does not have, and a stiffness
// or top speed that the file does not state.
func Dimensions(c *gecp.Craft) []Dimension {
	c = c.Clone() // the setters of numbers are not to reach the caller's
	var all []Dimension
	for _, n := range numbers(c) {
		k, ok := kindOf(n.path)
		at := indices.ReplaceAllString(n.path, "")
		absent := n.value == 0 && (at == "wings.camber.at" || at == "tow.line_stiffness_n" || at == "pilot.max_shift_mps" || at == "pilot.y_m") ||
			at == "wings.camber.at" && c.Wings[wingOf(n.path)].Camber.Height == 0
		if !ok || absent {
			continue
		}
		all = append(all, Dimension{Path: n.path, Unit: unitOf(n.path), Value: n.value, Step: k.step, Detail: k.detail, Motion: k.motion})
	}
	return all
}

// kindOf returns what is known of a path; ok is false if it is no builder's choice.
func kindOf(path string) (k kind, ok bool) {
	at := indices.ReplaceAllString(path, "")
	if at == PilotShift {
		return kind{step: .01}, true
	}
	if key, is := strings.CutPrefix(at, "wings."); is {
		for _, d := range wholeWings() {
			if d.key == key {
				return kind{step: d.step}, true
			}
		}
	}
	k, ok = kinds[at]
	return k, ok
}

// wingOf returns the number of the wing that a path belongs to, -1 for none.
func wingOf(path string) int {
	rest, ok := strings.CutPrefix(path, "wings[")
	if !ok {
		return -1
	}
	n, _, _ := strings.Cut(rest, "]")
	i, err := strconv.Atoi(n)
	if err != nil {
		return -1
	}
	return i
}

// Set returns a copy of a craft with one of its numbers changed: any number of the craft
// file, and the paths of [Dimension]. The craft passes Check. A path that the craft does not have
// is an error that names the nearest ones; a value that makes no sound craft returns the
// [gecp.Problems] of Check.
func Set(c *gecp.Craft, path string, value float64) (*gecp.Craft, error) {
	n := c.Clone()
	if err := put(n, path, value); err != nil {
		return nil, err
	}
	if err := n.Check(); err != nil {
		return nil, err
	}
	return n, nil
}

// SetAll is Set of several numbers, in their order; only the last craft has to pass Check, so
// that numbers that belong together can change together.
func SetAll(c *gecp.Craft, settings []Setting) (*gecp.Craft, error) {
	n := c.Clone()
	var wrong []error
	for _, s := range settings {
		wrong = append(wrong, put(n, s.Path, s.Value))
	}
	if err := errors.Join(wrong...); err != nil {
		return nil, err
	}
	if err := n.Check(); err != nil {
		return nil, err
	}
	return n, nil
}

// put changes a number of a craft in place; whether the craft is still sound is not looked at.
func put(c *gecp.Craft, path string, value float64) error {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return fmt.Errorf("%s is to be %v; give a finite number", path, value)
	}
	n, err := find(c, path)
	if err != nil {
		return err
	}
	n.set(value)
	return nil
}

// find returns the number of a craft with a path. A path that the craft does not have is an
// error that names the nearest ones.
func find(c *gecp.Craft, path string) (number, error) {
	all := numbers(c)
	for _, n := range all {
		if n.path == path {
			return n, nil
		}
	}
	switch {
	case c.Pilot == nil && strings.HasPrefix(path, "pilot."):
		return number{}, fmt.Errorf("%s is no dimension of the craft: %w", path, c.Require(gecp.BlockPilot))
	case c.Tow == nil && strings.HasPrefix(path, "tow."):
		return number{}, fmt.Errorf("%s is no dimension of the craft: %w", path, c.Require(gecp.BlockTow))
	}
	return number{}, fmt.Errorf("%s is no dimension of the craft; the nearest are %s", cmp.Or(path, "an empty name"), strings.Join(nearest(path, all), ", "))
}

// nearest returns the three paths that are spelt most like one.
func nearest(path string, all []number) []string {
	const most = 80 // letters looked at
	path = path[:min(len(path), most)]
	paths := make([]string, len(all))
	far := make(map[string]int, len(all))
	for i, n := range all {
		paths[i], far[n.path] = n.path, spelling.Distance(path, n.path)
	}
	slices.SortStableFunc(paths, func(a, b string) int { return far[a] - far[b] })
	return paths[:min(3, len(paths))]
}

// Setting is a number of a craft and what to set it to.
type Setting struct {
	Path  string // as in Set
	Value float64
}

// String returns the setting as ParseSet reads it.
func (s Setting) String() string {
	return s.Path + "=" + strconv.FormatFloat(s.Value, 'g', -1, 64)
}

// ParseSet reads a setting as a command line has it, such as "wings[1].x_m=3.2". Whether a
// craft has the dimension is not looked at.
func ParseSet(text string) (Setting, error) {
	wrong := func(what string) (Setting, error) {
		return Setting{}, fmt.Errorf("%q: %s; write a dimension and its value as wings[1].x_m=3.2", text, what)
	}
	path, number, ok := strings.Cut(text, "=")
	path, number = strings.TrimSpace(path), strings.TrimSpace(number)
	switch {
	case !ok:
		return wrong("it has no = between the dimension and its value")
	case path == "":
		return wrong("the dimension is missing")
	}
	v, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return wrong(fmt.Sprintf("%q is not a number", number))
	}
	return Setting{path, v}, nil
}
