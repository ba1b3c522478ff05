package lake

import (
	"fmt"
	"math"
	"strconv"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// Sheet returns the build sheet: what to build, how a figure of the model stands for one
// of the craft, what does not scale, and what a result on the model says. The model's tow
// card goes with it.
func (m *SmallModel) Sheet() *Sheet {
	return &Sheet{
		Title: fmt.Sprintf("Small model of %s at %.3g of its size", m.Craft.Name, float64(m.Scale)),
		Parts: append(m.wings(), m.weights(), m.towing(), m.factors(),
			SheetPart{Title: "What does not scale", Lines: m.notScaled()},
			SheetPart{Title: "What a result on the model says", Lines: m.says()}),
	}
}

func (m *SmallModel) units() units.System { return m.Units.ForModel() }

// build is for the sizes of a model: tenths of a millimetre, hundredths of an inch.
func (m *SmallModel) build() units.Unit { return m.units().Small() }

// above says a height over the datum, or below it.
func above(u units.Unit, z float64) string {
	if z < 0 {
		return u.Words(-z, units.Nearest) + " below it"
	}
	return u.Words(z, units.Nearest) + " above it"
}

func degrees(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) }

// wings are a table a wing.
func (m *SmallModel) wings() []SheetPart {
	b := m.build()
	n := func(v float64) string { return b.Number(v, units.Nearest) }
	var out []SheetPart
	for i := range m.Model.Wings {
		w := &m.Model.Wings[i]
		p := SheetPart{
			Title: fmt.Sprintf("Wing %q: one half, root to tip, in %s", w.Name, b.Name),
			Head:  []string{"station", "from the centreline", "chord", "leading edge aft of the root's", "above the root's", "twist, degrees", "thickness"},
		}
		for j, s := range w.Stations {
			p.Rows = append(p.Rows, []string{strconv.Itoa(j + 1), n(s.Y), n(s.Chord), n(s.LEX), n(s.LEZ), degrees(s.TwistDeg), n(w.Thickness * s.Chord)})
		}
		p.Lines = append(p.Lines, fmt.Sprintf("Root leading edge %s aft of the datum and %s; incidence %s degrees, about that point.", b.Words(w.X, units.Nearest), above(b, w.Z), degrees(w.IncidenceDeg)))
		if c := w.Camber; c.Height != 0 {
			p.Lines = append(p.Lines, fmt.Sprintf("Mean line of the NACA four-digit sections: %.3g %% of the chord high at %.3g %% of it.", 100*c.Height, 100*c.At))
		} else {
			p.Lines = append(p.Lines, "No camber: the mean line is straight.")
		}
		if t := w.TipPlates; t.Down != 0 || t.Up != 0 {
			p.Lines = append(p.Lines, fmt.Sprintf("Tip plates of the tip section's shape: %s down, %s up.", b.Words(t.Down, units.Nearest), b.Words(t.Up, units.Nearest)))
		}
		out = append(out, p)
	}
	return out
}

func (m *SmallModel) weights() SheetPart {
	b, kg := m.build(), m.units().FineMass()
	n := func(v float64) string { return b.Number(v, units.Nearest) }
	p := SheetPart{Title: "Weights", Head: []string{"what", "mass, " + kg.Name, "aft of the datum, " + b.Name, "above it", "radius of gyration"}}
	row := func(name string, mass float64, x string, z, radius float64) {
		p.Rows = append(p.Rows, []string{name, kg.Number(mass, units.Nearest), x, n(z), n(radius)})
	}
	for _, w := range m.Model.Weights {
		row(w.Name, w.Mass, n(w.X), w.Z, w.Radius)
	}
	pilot := m.Model.Pilot
	row("weight in the pilot's place", pilot.Mass, n(pilot.XForward)+" to "+n(pilot.XAft), pilot.Z, pilot.Radius)
	empty, _ := Sum(m.Model)
	p.Lines = []string{
		fmt.Sprintf("What counts is the sum. Without the pilot's weight: %s, centre of gravity %s aft of the datum and %s, radius of gyration in pitch %s. Build light, weigh, and add ballast until it is so; `examples/weighing` tells.",
			kg.Words(empty.Mass, units.Nearest), b.Words(empty.X, units.Nearest), above(b, empty.Z), b.Words(empty.Radius(), units.Nearest)),
		fmt.Sprintf("The pilot's weight slides and is clamped for each run; start with it %s aft of the datum.", b.Words(m.Card.Start, units.Nearest)),
	}
	return p
}

func (m *SmallModel) towing() SheetPart {
	b, l := m.build(), m.units().Line()
	t := m.Model.Tow
	p := SheetPart{Title: "Towing", Lines: []string{
		fmt.Sprintf("Tow point %s aft of the datum and %s; line %s, its other end %s above the water; a boat %s long on the waterline would make a wake in proportion; a longer one makes a larger one.",
			b.Words(t.X, units.Nearest), above(b, t.Z), l.Words(t.Line, units.Up), m.units().Clearance().Words(t.BoatHeight, units.Nearest), l.Words(t.BoatLength, units.Nearest)),
	}}
	if t.LineWeight() > 0 {
		p.Lines = append(p.Lines, fmt.Sprintf("A line of %s sags as the craft's does; a heavier one draws the nose down.", m.units().LineMass().Words(t.LineWeight()/gecp.G, units.Nearest)))
	}
	if k := m.Craft.Tow.LineStiffness * m.Scale.Mass(); k > 0 {
		p.Lines = append(p.Lines, fmt.Sprintf("To give way as the craft's line does, the model's stretches by 1 %% at %s; the card takes it as stiff.", m.units().Force().Words(k/100, units.Nearest)))
	}
	for i, f := range m.Model.Floats {
		p.Lines = append(p.Lines, fmt.Sprintf("Float %d touches the water %s aft of the datum and %s.", i+1, b.Words(f.X, units.Nearest), above(b, f.Z)))
	}
	if m.Model.ParasiteArea > 0 {
		p.Lines = append(p.Lines, fmt.Sprintf("All but the wings together has the drag of %.3g cm2 times the dynamic pressure.", 1e4*m.Model.ParasiteArea))
	}
	return p
}

// factors says how a figure of the model stands for one of the craft.
func (m *SmallModel) factors() SheetPart {
	s := m.Scale
	p := SheetPart{Title: "From the model to the craft", Head: []string{"multiply the model's", "by"}}
	for _, f := range []struct {
		what string
		by   float64
	}{
		{"lengths, clearances, positions, heights of waves", s.Length()},
		{"speeds, and times", s.Speed()},
		{"masses, pulls of the line", s.Mass()},
		{"moments of inertia", s.Inertia()},
		{"Reynolds numbers", s.Reynolds()},
		{"angles", 1},
	} {
		p.Rows = append(p.Rows, []string{f.what, strconv.FormatFloat(1/f.by, 'g', 4, 64)})
	}
	return p
}

// notScaled says what the model does not show in proportion, and how much.
func (m *SmallModel) notScaled() []string {
	u := m.units()
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	at := "At " + u.Speed().Words(m.Speed, units.Nearest)
	for _, w := range m.Wings {
		say("%s wing %q has a Reynolds number of %.2f million, on the craft %.1f million: one side of a smooth plate has a friction coefficient of %.4f in place of %.4f, and the flow may leave it at a section lift of %.2f in place of %.2f (an estimate, the trend of NACA Report 586 from memory).",
			at, w.Name, w.Reynolds/1e6, w.CraftReynolds/1e6, w.Friction, w.CraftFriction, w.Limit, w.CraftLimit)
	}
	say("%s %s", at, m.frictionWords())
	if strip := m.mostLoaded(); strip != "" {
		out = append(out, strip)
	}
	say("Surface tension stiffens the water under the model against waves as long as a chord by %.2g %%; drops, spray and the wetting of floats do not scale at all, and below %s a float makes no waves.", 100*m.Capillary, u.Pace().Words(slowestWave(), units.Nearest))
	say("A breath of wind counts for more: a gust of 1 m/s on the model is one of %.2g m/s on the craft. Tow it in air that is calmer by that much, and on water that is flatter by %.3g.", 1/m.Scale.Speed(), 1/m.Scale.Length())
	say("All goes %.2g times as quickly: a person's reaction of 0.5 s on the model is one of %.2g s on the craft.", 1/m.Scale.Speed(), .5/m.Scale.Speed())
	return out
}

// frictionWords says how far the friction is from what the scale gives.
func (m *SmallModel) frictionWords() string {
	of, whole := "the friction itself", m.Friction
	if m.LineTension > 0 {
		of, whole = "the line's pull", m.LineTension
	}
	share := m.FrictionExtra / whole
	switch {
	case math.Abs(share) < .01:
		return "friction is what the scale gives, within 1 % of " + of + "."
	case share > 0:
		return fmt.Sprintf("friction costs %.0f %% of %s more than the scale gives; take it off before you scale a pull up. The model's tow card has it in.", 100*share, of)
	}
	return fmt.Sprintf("friction costs %.0f %% of %s less than the scale gives, if the flow along the model's wings stays laminar; a strip of rough paper along the leading edges makes it turbulent. The model's tow card counts it as laminar.", -100*share, of)
}

// mostLoaded warns where a range of the model's card goes beyond the limit of so small a
// wing.
func (m *SmallModel) mostLoaded() string {
	for i := range m.Card.Rungs {
		r := &m.Card.Rungs[i]
		if !r.Range.OK || !r.Range.HasStrip {
			continue
		}
		for j := range m.Wings {
			w := &m.Wings[j]
			limit := w.CraftLimit * lowReynolds(w.Reynolds*r.Speed/m.Speed)
			if r.Strip.Wing == w.Name && math.Abs(r.Strip.LiftCoefficient) > limit {
				return fmt.Sprintf("At %s the flow may leave the model's wing %q, whose section lift of %.2f is over %.2f: there the model may fall where the craft does not.", m.units().Speed().Words(r.Speed, units.Nearest), w.Name, r.Strip.LiftCoefficient, limit)
			}
		}
	}
	return ""
}

// says is what a result on the model says about the craft.
func (m *SmallModel) says() []string {
	u := m.Units
	s := m.Scale
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	if m.Flies {
		say("%s on the model is %s on the craft; a clearance of %s on the model is %s on the craft.", m.units().Speed().Words(m.Speed, units.Nearest), u.FineSpeed().Words(m.Speed/s.Speed(), units.Nearest),
			m.units().Clearance().Words(.2*s.Length(), units.Nearest), u.Clearance().Words(.2, units.Nearest))
	} else {
		say("The calculation finds no speed of the card at which the model flies; neither does the craft.")
	}
	say("If the model pitches up and over, the craft does so at the same pitch and the scaled speed and height: move the weight, change the craft, and do not fly it.")
	say("If the model holds its height by itself, the craft does so too, but for what does not scale. It says nothing of whether a person can follow: the reaction margins on the craft's own tow card do.")
	say("Write down speed, clearance, place of the weight, pitch and pull of every run, and hold them against the model's own craft file with `examples/logbook`; a lift factor that comes out there holds for the model's Reynolds number, an offset of the centre of pressure scales with length.")
	say("A run on the model that goes well proves nothing for waves, wind or stall of the craft.")
	return out
}
