package main

import (
	"fmt"
	"html"
	"io"
	"math"
	"strings"

	"example.org/groundeffect/examples/internal/chart"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/units"
)

// frames is the number of side views in a row.
const frames = 8

// row is one flight as the pictures show it.
type row struct {
	title, end string
	lost       bool
	states     []motion.FlightState // a tick apart
}

func (r row) colour() string {
	if r.lost {
		return "#D55E00"
	}
	return "#009E73"
}

// rows flies the flight that tells most: with its margin, a little later, with the other
// pilot if none of their reactions saves, and with the pilot still.
func (s *study) rows() (title string, rows []row, err error) {
	f, m, err := s.tells()
	if err != nil {
		return "", nil, err
	}
	knows := map[bool]string{false: "knowing the position for every speed", true: "seeing the motion only"}
	law := func(m motion.Margin, delay float64) (string, motion.Controller) {
		m.Law.Delay = delay
		return fmt.Sprintf("pilot %s, reacting after %s", knows[m.Law.SeesMotionOnly], units.Seconds().Words(delay, units.Nearest)), m.Law
	}
	const late = .05 // s
	add := func(title string, c motion.Controller) error {
		var r row
		r.title = title
		o, err := s.outcome(f, c, func(at motion.FlightState) { r.states = append(r.states, at) })
		r.lost, r.end = !o.Saved(), s.words(o)
		rows = append(rows, r)
		return err
	}
	for _, delay := range []float64{m.Delay, m.Delay + late} {
		if err := add(law(m, delay)); err != nil {
			return "", nil, err
		}
	}
	if c := f.reaction.Counts(); !c.OK {
		title, at := law(c, 0)
		if err := add(strings.Replace(title, "reacting after 0.00 s", "reacting at once", 1), at); err != nil {
			return "", nil, err
		}
	}
	if err := add("pilot still", motion.FixedPilot{}); err != nil {
		return "", nil, err
	}
	u, up := s.u, motion.StandardSpeedUp().SpeedUp
	title = fmt.Sprintf("%s at %s and %s: the boat gains %s within %.0f s", s.craft.Name, u.FineSpeed().Words(f.speed, units.Nearest),
		u.Clearance().Words(f.clearance, units.Nearest), u.Pace().Words(up.By, units.Nearest), up.Over)
	return title, rows, nil
}

// outcome flies, and hands over the states until the flight is decided.
func (s *study) outcome(f flight, c motion.Controller, see func(motion.FlightState)) (motion.Outcome, error) {
	first, err := motion.NewFlight(f.tow, f.clearance, motion.StandardSpeedUp())
	if err != nil {
		return motion.Outcome{}, err
	}
	o := first.Settle(c, s.limit)
	again, err := motion.NewFlight(f.tow, f.clearance, motion.StandardSpeedUp())
	if err != nil {
		return motion.Outcome{}, err
	}
	see(again.State())
	for again.State().Time < o.Time-motion.Tick/2 && again.Step(motion.Tick, c.Position(again)) {
		see(again.State())
	}
	if again.End().Cause != motion.CauseNone {
		see(again.State())
	}
	return o, nil
}

// words says what became of a flight, in the units of the sheet.
func (s *study) words(o motion.Outcome) string {
	h := s.u.Clearance()
	e := o.End
	after := fmt.Sprintf("after %.1f s", o.Time)
	switch {
	case o.Settled:
		return "comes to rest, at most " + h.Words(o.Top, units.Up) + " up"
	case o.Afloat:
		return "comes down onto its floats"
	case o.Above:
		return "lost: rises over " + s.u.LetGo(s.limit) + " " + after
	case e.Cause == motion.CausePitchedUp:
		return fmt.Sprintf("lost: nose past %.0f° at %s %s", gecp.Degrees(e.Limit), h.Words(e.Clearance, units.Nearest), after)
	case e.Cause == motion.CausePitchedDown:
		return fmt.Sprintf("lost: nose below %.0f° at %s %s", gecp.Degrees(e.Limit), h.Words(e.Clearance, units.Nearest), after)
	case e.Cause == motion.CauseRoseOut:
		return "lost: past " + h.Words(e.Limit, units.Nearest) + " " + after
	case e.Cause == motion.CauseWingWet:
		return "lost: " + e.Wing + " wing in the water " + after
	case e.Cause == motion.CauseFloatStruck:
		return "lost: a float strikes the water " + after
	case e.Cause != motion.CauseNone:
		return "lost: " + e.String()
	}
	return "never comes to rest: still swings " + after
}

// strip draws side views of the flights at equal times, the rows under each other, nose
// to the left, all to one scale.
func (s *study) strip(out io.Writer) error {
	title, rows, err := s.rows()
	if err != nil {
		return err
	}
	var longest float64
	for _, r := range rows {
		if r.lost {
			longest = math.Max(longest, r.states[len(r.states)-1].Time)
		}
	}
	// Long slow losses would leave the rows nothing to see of the first seconds.
	step := math.Ceil(math.Min(longest, 7)/(frames-1)*10) / 10
	view := s.craft.SideView()
	lo, hi, tall := math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, w := range view.Wings {
		for _, o := range append([]gecp.Outline{w.Root, w.Tip}, w.Plates...) {
			for _, p := range o {
				lo, hi, tall = math.Min(lo, p[0]), math.Max(hi, p[0]), math.Max(tall, p[1])
			}
		}
	}
	tall = math.Max(tall, s.craft.Pilot.Z+.3)
	const width, left, cell = 1120., 24., (1120. - 48) / frames
	scale := cell * .9 / (hi - lo)
	y := 78.
	var g strings.Builder
	for _, r := range rows {
		states := pick(r.states, step, r.lost)
		top := 0.
		for _, at := range states {
			top = math.Max(top, at.Height+tall*math.Cos(at.Pitch)-lo*math.Sin(at.Pitch))
		}
		fmt.Fprintf(&g, `<text x="%.1f" y="%.1f" font-weight="600" fill="%s">%s: %s</text>`+"\n", left, y, r.colour(), html.EscapeString(r.title), html.EscapeString(r.end))
		water := y + 30 + top*scale
		fmt.Fprintf(&g, `<rect x="%.1f" y="%.1f" width="%.1f" height="6" fill="#6f8fa8" fill-opacity="0.16"/><line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#6f8fa8" stroke-width="2"/>`+"\n", left, water, width-2*left, left, width-left, water, water)
		for k, at := range states {
			last := r.lost && k == len(states)-1
			side(&g, s.craft, view, at, left+(float64(k)+.05)*cell-lo*scale, water, scale, last)
			fill := "#2b3440"
			if last {
				fill = r.colour()
			}
			middle := left + (float64(k)+.5)*cell
			fmt.Fprintf(&g, `<text x="%.1f" y="%.1f" text-anchor="middle" fill="%s" class="n">%.1f s</text><text x="%.1f" y="%.1f" text-anchor="middle" fill="%s" class="n">%s, %+.0f°</text>`+"\n",
				middle, water+24, fill, at.Time, middle, water+42, fill, s.u.Clearance().Words(at.Clearance, units.Nearest), gecp.Degrees(at.Pitch))
		}
		y = water + 78
	}
	height := y + 62
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" width="%.0f" height="%.0f" role="img" aria-label="%s">`+"\n", width, height, width, height, html.EscapeString(title))
	b.WriteString(`<style>.n{font-variant-numeric:tabular-nums;font-size:13px}</style><rect width="100%" height="100%" fill="#fbfaf6"/>` + "\n")
	b.WriteString(`<g font-family="system-ui, 'Helvetica Neue', Arial, sans-serif" font-size="14" fill="#2b3440">` + "\n")
	fmt.Fprintf(&b, `<text x="%.1f" y="32" font-size="19" font-weight="600">%s</text>`+"\n", left, html.EscapeString(title))
	b.WriteString(g.String())
	for i, line := range chart.Wrap("A simulation teaches, it does not train. "+gecp.Cautions, 165) {
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" font-size="12">%s</text>`+"\n", left, height-62+float64(i)*16, html.EscapeString(line))
	}
	b.WriteString("</g></svg>\n")
	_, err = io.WriteString(out, b.String())
	return err
}

// pick returns the states at equal steps, and the last of a lost flight where it
// comes in time.
func pick(states []motion.FlightState, step float64, lost bool) []motion.FlightState {
	var out []motion.FlightState
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
func side(b *strings.Builder, craft *gecp.Craft, view gecp.SideView, s motion.FlightState, x0, water, scale float64, lost bool) {
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
