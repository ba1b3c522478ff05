package main

import (
	"fmt"
	"html"
	"io"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/examples/internal/chart"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/bank"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/vlm"
)

// The picture's measures, in its own units.
const (
	pictureWidth = 1000.
	pictureSide  = 60.
	arrowLength  = 150. // of the longest
)

// colours of the wings' arrows, in the order of the file: those of the centre of pressure and
// of the neutral points.
var colours = []string{"#D55E00", "#0072B2", "#CC79A7", "#009E73"}

// chosen returns the row and the bank that the picture shows: the largest bank that can be
// calculated, at the lowest clearance that it can be calculated at.
func (s *study) chosen() (bank.Row, bank.Held) {
	row, held := s.rows[0], s.rows[0].Banks[0]
	for i := len(banksDeg) - 1; i > 0; i-- {
		found := false
		for _, r := range s.rows {
			if h := r.Banks[i]; h.Tip == nil && (!found || r.Level.Clearance < row.Level.Clearance) {
				row, held, found = r, h, true
			}
		}
		if found {
			break
		}
	}
	return row, held
}

// view turns points of the craft into the picture of it from behind.
type view struct {
	turn          func(r3.Vec) (across, up float64) // m to starboard of the datum and over the water
	middle, water float64
	scale         float64
}

func newView(p gecp.BankedPoint, scale, water float64) view {
	sb, cb := math.Sincos(p.Bank)
	sp, cp := math.Sincos(p.Pitch)
	return view{
		turn: func(v r3.Vec) (across, up float64) {
			return v.Y*cb + v.Z*sb, p.Height + (v.Z*cb-v.Y*sb)*cp - v.X*sp
		},
		middle: pictureWidth / 2, water: water, scale: scale,
	}
}

func (v view) at(p r3.Vec) (x, y float64) {
	across, up := v.turn(p)
	return v.middle + across*v.scale, v.water - up*v.scale
}

// draw writes the craft from behind, banked: the water, the force on the wings strip by
// strip, and how near the lower tip is.
func (s *study) draw(out io.Writer) error {
	row, held := s.chosen()
	c, u := s.model.Craft(), s.units
	// How wide and how high the craft is.
	wide, high := c.Shape().Span/2, 0.
	rough := newView(held.BankedPoint, 1, 0)
	for i := range c.Wings {
		for _, st := range c.Wings[i].Sections() {
			for _, y := range [...]float64{st.LE.Y, -st.LE.Y} {
				_, up := rough.turn(r3.Vec{X: st.LE.X, Y: y, Z: st.LE.Z + c.Wings[i].TipPlates.Up})
				high = math.Max(high, up)
			}
		}
	}
	if c.Pilot != nil {
		_, up := rough.turn(r3.Vec{X: c.Pilot.Middle(), Z: c.Pilot.Z + .4})
		high = math.Max(high, up)
	}
	scale := (pictureWidth/2 - pictureSide) / (1.02 * wide)
	top := 96 + arrowLength
	water := top + high*scale
	v := newView(held.BankedPoint, scale, water)

	var g strings.Builder
	fmt.Fprintf(&g, `<rect x="0" y="%.1f" width="%.0f" height="42" fill="#6f8fa8" fill-opacity="0.16"/><line x1="0" x2="%.0f" y1="%.1f" y2="%.1f" stroke="#6f8fa8" stroke-width="2"/><text x="%.1f" y="%.1f" fill="#4c6a80">water</text>`+"\n",
		water, pictureWidth, pictureWidth, water, water, 16., water+26)
	for i := range c.Wings { // what is aft, and nearer, is drawn over what is ahead
		drawWing(&g, v, &c.Wings[i])
	}
	s.arrows(&g, v, held, c)
	if p := c.Pilot; p != nil {
		x, y := v.at(r3.Vec{X: p.Middle(), Z: p.Z})
		fmt.Fprintf(&g, `<circle cx="%.1f" cy="%.1f" r="7" fill="#009E73"/><text x="%.1f" y="%.1f" fill="#00795a" paint-order="stroke" stroke="#fbfaf6" stroke-width="4">pilot</text>`+"\n", x, y, x+12, y+5)
	}
	s.tip(&g, v, held, c)

	title := fmt.Sprintf("%s from behind, banked %.0f°", c.Name, gecp.Degrees(held.Bank))
	moment := s.units.Moment()
	note := fmt.Sprintf("%s, %s, %s of clearance before banking; the wings right it with %s", u.FineSpeed().Words(s.stream.Speed, units.Nearest), tow.Tilt(s.pitch, 1),
		u.Clearance().Words(row.Level.Clearance, units.Nearest), moment.Words(held.RollMoment, units.Nearest))
	if held.RollMoment < 0 {
		note = strings.Replace(note, "right it with "+moment.Words(held.RollMoment, units.Nearest), "roll it over with "+moment.Words(-held.RollMoment, units.Nearest), 1)
	}
	if held.Shift.OK {
		side := "starboard"
		if held.Shift.X < 0 {
			side = "port"
		}
		note += fmt.Sprintf("; the pilot %s to %s would hold it there", u.FinePosition().Words(math.Abs(held.Shift.X), units.Nearest), side)
	}
	note += "."
	cautions := chart.Wrap(gecp.Cautions, 150)
	height := water + 66 + 16*float64(len(cautions)) + 8
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" width="%.0f" height="%.0f" role="img" aria-label="%s">`+"\n", pictureWidth, height, pictureWidth, height, html.EscapeString(title))
	b.WriteString(`<rect width="100%" height="100%" fill="#fbfaf6"/><g font-family="system-ui, 'Helvetica Neue', Arial, sans-serif" font-size="14" fill="#2b3440">` + "\n")
	fmt.Fprintf(&b, `<text x="24" y="32" font-size="19" font-weight="600">%s</text>`+"\n", html.EscapeString(title))
	for i, line := range chart.Wrap(note, 135) {
		fmt.Fprintf(&b, `<text x="24" y="%.1f" fill="#5b6670">%s</text>`+"\n", 56+18*float64(i), html.EscapeString(line))
	}
	b.WriteString(g.String())
	for i, line := range cautions {
		fmt.Fprintf(&b, `<text x="24" y="%.1f" font-size="12">%s</text>`+"\n", water+66+16*float64(i), html.EscapeString(line))
	}
	b.WriteString("</g></svg>\n")
	_, err := io.WriteString(out, b.String())
	return err
}

// drawWing draws both halves of a wing, from its leading to its trailing edge, and its plates.
func drawWing(g *strings.Builder, v view, w *gecp.Wing) {
	sec := w.Sections()
	for _, side := range [...]float64{1, -1} {
		var over, under []r3.Vec
		for _, st := range sec {
			top, bottom := outermost(v, st, side)
			over, under = append(over, top), append(under, bottom)
		}
		slices.Reverse(under)
		line := append(over, under...)
		path(g, v, line, `fill="#2b3440" fill-opacity="0.75" stroke="#2b3440" stroke-width="1"`)
		tip := sec[len(sec)-1]
		for _, dz := range [...]float64{-w.TipPlates.Down, w.TipPlates.Up} {
			if dz == 0 {
				continue
			}
			from, to := tip.Point(1), tip.Point(1)
			from.Y, to.Y, to.Z = from.Y*side, to.Y*side, to.Z+dz
			path(g, v, []r3.Vec{from, to}, `fill="none" stroke="#2b3440" stroke-width="3"`)
		}
	}
}

// outermost returns the highest and the lowest point of a station of a half, as seen.
func outermost(v view, st vlm.Station, side float64) (top, bottom r3.Vec) {
	sin, cos := math.Sincos(st.Incidence)
	high, low := math.Inf(-1), math.Inf(1)
	const n = 24
	for k := range n + 1 {
		xi := math.Pow(float64(k)/n, 2)
		half := st.Thickness / 2 * st.Chord * vlm.FourDigitThickness(xi)
		for _, f := range [...]float64{1, -1} {
			p := r3.Add(st.Point(xi), r3.Vec{X: f * half * sin, Z: f * half * cos})
			p.Y *= side
			_, up := v.turn(p)
			if up > high {
				high, top = up, p
			}
			if up < low {
				low, bottom = up, p
			}
		}
	}
	return top, bottom
}

func path(g *strings.Builder, v view, line []r3.Vec, style string) {
	g.WriteString(`<path d="`)
	for i, p := range line {
		x, y := v.at(p)
		fmt.Fprintf(g, "%s%.1f %.1f", map[bool]string{true: "M", false: "L"}[i == 0], x, y)
	}
	if len(line) > 2 {
		g.WriteString("Z")
	}
	fmt.Fprintf(g, `" %s/>`+"\n", style)
}

// arrows draws the force on each strip of the wings, square to them, and names the wings.
func (s *study) arrows(g *strings.Builder, v view, held bank.Held, c *gecp.Craft) {
	largest := 0.
	for _, l := range held.Span {
		largest = math.Max(largest, math.Abs(l.Force))
	}
	if largest == 0 {
		return
	}
	for i := range c.Wings {
		w, colour := &c.Wings[i], colours[i%len(colours)]
		x, z := w.X+.25*w.Stations[0].Chord, 0.
		var lastX, lastY float64
		for _, l := range held.Span {
			if l.Wing != w.Name {
				continue
			}
			z = l.Z
			fx, fy := v.at(r3.Vec{X: x, Y: l.Y, Z: z})
			length := l.Force / largest * arrowLength
			// Square to the wing: upwards in the craft.
			tx, ty := v.at(r3.Vec{X: x, Y: l.Y, Z: z + length/v.scale})
			fmt.Fprintf(g, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="%s" stroke-width="1.6"/>`+"\n", fx, fy, tx, ty, colour)
			n := math.Hypot(tx-fx, ty-fy)
			if n > 6 {
				ux, uy := (tx-fx)/n, (ty-fy)/n
				fmt.Fprintf(g, `<path d="M%.1f %.1fL%.1f %.1fL%.1f %.1fZ" fill="%s"/>`+"\n", tx, ty, tx-6*ux+3*uy, ty-6*uy-3*ux, tx-6*ux-3*uy, ty-6*uy+3*ux, colour)
			}
			if l.Y < 0 && (lastX == 0 || tx < lastX) { // the outermost to port
				lastX, lastY = tx, ty-10
				if i == 0 {
					lastX, lastY = fx, fy+66
				}
			}
		}
		fmt.Fprintf(g, `<text x="%.1f" y="%.1f" fill="%s" font-weight="600" paint-order="stroke" stroke="#fbfaf6" stroke-width="4">lift of the %s wing</text>`+"\n", math.Max(lastX-20, 24), lastY-18*float64(max(0, i-1)), colour, html.EscapeString(w.Name))
	}
}

// tip draws how far the lowest point of the lower side is over the water.
func (s *study) tip(g *strings.Builder, v view, held bank.Held, c *gecp.Craft) {
	lowest, found := r3.Vec{}, false
	best := math.Inf(1)
	for i := range c.Wings {
		w := &c.Wings[i]
		if w.Name != held.LowestPoint.Wing {
			continue
		}
		for _, st := range w.Sections() {
			_, p := outermost(v, st, 1)
			if st.LE.Y == w.Stations[len(w.Stations)-1].Y {
				p.Z -= w.TipPlates.Down
			}
			if _, up := v.turn(p); up < best {
				best, lowest, found = up, p, true
			}
		}
	}
	if !found {
		return
	}
	x, _ := v.at(lowest)
	y := v.water - held.TipClearance*v.scale
	what := "lower tip"
	if held.Bank == 0 {
		what = "lowest point"
	}
	words := what + " " + s.units.Clearance().Words(held.TipClearance, units.Down) + " over the water"
	fmt.Fprintf(g, `<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#D55E00" stroke-width="2"/><circle cx="%.1f" cy="%.1f" r="3" fill="#D55E00"/>`+"\n", x, x, y, v.water, x, y)
	fmt.Fprintf(g, `<text x="%.1f" y="%.1f" text-anchor="end" fill="#D55E00" font-weight="600" paint-order="stroke" stroke="#fbfaf6" stroke-width="4">%s</text>`+"\n", x+20, v.water+26, html.EscapeString(words))
}
