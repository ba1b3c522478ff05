package changes

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/bank"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/playground/exchange"
)

// The banks that the page shows: solved at some, parts of the largest that it shows, which is
// where the lower tip touches or mostBank; drawn at steps of bankStep.
var solvedBanks = []float64{0, .2, .4, .6, .8, .95}

const (
	mostBankDeg = 25
	bankStepDeg = .1
)

// highestRighting is up to which clearance it is looked whether a dropped tip comes up, m.
const highestRighting = 2

// banked is the answer to "bank": the craft at one clearance and pitch, banked to starboard,
// without slip.
type banked struct {
	Height    float64 `json:"height_m"`  // of the datum
	Touches   string  `json:"touches"`   // a sentence: the bank at which the lower tip touches
	Most      float64 `json:"most_deg"`  // the largest bank that is shown
	Tips      []tip   `json:"tips"`      // every bankStepDeg from level
	Banks     []held  `json:"banks"`     // those solved for, from level
	Sideways  float64 `json:"lean_m"`    // how far the pilot leans; 0 without one
	Leaning   string  `json:"leaning"`   // a sentence: what that does; empty without a pilot
	Rights    bool    `json:"rights"`    // a small bank comes up by itself
	Righting  string  `json:"righting"`  // a sentence: the moment of a small bank
	TooClose  string  `json:"too_close"` // a sentence where the derivatives are not good; else empty
	Corrected string  `json:"corrected"` // a sentence where the loads are those of runs; else empty
}

// tip is the lowest point of a banked craft.
type tip struct {
	Clearance float64 `json:"m"` // below 0 in the water
	Words     string  `json:"words"`
}

// held is the craft held at a bank.
type held struct {
	BankDeg float64  `json:"bank_deg"`
	Moment  float64  `json:"moment_nm"` // of all that turns it about the datum line; above 0 it comes up
	Shift   *float64 `json:"shift_m"`   // of the pilot to the low side, for it to stay; nil without a pilot
	Strips  []strip  `json:"strips"`    // the force on the wings
}

type strip struct {
	Wing  string  `json:"wing"`
	Y     float64 `json:"y_m"`
	Z     float64 `json:"z_m"`
	Force float64 `json:"n_per_m"` // square to the wing
}

// bankFlight is the question's craft in level flight, from which it is banked.
func (q *question) bankFlight(ctx context.Context) (*bank.Flight, *gecp.Model, error) {
	length := q.System().Clearance()
	if err := exchange.Within("clearance_m", "the clearance", q.ClearanceM, exchange.Lowest, highestRighting, length); err != nil {
		return nil, nil, err
	}
	if err := exchange.Within("pitch_deg", "the pitch", q.PitchDeg, -10, 20, units.Unit{Name: "degrees", Size: 1}); err != nil {
		return nil, nil, err
	}
	m, err := gecp.NewModel(q.craft, q.Mesh())
	if err != nil {
		return nil, nil, err
	}
	f, err := bank.At(ctx, m, gecp.Freestream{Speed: q.SpeedMPS}, q.ClearanceM, gecp.Radians(q.PitchDeg))
	return f, m, err
}

func (q *question) bank(ctx context.Context, progress func(float64)) (*banked, error) {
	f, m, err := q.bankFlight(ctx)
	if err != nil {
		return nil, err
	}
	u := q.System()
	a := &banked{Height: f.Level.Height, Most: mostBankDeg, Tips: []tip{}, Banks: []held{}}
	a.Touches = fmt.Sprintf("No tip touches the water below %.0f° of bank.", gecp.Degrees(tow.MaxBank))
	touch, touches := f.TouchBank()
	if touches {
		a.Most = math.Min(a.Most, math.Floor(gecp.Degrees(touch)/bankStepDeg)*bankStepDeg)
		a.Touches = fmt.Sprintf("The lower tip touches the water at %s of bank.", units.BankLimit(touch))
	}
	for i := 0; float64(i)*bankStepDeg < a.Most+bankStepDeg/2; i++ {
		low := a.Height - m.LowestPoints().Banked(f.Level.Pitch, gecp.Radians(float64(i)*bankStepDeg)).Depth
		a.Tips = append(a.Tips, tip{low, u.Clearance().Words(low, units.Down)})
	}
	for i, part := range solvedBanks {
		deg := part * a.Most
		b, err := f.Bank(ctx, gecp.Radians(deg))
		var close *gecp.TipError
		if errors.As(err, &close) {
			break // from here on nothing can be calculated
		}
		if err != nil {
			return nil, err
		}
		h := held{BankDeg: deg, Moment: b.Righting.Total(), Strips: []strip{}}
		if b.Shift.OK {
			h.Shift = &b.Shift.X
		}
		for _, s := range b.Span {
			h.Strips = append(h.Strips, strip{s.Wing, s.Y, s.Z, f.Freestream().DynamicPressure() * s.Force})
		}
		a.Banks = append(a.Banks, h)
		if progress != nil {
			progress(float64(i+1) / float64(len(solvedBanks)))
		}
	}
	right := f.Righting()
	a.Rights = right.Rights()
	per := u.Moment().Words(math.Abs(gecp.Radians(right.Total())), units.Nearest)
	a.Righting = fmt.Sprintf("At this height each degree of a small bank is righted with %s.", per)
	if !a.Rights {
		a.Righting = fmt.Sprintf("At this height each degree of a small bank is increased with %s: without slip it grows by itself.", per)
	}
	if p := q.craft.Pilot; p != nil {
		var stated bool
		a.Sideways, stated = p.Sideways()
		a.Leaning = q.leaning(f, a.Sideways, touch, touches)
		if !stated {
			a.Leaning += fmt.Sprintf(" The craft file does not tell how far the pilot leans; %s is taken.", u.Position().Words(a.Sideways, units.Nearest))
		}
	}
	if f.Level.Close() {
		a.TooClose = fmt.Sprintf("So close to the water, less than %v of the chord, what changes with bank is not good.", gecp.CloseGap)
	}
	if words, ok := q.craft.CorrectionWords(); ok {
		a.Corrected = fmt.Sprintf("The wings' loads are %s: those sideways by the lift factor.", words)
	}
	return a, nil
}

// leaning says which bank the pilot's lean brings about.
func (q *question) leaning(f *bank.Flight, lean, touch float64, touches bool) string {
	by := q.System().Position().Words(lean, units.Nearest)
	b, err := f.BankFrom(lean)
	switch {
	case err != nil:
		return fmt.Sprintf("A pilot who leans %s to one side and stays there rolls it on, to that side.", by)
	case touches && b >= touch:
		return fmt.Sprintf("A pilot who leans %s to one side and stays there puts that tip into the water.", by)
	}
	return fmt.Sprintf("A pilot who leans %s to one side and stays there banks it %s.", by, units.Bank().Words(b, units.Up))
}

// rightingAnswer is the answer to "righting".
type rightingAnswer struct {
	Words words `json:"words"` // a sentence without its beginning and end
}

// righting says up to which clearance a dropped tip comes up again at the question's pitch.
func (q *question) righting(ctx context.Context, progress func(float64)) (*rightingAnswer, error) {
	f, m, err := q.bankFlight(ctx)
	if err != nil {
		return nil, err
	}
	at := bank.AtPitch(m, f.Freestream(), f.Level.Pitch)
	asked := 0.
	from := gecp.CloseGap * m.LowestPoints().At(f.Level.Pitch).Chord
	c, err := bank.FindRightingCeiling(ctx, from, highestRighting, func(ctx context.Context, clearance float64) (*bank.Flight, error) {
		if asked++; progress != nil {
			progress(asked / (asked + 12)) // how many there will be is not known
		}
		return at(ctx, clearance)
	})
	if err != nil {
		return nil, err
	}
	return &rightingAnswer{inBoth(c.Words)}, nil
}
