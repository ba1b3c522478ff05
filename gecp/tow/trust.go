package tow

import (
	"context"
	"fmt"
	"math"

	"example.org/groundeffect/gecp/internal/bisect"
	"example.org/groundeffect/gecp/internal/parallel"
)

// Band is a calculated figure, and between which two the real one may lie by what the
// calculation leaves out. Low <= Plain <= High.
type Band struct {
	Plain, Low, High float64
	// NoLow tells that there may be no such figure at all, beyond Low: no height to tow the
	// craft at, NoHigh the same beyond High: no speed at which it lifts off. Low or High is
	// then the outermost figure that was found.
	NoLow, NoHigh bool
}

// newBand returns the band of a figure and of others that it may be; minus infinity and
// infinity stand for there being none. Without others its width is 0.
func newBand(plain float64, others ...float64) Band {
	b := Band{Plain: plain, Low: plain, High: plain}
	for _, o := range others {
		switch {
		case math.IsInf(o, -1):
			b.NoLow = true
		case math.IsInf(o, 1):
			b.NoHigh = true
		default:
			b.Low, b.High = math.Min(b.Low, o), math.Max(b.High, o)
		}
	}
	return b
}

// EffectBand is what one effect alone could do to a figure.
type EffectBand struct {
	Effect Effect
	Band   Band
}

// Trusted is a figure with how far to trust it.
type Trusted struct {
	Band
	Effects []EffectBand // each alone, in their order; those that the craft does not have are left out
}

// Trust is how far to trust what is calculated of a craft at one speed.
//
// What is left out is no error that changes its sign from run to run: a wake, a boat's air,
// a boundary layer act on every run, the same way. So the band is no root of a sum of
// squares, which stands for errors that do not know of each other: its ends are worked out
// for the craft with everything at once that lowers the figure, and with everything that
// raises it. All at once, and not the sum of the shifts, because a limit that is not reached
// yet shows no shift of its own, and because a height that is left may vanish.
type Trust struct {
	Range Range // as calculated
	// LetGo is the height to let go, and Lowest the lowest clearance to tow the craft at, m; only
	// if Range.OK. LetGo.NoLow and Lowest.NoHigh go together: there may be no height between the two.
	LetGo, Lowest Trusted
	// Pilot is the position needed, m aft of the datum, at the lowest clearance of Cut, PilotAt, m;
	// only if Range.Flies, for a craft with a pilot.
	Pilot    Trusted
	PilotAt  float64
	HasPilot bool
	// Moving is the dent in the water at that clearance, Air the boat's air wake.
	Moving MovingDepression
	Air    BoatAir
}

// Trust returns how far to trust a towing range of the craft, with the rules it has: it is of the
// variants' map. Where people's reaction is a rule it takes about ten times as long as the range
// itself. It returns an error if the range is of another map, the context is cancelled or the
// calculation fails.
func (v *Variants) Trust(ctx context.Context, r Range) (Trust, error) {
	if r.Tow.m != v.m {
		return Trust{}, fmt.Errorf("the range at %.1f m/s is of another map than what the calculation leaves out is known for", r.Tow.stream.Speed)
	}
	air, err := FindBoatAir(v.m.Model().Craft())
	if err != nil {
		return Trust{}, err
	}
	t := Trust{Range: r, Air: air}
	if !r.Flies {
		return t, nil
	}
	t.Moving = r.Tow.MovingDepression(r.Low)
	about := asked{Variants: v, rules: r.Rules, plain: &r, moving: t.Moving}
	if r.OK {
		if t.LetGo, t.Lowest, err = about.letGo(ctx); err != nil {
			return Trust{}, err
		}
	}
	cut, err := t.Cut()
	if err != nil {
		return Trust{}, err
	}
	if cut.Low.Pilot.OK {
		x := cut.Low.Pilot.X
		t.HasPilot, t.PilotAt = true, cut.Low.Clearance
		t.Pilot, _, err = v.fold(ctx, found{low: x, high: x}, func(_ context.Context, n variant, _ bool) (found, error) {
			return about.pilot(n, t.PilotAt)
		})
		if err != nil {
			return Trust{}, err
		}
	}
	return t, nil
}

// Cut returns the part of the range that is sure: from the high end of what its lowest clearance
// may be to the low end of what its height to let go may be, as a card shows it. Without a range,
// or where it may have none, it is not OK.
func (t Trust) Cut() (Range, error) {
	switch {
	case !t.Range.OK:
		return t.Range, nil
	case t.LetGo.NoLow:
		return t.Range.cut(t.Lowest.High, math.Inf(-1))
	}
	return t.Range.cut(t.Lowest.High, t.LetGo.Low)
}

// LiftOff returns where the craft lifts off with the pilot at pilotX, m aft of the datum, in
// air of a density, kg/m3 (0 is gecp.AirDensity), and how far to trust the speed of the boat,
// m/s, at which it does; the band is zero if it is not calculated to lift off. The errors are
// those of FindLiftOff.
func (v *Variants) LiftOff(ctx context.Context, density, pilotX float64) (LiftOff, Trusted, error) {
	l, err := FindLiftOff(ctx, v.m, density, pilotX)
	if err != nil || !l.OK {
		return l, Trusted{}, err
	}
	t, _, err := v.fold(ctx, found{low: l.Speed, high: l.Speed}, func(ctx context.Context, n variant, _ bool) (found, error) {
		m, err := v.mapOf(n)
		if err != nil {
			return found{}, err
		}
		l, err := FindLiftOff(ctx, m, density, pilotX)
		if err != nil {
			return found{}, err
		}
		if !l.OK {
			return found{low: math.Inf(1), high: math.Inf(1)}, nil
		}
		at := l.Speed / (1 - n.slower)
		return found{low: at, high: at}, nil
	})
	if err != nil {
		return LiftOff{}, Trusted{}, err
	}
	return l, t, nil
}

// found is what a figure is for a variant: between which two it lies, one and the same number
// where it is known; minus infinity or infinity where there is none. beyond tells between two
// equal figures, the lower the lower. from is where the range begins that the figure is the end
// of, infinity where there is none; 0 for other figures.
type found struct{ low, high, beyond, from float64 }

func (f found) below(o found) bool { return f.low < o.low || f.low == o.low && f.beyond < o.beyond }
func (f found) above(o found) bool { return f.high > o.high || f.high == o.high && f.beyond > o.beyond }
func (f found) later(o found) bool { return f.from > o.from }

// fold returns the band of a figure, and that of where the range begins: ask tells it for a
// variant, wholly for one that ends the bands towards danger, and else as quickly as may be.
func (v *Variants) fold(ctx context.Context, plain found, ask func(ctx context.Context, n variant, wholly bool) (found, error)) (figure, from Trusted, err error) {
	type answer struct {
		group int
		variant
		found
	}
	var all []answer
	for i, g := range v.groups {
		for _, n := range g {
			all = append(all, answer{group: i, variant: n})
		}
	}
	err = parallel.Each(ctx, len(all), func(i int) (err error) {
		all[i].found, err = ask(ctx, all[i].variant, false)
		return err
	})
	if err != nil {
		return Trusted{}, Trusted{}, err
	}
	var ends, begins []float64
	var alone, aloneBegins [numEffects][]float64
	for _, n := range all {
		ends, begins = append(ends, n.low, n.high), append(begins, n.from)
		alone[n.effect], aloneBegins[n.effect] = append(alone[n.effect], n.low, n.high), append(aloneBegins[n.effect], n.from)
	}
	// All at once that lowers the figure, of the variants of a group that which lowers it the
	// most; all that raises it; and all that lets the range begin higher: together it may leave
	// no range even where the figure of each is high.
	for _, side := range []struct {
		more   func(f, o found) bool
		wholly bool
	}{{found.below, true}, {found.above, false}, {found.later, true}} {
		most := make([]*answer, len(v.groups))
		for i := range all {
			n := &all[i]
			if m := most[n.group]; side.more(n.found, plain) && (m == nil || side.more(n.found, m.found)) {
				most[n.group] = n
			}
		}
		var together variant
		ok := false
		for _, n := range most {
			if n != nil {
				together, ok = together.with(n.variant), true
			}
		}
		if !ok {
			continue
		}
		f, err := ask(ctx, together, side.wholly)
		if err != nil {
			return Trusted{}, Trusted{}, err
		}
		ends, begins = append(ends, f.low, f.high), append(begins, f.from)
	}
	figure.Band, from.Band = newBand(plain.low, ends...), newBand(plain.from, begins...)
	for e := range alone {
		if alone[e] != nil {
			figure.Effects = append(figure.Effects, EffectBand{Effect(e), newBand(plain.low, alone[e]...)})
			from.Effects = append(from.Effects, EffectBand{Effect(e), newBand(plain.from, aloneBegins[e]...)})
		}
	}
	return figure, from, nil
}

// asked is a craft asked about at one speed.
type asked struct {
	*Variants
	rules  Rules
	plain  *Range
	moving MovingDepression
}

// tow returns the steady tow of a variant, and how much lower than flat the water under it
// lies, m.
func (a *asked) tow(n variant) (t SteadyTow, down float64, err error) {
	m, err := a.mapOf(n)
	if err != nil {
		return t, 0, err
	}
	stream := a.plain.Tow.stream
	t, err = NewSteadyTow(m, stream.At(stream.Speed*(1-n.slower)))
	down = n.dent * a.moving.Down
	if n.dent < 0 {
		down = n.dent * a.moving.Up
	}
	return t, down, err
}

// letGo returns the bands of the height to let go and of the lowest clearance.
func (a *asked) letGo(ctx context.Context) (letGo, lowest Trusted, err error) {
	_, plain, err := a.equilibrium(a.plain.Tow)
	if err != nil {
		return Trusted{}, Trusted{}, err
	}
	still := plain
	plain.low, plain.high = a.plain.High.Clearance, a.plain.High.Clearance
	if letGo, lowest, err = a.fold(ctx, plain, a.letGoOf); err != nil {
		return Trusted{}, Trusted{}, err
	}
	if a.rules.Reaction != nil {
		// The height by equilibrium may be lowered below that of people's reaction, by other things.
		calm := *a
		calm.rules.Reaction = nil
		t, _, err := a.fold(ctx, still, calm.letGoOf)
		if err != nil {
			return Trusted{}, Trusted{}, err
		}
		letGo.NoLow = letGo.NoLow || t.NoLow
		letGo.Low = math.Min(letGo.Low, t.Low)
	}
	if letGo.NoLow || tooThin(lowest.High, letGo.Low) {
		letGo.NoLow, lowest.NoHigh = true, true
	}
	return letGo, lowest, nil
}

// noHeight stands for a craft that has no height to tow it at.
var noHeight = found{math.Inf(-1), math.Inf(-1), math.Inf(-1), math.Inf(1)}

// equilibrium returns the range without people's reaction and its height to let go; beyond it,
// the lowest limit but for the builder's own.
func (a *asked) equilibrium(st SteadyTow) (Range, found, error) {
	rules := a.rules
	rules.Reaction = nil
	r, err := st.rangeBy(context.Background(), rules) // which looks at it for the reaction only
	if err != nil || !r.OK {
		return r, noHeight, err
	}
	return r, found{r.High.Clearance, r.High.Clearance, r.ruling(LimitOwn).Clearance(), r.Low.Clearance}, nil
}

// letGoOf returns the height to let go of a variant, over flat water.
func (a *asked) letGoOf(ctx context.Context, n variant, wholly bool) (found, error) {
	st, down, err := a.tow(n)
	if err != nil {
		return found{}, err
	}
	r, f, err := a.equilibrium(st)
	if err != nil || !r.OK {
		return f, err
	}
	at := f.low
	switch {
	case a.rules.Reaction == nil:
	case n.onlyDent():
		at = a.plain.High.Clearance
	case wholly:
		r, err := st.rangeBy(ctx, a.rules)
		if err != nil || !r.OK {
			return noHeight, err
		}
		at = r.High.Clearance
		if r.End.Kind == LimitReaction {
			// What lowers it by less than the limit is found to may have been left out.
			at -= reactionFine
		}
	default:
		r.Rules.Reaction = a.rules.Reaction
		var ok bool
		if at, ok, err = r.reactionNear(ctx, a.plain.High.Clearance); err != nil || !ok {
			return noHeight, err
		}
	}
	at = min(at-down, a.rules.OwnLimit)
	return found{at, at, f.beyond - down, f.from - down}, nil
}

// reactionNear returns the clearance of a range found without people's reaction up to which
// they can react in time, looked for up and down from one that is expected, m; ok is false if
// there is none from Low up.
func (r *Range) reactionNear(ctx context.Context, expected float64) (clearance float64, ok bool, err error) {
	low, high := inside(r.Low.Clearance, r.High.Clearance)
	late := func(cl float64) (bool, error) {
		in, err := r.Rules.Reaction(ctx, r.Tow, cl, r.Rules.OwnLimit, r.Rules.MinReaction)
		return !in, err
	}
	last := min(max(expected, low), high)
	down, err := late(last)
	for step := reactionFine; err == nil; step *= 2 {
		switch {
		case !down && last == high:
			return r.High.Clearance, true, nil
		case down && last == low:
			return 0, false, nil
		}
		next := min(high, last+step)
		if down {
			next = max(low, last-step)
		}
		var is bool
		if is, err = late(next); err != nil {
			break
		}
		if is != down {
			if is {
				last, next = next, last
			}
			clearance, _, err = bisect.Edge(next, last, reactionFine, late)
			return clearance, err == nil, err
		}
		last = next
	}
	return 0, false, err
}

// pilot returns the position needed at a clearance over flat water, m, no lower than the map
// reaches.
func (a *asked) pilot(n variant, clearance float64) (found, error) {
	st, down, err := a.tow(n)
	if err != nil {
		return found{}, err
	}
	b, err := st.Trim(max(st.bounds.ClearanceMin, clearance+down))
	if cannotFly(err) {
		return found{low: math.Inf(-1), high: math.Inf(1)}, nil
	}
	return found{low: b.Pilot.X, high: b.Pilot.X}, err
}
