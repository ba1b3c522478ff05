// Command towcard prints what a crew takes to the lake: a ladder of small speed steps
// with where the pilot sits, how hard the line pulls, and the height to let go.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/picture"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("towcard", "What a crew takes to the lake: where the pilot sits at each speed, and when to let go.", "the tow card")
	craftFile := p.Craft()
	format := "text"
	p.Flags.Func("format", "text (which is the default), markdown, csv or html, one page for printing: the `form` of the card", func(s string) error {
		if !slices.Contains([]string{"text", "markdown", "csv", "html"}, s) {
			return fmt.Errorf("the format %q is not known; give text, markdown, csv or html", s)
		}
		format = s
		return nil
	})
	asLog := p.Flags.Bool("log", false, "in place of the card its log sheet, to fill in at the water; as csv it is a log for examples/logbook")
	name := p.Flags.String("o", "", "write into this `file`")
	limit := p.Number("limit", "your own let-go height, `metres`", tow.DefaultOwnLimit, .01, 100)
	margin := p.Number("margin", "room left below where the craft ceases to hold its height, `metres`", tow.DefaultMargin, .001, 10)
	reach := p.Number("reach-margin", "room left below where the pilot's travel ends, `metres`", tow.DefaultMargin, .001, 10)
	reaction := p.Number("reaction", "reaction margin that a pilot needs, `seconds`", tow.SlowestReaction, .01, 2)
	density := p.Density()
	top := p.Number("top", "highest speed of the card, `m/s`; one step past the last that can be flown if not given", math.NaN(), 3, gecp.MaxSpeed)
	mesh := p.Mesh()
	system := p.Units()
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		craft, err := craftFile()
		if err != nil {
			return err
		}
		if *asLog && format == "markdown" {
			return errors.New("the log sheet has no form markdown; give text, csv or html")
		}
		if *name != "" { // some seconds' work should not end in front of a file that stays
			if err := files.Check(*name); err != nil {
				return err
			}
		}
		o := lake.TowCardOptions{
			Units: system(), Density: *density,
			Rules: tow.Rules{OwnLimit: *limit, SelfHoldingMargin: *margin, ReachMargin: *reach, MinReaction: *reaction},
		}
		if !math.IsNaN(*top) {
			o.Top = *top
		}
		m, err := p.BuildMap(ctx, craft, *mesh, "fitting the map")
		if err != nil {
			return err
		}
		o.Progress = p.Stage("working out the card")
		card, err := lake.NewTowCard(ctx, m, o)
		if err != nil {
			return err
		}
		write := cardAs(p, card, format)
		if *asLog {
			write = logAs(card, format)
		}
		if *name != "" {
			return files.Write(*name, write)
		}
		return write(out)
	}
}

// cardAs returns what writes the card in a form.
func cardAs(p *command.Program, card *lake.TowCard, form string) func(io.Writer) error {
	switch form {
	case "markdown":
		return card.WriteMarkdown
	case "csv":
		return card.WriteCSV
	case "html":
		drawn, err := draw(card)
		if err != nil {
			p.Warn(fmt.Errorf("the card stands without its picture: %w", err))
		}
		return func(w io.Writer) error { return card.WriteHTML(w, drawn) }
	}
	return card.WriteText
}

// logAs returns what writes the log sheet in a form.
func logAs(card *lake.TowCard, form string) func(io.Writer) error {
	switch form {
	case "csv":
		return card.WriteLogCSV
	case "html":
		return card.LogSheet().WriteHTML
	}
	return card.LogSheet().WriteText
}

// draw returns the height picture of the highest speed that has a towing range, or else
// that would have one but for people's reaction or for what is left out, and nothing if there
// is none.
func draw(card *lake.TowCard) (string, error) {
	var rung *lake.TowRung
	for i := range card.Rungs {
		if r := &card.Rungs[i].Range; r.OK || (r.None == tow.NoneReaction || r.None == tow.NoneTrust) && (rung == nil || !rung.Range.OK) {
			rung = &card.Rungs[i]
		}
	}
	if rung == nil {
		return "", nil
	}
	r := &rung.Range
	u := card.Units
	h := u.Clearance()
	note := "Weight carried, floats clear. The pilot's line is solid where the craft holds its height by itself."
	lines := []picture.Line{{Name: "let go above " + u.LetGo(r.High.Clearance), Height: r.High.Clearance}, {Name: "tow from " + h.Words(r.Low.Clearance, units.Up), Height: r.Low.Clearance}}
	if !r.OK {
		note = "Do not fly: " + r.End.Kind.String() + ". The pilot's line is solid where the craft holds its height by itself."
		lines = []picture.Line{{Name: "lowest held, " + h.Words(r.Low.Clearance, units.Up), Height: r.Low.Clearance}}
	}
	cp := picture.Curve{Name: "centre of pressure", Style: picture.CP}
	for _, b := range r.Curve.States {
		cp.X, cp.Height = append(cp.X, b.CP), append(cp.Height, b.Clearance)
	}
	held, loose := picture.PilotCurves(r.Curve)
	held.Name = "pilot"
	if slices.ContainsFunc(loose.X, func(x float64) bool { return !math.IsNaN(x) }) {
		held.Name, loose.Name = "", "pilot"
	}
	pilot := card.Craft.Pilot
	p := picture.Picture{
		Title: "Where the lift acts and the pilot belongs, " + u.Speed().Words(rung.Speed, units.Nearest),
		Note:  note,
		Craft: card.Craft, Pitch: r.Low.Pitch, Top: math.Max(.6, 1.6*r.High.Clearance),
		Curves: []picture.Curve{cp, held, loose},
		Bands:  []picture.Band{{Name: "pilot's travel", From: pilot.XForward, To: pilot.XAft}},
		Lines:  lines,
		Units:  u, TextSize: 19,
	}
	var s strings.Builder
	err := p.WriteSVG(&s)
	return s.String(), err
}
