package gecp

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

// Problem is one thing wrong with a craft file: where, and a sentence for the
// builder that tells the value and what is meant.
type Problem struct {
	Path string // like wings[0].stations[1].chord_m; empty for the file as a whole
	Text string
}

func (p Problem) String() string {
	if p.Path == "" {
		return p.Text
	}
	return p.Path + ": " + p.Text
}

// Problems is all that is wrong with a craft, in the order of the file's
// sections. It is never empty where it stands for an error.
type Problems []Problem

// Error returns the problems, one a line.
func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, q := range p {
		lines[i] = q.String()
	}
	return strings.Join(lines, "\n")
}

// Check returns nil for a craft that can be calculated, and otherwise [Problems],
// all of them: values out of range, not finite or at odds with each other, wings that
// pass through each other, wings in the water when the craft rests on its
// floats.
func (c *Craft) Check() error {
	k := checker{craft: c}
	k.check()
	if p := k.result(); p != nil {
		return p
	}
	return nil
}

// limit is the range of one number of the file, both ends allowed.
type limit struct {
	lo, hi     float64
	what, unit string // a phrase for "give ... between lo and hi unit"
}

func (l limit) sentence(key string, v float64) string {
	return fmt.Sprintf("%s is %s; give %s between %s and %s %s", key, num(v), l.what, num(l.lo), num(l.hi), l.unit)
}

// What the numbers of a craft must be to each other; the range of each by itself is in
// the schema. All are wide enough for a model of hand size and for the largest craft
// behind a boat, narrow enough to catch a slip of a unit or of the decimal point.
const (
	maxSweep = 80   // deg, of an edge and of the dihedral between neighbouring stations
	minBay   = 1e-3 // m between neighbouring stations
	minHalf  = .05  // m of half span
	minAR    = .2   // of a wing; a slender sliver lifts by its edges, which this lattice does not know
	maxAngle = 25   // deg, of a section to the datum line; stall comes long before
	maxRest  = 20   // deg of pitch at rest on the floats
	minPlate = 5e-3 // m; a strip of lattice must fit
	maxBays  = 60   // between stations, over all wings: with 4 rows 240 cells, some seconds for a map
)

// phrases are the words of each number's limit, by its place in the file: what to give,
// and its unit with what it is counted from. The ranges themselves are the schema's.
var phrases = map[string]struct{ what, unit string }{
	"parasite_area_m2": {"a parasite area", "m2"},

	"wings.x_m":               {"a root leading edge", "m aft of the datum"},
	"wings.z_m":               {"a root leading edge", "m above the datum"},
	"wings.incidence_deg":     {"an incidence", "deg"},
	"wings.thickness":         {"a thickness", "chords: the calculation is of thin wings"},
	"wings.camber.height":     {"a camber", "chords"},
	"wings.camber.at":         {"the place of the highest camber", "chords"},
	"wings.tip_plates.down_m": {"a plate's depth", "m"},
	"wings.tip_plates.up_m":   {"a plate's height", "m"},

	"wings.stations.y_m":       {"a place", "m from the centreline; the other side is its mirror image"},
	"wings.stations.chord_m":   {"a chord", "m"},
	"wings.stations.le_x_m":    {"a leading edge", "m aft of the root's"},
	"wings.stations.le_z_m":    {"a leading edge", "m above the root's"},
	"wings.stations.twist_deg": {"a twist", "deg"},

	"weights.mass_kg":  {"a mass", "kg"},
	"weights.x_m":      {"a place", "m aft of the datum"},
	"weights.z_m":      {"a place", "m above the datum"},
	"weights.radius_m": {"a radius of gyration", "m"},

	"pilot.mass_kg":       {"a mass", "kg"},
	"pilot.x_forward_m":   {"the foremost place of the pilot", "m aft of the datum"},
	"pilot.x_aft_m":       {"the aftmost place of the pilot", "m aft of the datum"},
	"pilot.z_m":           {"a place", "m above the datum"},
	"pilot.radius_m":      {"a radius of gyration", "m"},
	"pilot.max_shift_mps": {"a top speed of the pilot's shift", "m/s"},
	"pilot.y_m":           {"how far the pilot gets to either side", "m"},

	"tow.x_m":                {"a tow point", "m aft of the datum"},
	"tow.z_m":                {"a tow point", "m above the datum"},
	"tow.boat_height_m":      {"a line's end on the boat", "m above the water"},
	"tow.line_m":             {"a line's length", "m"},
	"tow.boat_length_m":      {"a boat's length", "m"},
	"tow.line_stiffness_n":   {"a line's stiffness EA", "N"},
	"tow.line_mass_kg_per_m": {"a line's mass per metre of its length", "kg per m"},

	"floats.x_m": {"a float", "m aft of the datum"},
	"floats.z_m": {"a float", "m above the datum"},

	"correction.lift_factor":           {"a factor of the lift", "of the calculated lift"},
	"correction.cp_offset_m":           {"an offset of the centre of pressure", "m, aft positive"},
	"correction.cp_offset_per_m":       {"a growth of the offset", "m per m of clearance"},
	"correction.lift_factor_error":     {"a standard error", "of the calculated lift"},
	"correction.cp_offset_error_m":     {"a standard error", "m"},
	"correction.cp_offset_per_m_error": {"a standard error", "m per m of clearance"},
	"correction.runs":                  {"a number of runs", "runs"},
}

// entries are the words for the entries of each list of the file.
var entries = map[string]string{
	"wings":          "wings",
	"wings.stations": "stations, from the centreline to the tip",
	"weights":        "weights",
	"floats":         "floats",
}

// maxProblems bounds what a hopeless file is told.
const maxProblems = 100

// checker collects the problems of a craft.
type checker struct {
	craft    *Craft
	problems Problems
	more     int // problems beyond maxProblems
}

func (k *checker) add(path, format string, args ...any) {
	if k.full() {
		k.more++
		return
	}
	k.problems = append(k.problems, Problem{path, fmt.Sprintf(format, args...)})
}

// full reports whether further problems are only counted.
func (k *checker) full() bool { return len(k.problems) >= maxProblems }

// result returns the problems with their owners' names, nil for none.
func (k *checker) result() Problems {
	for i, p := range k.problems {
		if o := k.craft.owner(p.Path); o != "" {
			k.problems[i].Text = o + ": " + p.Text
		}
	}
	if k.more > 0 {
		k.problems = append(k.problems, Problem{Text: fmt.Sprintf("and %d more like these", k.more)})
	}
	return k.problems
}

// broken reports whether the value at path, or what it belongs to, has a problem
// already; more would only echo it.
func (k *checker) broken(path string) bool {
	for _, p := range k.problems {
		if within(path, p.Path) {
			return true
		}
	}
	return false
}

// clean reports whether nothing at path or below has a problem.
func (k *checker) clean(path string) bool {
	for _, p := range k.problems {
		if within(p.Path, path) {
			return false
		}
	}
	return !k.broken(path)
}

// within reports whether path is whole or lies below it.
func within(path, whole string) bool {
	rest, ok := strings.CutPrefix(path, whole)
	return ok && whole != "" && (rest == "" || rest[0] == '.' || rest[0] == '[')
}

// section returns a path without its indices.
func section(path string) string {
	for {
		i := strings.IndexByte(path, '[')
		if i < 0 {
			return path
		}
		j := strings.IndexByte(path[i:], ']')
		if j < 0 {
			return path[:i]
		}
		path = path[:i] + path[i+j+1:]
	}
}

// owner says in words what a path belongs to: wing "front", station 2.
func (c *Craft) owner(path string) string {
	var words []string
	for _, part := range strings.Split(path, ".") {
		name, index, _ := strings.Cut(part, "[")
		i, err := strconv.Atoi(strings.TrimSuffix(index, "]"))
		numbered := err == nil
		switch {
		case name == "wings" && numbered:
			words = append(words, c.wingName(i))
		case name == "stations" && numbered:
			words = append(words, fmt.Sprintf("station %d", i+1))
		case name == "weights" && numbered && i < len(c.Weights) && c.Weights[i].Name != "":
			words = append(words, fmt.Sprintf("weight %q", short(c.Weights[i].Name)))
		case name == "weights" && numbered:
			words = append(words, fmt.Sprintf("weight %d", i+1))
		case name == "floats" && numbered:
			words = append(words, fmt.Sprintf("float %d", i+1))
		case name == "pilot", name == "tow", name == "camber", name == "correction":
			words = append(words, name)
		case name == "tip_plates":
			words = append(words, "tip plates")
		}
	}
	return strings.Join(words, ", ")
}

func (c *Craft) wingName(i int) string {
	if i < len(c.Wings) && strings.TrimSpace(c.Wings[i].Name) != "" {
		return fmt.Sprintf("wing %q", short(c.Wings[i].Name))
	}
	return fmt.Sprintf("wing %d", i+1)
}

func num(v float64) string {
	switch {
	case math.IsNaN(v):
		return "not a number"
	case math.IsInf(v, 0):
		return "infinite"
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// check adds the problems of the craft to those there are.
func (k *checker) check() {
	k.values(reflect.ValueOf(k.craft).Elem(), "")
	k.pilotAndTow()
	if k.broken("wings") {
		return
	}
	c := k.craft
	k.wingNames()
	bays := 0
	for i := range c.Wings {
		k.wing(i)
		bays += len(c.Wings[i].Stations) - 1
	}
	if bays > maxBays && k.clean("wings") {
		k.add("wings", "the wings have %d bays between stations in all; give at most %d: each takes a strip of the lattice of its own", bays, maxBays)
		return
	}
	for i := range c.Wings {
		for j := i + 1; j < len(c.Wings); j++ {
			if k.clean(fmt.Sprintf("wings[%d]", i)) && k.clean(fmt.Sprintf("wings[%d]", j)) {
				k.apart(i, j)
			}
		}
	}
	k.rest()
}

// values holds every number to its limit and every list to its count.
func (k *checker) values(v reflect.Value, path string) {
	for i, key := range keysOf(v.Type()) {
		f, at := v.Field(i), below(path, key.name)
		if key.optional && f.IsZero() || k.broken(at) {
			continue
		}
		if f.Kind() == reflect.Pointer && f.Elem().Kind() != reflect.Struct {
			f = f.Elem() // a number whose 0 is not that of an absent one
		}
		switch f.Kind() {
		case reflect.Float64:
			l := limits()[section(at)]
			if x := f.Float(); !(x >= l.lo && x <= l.hi) {
				k.add(at, "%s", l.sentence(key.name, x))
			}
		case reflect.Int:
			l := limits()[section(at)]
			if x := float64(f.Int()); !(x >= l.lo && x <= l.hi) {
				k.add(at, "%s", l.sentence(key.name, x))
			}
		case reflect.String:
			k.name(at, f.String())
		case reflect.Pointer:
			k.values(f.Elem(), at)
		case reflect.Struct:
			k.values(f, at)
		case reflect.Slice:
			c := counts()[section(at)]
			if n := f.Len(); n > c.most || n < c.least && !key.optional {
				k.miscount(at, n)
				continue
			}
			for j := range f.Len() {
				k.values(f.Index(j), fmt.Sprintf("%s[%d]", at, j))
			}
		}
	}
}

func (k *checker) miscount(path string, n int) {
	c := counts()[section(path)]
	k.add(path, "there are %d; give %d to %d %s", n, c.least, c.most, c.what)
}

// name holds a name to what a line of a report can show.
func (k *checker) name(path, s string) {
	const most = 80
	n := utf8.RuneCountInString(s)
	switch {
	case n > most:
		k.add(path, "the name %q has %d letters; give at most %d", short(s), n, most)
	case strings.TrimSpace(s) == "":
		k.add(path, "the name is empty; give one")
	case !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) || r == utf8.RuneError }):
		k.add(path, "the name %q holds signs that cannot be shown; use letters, digits, signs and spaces", s)
	}
}

// wingNames holds the names of wings, and of their plates, apart.
func (k *checker) wingNames() {
	used := map[string]int{}
	for i := range k.craft.Wings {
		w := &k.craft.Wings[i]
		at := fmt.Sprintf("wings[%d].name", i)
		if k.broken(at) {
			continue
		}
		plates := w.plates()
		for _, n := range []string{w.Name, plates[0].name, plates[1].name} {
			if first, ok := used[n]; ok {
				k.add(at, "the name %q is taken by wing %d or its tip plates; give each wing its own", short(w.Name), first+1)
				break
			}
			used[n] = i
		}
	}
}

// wing checks what the numbers of one wing must be to each other.
func (k *checker) wing(i int) {
	w := &k.craft.Wings[i]
	path := fmt.Sprintf("wings[%d]", i)
	for _, p := range []struct {
		key string
		v   float64
	}{{"down_m", w.TipPlates.Down}, {"up_m", w.TipPlates.Up}} {
		if at := path + ".tip_plates." + p.key; p.v > 0 && p.v < minPlate && k.clean(at) {
			k.add(at, "%s is %s; give 0, for no plate, or at least %s m", p.key, num(p.v), num(minPlate))
		}
	}
	if k.broken(path + ".stations") {
		return
	}
	ordered := true
	for j := range w.Stations {
		at := fmt.Sprintf("%s.stations[%d]", path, j)
		b := w.Stations[j]
		if k.clean(at+".twist_deg") && k.clean(path+".incidence_deg") && math.Abs(w.IncidenceDeg+b.TwistDeg) > maxAngle {
			k.add(at+".twist_deg", "incidence and twist are %s deg together; keep a section within %d deg of the datum line", num(w.IncidenceDeg+b.TwistDeg), maxAngle)
		}
		if j == 0 {
			continue
		}
		a := w.Stations[j-1]
		if !k.clean(at) || !k.clean(fmt.Sprintf("%s.stations[%d]", path, j-1)) {
			ordered = false
			continue
		}
		dy, dz := b.Y-a.Y, b.LEZ-a.LEZ
		if !(dy >= minBay) {
			ordered = false
			k.add(at+".y_m", "y_m is %s after %s: crossing stations; list them from the centreline outwards, each at least %s m further out", num(b.Y), num(a.Y), num(minBay))
			continue
		}
		steep := math.Tan(maxSweep * math.Pi / 180)
		if math.Abs(dz) > steep*dy {
			k.add(at+".le_z_m", "the wing rises or falls %s m within %s m of span, steeper than %d deg; move the station outwards, or use tip_plates for an upright part", num(math.Abs(dz)), num(dy), maxSweep)
		}
		// Chords are positive and sections stand along the stream, so the edges
		// themselves cannot meet between stations; a bay swept this far is a sliver
		// whose leading edge crosses the line of its trailing edge.
		width := math.Hypot(dy, dz)
		for _, edge := range []struct {
			name string
			dx   float64
		}{{"leading", b.LEX - a.LEX}, {"trailing", b.LEX + b.Chord - a.LEX - a.Chord}} {
			if math.Abs(edge.dx) > steep*width {
				k.add(at+".le_x_m", "the %s edge runs %s m along the craft within %s m of span, so that edges of neighbouring stations cross; keep its sweep below %d deg", edge.name, num(math.Abs(edge.dx)), num(width), maxSweep)
				break
			}
		}
	}
	n := len(w.Stations)
	if half := w.Stations[n-1].Y - w.Stations[0].Y; ordered && half < minHalf {
		k.add(fmt.Sprintf("%s.stations[%d].y_m", path, n-1), "the half span is %s m; give at least %s m", num(half), num(minHalf))
		return
	}
	if ordered {
		if ar := w.shape().AspectRatio; ar < minAR {
			k.add(path+".stations", "the wing's aspect ratio, span squared over area, is %.2g; give at least %s: more span or less chord", ar, num(minAR))
		}
	}
}

func (k *checker) pilotAndTow() {
	if p := k.craft.Pilot; p != nil && k.clean("pilot.x_forward_m") && k.clean("pilot.x_aft_m") && p.XForward > p.XAft {
		k.add("pilot.x_forward_m", "x_forward_m is %s, aft of x_aft_m, %s; x grows aft, so x_forward_m must be the smaller", num(p.XForward), num(p.XAft))
	}
	if t := k.craft.Tow; t != nil && k.clean("tow.line_m") && k.clean("tow.boat_height_m") && t.Line <= t.BoatHeight {
		k.add("tow.line_m", "line_m is %s, not longer than boat_height_m, %s; the line does not reach the water", num(t.Line), num(t.BoatHeight))
	}
}

// panel is a wing as the checks of its place see it.
type panel struct {
	name      string
	sections  []vlm.Station
	thickness float64
	plates    TipPlates
}

func (c *Craft) panel(i int) panel {
	w := &c.Wings[i]
	return panel{c.wingName(i), w.Sections(), w.Thickness, w.TipPlates}
}

func (p panel) first() float64 { return p.sections[0].LE.Y }
func (p panel) tip() float64   { return p.sections[len(p.sections)-1].LE.Y }

// reach returns between which x the wing's mean lines and plates lie: a ruled
// surface reaches no further than the sections at its stations.
func (p panel) reach() (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, s := range p.sections {
		for n := range curvePoints {
			x := s.Point(float64(n) / (curvePoints - 1)).X
			from, to = min(from, x), max(to, x)
		}
	}
	return from, to
}

// curvePoints is the number of points that stand for a mean line.
const curvePoints = 25

// cut is a wing's mean line at one place of the span.
type cut struct {
	x, z      [curvePoints]float64
	chord     float64
	thickness float64 // m
}

// at cuts the wing at y, which lies between its first and its last station.
func (p panel) at(y float64) (c cut) {
	j := 1
	for j < len(p.sections)-1 && p.sections[j].LE.Y < y {
		j++
	}
	a, b := p.sections[j-1], p.sections[j]
	t := (y - a.LE.Y) / (b.LE.Y - a.LE.Y)
	c.chord = (1-t)*a.Chord + t*b.Chord
	c.thickness = p.thickness * c.chord
	for n := range c.x {
		xi := float64(n) / (curvePoints - 1)
		q := r3.Add(r3.Scale(1-t, a.Point(xi)), r3.Scale(t, b.Point(xi)))
		c.x[n], c.z[n] = q.X, q.Z
	}
	return c
}

// above calls f with the height of every point of c over d's line where they lie
// over each other, and of c over every point of d.
func (c *cut) above(d *cut, f func(gap float64)) {
	one := func(c, d *cut, sign float64) {
		for i := range c.x {
			for j := 1; j < curvePoints; j++ {
				x0, x1 := d.x[j-1], d.x[j]
				if c.x[i] < min(x0, x1) || c.x[i] > max(x0, x1) || x0 == x1 {
					continue
				}
				t := (c.x[i] - x0) / (x1 - x0)
				f(sign * (c.z[i] - (1-t)*d.z[j-1] - t*d.z[j]))
			}
		}
	}
	one(c, d, 1)
	one(d, c, -1)
}

// apart adds a problem where wings i and j touch or pass through each other.
func (k *checker) apart(i, j int) {
	a, b := k.craft.panel(i), k.craft.panel(j)
	path := fmt.Sprintf("wings[%d]", j)
	lo, hi := max(a.first(), b.first()), min(a.tip(), b.tip())
	if lo > hi {
		return
	}
	fromA, toA := a.reach()
	if fromB, toB := b.reach(); toA < fromB || toB < fromA {
		return // neither is anywhere over the other
	}
	if y, ok := platesMeet(a, b); ok {
		k.add(path, "it and %s meet at a tip plate, at y = %s m; shorten tip_plates or move one of the wings", a.name, num(y))
		return
	}
	const steps = 64
	var ys []float64
	for n := 0; n <= steps; n++ {
		ys = append(ys, lo+(hi-lo)*float64(n)/steps)
	}
	for _, st := range slices.Concat(a.sections, b.sections) {
		if st.LE.Y > lo && st.LE.Y < hi {
			ys = append(ys, st.LE.Y)
		}
	}
	slices.Sort(ys)
	var side float64 // of the place before: the height of a over b
	worst, worstGap, worstY := 0., 0., 0.
	for _, y := range ys {
		ca, cb := a.at(y), b.at(y)
		least, most := math.Inf(1), math.Inf(-1)
		ca.above(&cb, func(gap float64) { least, most = min(least, gap), max(most, gap) })
		if least > most { // not over each other here
			side = 0
			continue
		}
		if least <= 0 && most >= 0 || side*least < 0 {
			k.add(path, "it passes through %s at y = %s m; move one of them in x_m or z_m", a.name, strconv.FormatFloat(y, 'g', 4, 64))
			return
		}
		side = least
		gap, need := min(math.Abs(least), math.Abs(most)), (ca.thickness+cb.thickness)/2
		if need-gap > worst {
			worst, worstGap, worstY = need-gap, gap, y
		}
	}
	if worst > 0 {
		k.add(path, "it lies inside %s: their mean lines are %.3g m apart at y = %.3g m, less than half of the two thicknesses, %.3g m; move one of them in x_m or z_m", a.name, worstGap, worstY, worstGap+worst)
	}
}

// platesMeet returns the y where a tip plate of one wing touches the other wing
// or its plate.
func platesMeet(a, b panel) (float64, bool) {
	const touch = 1e-6 // m
	for _, pair := range [2][2]panel{{a, b}, {b, a}} {
		p, q := pair[0], pair[1]
		y := p.tip()
		if p.plates == (TipPlates{}) || y < q.first()-touch || y > q.tip()+touch {
			continue
		}
		plate, other := p.at(y), q.at(min(max(y, q.first()), q.tip()))
		reach := p.plates
		if math.Abs(y-q.tip()) <= touch { // the other's plates stand in the same plane
			reach.Down += q.plates.Up
			reach.Up += q.plates.Down
		}
		meets := false
		plate.above(&other, func(gap float64) { meets = meets || gap <= reach.Down && gap >= -reach.Up })
		if meets {
			return y, true
		}
	}
	return 0, false
}

// rest adds a problem for every wing that lies in the water when the craft rests
// on its floats.
func (k *checker) rest() {
	if len(k.craft.Floats) == 0 || !k.clean("floats") {
		return
	}
	rest, _ := k.craft.Rest()
	pitch, height := rest.Pitch, rest.Height
	if math.Abs(Degrees(pitch)) > maxRest {
		k.add("floats", "the craft would rest on its floats at %.1f deg of pitch; place them so that it rests within %d deg", Degrees(pitch), maxRest)
		return
	}
	for i := range k.craft.Wings {
		path := fmt.Sprintf("wings[%d]", i)
		if !k.clean(path) {
			continue
		}
		one := Craft{Wings: k.craft.Wings[i : i+1]}
		low := one.LowestPoints().At(pitch)
		if under := low.Depth - height; under > 1e-9 {
			k.add(path, "it lies %.3g m under water, at x = %.3g m, when the craft rests on its floats at %.1f deg of pitch; raise the wing's z_m or lower the z_m of the floats by that much", under, low.X, Degrees(pitch))
		}
	}
}
