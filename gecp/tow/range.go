package tow

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/bisect"
)

// Range is from which clearance to which a craft may be towed at one speed: where the
// pilot must be, what ends it, and all the limits that do not. It is worked out here
// and nowhere else.
//
// Going up from Low, the lowest trim that the craft holds by itself with the floats clear, the
// pilot within reach and no strip over its section's limit, and far enough from the water for
// the calculation to be sure of that, the lowest of the Limits, each less its margin, is High:
// the height to let go. A range that [Trust.Cut] has cut begins at the high end of what its
// lowest clearance may be, and ends at the low end of what its height to let go may be.
type Range struct {
	Tow   SteadyTow
	Rules Rules // with the defaults filled in
	OK    bool  // whether there is a clearance to tow the craft at
	// None is why there is not; Err goes with NoneNotFlying, Limit with NoneMargins.
	None NoRange
	Err  error
	// Low is the lowest trim of the range. Without a range it is the lowest that the craft
	// holds by itself in reach, or else the lowest with the floats clear; Flies tells
	// whether there is one at all.
	Low   Trim
	Flies bool
	High  Trim // the height to let go; only if OK
	End   Limit
	// Limits holds one limit of each kind, in the order of the kinds, also those that do
	// not end the range.
	Limits []Limit
	// PilotForward and PilotAft are the foremost and the aftmost position needed between
	// Low and High, m aft of the datum; 0 without a pilot.
	PilotForward, PilotAft float64
	// LineTension is the largest between Low and High, or at Low without a range, N.
	LineTension float64
	// Strip is the most loaded strip at Low or High, the worse of the two; HasStrip is
	// false for a map without strips.
	Strip    gecp.CriticalStrip
	HasStrip bool
	// Unproven is a wing at Low or High whose height stability is not proven; HasUnproven is
	// false if there is none.
	Unproven    Unproven
	HasUnproven bool
	// GapFill is the section at Low or High that fills its gap to the water most.
	GapFill gecp.GapFill
	// Bank is the bank at which a tip touches, and how far the pilot leans; only if OK.
	Bank BankLimit
	// Curve is the trim with the floats clear.
	Curve TrimCurve
}

// LimitKind is what a limit of the range comes from.
type LimitKind int

// The kinds of limit.
const (
	LimitSelfHolding LimitKind = iota // above it the craft no longer holds its height by itself
	LimitReach                        // above it the pilot's travel ends
	LimitReaction                     // above it no one can react in time
	LimitSection                      // above it the flow may leave a wing
	LimitOwn                          // the builder's own
	LimitMap                          // above it nothing is calculated
	LimitTrust                        // above it the calculation is not to be trusted; see [Trust.Cut]
	numLimits
)

// String names the limit in a few words.
func (k LimitKind) String() string {
	switch k {
	case LimitSelfHolding:
		return "the craft no longer holds its height by itself"
	case LimitReach:
		return "the pilot's travel ends"
	case LimitReaction:
		return "no one can react in time"
	case LimitSection:
		return "the flow may leave a wing"
	case LimitOwn:
		return "your own limit"
	case LimitTrust:
		return "what the calculation leaves out may end it"
	}
	return "the calculation ends"
}

// Limit is a clearance that a range may not pass.
type Limit struct {
	Kind   LimitKind
	At     float64 // m; the last clearance at which all is well
	Margin float64 // m, to stay below At
	OK     bool    // false: it is not met below the highest clearance looked at
}

// Clearance returns the limit less its margin, m.
func (l Limit) Clearance() float64 { return l.At - l.Margin }

// NoRange is why there is no clearance to tow a craft at.
type NoRange int

// The reasons. NoneNot stands for a craft that has a range.
const (
	NoneNot        NoRange = iota
	NoneNotFlying          // the weight is not carried at any clearance
	NoneInWater            // it is carried only where a float is in the water
	NoneUnstable           // it holds no height by itself, wherever the pilot sits
	NoneOutOfReach         // it does so only where the pilot cannot be
	NoneMargins            // a limit, less its margin, lies less than LeastDepth above the lowest clearance held
	NoneReaction           // no one can react in time even there
	NoneSection            // the flow may leave a wing even there
	NoneTooClose           // it does so only too close to the water to be sure
	NoneTrust              // what the calculation leaves out may leave less than LeastDepth; see [Trust.Cut]
)

// Rules are what a range is held to. Zero values stand for the defaults named; all of
// these are chosen figures, for the owner of a craft to change.
type Rules struct {
	OwnLimit          float64 // own let-go height, m, up to 100; DefaultOwnLimit
	SelfHoldingMargin float64 // below where the craft ceases to hold its height, m, up to 10; DefaultMargin
	ReachMargin       float64 // below where the pilot's travel ends, m, up to 10; DefaultMargin
	MinReaction       float64 // reaction margin that a pilot needs, s, up to 2; SlowestReaction
	// Reaction tells whether a pilot as late as MinReaction saves the craft; nil leaves the
	// limit out.
	Reaction ReactionFunc
}

// ReactionFunc reports whether a pilot of a delay, s, and every quicker one, saves the
// craft at a clearance of a tow, m, so that it stays below a limit, m. motion.InTime is
// one.
type ReactionFunc func(ctx context.Context, t SteadyTow, clearance, limit, delay float64) (bool, error)

// Defaults of Rules.
const (
	DefaultOwnLimit = .6  // m; common practice, no source
	DefaultMargin   = .05 // m
	// SlowestReaction is the slowest published delay of a person in a compensatory control
	// task, s, that of acceleration control (McRuer, Graham, Krendel and Reisener,
	// AFFDL-TR-65-15, 1965; from memory).
	SlowestReaction = .5
)

// Checked returns the rules with the defaults filled in, or an error that names the
// value out of range.
func (r Rules) Checked() (Rules, error) {
	r.OwnLimit = cmp.Or(r.OwnLimit, DefaultOwnLimit)
	r.SelfHoldingMargin = cmp.Or(r.SelfHoldingMargin, DefaultMargin)
	r.ReachMargin = cmp.Or(r.ReachMargin, DefaultMargin)
	r.MinReaction = cmp.Or(r.MinReaction, SlowestReaction)
	for _, c := range []struct {
		what    string
		v, most float64
		unit    string
	}{
		{"your own let-go height", r.OwnLimit, 100, "m"},
		{"the margin below the end of self-holding", r.SelfHoldingMargin, 10, "m"},
		{"the margin below the end of the pilot's reach", r.ReachMargin, 10, "m"},
		{"the reaction margin that a pilot needs", r.MinReaction, 2, "s"},
	} {
		if !(c.v > 0 && c.v <= c.most) {
			return r, fmt.Errorf("%s is %v %s; give one above 0 and up to %v %s", c.what, c.v, c.unit, c.most, c.unit)
		}
	}
	return r, nil
}

// Range returns the towing range at the tow's speed. It returns an error if a rule is
// out of range, the context is cancelled or the calculation fails; a craft that cannot
// be towed is no error but a range that is not OK.
func (t SteadyTow) Range(ctx context.Context, rules Rules) (Range, error) {
	rules, err := rules.Checked()
	if err != nil {
		return Range{}, err
	}
	r, err := t.rangeBy(ctx, rules)
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return Range{}, err // nothing half done may pass for an answer
	}
	return r, nil
}

// rangeBy is Range with the rules checked.
func (t SteadyTow) rangeBy(ctx context.Context, rules Rules) (Range, error) {
	r := Range{Tow: t, Rules: rules}
	none := func(why NoRange) (Range, error) {
		r.None = why
		return r, nil
	}
	all, err := t.TrimCurve()
	if cannotFly(err) {
		r.Err = err
		return none(NoneNotFlying)
	}
	if err != nil {
		return r, err
	}
	c, ok := all.AboveFloats()
	if !ok {
		return none(NoneInWater)
	}
	r.Flies, r.Curve = true, c
	held, ok := c.From(inRange)
	if !ok {
		r.begin(c.States[0])
		r.Limits = r.ceilings(c)
		stable, ok := c.From(func(b Trim) bool { return b.HeightStable })
		if !ok {
			return none(NoneUnstable)
		}
		r.Low = stable.States[0]
		if _, ok := stable.From(func(b Trim) bool { return b.HeightStable && !b.Close }); !ok {
			return none(NoneTooClose)
		}
		return none(NoneOutOfReach)
	}
	// The section limit may be passed at the lower end, where the craft flies slowest for
	// its height, and again at the upper one.
	within, ok := held.From(func(b Trim) bool { return inRange(b) && !t.overSection(b) })
	if !ok {
		r.begin(held.States[0])
		r.Limits = r.ceilings(held)
		r.End = Limit{Kind: LimitSection, OK: true}
		return none(NoneSection)
	}
	r.begin(within.States[0])
	r.Limits = r.ceilings(within)
	r.End = r.ruling()
	if tooThin(r.Low.Clearance, r.End.Clearance()) {
		return none(NoneMargins)
	}
	if rules.Reaction != nil {
		if r.Limits[LimitReaction], err = r.reaction(ctx); err != nil {
			return r, err
		}
		if l := r.Limits[LimitReaction]; l.OK && tooThin(r.Low.Clearance, l.At) {
			r.End = l
			return none(NoneReaction)
		}
		r.End = r.ruling()
	}
	return r, r.endAt(r.End.Clearance())
}

// endAt fills in the upper end of a range that is OK, at a clearance above Low, m, and what is
// told of what lies between the two.
func (r *Range) endAt(clearance float64) (err error) {
	t := &r.Tow
	if r.High, err = t.Trim(clearance); err != nil {
		return err
	}
	r.OK = true
	for _, b := range r.Curve.States {
		if b.Clearance > r.Low.Clearance && b.Clearance < r.High.Clearance {
			r.widen(b)
		}
	}
	r.widen(r.High)
	r.Bank = t.bankLimit(r.Low, r.High)
	for _, b := range []Trim{r.High, r.Low} {
		if n, ok := t.Unproven(b); ok {
			r.Unproven, r.HasUnproven = n, true
		}
		if g := t.m.Model().LowestPoints().GapFill(b.Clearance, b.Pitch); g.Share > r.GapFill.Share {
			r.GapFill = g
		}
	}
	return r.strips()
}

// cut returns the part of a range that is OK that lies between two clearances, m, its upper end
// for LimitTrust, or none if that leaves less than LeastDepth.
func (r Range) cut(from, to float64) (Range, error) {
	from, to = math.Max(from, r.Low.Clearance), math.Min(to, r.High.Clearance)
	if from == r.Low.Clearance && to == r.High.Clearance {
		return r, nil
	}
	c := Range{Tow: r.Tow, Rules: r.Rules, Flies: true, Curve: r.Curve}
	c.Limits = slices.Clone(r.Limits)
	if tooThin(from, to) {
		c.begin(r.Low)
		c.None, c.End = NoneTrust, Limit{Kind: LimitTrust, At: r.High.Clearance, OK: true}
		return c, nil
	}
	low := r.Low
	if from > low.Clearance {
		var err error
		if low, err = r.Tow.Trim(from); err != nil {
			return r, err
		}
	}
	c.begin(low)
	c.End = r.End
	if to < r.High.Clearance {
		c.End = Limit{Kind: LimitTrust, At: to, OK: true}
		c.Limits[LimitTrust] = c.End
	}
	return c, c.endAt(to)
}

// inRange reports whether a trim may be part of a towing range: the craft holds it by
// itself, the pilot reaches it, and it is far enough from the water for this to be
// known.
func inRange(b Trim) bool { return b.HeightStable && b.TravelMargin >= 0 && !b.Close }

// LeastDepth is how deep a range must be to be offered, m: less than that nobody sees
// from the boat or the craft. A chosen figure.
const LeastDepth = .02

// tooThin reports whether a range from one clearance to another, m, is not offered.
func tooThin(low, high float64) bool { return high-low < LeastDepth }

// lower returns the limit that rules: the one that is met, and of two the one with the
// lower clearance; of equal ones the second.
func lower(a, b Limit) Limit {
	if b.OK && b.Clearance() <= a.Clearance() {
		return b
	}
	return a
}

// ruling returns the limit that ends the range, those left out that are given.
func (r *Range) ruling(without ...LimitKind) Limit {
	end := r.Limits[LimitMap]
	for _, l := range r.Limits {
		if !slices.Contains(without, l.Kind) {
			end = lower(end, l)
		}
	}
	return end
}

// inside returns two ends, m, a touch inside: at the very end the pilot's stop and the
// map's last digits meet.
func inside(low, high float64) (from, to float64) {
	in := math.Min(1e-3, (high-low)/4)
	return low + in, high - in
}

// Bounds returns the clearances, m, at which to look at what happens at the ends of the
// range, or of what would be the range if people reacted at once: a touch inside. ok is
// false if there is neither.
func (r Range) Bounds() (low, high float64, ok bool) {
	switch {
	case r.OK:
		low, high = inside(r.Low.Clearance, r.High.Clearance)
	case r.None == NoneReaction:
		low, high = inside(r.Low.Clearance, r.ruling(LimitReaction).Clearance())
	default:
		return 0, 0, false
	}
	return low, high, true
}

// begin takes a trim as the lowest of the range.
func (r *Range) begin(b Trim) {
	r.Low, r.LineTension, r.PilotForward, r.PilotAft = b, b.LineTension, b.Pilot.X, b.Pilot.X
}

// widen widens the figures of the range by a trim in it.
func (r *Range) widen(b Trim) {
	r.LineTension = math.Max(r.LineTension, b.LineTension)
	r.PilotForward, r.PilotAft = math.Min(r.PilotForward, b.Pilot.X), math.Max(r.PilotAft, b.Pilot.X)
}

// ceilings returns the limits that the curve, from the lowest state of the range up,
// and the rules give.
func (r *Range) ceilings(c TrimCurve) []Limit {
	limits := make([]Limit, numLimits)
	for k := range limits {
		limits[k].Kind = LimitKind(k)
	}
	put := func(k LimitKind, at, margin float64, ok bool) { limits[k] = Limit{k, at, margin, ok} }
	self := c.SelfHolding()
	put(LimitSelfHolding, self.Clearance, r.Rules.SelfHoldingMargin, self.OK)
	if r.Tow.craft.Pilot != nil {
		reach := c.ceiling(func(b Trim) bool { return b.TravelMargin >= 0 })
		put(LimitReach, reach.Clearance, r.Rules.ReachMargin, reach.OK)
	}
	section := c.ceiling(func(b Trim) bool { return !r.Tow.overSection(b) })
	put(LimitSection, section.Clearance, 0, section.OK)
	put(LimitOwn, r.Rules.OwnLimit, 0, true)
	put(LimitMap, c.States[len(c.States)-1].Clearance, 0, true)
	return limits
}

// overSection reports whether a strip is over its section's limit at a trim, or may be,
// for that it is not known. A map without strips knows of none.
func (t *SteadyTow) overSection(b Trim) bool {
	s, ok, err := t.m.CriticalStrip(b.Clearance, b.Pitch)
	return err != nil || ok && s.Over()
}

// reactionStep is how far apart the clearances lie at which reaction margins are looked
// at, m; the one at which they end is then found to reactionFine.
const (
	reactionStep = .025
	reactionFine = reactionStep / 5
)

// reaction returns the clearance at which, going up from Low, the reaction margin first
// falls short of what a pilot needs; it is looked for up to the range's end so far.
func (r *Range) reaction(ctx context.Context) (Limit, error) {
	l := Limit{Kind: LimitReaction}
	short := func(cl float64) (bool, error) {
		in, err := r.Rules.Reaction(ctx, r.Tow, cl, r.Rules.OwnLimit, r.Rules.MinReaction)
		return !in, err
	}
	from, to := inside(r.Low.Clearance, r.End.Clearance())
	n := int(math.Ceil((to - from) / reactionStep))
	last := r.Low.Clearance
	for i := range n + 1 {
		cl := from + (to-from)*float64(i)/float64(max(n, 1))
		is, err := short(cl)
		if err != nil {
			return l, err
		}
		if is {
			l.OK, l.At = true, last
			if i > 0 {
				l.At, _, err = bisect.Edge(last, cl, reactionFine, short)
			}
			return l, err
		}
		last = cl
	}
	return l, nil
}

// strips fills in the most loaded strip.
func (r *Range) strips() error {
	for _, b := range []Trim{r.Low, r.High} {
		s, ok, err := r.Tow.m.CriticalStrip(b.Clearance, b.Pitch)
		if err != nil {
			return err
		}
		if ok && (!r.HasStrip || s.ShareOfLimit() > r.Strip.ShareOfLimit()) {
			r.Strip, r.HasStrip = s, true
		}
	}
	return nil
}
