// Command bank shows what a craft does when it is banked over the water, height by height:
// whether a dropped tip comes up again, when it touches, what the pilot's leaning and a line
// off the centreline do, and the sideways modes.
package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/bank"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

func main() { p, work := program(); p.Main(work) }

// The banks of the table and of the picture, degrees; the picture takes the largest that the
// lower tip is clear of the water at.
var banksDeg = []float64{0, 2, 5}

// boatDeg is how far to one side the boat is ahead of the craft in the table, degrees.
const boatDeg = 5

// ladder returns the clearances of a table that names none, m.
func ladder() []float64 { return []float64{.15, .2, .25, .3, .4, .5, .6, .8, 1, 1.5} }

// lookedUpTo is how high the righting is looked at, m.
const lookedUpTo = 3

func program() (*command.Program, func(ctx context.Context, out io.Writer) error) {
	p := command.New("bank", "Whether a dropped tip comes up again, height by height, at one pitch.", "the table")
	craftFile := p.Craft()
	pitch := p.Number("pitch", "pitch, `degrees` nose-up about the datum", 3, -20, 20)
	speed := p.Number("speed", "speed through the air, `m/s`", 14, .1, gecp.MaxSpeed)
	density := p.Density()
	clearances := p.Numbers("clearances", "clearances of the lowest wing point before banking, `metres`, as 0.1,0.2,0.5")
	mesh := p.Mesh()
	wake := p.Wake()
	system := p.Units()
	asCSV := p.Flags.Bool("csv", false, "print comma-separated values in SI units, full precision, at banks of 0, 2 and 5 degrees")
	svg := p.Flags.String("svg", "", "also draw the craft from behind, banked, into this `file`")
	files := p.Outputs()
	return p, func(ctx context.Context, out io.Writer) error {
		craft, err := craftFile()
		if err != nil {
			return err
		}
		m, err := gecp.NewModel(craft, *mesh)
		if err != nil {
			return err
		}
		m = m.WithWake(*wake)
		p.Stage("solving for each clearance")
		s := study{model: m, stream: gecp.Freestream{Speed: *speed, Density: *density}, pitch: gecp.Radians(*pitch), units: system()}
		ask := *clearances
		if ask == nil {
			ask = ladder()
		}
		var banks []float64
		for _, b := range banksDeg {
			banks = append(banks, gecp.Radians(b))
		}
		if s.rows, err = bank.Table(ctx, m, s.stream, s.pitch, ask, banks); err != nil {
			return err
		}
		if *asCSV {
			err = s.writeCSV(out)
		} else {
			err = s.report(ctx, out, p)
		}
		if err != nil {
			return err
		}
		return files.Draw(*svg, s.draw)
	}
}

// study is a craft at one pitch and speed.
type study struct {
	model  *gecp.Model
	stream gecp.Freestream
	pitch  float64
	rows   []bank.Row
	units  units.System
}

// writeCSV prints SI values; what cannot be calculated, with the lower tip in the water, and the
// shift of a pilot who is not there, are empty fields. Others read this table, so its columns
// stay these.
func (s *study) writeCSV(out io.Writer) error {
	w := csv.NewWriter(out)
	w.Write([]string{"clearance_m", "bank_deg", "roll_moment_Nm", "side_force_N", "yaw_moment_Nm", "lift_N", "pilot_shift_m", "tip_clearance_m"})
	num := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	for _, r := range s.rows {
		for i, h := range r.Banks {
			line := []string{num(r.Level.Clearance), num(banksDeg[i]), "", "", "", "", "", num(h.TipClearance)}
			if h.Tip == nil {
				line[2], line[3], line[4], line[5] = num(h.RollMoment), num(h.SideForce), num(h.YawMoment), num(h.Lift)
				if h.Shift.OK {
					line[6] = num(h.Shift.X)
				}
			}
			w.Write(line)
		}
	}
	w.Flush()
	return w.Error()
}

func (s *study) report(ctx context.Context, out io.Writer, p *command.Program) error {
	w, u, c := bufio.NewWriter(out), s.units, s.model.Craft()
	fmt.Fprintf(w, "What %s does when a wing drops, height by height, at %v m/s (%s), %s about the datum, air of %.3f kg/m3\n\n",
		c.Name, s.stream.Speed, u.FineSpeed().Words(s.stream.Speed, units.Nearest), tow.Tilt(s.pitch, 1), s.stream.Density)
	if s.model.Wake() == gecp.WakeFree {
		fmt.Fprint(w, "Wakes that pass other wings follow the flow, and do so as the craft banks and slips; what yawing changes holds their way.\n\n")
	}
	if words, ok := c.CorrectionWords(); ok {
		fmt.Fprintf(w, "The wings' loads are %s: those sideways by the lift factor.\n\n", words)
	}
	ceiling, err := bank.FindRightingCeiling(ctx, s.lowest(), lookedUpTo, bank.AtPitch(s.model, s.stream, s.pitch))
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "At this pitch %s.\n\n", ceiling.Words(u))
	s.roll(w, c)
	s.slip(w)
	if err := s.inTow(ctx, w, p); err != nil {
		return err
	}
	fmt.Fprintf(w, "Bank is about the datum line, starboard down; a rolling moment is about the datum line and positive where it raises the lowered side.\nThe line takes up the sideways force at the tow point. Left out: waves, gusts, the wakes' lag in slip and yaw, floats that touch, pylons and frame sideways.\n\n%s\n", gecp.Cautions)
	return w.Flush()
}

// lowest is the clearance from which on the derivatives are good at the pitch, m.
func (s *study) lowest() float64 {
	return gecp.CloseGap * s.model.LowestPoints().At(s.pitch).Chord
}

// roll prints what a bank does without slip.
func (s *study) roll(w io.Writer, c *gecp.Craft) {
	u, moment := s.units, s.units.Moment()
	lean, leanWords := 0., "leaning"
	if c.Pilot != nil {
		travel, stated := c.Pilot.Sideways()
		lean, leanWords = travel, "leaning "+u.Position().Words(travel, units.Nearest)
		if !stated {
			defer fmt.Fprintf(w, "The craft file does not tell how far the pilot leans to either side (pilot.y_m); %s is taken.\n\n", u.Position().Words(travel, units.Nearest))
		}
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "clearance\ttip touches\trighting moment, %s per degree\t\t\t\troll damping,\tpilot's shift\tbank from\t\n", moment.Name)
	fmt.Fprintf(t, "%s\tat bank of\twings\tweight\tline\ttogether\t%s per °/s\tfor 2°, %s\t%s\t\n", u.Clearance().Name, moment.Name, u.Position().Name, leanWords)
	near, leaning := false, false
	var fill gecp.GapFill
	for _, r := range s.rows {
		note := ""
		if r.Level.Close() {
			near, note = true, " *"
		}
		for _, h := range r.Banks[:2] { // level, and held at 2°
			if h.Tip == nil && h.GapFill.Over() {
				if note += " #"; h.GapFill.Share > fill.Share {
					fill = h.GapFill
				}
				break
			}
		}
		touch := "over 45°"
		if b, ok := r.TouchBank(); ok {
			touch = units.BankLimit(b)
		}
		shift, from := "-", "-"
		for i, h := range r.Banks {
			if banksDeg[i] == 2 && h.Tip == nil && h.Shift.OK {
				shift = u.FinePosition().Number(h.Shift.X, units.Nearest)
				leaning = leaning || h.Shift.X < 0
			} else if banksDeg[i] == 2 && h.Tip != nil {
				shift = "in the water"
			}
		}
		if lean > 0 {
			from = s.bankFrom(r, lean)
		}
		right := r.Righting()
		per := func(v float64) string { return moment.Number(gecp.Radians(v), units.Nearest) }
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", u.Clearance().Number(r.Level.Clearance, units.Nearest), touch,
			per(right.Wings), per(right.Weight), per(right.Line), per(right.Total()), per(r.Damping()), shift, from, note)
	}
	t.Flush()
	fmt.Fprintln(w)
	if leaning {
		fmt.Fprint(w, "A negative shift keeps a bank from growing: the pilot leans to the high side.\n\n")
	}
	if fill.Over() {
		fmt.Fprintf(w, "# Level or banked 2°: %s\n\n", lowerFirst(fill.Words()))
	}
	if near {
		fmt.Fprintf(w, "* Closer to the water than %v of the chord: what changes with bank and slip is not good.\n\n", gecp.CloseGap)
	}
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// bankFrom says which bank a shift brings about, or that the tip touches before.
func (s *study) bankFrom(r bank.Row, shift float64) string {
	b, err := r.BankFrom(shift)
	if err != nil {
		return "rolls on"
	}
	if touch, ok := r.TouchBank(); ok && b >= touch {
		return "touches"
	}
	return degrees(b, units.Up)
}

// degrees says an angle.
func degrees(rad float64, r units.Rounding) string { return units.Bank().Number(rad, r) + "°" }

// slip prints what bank and slip do sideways.
func (s *study) slip(w io.Writer) {
	u, moment, force := s.units, s.units.Moment(), s.units.Force()
	force.Decimals++
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "clearance\tside force\tyawing moment\trolling moment\tside force\tyawing moment\t\n")
	fmt.Fprintf(t, "%s\t%s per ° bank\t%s per ° bank\t%s per ° slip\t%s per ° slip\t%s per ° slip\t\n", u.Clearance().Name, force.Name, moment.Name, moment.Name, force.Name, moment.Name)
	q := s.stream.DynamicPressure()
	for _, r := range s.rows {
		per := func(unit units.Unit, v float64) string { return unit.Number(gecp.Radians(q*v), units.Nearest) }
		l := r.Level
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t\n", u.Clearance().Number(l.Clearance, units.Nearest), per(force, l.ByBank.Side), per(moment, l.ByBank.Yaw),
			per(moment, l.BySlip.AboutDatumLine(s.pitch)), per(force, l.BySlip.Side), per(moment, l.BySlip.Yaw))
	}
	t.Flush()
	fmt.Fprint(w, "\nOf the wings, slip with the wind from the lowered, starboard, side: its rolling moment raises that side if positive. To starboard and nose to starboard are positive.\n\n")
}

// inTow prints what needs a balance: the modes, leaning when all has settled, and the boat to one
// side; in steady tow at the speed, the pitch following the clearance.
func (s *study) inTow(ctx context.Context, w io.Writer, p *command.Program) error {
	u := s.units
	m, err := s.model.BuildMap(ctx, gecp.MapOptions{Progress: p.Stage("the map of the wings")})
	if err != nil {
		return err
	}
	t, err := tow.NewSteadyTow(m, s.stream)
	if err != nil {
		return err
	}
	at := bank.InSteadyTow(t)
	var flights []*bank.Flight
	lowest := s.lowest()
	for _, r := range s.rows {
		f, err := at(ctx, r.Level.Clearance)
		var outside *gecp.RangeError
		if errors.As(err, &outside) || err == nil && f == nil {
			continue
		}
		if err != nil {
			return err
		}
		flights = append(flights, f)
	}
	if len(flights) == 0 {
		fmt.Fprintf(w, "At %s it flies in steady tow at none of these clearances: there are no modes.\n\n", u.FineSpeed().Words(s.stream.Speed, units.Nearest))
		return nil
	}
	range_ := m.Range()
	ceiling, err := bank.FindRightingCeiling(ctx, math.Max(lowest, range_.ClearanceMin), math.Min(lookedUpTo, range_.ClearanceMax), at)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "In steady tow at %s, the pitch following the clearance, %s.\nIts sideways modes with the pilot still and the line straight:\n\n", u.FineSpeed().Words(s.stream.Speed, units.Nearest), ceiling.Words(u))
	if err := s.modes(w, flights); err != nil {
		return err
	}
	fmt.Fprintf(w, "%s\n\n", motion.LateralGuesses(s.model.Craft()))
	s.offCentre(w, flights)
	return nil
}

func (s *study) modes(w io.Writer, flights []*bank.Flight) error {
	u := s.units
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "clearance, %s\tpitch\t\n", u.Clearance().Name)
	for _, f := range flights {
		modes, err := f.Modes()
		if err != nil {
			return err
		}
		for i, m := range modes {
			head := "\t"
			if i == 0 {
				head = fmt.Sprintf("%s\t%s", u.Clearance().Number(f.Level.Clearance, units.Nearest), degrees(f.Level.Pitch, units.Nearest))
			}
			fmt.Fprintf(t, "%s\t%s: %s\n", head, m.Kind, m)
		}
	}
	t.Flush()
	fmt.Fprintln(w)
	return nil
}

// offCentre prints what the boat to one side does.
func (s *study) offCentre(w io.Writer, flights []*bank.Flight) {
	u, moment, force := s.units, s.units.Moment(), s.units.Force()
	fmt.Fprintf(w, "The boat ahead and %d° to starboard, the pilot still: what the line does at once, and where roll and yaw then balance.\n\n", boatDeg)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "clearance\tpulls to starboard\tturns the nose\trolls\tbank\tnose\tforce left\t\t\n")
	fmt.Fprintf(t, "%s\t%s\t%s\t%s\tto starboard\tto starboard\t%s\t\t\n", u.Clearance().Name, force.Name, moment.Name, moment.Name, force.Name)
	for _, f := range flights {
		o := f.LineOffCentre(gecp.Radians(boatDeg))
		at := u.Clearance().Number(f.Level.Clearance, units.Nearest)
		// A bank of more than some degrees is no answer of the first order.
		if !o.OK || math.Abs(o.Bank) > maxShown || math.Abs(o.Heading) > maxShown {
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t-\t-\t-\tno balance near\t\n", at, force.Number(o.SideForce, units.Nearest), moment.Number(o.YawMoment, units.Nearest), moment.Signed(-o.RollMoment))
			continue
		}
		way := "away from the boat's side"
		if o.Follows() {
			way = "towards the boat's side"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t\n", at, force.Number(o.SideForce, units.Nearest), moment.Number(o.YawMoment, units.Nearest), moment.Signed(-o.RollMoment),
			degrees(o.Bank, units.Nearest), degrees(o.Heading, units.Nearest), force.Number(o.NetForce, units.Nearest), way)
	}
	t.Flush()
	fmt.Fprint(w, "\nNose and roll to starboard, towards the boat, are positive.\n\n")
}

// maxShown is the bank or heading up to which a linear answer is shown, rad.
const maxShown = 10 * math.Pi / 180
