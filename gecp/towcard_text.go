package gecp

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// thin is the depth of a band of heights under which a card warns of it, m: a
// chosen figure.
const thin = .1

// touchy is how many times farther than the pilot moves a craft may rise before a
// card warns of it: a chosen figure.
const touchy = 5

// rests reports whether the craft has no height to fly at and, with the pilot at the
// start, stays on its floats.
func (r *TowRung) rests() bool {
	return !r.Usable && r.Water.Known && r.Water.Support != SupportNone
}

// verdict says in plain words what to expect at a rung.
func (t *TowCard) verdict(r *TowRung) string {
	h, p := t.Units.height(), t.Units.place()
	var s []string
	say := func(format string, a ...any) { s = append(s, fmt.Sprintf(format, a...)) }
	switch {
	case r.Usable:
		move := "moving aft to " + p.words(r.High.Pilot.X)
		if p.words(r.High.Pilot.X) == p.words(r.Low.Pilot.X) {
			move = "moving aft by less than can be told here"
		}
		say("Rides at %s with the pilot at %s; %s raises it to %s %s.",
			h.words(r.Low.Clearance), p.words(r.Low.Pilot.X), move, h.down(r.High.Clearance), h.name)
		why := [...]string{
			BoundSelf:  "higher up the craft no longer holds its height by itself",
			BoundReach: "higher up the pilot's travel soon ends",
			BoundOwn:   "your own limit",
			BoundMap:   "the calculation ends there",
		}[r.Bound]
		say("Let go above %s %s: %s.", h.down(r.High.Clearance), h.name, why)
		d := r.High.Clearance - r.Low.Clearance
		if d < thin {
			say("Only %s lie between the two.", t.Units.small(d))
		}
		if by := d / (r.High.Pilot.X - r.Low.Pilot.X); by > touchy {
			say("Touchy: it rises about %.0f times as far as the pilot moves.", by)
		}
	case r.rests():
		say("%s", t.water(r.Water.OnFloats))
		if r.Flies {
			say("Thrown clear of the water it would hold no height by itself.")
		}
	case r.Flies:
		switch {
		case !r.SelfHolding.OK && !r.SelfHolding.Always:
			say("Off the water it holds no height by itself, wherever the pilot sits.")
		case r.Low.TravelMargin < -.005: // told in centimetres
			say("It holds no height within the pilot's travel: just off the water they would have to be %s.", t.beyond(r.Low))
		default:
			say("It holds no height within the pilot's travel.")
		}
		if r.Water.Known {
			say("Stay slower: with the pilot at %s it leaves the water.", p.words(t.Start))
		}
	default:
		say("It does not fly: %s.", r.Grounded)
	}
	if r.Peak.Over() && !r.rests() {
		say("The flow may leave wing %q: its section lift of %.2f is over the limit of %.2f, and the figures mean little.", r.Peak.Wing, r.Peak.LiftCoefficient, r.Peak.Limit)
	}
	if r.Usable && r.Depression.Share > flatEnough {
		say("The water gives way by %.0f %% of the clearance.", 100*r.Depression.Share)
	}
	return strings.Join(s, " ")
}

func (t *TowCard) water(s OnFloats) string {
	left := 100 * (1 - s.Carried)
	switch s.Support {
	case SupportAftFloat:
		return fmt.Sprintf("On the aft float, %s: it carries %.0f %% of the weight.", tilt(s.Pitch, 0), left)
	case SupportForeFloat:
		return fmt.Sprintf("On the fore float, %s: it carries %.0f %% of the weight.", tilt(s.Pitch, 0), left)
	}
	return fmt.Sprintf("On the floats: they carry %.0f %% of the weight.", left)
}

// beyond says how far the pilot is out of reach of a state.
func (t *TowCard) beyond(b Trim) string {
	if p := t.Craft.Pilot; b.Pilot.X < p.XForward {
		return t.Units.place().words(p.XForward-b.Pilot.X) + " further forward than the craft lets them"
	}
	return t.Units.place().words(b.Pilot.X-t.Craft.Pilot.XAft) + " further aft than the craft lets them"
}

// facts are the sentences around the table.
func (t *TowCard) facts() []string {
	h, p, v, m := t.Units.height(), t.Units.place(), t.Units.speed(), t.Units.mass()
	var s []string
	say := func(format string, a ...any) { s = append(s, fmt.Sprintf(format, a...)) }
	say("Craft %s, pilot %s, together %s.", m.words(t.Craft.EmptyMass()), m.words(t.Craft.Pilot.Mass), m.words(t.Craft.Mass()))
	lift := func(l LiftOff) string {
		switch {
		case l.Holds:
			return fmt.Sprintf("lifts off at %s and settles at %s", v.words(l.Speed), h.words(l.To))
		case l.OK:
			return fmt.Sprintf("lifts off at %s and finds no height to hold", v.words(l.Speed))
		case l.State.Support == SupportForeFloat:
			return fmt.Sprintf("does not lift off up to %s: it stays on its fore float", v.words(liftOffMost))
		case l.State.Support == SupportAftFloat:
			return "turns up on its aft float out of the calculation"
		}
		return fmt.Sprintf("does not lift off up to %s", v.words(liftOffMost))
	}
	if t.NoFloats != "" {
		say("Nothing is known of the run on the water: %s.", oneLine(t.NoFloats))
	} else {
		say("Run up with the pilot at %s: the craft %s.", p.words(t.Start), lift(t.LiftOffs[0]))
		for i, l := range t.LiftOffs[1:] {
			if samePlace(l.Pilot, t.Start) {
				continue
			}
			say("Pilot %s, at %s: it %s.", Stop(i), p.words(l.Pilot), lift(l))
		}
	}
	for i := range t.Rungs {
		if r := &t.Rungs[i]; r.rests() && r.Peak.Over() {
			say("On the floats the flow may leave wing %q, its section lift of %.2f being over the limit of %.2f: there the wings may carry less than told.", r.Peak.Wing, r.Peak.LiftCoefficient, r.Peak.Limit)
			break
		}
	}
	for _, f := range t.Folds {
		say("Pilot kept at %s: above %s it finds no height to hold and runs away upwards from about %s.", p.words(f.Pilot), v.words(f.Speed), h.words(f.Clearance))
	}
	say("At %s: %s", v.words(t.WakeAt), t.Wake.words(t.Units))
	var worst *TowRung
	for i := range t.Rungs {
		if r := &t.Rungs[i]; r.Usable && (worst == nil || r.Depression.Share > worst.Depression.Share) {
			worst = r
		}
	}
	if worst != nil {
		say("%s", worst.Depression.words(t.Units))
	}
	return s
}

// notes are what the reader of the table has to know.
func (t *TowCard) notes() []string {
	h := t.Units.height()
	n := []string{
		fmt.Sprintf("Let-go height: the lowest of the height that the craft holds by itself, the end of the pilot's reach less %s, and your own limit of %s; rounded down.", h.words(t.Margin), h.words(t.Limit)),
		"Heights are clearances under the lowest point of the wings; places of the pilot are aft of the datum (the nose). Speeds are through calm air.",
		"+ The water's drag on the floats comes on top of the pull. The floats count as points that the water holds up.",
		"Hardest strip: the section lift of the wing strip nearest to its limit, in per cent of it. ! Over it, and the figures mean little.",
	}
	if t.Flights != nil {
		n = append(n, fmt.Sprintf("May be late: how late the pilot may react, at the lowest and at the let-go height, when the boat gains %.0f m/s within %.0f s, and the craft still settles; lost: no reaction saves it within the pilot's travel. Published delays of people are %.2f to %.2f s (McRuer et al., AFFDL-TR-65-15, from memory), more for the unpractised. A simulation teaches, it does not train.", StandardLeap.SpeedUp.By, StandardLeap.SpeedUp.Over, DelayPosition, DelayAcceleration))
	}
	return n
}

// column is a column of the card's table.
type column struct {
	head, unit string
	cell       func(r *TowRung) string
}

// columns returns those of the table for the tow, and those of the figures behind
// it.
func (t *TowCard) columns() (tow, behind []column) {
	u := t.Units
	h, p, v, f := u.height(), u.place(), u.speed(), u.force()
	limit := func(flies bool, l Ceiling, all string) string {
		switch {
		case !flies:
			return "–"
		case l.OK:
			return h.number(l.Clearance)
		case l.Always:
			return all
		}
		return "none"
	}
	held := func(s Stop) func(*TowRung) string { return func(r *TowRung) string { return t.held(r, s) } }
	speed := column{"speed", v.name, func(r *TowRung) string { return v.number(r.Speed) }}
	tow = []column{
		speed,
		{"let go above", h.name, t.letGo},
		{"pilot, from", p.name, func(r *TowRung) string { return t.pilot(r, r.Low) }},
		{"pilot, to", p.name, func(r *TowRung) string { return t.pilot(r, r.High) }},
		{"pull", f.name, t.pull},
		{"on the floats", "% of weight", t.onFloats},
	}
	behind = []column{
		speed,
		{"held, pilot aft", h.name, held(Aft)},
		{"held, middle", h.name, held(Middle)},
		{"held, forward", h.name, held(Forward)},
		{"self-holding to", h.name, func(r *TowRung) string { return limit(r.Flies, r.SelfHolding, "all") }},
		{"reach to", h.name, func(r *TowRung) string { return limit(r.Flies, r.Reach, "all") }},
		{"hardest strip", "% of limit", func(r *TowRung) string {
			if r.Peak.Limit == 0 {
				return "–"
			}
			flag := ""
			if r.Peak.Over() {
				flag = " !"
			}
			return fmt.Sprintf("%s %.0f%s", r.Peak.Wing, 100*math.Abs(r.Peak.LiftCoefficient)/r.Peak.Limit, flag)
		}},
		{"may be late, from", "s", func(r *TowRung) string { return t.mayBeLate(r, 0) }},
		{"may be late, to", "s", func(r *TowRung) string { return t.mayBeLate(r, 1) }},
		{"water down", "", func(r *TowRung) string {
			if !r.Flies || r.rests() {
				return "–"
			}
			return u.small(r.Depression.Depth)
		}},
	}
	if t.Flights == nil {
		behind = slices.DeleteFunc(behind, func(c column) bool { return strings.HasPrefix(c.head, "may be late") })
	}
	return tow, behind
}

// mayBeLate tells the reaction margin at the lowest (0) or the let-go height (1).
func (t *TowCard) mayBeLate(r *TowRung, at int) string {
	switch l := r.Late[at]; {
	case !l.Told:
		return "–"
	case !l.Known:
		return "lost"
	case l.Beyond:
		return fmt.Sprintf("over %d", MaxDelay)
	default:
		return fmt.Sprintf("%.2f", l.Margin)
	}
}

func (t *TowCard) letGo(r *TowRung) string {
	switch {
	case r.Usable && r.Peak.Over():
		return t.Units.height().down(r.High.Clearance) + " !"
	case r.Usable:
		return t.Units.height().down(r.High.Clearance)
	case r.rests():
		return "on the water"
	}
	return "do not fly"
}

func (t *TowCard) pilot(r *TowRung, b Trim) string {
	if !r.Usable {
		return "–"
	}
	return t.Units.place().number(b.Pilot.X)
}

func (t *TowCard) pull(r *TowRung) string {
	switch f := t.Units.force().number(r.Pull); {
	case r.rests():
		return f + " +"
	case r.Flies:
		return f
	}
	return "–"
}

func (t *TowCard) onFloats(r *TowRung) string {
	if !r.Water.Known {
		return "–"
	}
	return fmt.Sprintf("%.0f", 100*(1-r.Water.Carried))
}

// held lists the heights held with the pilot at a stop.
func (t *TowCard) held(r *TowRung, s Stop) string {
	if !r.Flies {
		return "–"
	}
	var l []string
	for _, hold := range r.Holds[s] {
		n := t.Units.height().number(hold.Clearance)
		if !hold.HeightStable {
			n = "unstable " + n
		}
		l = append(l, n)
	}
	if l == nil {
		return "none"
	}
	return strings.Join(l, ", ")
}

// oneLine keeps text from outside on the line where it is put.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

func (t *TowCard) title() string { return "Tow card of " + oneLine(t.Craft.Name) }

// WriteText writes the card for a terminal or a typewriter face.
func (t *TowCard) WriteText(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "%s\n\n", t.title())
	tow, behind := t.columns()
	t.grid(b, tow)
	b.WriteByte('\n')
	t.grid(b, behind)
	b.WriteByte('\n')
	v := t.Units.speed()
	for i := range t.Rungs {
		wrap(b, fmt.Sprintf("%3s %s  ", v.number(t.Rungs[i].Speed), v.name), t.Rungs[i].Verdict)
	}
	for _, part := range [][]string{t.facts(), t.notes(), {Cautions}} {
		b.WriteByte('\n')
		for _, s := range part {
			wrap(b, "", s)
		}
	}
	return b.Flush()
}

// grid writes columns, each as wide as its widest cell.
func (t *TowCard) grid(b *bufio.Writer, cols []column) {
	table := make([][]string, 2+len(t.Rungs))
	wide := make([]int, len(cols))
	for j, c := range cols {
		table[0] = append(table[0], c.head)
		table[1] = append(table[1], c.unit)
		for i := range t.Rungs {
			table[2+i] = append(table[2+i], c.cell(&t.Rungs[i]))
		}
		for i := range table {
			wide[j] = max(wide[j], utf8.RuneCountInString(table[i][j]))
		}
	}
	for _, row := range table {
		line := ""
		for j, cell := range row {
			line += strings.Repeat(" ", wide[j]-utf8.RuneCountInString(cell)) + cell + "  "
		}
		fmt.Fprintln(b, strings.TrimRight(line, " "))
	}
}

// wrap writes a text behind a head, its lines no longer than 100 letters if words
// allow.
func wrap(b *bufio.Writer, head, text string) {
	const width = 100
	b.WriteString(head)
	indent := utf8.RuneCountInString(head)
	at := indent
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > width:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	b.WriteByte('\n')
}

// WriteMarkdown writes the card as Markdown with a table.
func (t *TowCard) WriteMarkdown(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# %s\n\n", markdown(t.title()))
	tow, behind := t.columns()
	t.pipes(b, tow)
	v := t.Units.speed()
	b.WriteString("\n## Speed by speed\n\n")
	for i := range t.Rungs {
		fmt.Fprintf(b, "- **%s** %s\n", v.words(t.Rungs[i].Speed), markdown(t.Rungs[i].Verdict))
	}
	b.WriteString("\n## Figures behind it\n\n")
	t.pipes(b, behind)
	b.WriteString("\n## The craft\n\n")
	for _, s := range t.facts() {
		fmt.Fprintf(b, "- %s\n", markdown(s))
	}
	b.WriteString("\n## Reading the card\n\n")
	for _, s := range t.notes() {
		fmt.Fprintf(b, "- %s\n", markdown(s))
	}
	fmt.Fprintf(b, "\n**%s**\n", Cautions)
	return b.Flush()
}

// pipes writes columns as a Markdown table.
func (t *TowCard) pipes(b *bufio.Writer, cols []column) {
	for _, c := range cols {
		fmt.Fprintf(b, "| %s ", strings.TrimSuffix(c.head+", "+c.unit, ", "))
	}
	b.WriteString("|\n" + strings.Repeat("|--:", len(cols)) + "|\n")
	for i := range t.Rungs {
		for _, c := range cols {
			fmt.Fprintf(b, "| %s ", markdown(c.cell(&t.Rungs[i])))
		}
		b.WriteString("|\n")
	}
}

// markdown keeps text from being read as mark-up.
func markdown(s string) string {
	var b strings.Builder
	for _, r := range oneLine(s) {
		if strings.ContainsRune("\\`*_{}[]<>#|~&", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// WriteCSV writes the card's figures, unrounded, in its units; the words follow the
// # of comment lines. A figure that does not exist is an empty field.
func (t *TowCard) WriteCSV(w io.Writer) error {
	b := bufio.NewWriter(w)
	u := t.Units
	h, v, f := u.height(), u.speed(), u.force()
	fmt.Fprintf(b, "# %s\n", t.title())
	for _, part := range [][]string{t.facts(), t.notes(), {Cautions}} {
		for _, s := range part {
			fmt.Fprintf(b, "# %s\n", oneLine(s))
		}
	}
	num := func(ok bool, x, unit float64) string {
		if !ok {
			return ""
		}
		return strconv.FormatFloat(x/unit, 'g', 6, 64)
	}
	speed := strings.ReplaceAll(v.name, "/", "")
	c := csv.NewWriter(b)
	head := []string{"speed_" + speed, "let_go_" + h.name, "lowest_" + h.name, "pilot_lowest_" + h.name, "pilot_let_go_" + h.name, "pull_" + f.name, "pull_without_water_drag", "on_floats_share"}
	for s := range stops {
		head = append(head, "held_pilot_"+s.String()+"_"+h.name, "unstable_pilot_"+s.String()+"_"+h.name)
	}
	head = append(head, "self_holding_"+h.name, "reach_"+h.name, "hardest_strip_wing", "section_lift", "section_lift_limit", "water_depression_"+h.name, "reaction_margin_lowest_s", "reaction_margin_let_go_s", "verdict")
	c.Write(head) // errors stay with the writer
	for i := range t.Rungs {
		r := &t.Rungs[i]
		row := []string{
			num(true, r.Speed, v.size), num(r.Usable, r.High.Clearance, h.size), num(r.Flies, r.Low.Clearance, h.size),
			num(r.Usable, r.Low.Pilot.X, h.size), num(r.Usable, r.High.Pilot.X, h.size),
			num(r.Flies || r.rests(), r.Pull, f.size), strconv.FormatBool(r.rests()), num(r.Water.Known, 1-r.Water.Carried, 1),
		}
		for s := range stops {
			var held, un []string
			for _, k := range r.Holds[s] {
				if n := num(true, k.Clearance, h.size); k.HeightStable {
					held = append(held, n)
				} else {
					un = append(un, n)
				}
			}
			row = append(row, strings.Join(held, " "), strings.Join(un, " "))
		}
		known := r.Peak.Limit > 0
		wing := ""
		if known {
			wing = oneLine(r.Peak.Wing)
		}
		row = append(row, num(r.SelfHolding.OK, r.SelfHolding.Clearance, h.size), num(r.Reach.OK, r.Reach.Clearance, h.size),
			wing, num(known, r.Peak.LiftCoefficient, 1), num(known, r.Peak.Limit, 1), num(r.Flies && !r.rests(), r.Depression.Depth, h.size),
			num(r.Late[0].Told && r.Late[0].Known, r.Late[0].Margin, 1), num(r.Late[1].Told && r.Late[1].Known, r.Late[1].Margin, 1), oneLine(r.Verdict))
		c.Write(row)
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return err
	}
	return b.Flush()
}
