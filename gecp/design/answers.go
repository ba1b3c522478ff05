package design

import (
	"context"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// Answer is a figure that a builder asks of a craft.
type Answer int

// The answers, in the order of tables. Lift-off and window are of the pilot in the middle of the
// travel, all others of the speed asked about.
const (
	AnswerTravel      Answer = iota // of the pilot, needed in the towing range, m
	AnswerLowest                    // lowest towing clearance, m
	AnswerLetGo                     // highest towing clearance, m
	AnswerSelfHolding               // clearance up to which it holds its height by itself, the pilot in reach further down, m
	AnswerReach                     // clearance above which the pilot's travel ends, m; none where it does not end
	AnswerLiftOff                   // lift-off speed, m/s
	AnswerWindow                    // width of the speed window, m/s
	AnswerPull                      // largest pull of the line in the towing range, or at the lowest clearance without one, N
	AnswerReaction                  // reaction margin at the worse end of the towing range, s; only if asked for
	numAnswers
)

// String names the answer as a column of a table has it.
func (a Answer) String() string {
	return [...]string{"travel", "lowest", "let_go", "self_holding", "reach", "lift_off", "window", "pull", "reaction"}[a]
}

// Words names the answer in a sentence.
func (a Answer) Words() string {
	return [...]string{
		"the travel needed", "the lowest towing clearance", "the height to let go", "the clearance up to which it holds itself",
		"the pilot's reach", "the lift-off speed", "the speed window", "the line's pull", "the reaction margin",
	}[a]
}

// Unit returns the unit in which the answer is shown.
func (a Answer) Unit(u units.System) units.Unit {
	switch a {
	case AnswerTravel:
		return u.Position()
	case AnswerLiftOff, AnswerWindow:
		return u.FineSpeed()
	case AnswerPull:
		return u.Force()
	case AnswerReaction:
		return units.Seconds()
	}
	return u.Clearance()
}

// Rounding is towards what a builder must reckon with.
func (a Answer) Rounding() units.Rounding {
	switch a {
	case AnswerTravel, AnswerLowest, AnswerLiftOff, AnswerPull:
		return units.Up
	}
	return units.Down
}

// Question is what is asked of a craft at one speed.
type Question struct {
	Speed   float64 // through the air, m/s; it has no default
	Density float64 // of the air, kg/m3; gecp.AirDensity
	// Rules of the towing range. Their reaction function is asked if there is one, for every craft: that
	// takes seconds a craft.
	Rules tow.Rules
	// Reaction asks for the reaction margin, too: some tenths of a second a craft.
	Reaction bool
}

// Answers are the figures of one craft, each of package tow or motion.
type Answers struct {
	Figures [numAnswers]Figure
	Range   tow.Range  // at the speed asked about
	Window  tow.Window // zero without pilot or floats
	// WindowErr is why lift-off and window are not known although the craft has pilot and
	// floats: it rests too close to the water for the calculation. ReactionErr is why the
	// reaction margin is not known.
	WindowErr, ReactionErr error
}

// Ask returns the answers of a map's craft. It returns [gecp.Problems] if the craft has no weights or no
// tow, an error if the speed, the density or a rule is out of range, and the context's if it is cancelled.
func (q Question) Ask(ctx context.Context, m *gecp.Map) (Answers, error) {
	s, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: q.Speed, Density: q.Density})
	if err != nil {
		return Answers{}, err
	}
	r, err := s.Range(ctx, q.Rules)
	if err != nil {
		return Answers{}, err
	}
	a := Answers{Range: r}
	craft := s.Craft()
	if r.OK {
		a.Figures[AnswerLowest], a.Figures[AnswerLetGo] = figure(r.Low.Clearance), figure(r.High.Clearance)
		if craft.Pilot != nil {
			a.Figures[AnswerTravel] = figure(r.PilotAft - r.PilotForward)
		}
	}
	if at, ok := selfHolding(r); ok {
		a.Figures[AnswerSelfHolding] = figure(at)
	}
	if r.Flies {
		a.Figures[AnswerPull] = figure(r.LineTension)
		if l := r.Limits[tow.LimitReach]; l.OK {
			a.Figures[AnswerReach] = figure(l.At)
		}
	}
	if craft.Require(gecp.BlockPilot, gecp.BlockFloats) == nil {
		a.Window, a.WindowErr = tow.FindFirstWindow(ctx, m, s.Freestream().Density, craft.Pilot.Middle())
		if w := a.Window; a.WindowErr == nil && w.LiftOff.OK {
			a.Figures[AnswerLiftOff] = figure(w.LiftOff.Speed)
			if w.OK {
				a.Figures[AnswerWindow] = figure(w.Width())
			}
		}
	}
	if q.Reaction {
		a.Figures[AnswerReaction], a.ReactionErr = worseMargin(ctx, r)
	}
	if ctx.Err() != nil {
		return Answers{}, ctx.Err()
	}
	return a, nil
}

// worseMargin returns the smaller of the reaction margins at both ends of a range, s.
func worseMargin(ctx context.Context, r tow.Range) (Figure, error) {
	low, high, ok := r.Bounds()
	if !ok {
		return Figure{}, nil
	}
	least := math.Inf(1)
	for _, at := range []float64{low, high} {
		m, err := motion.MarginsAt(ctx, r.Tow, at, r.Rules.OwnLimit)
		if err != nil {
			return Figure{}, err
		}
		c := m.Counts()
		if !c.OK {
			return Figure{}, nil
		}
		least = math.Min(least, c.Delay)
	}
	return figure(least), nil
}
