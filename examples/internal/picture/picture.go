// Package picture draws the project's one picture as SVG: clearance runs upwards
// from the water, and the lengthwise scale is the craft's own, so that a curve
// stands over the part of the craft where it acts. Curves are named at their ends
// and differ by dash as well as by colour.
package picture

import (
	"fmt"
	"html"
	"io"
	"math"
	"sort"
	"strings"
	"unicode/utf8"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// Style is how a curve is drawn.
type Style struct {
	Colour string
	Dash   string // SVG dash pattern; empty is solid
	Width  float64
}

// The styles of the project, from the colours of Okabe and Ito (Color Universal
// Design, 2008), made for colour-blind readers.
var (
	CP            = Style{Colour: "#D55E00", Width: 3}
	PitchNeutral  = Style{Colour: "#0072B2", Dash: "9 5", Width: 2.2}
	HeightNeutral = Style{Colour: "#CC79A7", Dash: "10 4 2 4", Width: 2.2}
	Pilot         = Style{Colour: "#009E73", Width: 2.4}
	Unstable      = Style{Colour: "#009E73", Dash: "3 5", Width: 2.4}
	Ghost         = Style{Colour: "#8a929b", Dash: "2 4", Width: 1.6}
	Scatter       = Style{Colour: "#009E73", Dash: "1 3", Width: .8} // of builds that are not exact
	Level         = Style{Colour: "#2b3440", Width: 1}
)

// Curve is a line over the craft: places along it (m aft of the datum) against
// clearance (m). A NaN breaks the line.
type Curve struct {
	Name   string // written at its upper end; may be empty
	Style  Style
	X      []float64
	Height []float64
}

// Band is a strip between two places along the craft, hatched over all heights.
type Band struct {
	Name     string
	From, To float64 // m aft of the datum
}

// Area is what lies between two lines over the craft: places along it (m aft of the datum)
// at rising clearances (m). A NaN breaks it.
type Area struct {
	Name     string // written at its upper end; may be empty
	Style    Style  // the colour, filled thinly, and the edges' dash
	From, To []float64
	Height   []float64
}

// Line is a clearance worth a name.
type Line struct {
	Name   string
	Height float64 // m
}

// Picture is the height picture of a craft. The craft is drawn below the water
// line to the lengthwise scale of the curves.
type Picture struct {
	Title, Note string
	Craft       *gecp.Craft
	Pitch       float64 // of the drawn craft, rad
	Top         float64 // highest clearance, m
	Curves      []Curve
	Areas       []Area
	Bands       []Band
	Lines       []Line
	Units       units.System // of the scales
	TextSize    float64      // in units of a picture 900 wide; 0 is 14
}

const (
	width  = 900.0
	left   = 70.0
	named  = 200.0 // right margin with lines to name, and without
	plain  = 70.0
	text   = "font-family=\"system-ui, 'Helvetica Neue', Arial, sans-serif\" font-size=\"%.3g\" fill=\"#2b3440\""
	letter = .53 // mean width of a letter over the size of the text, for keeping names apart
)

// WriteSVG writes the picture.
func (p Picture) WriteSVG(w io.Writer) error {
	up, along := p.Units.Clearance(), p.Units.Position()
	if p.TextSize == 0 {
		p.TextSize = 14
	}
	right := plain
	if len(p.Lines) > 0 {
		right = named
		for _, l := range p.Lines { // wide letters need more room than the mean
			right = max(right, 8+1.25*letter*p.TextSize*float64(utf8.RuneCountInString(l.Name)))
		}
	}
	lo, hi := p.extent()
	scale := (width - left - right) / (hi - lo)
	x := func(v float64) float64 { return left + (v-lo)*scale }

	top := 58 + 3.3*p.TextSize
	plot := 430.0
	water := top + plot
	y := func(c float64) float64 { return water - c/p.Top*plot }

	var b strings.Builder
	names := p.names(x, y, right)
	side, deepest := p.side(x, scale, water)
	height := deepest + 32 + 3.3*p.TextSize
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" width="%.0f" height="%.0f" role="img" aria-label="%s">`+"\n", width, height, width, height, html.EscapeString(p.Title))
	fmt.Fprintf(&b, `<rect width="100%%" height="100%%" fill="#fbfaf6"/><g `+text+">\n", p.TextSize)
	b.WriteString(`<defs><pattern id="hatch" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="8" height="8" fill="#009E73" fill-opacity="0.07"/><line x1="0" y1="0" x2="0" y2="8" stroke="#009E73" stroke-width="1.6" stroke-opacity="0.45"/></pattern>`)
	fmt.Fprintf(&b, `<clipPath id="plot"><rect x="%.1f" y="%.1f" width="%.1f" height="%.1f"/></clipPath></defs>`+"\n", left, top, width-left-right, plot)
	fmt.Fprintf(&b, `<text x="%.1f" y="30" font-size="%.3g" font-weight="600">%s</text>`+"\n", 24.0, 1.35*p.TextSize, html.EscapeString(p.Title))
	fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" fill="#5b6670">%s</text>`+"\n", 24.0, 30+1.5*p.TextSize, html.EscapeString(p.Note))

	for _, band := range p.Bands {
		fmt.Fprintf(&b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="url(#hatch)"/>`+"\n", x(band.From), top, x(band.To)-x(band.From), plot)
	}
	for c := 0.0; c <= p.Top/up.Size*1.0001; c += step(p.Top / up.Size) {
		v := y(c * up.Size)
		fmt.Fprintf(&b, `<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#d9d8d2" stroke-width="0.8"/><text x="%.1f" y="%.1f" text-anchor="end" style="font-variant-numeric: tabular-nums">%s</text>`+"\n", left, width-right, v, v, left-8, v+5, number(c))
	}
	fmt.Fprintf(&b, `<text transform="translate(20 %.1f) rotate(-90)" text-anchor="middle">clearance under the wings, %s</text>`+"\n", top+plot/2, up.Name)
	for _, l := range p.Lines {
		fmt.Fprintf(&b, `<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#2b3440" stroke-width="1"/>`+"\n", left, width-right, y(l.Height), y(l.Height))
	}
	for _, a := range p.Areas {
		b.WriteString(a.path(x, y, p.Top))
	}
	for _, c := range p.Curves {
		b.WriteString(c.path(x, y, p.Top))
	}
	for _, n := range names {
		b.WriteString(n.svg())
	}
	fmt.Fprintf(&b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="#6f8fa8" fill-opacity="0.16"/><line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#6f8fa8" stroke-width="2"/><text x="%.1f" y="%.1f" fill="#4d6e88">water</text>`+"\n",
		left, water, width-left-right, 7.0, left, width-right, water, water, width-right+8, water+5)
	every := step((hi - lo) / along.Size)
	for v := math.Ceil(lo/along.Size/every) * every; v <= hi/along.Size; v += every {
		fmt.Fprintf(&b, `<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#d9d8d2" stroke-width="0.8"/><text x="%.1f" y="%.1f" text-anchor="middle" style="font-variant-numeric: tabular-nums">%s</text>`+"\n", x(v*along.Size), x(v*along.Size), top, deepest+14, x(v*along.Size), deepest+16+p.TextSize, number(v))
	}
	b.WriteString(side)
	fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="middle">%s aft of the datum, the nose; the craft to the same scale, %s</text>`+"\n", (left+width-right)/2, deepest+20+2.3*p.TextSize, along.Name, tow.Tilt(p.Pitch, 1))
	b.WriteString("</g></svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// extent returns the places along the craft that the picture covers: the wings and
// what stays near them of the curves.
func (p Picture) extent() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	grow := func(v float64) { lo, hi = math.Min(lo, v), math.Max(hi, v) }
	for _, w := range p.Craft.SideView().Wings {
		for _, pt := range append(w.Root, w.Tip...) {
			grow(pt[0])
		}
	}
	for _, f := range p.Craft.Floats {
		grow(f.X)
	}
	length := hi - lo
	a, z := lo-.1*length, hi+.1*length
	near := func(v, height float64) {
		if height <= p.Top && v > a && v < z {
			grow(v)
		}
	}
	for _, c := range p.Curves {
		for i, v := range c.X {
			near(v, c.Height[i])
		}
	}
	for _, c := range p.Areas {
		for i, h := range c.Height {
			near(c.From[i], h)
			near(c.To[i], h)
		}
	}
	return lo - .04*length, hi + .04*length
}

// step returns a round distance between the numbers of a scale of a length.
func step(length float64) float64 {
	for _, s := range []float64{.05, .1, .2, .25, .5, 1, 2, 5, 10, 20, 50} {
		if length/s <= 9 {
			return s
		}
	}
	return 100
}

func number(v float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", v+1e-9), "0"), ".")
}

// leap is the distance between neighbouring points, m, over which no line is drawn.
const leap = .6

func (c Curve) path(x, y func(float64) float64, top float64) string {
	var d strings.Builder
	pen := "M"
	for i := range c.X {
		if !(c.Height[i] <= top) || math.IsNaN(c.X[i]) || math.Abs(c.X[i]) > 1e3 {
			pen = "M"
			continue
		}
		// A place that jumps runs through infinity; the line there would say nothing.
		if i > 0 && math.Abs(c.X[i]-c.X[i-1]) > leap {
			pen = "M"
		}
		fmt.Fprintf(&d, "%s%.1f %.1f", pen, x(c.X[i]), y(c.Height[i]))
		pen = "L"
	}
	if d.Len() == 0 {
		return ""
	}
	dash := ""
	if c.Style.Dash != "" {
		dash = ` stroke-dasharray="` + c.Style.Dash + `"`
	}
	return fmt.Sprintf(`<path d="%s" fill="none" stroke="%s" stroke-width="%.1f"%s stroke-linejoin="round" clip-path="url(#plot)"/>`+"\n", d.String(), c.Style.Colour, c.Style.Width, dash)
}

// path draws each unbroken part of the area up to the top.
func (a Area) path(x, y func(float64) float64, top float64) string {
	var b strings.Builder
	part := func(from, to int) {
		if to-from < 2 {
			return
		}
		var d strings.Builder
		pen := "M"
		put := func(px, h float64) {
			fmt.Fprintf(&d, "%s%.1f %.1f", pen, x(px), y(h))
			pen = "L"
		}
		for i := from; i < to; i++ {
			put(a.From[i], a.Height[i])
		}
		for i := to - 1; i >= from; i-- {
			put(a.To[i], a.Height[i])
		}
		fmt.Fprintf(&b, `<path d="%sZ" fill="%s" fill-opacity="0.16" stroke="%s" stroke-width="%.1f" stroke-dasharray="%s" clip-path="url(#plot)"/>`+"\n", d.String(), a.Style.Colour, a.Style.Colour, a.Style.Width, a.Style.Dash)
	}
	from := 0
	for i := range a.Height {
		if !a.drawn(i, top) {
			part(from, i)
			from = i + 1
		}
	}
	part(from, len(a.Height))
	return b.String()
}

// drawn reports whether the area has both its lines at a clearance below the top.
func (a Area) drawn(i int, top float64) bool {
	return a.Height[i] <= top && !math.IsNaN(a.From[i]) && !math.IsNaN(a.To[i])
}

// name is a word at the end of something drawn.
type name struct {
	text, colour string
	x, y         float64 // where the thing ends
	anchor       string
	at, base     float64 // of one above its thing: the word's middle and its foot
	up           bool
}

func (n name) svg() string {
	if !n.up {
		return fmt.Sprintf(`<text x="%.1f" y="%.1f" fill="%s" text-anchor="%s" paint-order="stroke" stroke="#fbfaf6" stroke-width="4">%s</text>`+"\n", n.x, n.y, n.colour, n.anchor, html.EscapeString(n.text))
	}
	return fmt.Sprintf(`<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="%s" stroke-width="0.8"/><text x="%.1f" y="%.1f" fill="%s" text-anchor="middle" font-weight="600" paint-order="stroke" stroke="#fbfaf6" stroke-width="4">%s</text>`+"\n",
		n.x, n.at, n.y-2, n.base+6, n.colour, n.at, n.base, n.colour, html.EscapeString(n.text))
}

// names places the words so that none covers another.
func (p Picture) names(x, y func(float64) float64, right float64) []name {
	var out []name
	for _, c := range p.Curves {
		if c.Name == "" {
			continue
		}
		for i := len(c.X) - 1; i >= 0; i-- {
			in := x(c.X[i]) >= left && x(c.X[i]) <= width-right
			if c.Height[i] <= p.Top && !math.IsNaN(c.X[i]) && in {
				out = append(out, name{text: c.Name, colour: c.Style.Colour, x: x(c.X[i]), y: y(c.Height[i]), up: true})
				break
			}
		}
	}
	for _, a := range p.Areas {
		for i := len(a.Height) - 1; i >= 0 && a.Name != ""; i-- {
			if at := x((a.From[i] + a.To[i]) / 2); a.drawn(i, p.Top) && at >= left && at <= width-right {
				out = append(out, name{text: a.Name, colour: a.Style.Colour, x: at, y: y(a.Height[i]), up: true})
				break
			}
		}
	}
	for _, b := range p.Bands {
		out = append(out, name{text: b.Name, colour: "#00785a", x: x(b.To), y: y(p.Top), up: true})
	}
	p.spread(out)
	lines := append([]Line(nil), p.Lines...)
	sort.Slice(lines, func(i, j int) bool { return lines[i].Height < lines[j].Height })
	last := math.Inf(1)
	for _, l := range lines {
		ty := math.Min(y(l.Height)+5, last-1.2*p.TextSize)
		last = ty
		out = append(out, name{text: l.Name, colour: "#2b3440", x: width - right + 8, y: ty, anchor: "start"})
	}
	return out
}

// spread puts the words of things that end at about one height side by side in a row
// over the highest of them, each as near to its thing as the others let it.
func (p Picture) spread(names []name) {
	const about, gap, edge = 60, 14, 4
	sort.SliceStable(names, func(i, j int) bool { return names[i].x < names[j].x })
	wide := func(n name) float64 { return letter*p.TextSize*float64(utf8.RuneCountInString(n.text)) + gap }
	// From the highest down, a row is what ends within a distance of its highest.
	var rows [][]int
	for left := len(names); left > 0; {
		top := math.Inf(1)
		for _, n := range names {
			if n.base == 0 {
				top = math.Min(top, n.y)
			}
		}
		var row []int
		for i := range names {
			if names[i].base == 0 && names[i].y <= top+about {
				names[i].base = top - 18
				row = append(row, i)
			}
		}
		rows, left = append(rows, row), left-len(row)
	}
	for _, row := range rows {
		// Neighbours that would touch make a block about the mean of what each wants; blocks
		// that touch become one.
		type block struct {
			first, end  int     // in row
			wants, wide float64 // the sum of the wanted left edges of the block, and its width
		}
		var blocks []block
		start := func(b block) float64 {
			return math.Max(edge, math.Min(b.wants/float64(b.end-b.first), width-edge-b.wide))
		}
		for k, i := range row {
			w := wide(names[i])
			b := block{k, k + 1, names[i].x - w/2, w}
			for len(blocks) > 0 {
				l := blocks[len(blocks)-1]
				if start(l)+l.wide <= start(b) {
					break
				}
				b = block{l.first, b.end, l.wants + b.wants - l.wide*float64(b.end-b.first), l.wide + b.wide}
				blocks = blocks[:len(blocks)-1]
			}
			blocks = append(blocks, b)
		}
		for _, b := range blocks {
			at := start(b)
			for _, i := range row[b.first:b.end] {
				w := wide(names[i])
				names[i].at = at + w/2
				at += w
			}
		}
	}
}

// side draws the craft below the water line and returns how far down it reaches.
func (p Picture) side(x func(float64) float64, scale, water float64) (string, float64) {
	v := p.Craft.SideView()
	highest := math.Inf(-1)
	lowest := math.Inf(1)
	at := func(pt [2]float64) (float64, float64) { return gecp.ToWaterAxes(pt[0], pt[1], 0, p.Pitch) }
	all := func(f func(o gecp.Outline, fill string)) {
		for _, w := range v.Wings {
			for _, o := range w.Plates {
				f(o, `fill="#2b3440" fill-opacity="0.14" stroke="#2b3440" stroke-width="0.8"`)
			}
			f(w.Tip, `fill="#2b3440" fill-opacity="0.25" stroke="none"`)
			f(w.Root, `fill="#2b3440" fill-opacity="0.75" stroke="none"`)
		}
	}
	reach := func(z float64) { highest, lowest = math.Max(highest, z), math.Min(lowest, z) }
	all(func(o gecp.Outline, _ string) {
		for _, pt := range o {
			_, z := at(pt)
			reach(z)
		}
	})
	for _, f := range p.Craft.Floats {
		_, z := at([2]float64{f.X, f.Z})
		reach(z)
	}
	if pl := p.Craft.Pilot; pl != nil {
		_, z := at([2]float64{pl.XForward, pl.Z + .15})
		reach(z)
	}
	zero := water + 38 + highest*scale // picture's y of the datum's level
	var b strings.Builder
	xy := func(px, pz float64) (float64, float64) {
		ax, az := at([2]float64{px, pz})
		return x(ax), zero - az*scale
	}
	all(func(o gecp.Outline, fill string) {
		var d strings.Builder
		for i, pt := range o {
			px, py := xy(pt[0], pt[1])
			fmt.Fprintf(&d, "%s%.1f %.1f", map[bool]string{true: "M", false: "L"}[i == 0], px, py)
		}
		fmt.Fprintf(&b, `<path d="%sZ" %s/>`+"\n", d.String(), fill)
	})
	for _, f := range p.Craft.Floats {
		px, py := xy(f.X, f.Z)
		fmt.Fprintf(&b, `<path d="M%.1f %.1fl-14 -9h28z" fill="none" stroke="#2b3440" stroke-width="1"/>`+"\n", px, py)
	}
	if t := p.Craft.Tow; t != nil {
		px, py := xy(t.X, t.Z)
		fmt.Fprintf(&b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="#2b3440" stroke-width="1"/><circle cx="%.1f" cy="%.1f" r="3" fill="#2b3440"/><text x="%.1f" y="%.1f" font-size="85%%">line</text>`+"\n", px, py, left-30, py-12, px, py, left-60, py-10)
	}
	if pl := p.Craft.Pilot; pl != nil {
		x0, y0 := xy(pl.XForward, pl.Z)
		x1, y1 := xy(pl.XAft, pl.Z)
		fmt.Fprintf(&b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="#009E73" stroke-width="4"/><path d="M%.1f %.1fv-12M%.1f %.1fv-12" stroke="#009E73" stroke-width="2"/><text x="%.1f" y="%.1f" font-size="85%%" fill="#00785a" text-anchor="middle">pilot's travel</text>`+"\n", x0, y0, x1, y1, x0, y0+6, x1, y1+6, (x0+x1)/2, math.Min(y0, y1)-10)
	}
	return b.String(), zero - lowest*scale + 10
}

// PilotCurves returns where the pilot has to be along a curve of trims: solid where the
// craft holds its height by itself, dotted where not or where it is too close to the water
// to know. The point where one ends is the other's first.
func PilotCurves(c tow.TrimCurve) (held, loose Curve) {
	held, loose = Curve{Style: Pilot}, Curve{Style: Unstable}
	holds := func(i int) bool { return c.States[i].HeightStable && !c.States[i].Close }
	for i, b := range c.States {
		joint := i > 0 && holds(i-1) != holds(i)
		put := func(to *Curve, yes bool) {
			x := math.NaN()
			if yes || joint {
				x = b.Pilot.X
			}
			to.X, to.Height = append(to.X, x), append(to.Height, b.Clearance)
		}
		put(&held, holds(i))
		put(&loose, !holds(i))
	}
	return held, loose
}
