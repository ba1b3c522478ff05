// Command towcard writes the card that a crew takes to the lake: speed by speed
// where the craft rides, where the pilot sits and when to let go of the line.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"strings"

	"example.org/groundeffect/examples/internal/picture"
	"example.org/groundeffect/gecp"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Args[1:], os.Stdout); err != nil {
		if !errors.Is(err, flag.ErrHelp) {
			fmt.Fprintln(os.Stderr, err)
		}
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string, out io.Writer) error {
	fs := flag.NewFlagSet("towcard", flag.ContinueOnError)
	file := fs.String("craft", "", "craft `file`; the demo craft if not given")
	us := fs.Bool("us", false, "write feet, inches, pounds and miles per hour")
	format := fs.String("format", "text", "`text`, markdown, csv or html (one page for printing)")
	name := fs.String("o", "", "write into this `file`")
	limit := fs.Float64("limit", 0, "your own let-go height, `metres`; 0.6 if not given")
	margin := fs.Float64("margin", 0, "room left under the end of the pilot's reach, `metres`; 0.05 if not given")
	density := fs.Float64("density", gecp.AirDensity, "air density, `kg/m3`")
	top := fs.Float64("top", 0, "highest speed of the card, `m/s`; one step past the last that can be flown if not given")
	if err := fs.Parse(args); err != nil {
		return err
	}
	if fs.NArg() > 0 {
		return fmt.Errorf("%q is not understood; put a craft file behind -craft", fs.Arg(0))
	}
	craft := gecp.Demo()
	if *file != "" {
		var err error
		if craft, err = gecp.ReadFile(*file); err != nil {
			return err
		}
	}
	o := gecp.TowCardOptions{Density: *density, Top: *top, Limit: *limit, Margin: *margin}
	if *us {
		o.Units = gecp.Customary
	}
	m, err := craft.BuildMap(ctx, gecp.MapOptions{})
	if err != nil {
		return err
	}
	if o.Flights, err = craft.BuildMap(ctx, gecp.FlightRange); err != nil {
		return err
	}
	card, err := m.TowCard(ctx, o)
	if err != nil {
		return err
	}
	var s strings.Builder
	switch *format {
	case "text":
		err = card.WriteText(&s)
	case "markdown":
		err = card.WriteMarkdown(&s)
	case "csv":
		err = card.WriteCSV(&s)
	case "html":
		var p string
		if p, err = draw(m, card); err == nil {
			err = card.WriteHTML(&s, p)
		}
	default:
		err = fmt.Errorf("the format %q is not known; give text, markdown, csv or html", *format)
	}
	if err != nil {
		return err
	}
	if *name != "" {
		return os.WriteFile(*name, []byte(s.String()), 0o644)
	}
	_, err = io.WriteString(out, s.String())
	return err
}

// draw returns the height picture of the highest speed with a let-go height, and
// nothing if there is none.
func draw(m *gecp.Map, card *gecp.TowCard) (string, error) {
	var rung *gecp.TowRung
	for i := range card.Rungs {
		if card.Rungs[i].Usable {
			rung = &card.Rungs[i]
		}
	}
	if rung == nil {
		return "", nil
	}
	r, err := m.Run(rung.Speed, card.Density)
	if err != nil {
		return "", err
	}
	all, err := r.TrimCurve()
	if err != nil {
		return "", err
	}
	c, _ := all.AboveFloats() // a rung with a let-go height has states above the floats

	speed := fmt.Sprintf("%.0f km/h", rung.Speed*3.6)
	perUnit, unit := 1., "m"
	if card.Units == gecp.Customary {
		speed, perUnit, unit = fmt.Sprintf("%.0f mph", rung.Speed/.44704), .3048, "ft"
	}
	cp := picture.Curve{Name: "centre of pressure", Style: picture.CP}
	held := picture.Curve{Name: "pilot, held by itself", Style: picture.Pilot}
	loose := picture.Curve{Name: "pilot, not held", Style: picture.Unstable}
	for i, b := range c.States {
		cp.X, cp.Height = append(cp.X, b.CP), append(cp.Height, b.Clearance)
		// The point where one line ends is the other's first.
		joint := i > 0 && c.States[i-1].HeightStable != b.HeightStable
		put := func(to *picture.Curve, yes bool) {
			x := math.NaN()
			if yes || joint {
				x = b.Pilot.X
			}
			to.X, to.Height = append(to.X, x), append(to.Height, b.Clearance)
		}
		put(&held, b.HeightStable)
		put(&loose, !b.HeightStable)
	}
	pilot := card.Craft.Pilot
	p := picture.Picture{
		Title: "Where the lift acts and the pilot belongs, " + speed,
		Note:  "Weight carried, floats clear of the water. A calculation.",
		Craft: card.Craft, Pitch: rung.Low.Pitch, Top: math.Max(.6, 1.6*rung.High.Clearance),
		Curves:  []picture.Curve{cp, held, loose},
		Bands:   []picture.Band{{Name: "pilot's travel", From: pilot.XForward, To: pilot.XAft}},
		Lines:   []picture.Line{{Name: "let go above", Height: rung.High.Clearance}, {Name: "rides from", Height: rung.Low.Clearance}},
		PerUnit: perUnit, Unit: unit, TextSize: 19,
	}
	var s strings.Builder
	err = p.WriteSVG(&s)
	return s.String(), err
}
