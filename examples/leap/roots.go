package main

import (
	"fmt"
	"html"
	"math"
	"os"
	"strings"

	"example.org/groundeffect/gecp"
)

// drawRoots writes how the modes wander as the craft rises at one speed: how fast a
// motion grows or dies to the right and left, how fast it swings upwards. A craft
// is left alone safely only where all of them are left of the middle.
func drawRoots(name string, craft *gecp.Craft, r gecp.SteadyTow, speed float64, u units) error {
	const steps, top = 60, 1.2 // clearances, up to m
	var ladder []float64
	for i := range steps {
		t := float64(i) / (steps - 1)
		ladder = append(ladder, gecp.FlightRange.ClearanceMin+(top-gecp.FlightRange.ClearanceMin)*t*t)
	}
	roots := r.Roots(ladder)
	if len(roots) == 0 {
		return fmt.Errorf("at %s there is no steady state whose motions could be drawn; choose other -speeds", u.speed.of(speed))
	}
	const w, h, left, foot, edge = 900., 620., 80., 150., 3.5 // edge: the fastest shown, 1/s
	x := func(v float64) float64 {
		return left + (math.Max(-edge, math.Min(edge, v))+edge)/(2*edge)*(w-left-40)
	}
	y := func(v float64) float64 { return h - foot - math.Min(edge, v)/edge*(h-foot-90) }
	var b strings.Builder
	title := fmt.Sprintf("How %s moves when left alone, %s", craft.Name, u.speed.of(speed))
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" width="%.0f" height="%.0f" role="img" aria-label="%s"><rect width="100%%" height="100%%" fill="#fbfaf6"/><g font-family="system-ui, 'Helvetica Neue', Arial, sans-serif" font-size="14" fill="#2b3440" style="font-variant-numeric: tabular-nums">`+"\n", w, h, w, h, html.EscapeString(title))
	fmt.Fprintf(&b, `<text x="24" y="30" font-size="19" font-weight="600">%s</text><text x="24" y="52" fill="#5b6670">A dot is a motion at one clearance, larger higher up. Right of the middle it grows by itself: the pilot must act.</text>`+"\n", html.EscapeString(title))
	fmt.Fprintf(&b, `<rect x="%.1f" y="70" width="%.1f" height="%.1f" fill="#D55E00" fill-opacity="0.06"/>`+"\n", x(0), x(edge)-x(0), h-foot-70)
	for v := -3.; v <= 3; v++ {
		fmt.Fprintf(&b, `<line x1="%.1f" x2="%.1f" y1="70" y2="%.1f" stroke="#d9d8d2" stroke-width="%.1f"/><text x="%.1f" y="%.1f" text-anchor="middle">%.0f</text>`+"\n", x(v), x(v), h-foot, map[bool]float64{true: 2, false: .8}[v == 0], x(v), h-foot+20, v)
	}
	for v := 0.; v <= 3; v++ {
		fmt.Fprintf(&b, `<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="#d9d8d2" stroke-width=".8"/><text x="%.1f" y="%.1f" text-anchor="end">%.0f</text>`+"\n", left, w-40, y(v), y(v), left-8, y(v)+5, v)
	}
	fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="middle">growth, 1/s (0.7 doubles in a second)</text><text transform="translate(30 %.1f) rotate(-90)" text-anchor="middle">swing, rad/s (3.1 has a period of 2 s)</text>`+"\n", (left+w-40)/2, h-foot+44, (h-foot+70)/2)
	for _, at := range roots {
		for _, m := range at.Modes {
			colour := "#0072B2"
			if real(m.Root) > 0 {
				colour = "#D55E00"
			}
			fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="%.1f" fill="%s" fill-opacity=".75"><title>%s: %s</title></circle>`+"\n", x(real(m.Root)), y(imag(m.Root)), 1.5+4*at.Clearance, colour, u.height.of(at.Clearance), html.EscapeString(m.String()))
		}
	}
	for i, at := range []gecp.RootsAt{roots[0], roots[len(roots)-1]} {
		m := at.Modes[0]
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="middle" paint-order="stroke" stroke="#fbfaf6" stroke-width="4">%s</text>`+"\n", x(real(m.Root)), y(imag(m.Root))-30+18*float64(i), u.height.of(at.Clearance))
	}
	for i, line := range wrap("Faster motions stand at the edge. A simulation teaches, it does not train. "+gecp.Cautions, 140) {
		fmt.Fprintf(&b, `<text x="24" y="%.1f" font-size="12" fill="#5b6670">%s</text>`+"\n", h-foot+70+17*float64(i), html.EscapeString(line))
	}
	b.WriteString("</g></svg>\n")
	return os.WriteFile(name, []byte(b.String()), 0o644)
}
