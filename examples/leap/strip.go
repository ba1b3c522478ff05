package main

import (
	"errors"
	"fmt"
	"html"
	"math"
	"os"
	"strings"

	"example.org/groundeffect/gecp"
)

// frames is the number of side views in a row.
const frames = 8

// row is one flight as the strip shows it.
type row struct {
	title, end string
	colour     string
	states     []gecp.FlightState // at equal time steps, then the last of a lost flight
	lost       bool
}

// draw writes the strip of the case that tells most: the one whose margin is the
// nearest to what people need.
func draw(name string, craft *gecp.Craft, cases []leap, u units) error {
	best := -1
	for i, l := range cases {
		if l.err != nil || l.reaction.Frozen.Settled || !l.reaction.Known || l.reaction.Beyond {
			continue
		}
		off := func(i int) float64 { return math.Abs(cases[i].reaction.Margin - gecp.DelayAcceleration) }
		if best < 0 || off(i) < off(best) {
			best = i
		}
	}
	if best < 0 {
		return errors.New("no flight of the table is saved by a reaction in time and lost by a late one; choose other -speeds or -clearances for the picture")
	}
	l := cases[best]
	late := l.reaction.Margin + .05
	law := l.reaction.Law
	fly := func(s gecp.Controller) ([]gecp.FlightState, *gecp.Flight, error) {
		f, err := l.run.Flight(l.clearance, gecp.StandardLeap)
		if err != nil {
			return nil, nil, err
		}
		states := []gecp.FlightState{f.State()}
		for f.State().Time < 25 && f.Step(gecp.Tick, s.Position(f)) {
			states = append(states, f.State())
		}
		return append(states, f.State()), f, nil
	}
	var rows []row
	longest := 0.
	for _, c := range []struct {
		title string
		delay float64
	}{
		{"the pilot reacts after %.2f s", l.reaction.Margin},
		{"the pilot reacts after %.2f s", late},
		{"the pilot does nothing", -1},
	} {
		var s gecp.Controller = gecp.FixedPilot{}
		title := c.title
		if c.delay >= 0 {
			law.Delay = c.delay
			s, title = law, fmt.Sprintf(c.title, c.delay)
		}
		states, f, err := fly(s)
		if err != nil {
			return err
		}
		end := f.End()
		r := row{title: title, colour: "#009E73", end: "settles", states: states, lost: end.Cause != gecp.CauseNone}
		if r.lost {
			r.colour, r.end = "#D55E00", "lost: "+words(end, u)
			longest = math.Max(longest, end.Time)
		}
		rows = append(rows, r)
	}
	// Long slow losses would leave the rows nothing to see of the first seconds.
	step := math.Ceil(math.Min(longest, 7)/(frames-1)*10) / 10
	title := fmt.Sprintf("%s at %s and %s: the boat gains %s within %.0f s", craft.Name, u.speed.of(l.speed), u.height.of(l.clearance), u.speed.of(gecp.StandardLeap.SpeedUp.By), gecp.StandardLeap.SpeedUp.Over)
	return os.WriteFile(name, []byte(strip(craft, title, rows, step, u)), 0o644)
}

// words says how a flight was lost, in the units of the sheet.
func words(e gecp.End, u units) string {
	at := fmt.Sprintf("after %.1f s", e.Time)
	switch e.Cause {
	case gecp.CausePitchedUp:
		return fmt.Sprintf("nose past %.0f° at %s %s", e.Limit*180/math.Pi, u.height.of(e.Clearance), at)
	case gecp.CausePitchedDown:
		return fmt.Sprintf("nose below %.0f° at %s %s", e.Limit*180/math.Pi, u.height.of(e.Clearance), at)
	case gecp.CauseRoseOut:
		return fmt.Sprintf("past %s %s", u.height.of(e.Limit), at)
	case gecp.CauseWingWet:
		return fmt.Sprintf("%s wing in the water %s", e.Wing, at)
	case gecp.CauseFloatStruck:
		return fmt.Sprintf("a float strikes the water %s", at)
	}
	return e.String()
}

// strip lays the rows under each other, nose to the left, all to one scale.
func strip(craft *gecp.Craft, title string, rows []row, step float64, u units) string {
	view := craft.SideView()
	lo, hi, tall := math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, w := range view.Wings {
		for _, o := range append([]gecp.Outline{w.Root, w.Tip}, w.Plates...) {
			for _, p := range o {
				lo, hi, tall = math.Min(lo, p[0]), math.Max(hi, p[0]), math.Max(tall, p[1])
			}
		}
	}
	tall = math.Max(tall, craft.Pilot.Z+.3)
	const width, left, cell = 1120., 24., (1120. - 48) / frames
	scale := cell * .9 / (hi - lo)

	var b strings.Builder
	y := 78.
	for i := range rows {
		r := &rows[i]
		r.states = pick(r.states, step, r.lost)
	}
	var g strings.Builder
	for _, r := range rows {
		top := 0.
		for _, s := range r.states {
			top = math.Max(top, s.Height+tall*math.Cos(s.Pitch)-lo*math.Sin(s.Pitch))
		}
		fmt.Fprintf(&g, `<text x="%.1f" y="%.1f" font-weight="600" fill="%s">%s: %s</text>`+"\n", left, y, r.colour, html.EscapeString(r.title), html.EscapeString(r.end))
		water := y + 30 + top*scale
		fmt.Fprintf(&g, `<rect x="%.1f" y="%.1f" width="%.1f" height="6" fill="#6f8fa8" fill-opacity="0.16"/><line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#6f8fa8" stroke-width="2"/>`+"\n", left, water, width-2*left, left, width-left, water, water)
		for k, s := range r.states {
			x0 := left + (float64(k)+.05)*cell - lo*scale
			last := r.lost && k == len(r.states)-1
			side(&g, craft, view, s, x0, water, scale, last)
			mark := fmt.Sprintf("%.1f s", s.Time)
			fill := "#2b3440"
			if last {
				fill = r.colour
			}
			fmt.Fprintf(&g, `<text x="%.1f" y="%.1f" text-anchor="middle" fill="%s" class="n">%s</text><text x="%.1f" y="%.1f" text-anchor="middle" fill="%s" class="n">%s, %+.0f°</text>`+"\n",
				left+(float64(k)+.5)*cell, water+24, fill, mark, left+(float64(k)+.5)*cell, water+42, fill, u.height.of(s.Clearance), s.Pitch*180/math.Pi)
		}
		y = water + 78
	}
	height := y + 62
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" width="%.0f" height="%.0f" role="img" aria-label="%s">`+"\n", width, height, width, height, html.EscapeString(title))
	b.WriteString(`<style>.n{font-variant-numeric:tabular-nums;font-size:13px}</style><rect width="100%" height="100%" fill="#fbfaf6"/>` + "\n")
	b.WriteString(`<g font-family="system-ui, 'Helvetica Neue', Arial, sans-serif" font-size="14" fill="#2b3440">` + "\n")
	fmt.Fprintf(&b, `<text x="%.1f" y="32" font-size="19" font-weight="600">%s</text>`+"\n", left, html.EscapeString(title))
	b.WriteString(g.String())
	for i, line := range wrap("A simulation teaches, it does not train. "+gecp.Cautions, 165) {
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" font-size="12">%s</text>`+"\n", left, height-62+float64(i)*16, html.EscapeString(line))
	}
	b.WriteString("</g></svg>\n")
	return b.String()
}

// pick returns the states at equal steps, and the last of a lost flight where it
// comes in time.
func pick(states []gecp.FlightState, step float64, lost bool) []gecp.FlightState {
	var out []gecp.FlightState
	for _, s := range states {
		if len(out) == frames || lost && len(out) == frames-1 && s.Time > step*float64(frames-1) {
			break
		}
		if s.Time >= step*float64(len(out))-1e-9 {
			out = append(out, s)
		}
	}
	if last := states[len(states)-1]; lost && last.Time > out[len(out)-1].Time {
		if len(out) == frames {
			out = out[:frames-1]
		}
		out = append(out, last)
	}
	return out
}

// side draws one side view with the datum at x0, over the water at a level.
func side(b *strings.Builder, craft *gecp.Craft, view gecp.SideView, s gecp.FlightState, x0, water, scale float64, lost bool) {
	at := func(x, z float64) (float64, float64) {
		along, up := gecp.ToWaterAxes(x, z, s.Height-s.Water, s.Pitch)
		return x0 + along*scale, water - up*scale
	}
	path := func(o gecp.Outline, fill string) {
		b.WriteString(`<path d="`)
		for i, p := range o {
			x, y := at(p[0], p[1])
			fmt.Fprintf(b, "%s%.1f %.1f", map[bool]string{true: "M", false: "L"}[i == 0], x, y)
		}
		fmt.Fprintf(b, `Z" %s/>`+"\n", fill)
	}
	ink := "#2b3440"
	if lost {
		ink = "#D55E00"
	}
	for _, w := range view.Wings {
		for _, p := range w.Plates {
			path(p, `fill="none" stroke="`+ink+`" stroke-width="0.6"`)
		}
		path(w.Tip, `fill="`+ink+`" fill-opacity="0.3"`)
		path(w.Root, `fill="`+ink+`" fill-opacity="0.85"`)
	}
	for i := 1; i < len(view.Wings); i++ { // a spar from each wing's trailing edge to the next one's leading edge
		a, o := view.Wings[i-1].Root[0], view.Wings[i].Root
		c := o[len(o)/2]
		x1, y1 := at(a[0], a[1])
		x2, y2 := at(c[0], c[1])
		fmt.Fprintf(b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="%s" stroke-width="0.6" stroke-opacity="0.6"/>`+"\n", x1, y1, x2, y2, ink)
	}
	for _, f := range craft.Floats {
		x, y := at(f.X, f.Z)
		fmt.Fprintf(b, `<path d="M%.1f %.1fl-4 -3h8z" fill="none" stroke="%s" stroke-width="0.8"/>`+"\n", x, y, ink)
	}
	x, y := at(s.Pilot, craft.Pilot.Z)
	fmt.Fprintf(b, `<circle cx="%.1f" cy="%.1f" r="3.4" fill="#009E73"/>`+"\n", x, y)
	for _, stop := range []float64{craft.Pilot.XForward, craft.Pilot.XAft} {
		x, y := at(stop, craft.Pilot.Z)
		fmt.Fprintf(b, `<circle cx="%.1f" cy="%.1f" r="0.9" fill="#009E73"/>`+"\n", x, y)
	}
	x, y = at(craft.Tow.X, craft.Tow.Z)
	rise := math.Atan2(craft.Tow.BoatHeight-(water-y)/scale, craft.Tow.Line)
	fmt.Fprintf(b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="%s" stroke-width="0.8"/>`+"\n", x, y, x-14*math.Cos(rise), y-14*math.Sin(rise), ink)
}

// wrap cuts a text into lines of at most so many letters, at spaces.
func wrap(s string, letters int) []string {
	var lines []string
	var line string
	for _, w := range strings.Fields(s) {
		if line != "" && len(line)+1+len(w) > letters {
			lines = append(lines, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += w
	}
	return append(lines, line)
}
