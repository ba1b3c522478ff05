package lake

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"html"
	"io"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// card is a card of a ready craft.
type card struct {
	key string
	*TowCard
}

// inBoth reports whether a craft has cards in both systems of units: a good one, and where there
// is time a bad one, too.
func inBoth(key string) bool {
	return key == "teal-tandem" || key == "reedling-tandem" && os.Getenv("CI") == "true"
}

// readyCards holds the cards of three ready craft, a good one, a bad one and one without a pair
// of wings.
var readyCards = sync.OnceValue(func() []card {
	var cards []card
	for key, m := range readymaps.Coarse() {
		var v *tow.Variants
		for _, u := range []units.System{units.Metric, units.Customary} {
			if u == units.Customary && !inBoth(key) || key == "garganey-swept" || key == "water-rail-canard" {
				continue
			}
			o := TowCardOptions{Units: u, Variants: v}
			if u == units.Customary && os.Getenv("CI") != "true" {
				o.Top = 40 * units.MPH // some speeds that are offered
			}
			c, err := NewTowCard(context.Background(), m, o)
			if err != nil {
				panic(fmt.Sprintf("%s: %v", key, err))
			}
			v = c.Variants
			cards = append(cards, card{key, c})
		}
	}
	return cards
})

func cardOf(key string, u units.System) *TowCard {
	for _, c := range readyCards() {
		if c.key == key && c.Units == u {
			return c.TowCard
		}
	}
	panic("no card of " + key)
}

// What a card says of a speed is that speed's towing range, cut to what is sure of it, and nothing
// of its own.
func TestTowCardIsTheRange(t *testing.T) {
	offered, reaction := 0, 0
	for _, c := range readyCards() {
		m := readymaps.Coarse()[c.key]
		craft := m.Model().Craft()
		for i, r := range c.Rungs {
			if i%6 != 0 && !(c.key == "coot-single" && r.Range.OK) {
				continue // speeds beside each other are alike
			}
			st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: r.Speed, Density: c.Density})
			require.NoError(t, err)
			want, err := st.Range(t.Context(), tow.Rules{Reaction: motion.InTime})
			require.NoError(t, err)
			what := fmt.Sprintf("%s at %.1f m/s", c.key, r.Speed)
			assert.Equal(t, want.OK, r.Trust.Range.OK, what)
			assert.Equal(t, want.None, r.Trust.Range.None, what)
			assert.Equal(t, want.Low, r.Trust.Range.Low, what)
			assert.Equal(t, want.High, r.Trust.Range.High, what)
			assert.Equal(t, want.Limits, r.Trust.Range.Limits, what)
			cut, err := r.Trust.Cut()
			require.NoError(t, err)
			assert.Equal(t, []any{cut.OK, cut.None, cut.Low, cut.High, cut.End, cut.Limits}, []any{r.Range.OK, r.Range.None, r.Range.Low, r.Range.High, r.Range.End, r.Range.Limits}, what)
			if want.OK {
				assert.Equal(t, want.High.Clearance, r.Trust.LetGo.Plain, what)
				if r.Range.OK {
					assert.Equal(t, r.Trust.LetGo.Low, r.Range.High.Clearance, "%s: the low end", what)
					assert.Equal(t, r.Trust.Lowest.High, r.Range.Low.Clearance, "%s: the high end", what)
				}
			}
			for s := range stops {
				for _, h := range r.Held[s] {
					assert.InDelta(t, s.At(craft.Pilot), h.Pilot.X, 5e-3, what)
				}
			}
			low, high, ok := r.Range.Bounds()
			assert.Equal(t, r.Range.OK || r.Range.None == tow.NoneReaction, ok)
			for i, at := range []float64{low, high} {
				assert.Equal(t, ok, r.Gains[i].OK, what)
				assert.Equal(t, ok, r.Margins[i].OK, what)
				if !ok {
					continue
				}
				assert.InDelta(t, at, r.Margins[i].Clearance, 1e-12, what)
				b, err := st.Trim(r.Margins[i].Clearance)
				require.NoError(t, err)
				gain, found, err := st.SpeedGain(t.Context(), b)
				require.NoError(t, err)
				assert.Equal(t, Gain{gain, true, !found}, r.Gains[i], what)
				x, err := motion.MarginsAt(t.Context(), st, r.Margins[i].Clearance, c.Rules.OwnLimit)
				require.NoError(t, err)
				assert.Equal(t, x.Counts().Delay, r.Margins[i].Counts().Delay, what)
			}
			if r.Range.None == tow.NoneReaction {
				reaction++
				assert.Contains(t, r.Verdict, "no one can react in time", what)
			}
			if !r.Range.OK {
				continue
			}
			offered++
			assert.Contains(t, r.Verdict, r.Range.Words(c.Units), what)
			assert.Contains(t, r.Verdict, r.Trust.AloneWords(c.Units), what)
			assert.Equal(t, st.Depression(r.Range.Low), r.Depression, what)
			assert.LessOrEqual(t, r.Strip.ShareOfLimit(), 1., what)
		}
	}
	t.Logf("%d speeds are offered, %d only refused because no one reacts in time", offered, reaction)
	assert.GreaterOrEqual(t, offered, 2)
	assert.GreaterOrEqual(t, reaction, 1)
}

// At a speed that a card offers its heights are those of the same craft asked about at this speed
// only, as the page asks.
func TestTowCardIsAsCarefulAsOneSpeed(t *testing.T) {
	offered := 0
	for _, c := range readyCards() {
		for _, r := range c.Rungs {
			if !r.Range.OK {
				continue
			}
			if offered++; offered%4 != 1 {
				continue // each is asked alone
			}
			what := fmt.Sprintf("%s at %.1f m/s", c.key, r.Speed)
			st, err := tow.NewSteadyTow(c.Variants.Map(), gecp.Freestream{Speed: r.Speed})
			require.NoError(t, err)
			plain, err := st.Range(t.Context(), tow.Rules{Reaction: motion.InTime})
			require.NoError(t, err)
			one, err := c.Variants.Trust(t.Context(), plain)
			require.NoError(t, err)
			alone, err := one.Cut()
			require.NoError(t, err)
			require.True(t, alone.OK, what)
			assert.Equal(t, alone.High.Clearance, r.Range.High.Clearance, what)
			assert.Equal(t, alone.Low.Clearance, r.Range.Low.Clearance, what)
			assert.LessOrEqual(t, c.Units.Clearance().Rounded(r.Range.High.Clearance, units.Down), c.Units.Clearance().Rounded(one.LetGo.Low, units.Down), what)
			assert.GreaterOrEqual(t, c.Units.Clearance().Rounded(r.Range.Low.Clearance, units.Up), c.Units.Clearance().Rounded(one.Lowest.High, units.Up), what)
			assert.Contains(t, r.Verdict, c.Units.LetGo(r.Range.High.Clearance), what)
		}
	}
	t.Logf("%d speeds are offered", offered)
	assert.GreaterOrEqual(t, offered, 6)
}

// The gain that is survived falls with height, to next to nothing at the ceiling: a
// let-go height has no room above it.
func TestTowCardShowsThatThereIsNoRoom(t *testing.T) {
	c := cardOf("reedling-tandem", units.Metric)
	seen := 0
	for _, r := range c.Rungs {
		if !r.Gains[0].OK {
			continue
		}
		seen++
		assert.Greater(t, r.Gains[0].Value, r.Gains[1].Value)
		assert.Less(t, r.Gains[1].Value, .1)
	}
	assert.GreaterOrEqual(t, seen, 1)
}

// The state on the floats and the speed windows are those of the position told.
func TestTowCardOnTheWater(t *testing.T) {
	for _, c := range readyCards() {
		m := readymaps.Coarse()[c.key]
		require.Len(t, c.Windows, 4, c.key)
		assert.Equal(t, c.Start, c.Windows[0].LiftOff.Pilot, c.key)
		widest := c.Windows[0].Width()
		for s := range stops {
			assert.Equal(t, s.At(c.Craft.Pilot), c.Windows[1+s].LiftOff.Pilot, c.key)
			assert.LessOrEqual(t, c.Windows[1+s].Width(), widest, "%s: the start has the widest window", c.key)
		}
		for _, w := range c.Windows {
			if want, err := tow.FindWindow(t.Context(), m, 0, w.LiftOff.Pilot); assert.NoError(t, err) && w.Folds {
				assert.InDelta(t, want.From, w.From, 1e-6)
				assert.InDelta(t, want.To, w.To, 1e-3)
			}
		}
		for _, r := range c.Rungs {
			st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: r.Speed})
			require.NoError(t, err)
			s, err := st.OnFloats(c.Start)
			if err != nil {
				assert.False(t, r.Water.Known)
				assert.Equal(t, err.Error(), r.Water.Why)
				continue
			}
			require.True(t, r.Water.Known, "%s: %s", c.key, r.Water.Why)
			assert.Equal(t, s, r.Water.OnFloats, c.key)
			if l := c.Windows[0].LiftOff; l.OK && r.Speed < l.Speed {
				assert.NotEqual(t, tow.SupportNone, s.Support, c.key)
			}
			if !r.Range.OK && s.Support != tow.SupportNone {
				assert.Contains(t, r.Verdict, fmt.Sprintf("%.0f %% of the weight", 100*(1-s.Carried)))
			}
		}
	}
}

// The system of units changes figures and no advice.
func TestUnitsChangeNoAdvice(t *testing.T) {
	for _, key := range []string{"teal-tandem", "reedling-tandem"} {
		if !inBoth(key) {
			continue
		}
		m := readymaps.Coarse()[key]
		a, b := cardOf(key, units.Metric), cardOf(key, units.Customary)
		assert.Equal(t, a.Start, b.Start, key)
		assert.Equal(t, a.Windows, b.Windows, key)
		// The same speed in both: that of a rung of the other's ladder.
		speed := b.Rungs[len(b.Rungs)-1].Speed
		st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: speed})
		require.NoError(t, err)
		same, err := st.Range(t.Context(), tow.Rules{Reaction: motion.InTime})
		require.NoError(t, err)
		plain := b.Rungs[len(b.Rungs)-1].Trust.Range
		assert.Equal(t, same.High, plain.High, key)
		assert.Equal(t, same.None, plain.None, key)
	}
}

// Ladders have round steps, begin where the trade does, and end one step past the
// last speed that is offered or refused for people's reactions alone.
func TestTowCardLadder(t *testing.T) {
	for _, c := range readyCards() {
		first, step, unit := 10., 5., 1/3.6
		if c.Units == units.Customary {
			first, unit = 5, .44704
		}
		last := -1
		for i, r := range c.Rungs {
			assert.InDelta(t, first+step*float64(i), r.Speed/unit, 1e-9, c.key)
			if plain := r.Trust.Range; plain.OK || plain.None == tow.NoneReaction {
				last = i
			}
		}
		if c.Top == 0 && last >= 0 && c.Rungs[len(c.Rungs)-1].Speed < tow.MaxLiftOff-step*unit {
			assert.Equal(t, last+2, len(c.Rungs), c.key)
		}
	}
	card, err := NewTowCard(t.Context(), readymaps.Coarse()["reedling-tandem"], TowCardOptions{Units: units.Customary, Top: 40 * .44704, Variants: cardOf("reedling-tandem", units.Metric).Variants})
	require.NoError(t, err)
	assert.Len(t, card.Rungs, 8)
	assert.InDelta(t, 40*.44704, card.Rungs[7].Speed, 1e-9)
}

// The rules of the caller reach the ranges, and the words say so.
func TestTowCardOwnRules(t *testing.T) {
	m := readymaps.Coarse()["teal-tandem"]
	rules := tow.Rules{OwnLimit: .5, SelfHoldingMargin: .1, ReachMargin: .1, MinReaction: .3}
	card, err := NewTowCard(t.Context(), m, TowCardOptions{Rules: rules, Top: 60 / 3.6, Variants: cardOf("teal-tandem", units.Metric).Variants})
	require.NoError(t, err)
	rules.Reaction = motion.InTime
	for _, r := range card.Rungs[10:] {
		st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: r.Speed})
		require.NoError(t, err)
		want, err := st.Range(t.Context(), rules)
		require.NoError(t, err)
		assert.Equal(t, want.Limits, r.Trust.Range.Limits)
		assert.Equal(t, want.High, r.Trust.Range.High)
	}
	notes := strings.Join(card.notes(), " ")
	for _, has := range []string{"less 0.10 m", "within 0.30 s", "your own limit of 0.50 m"} {
		assert.Contains(t, notes, has)
	}
}

// Each decision behind a word of the card, left and right of its edge.
func TestDecisionsOfTheCard(t *testing.T) {
	assert.True(t, isThin(.2, .2999, 1))
	assert.False(t, isThin(.2, .3001, 1))
	trim := func(c, x float64) tow.Trim { return tow.Trim{Clearance: c, Pilot: gecp.Position{X: x, OK: true}} }
	assert.True(t, isTouchy(trim(.1, 1), trim(.3, 1.039)), "up 0.2 m for 39 mm")
	assert.False(t, isTouchy(trim(.1, 1), trim(.3, 1.041)))
	assert.True(t, isTouchy(trim(.1, 1), trim(.3, .961)), "moving forward")
	assert.True(t, isTouchy(trim(.1, 1), trim(.3, 1)), "by nothing")
	assert.True(t, samePosition(1, 1.0049))
	assert.False(t, samePosition(1, 1.0051))
	assert.False(t, samePosition(1.0051, 1))

	rung := func(ok, known bool, s tow.Support) *TowRung {
		r := &TowRung{Range: tow.Range{OK: ok}}
		r.Water.Known, r.Water.Support = known, s
		return r
	}
	assert.True(t, rung(false, true, tow.SupportTwoFloats).rests())
	assert.False(t, rung(true, true, tow.SupportTwoFloats).rests(), "it may be towed")
	assert.False(t, rung(false, false, tow.SupportTwoFloats).rests(), "nothing is known of the water")
	assert.False(t, rung(false, true, tow.SupportNone).rests(), "it flies")
}

// The cells of a rung, made by hand.
func TestCells(t *testing.T) {
	c := *cardOf("teal-tandem", units.Metric)
	cell := func(head string, change func(r *TowRung)) string {
		var r TowRung
		for _, k := range c.Rungs {
			if k.Range.OK {
				r = k
				break
			}
		}
		require.True(t, r.Range.OK)
		r.Range.Limits = slices.Clone(r.Range.Limits)
		change(&r)
		towed, behind := c.columns()
		for _, k := range append(towed, behind...) {
			if k.head == head {
				return k.cell(&r)
			}
		}
		t.Fatalf("no column %q", head)
		return ""
	}
	for _, k := range []struct {
		head, want string
		change     func(r *TowRung)
	}{
		{"on the floats", "63", func(r *TowRung) { r.Water.Known, r.Water.Carried = true, .37 }},
		{"on the floats", "–", func(r *TowRung) { r.Water.Known = false }},
		{"self-holding to", "0.41", func(r *TowRung) { r.Range.Limits[tow.LimitSelfHolding] = tow.Limit{OK: true, At: .419} }},
		{"self-holding to", "all", func(r *TowRung) { r.Range.Limits[tow.LimitSelfHolding] = tow.Limit{} }},
		{"self-holding to", "all", func(r *TowRung) {
			r.Range.Limits[tow.LimitSelfHolding], r.Range.Low.TravelMargin = tow.Limit{}, -1
		}},
		{"self-holding to", "none", func(r *TowRung) {
			r.Range.Limits[tow.LimitSelfHolding], r.Range.None = tow.Limit{}, tow.NoneUnstable
		}},
		{"self-holding to", "–", func(r *TowRung) { r.Range.Flies = false }},
		{"reach to", "all", func(r *TowRung) {
			r.Range.Limits[tow.LimitReach], r.Range.None = tow.Limit{}, tow.NoneUnstable
		}},
		{"reach to", "all", func(r *TowRung) {
			r.Range.Limits[tow.LimitReach], r.Range.Low.TravelMargin = tow.Limit{}, 0
		}},
		{"reach to", "none", func(r *TowRung) {
			r.Range.Limits[tow.LimitReach], r.Range.Low.TravelMargin = tow.Limit{}, -.001
		}},
		{"reaction to", "0.23", func(r *TowRung) { r.Range.Limits[tow.LimitReaction] = tow.Limit{OK: true, At: .239} }},
		{"reaction to", "none", func(r *TowRung) {
			r.Range.Limits[tow.LimitReaction], r.Range.None = tow.Limit{OK: true, At: .239}, tow.NoneReaction
		}},
		{"reaction to", "all", func(r *TowRung) { r.Range.Limits[tow.LimitReaction] = tow.Limit{} }},
		{"reaction to", "–", func(r *TowRung) { r.Range.Limits[tow.LimitReaction], r.Range.OK = tow.Limit{}, false }},
		{"most loaded strip", "front 50", func(r *TowRung) {
			r.Strip = gecp.CriticalStrip{Wing: "front", LiftCoefficient: .6, Limit: 1.2}
		}},
		{"most loaded strip", "front 101 !", func(r *TowRung) {
			r.Strip = gecp.CriticalStrip{Wing: "front", LiftCoefficient: 1.212, Limit: 1.2}
		}},
		{"most loaded strip", "–", func(r *TowRung) { r.Strip = gecp.CriticalStrip{} }},
		{"let go, calculated", "0.41", func(r *TowRung) { r.Trust.LetGo.Plain = .419 }},
		{"let go, calculated", "–", func(r *TowRung) { r.Trust.Range.OK = false }},
		{"may be", "0.22 to 0.33", func(r *TowRung) { r.Trust.LetGo.Band = tow.Band{Low: .229, High: .321} }},
		{"may be", "none to 0.33", func(r *TowRung) { r.Trust.LetGo.Band = tow.Band{Low: .229, High: .321, NoLow: true} }},
		{"may be", "–", func(r *TowRung) { r.Trust.Range.OK = false }},
		{"no chop of", "0.08", func(r *TowRung) {
			r.Range.Low.Clearance, r.Range.High.Clearance = .2, .309
		}},
		{"no chop of", "–", func(r *TowRung) { r.Range.OK = false }},
		{"held, middle", "none", func(r *TowRung) { r.Held[StopMiddle] = nil }},
		{"held, middle", "0.20, unstable 0.40", func(r *TowRung) {
			r.Held[StopMiddle] = []tow.Trim{{Clearance: .2, HeightStable: true}, {Clearance: .4}}
		}},
		{"held, middle", "–", func(r *TowRung) { r.Range.Flies = false }},
	} {
		assert.Equal(t, k.want, cell(k.head, k.change), k.head)
	}
}

// Sentences around the table that warn.
func TestFactsThatWarn(t *testing.T) {
	c := *cardOf("teal-tandem", units.Metric)
	base := c.Rungs
	said := func(change func(rungs []TowRung)) string {
		c.Rungs = slices.Clone(base)
		change(c.Rungs)
		return strings.Join(c.facts(), " ")
	}
	floats := slices.IndexFunc(base, func(r TowRung) bool { return r.rests() })
	flying := slices.IndexFunc(base, func(r TowRung) bool { return r.Range.OK })
	require.True(t, floats >= 0 && flying >= 0)
	const leaves = "On the floats the flow may leave wing"
	assert.NotContains(t, said(func([]TowRung) {}), leaves)
	over := gecp.CriticalStrip{Wing: "front", LiftCoefficient: 1.3, Limit: 1.2}
	assert.Contains(t, said(func(r []TowRung) { r[floats].Strip = over }), leaves)
	assert.NotContains(t, said(func(r []TowRung) { r[flying].Strip = over }), leaves, "in flight its own words say so")
	assert.NotContains(t, said(func(r []TowRung) { r[floats].Strip = gecp.CriticalStrip{LiftCoefficient: 1} }), leaves, "of no wing")

	// The deepest hollow of those that may be flown is told.
	deep, flat := tow.Depression{Depth: .0321, Share: .2}, tow.Depression{Depth: .001, Share: .001}
	for i := range base {
		want := deep.Words(c.Units)
		all := said(func(r []TowRung) {
			for j := range r {
				r[j].Depression = flat
			}
			r[i].Depression = deep
		})
		assert.Equal(t, base[i].Range.OK, strings.Contains(all, want), "%.1f m/s", base[i].Speed)
	}

	// How far the pilot leans is told where there is a range, the file's own figure as such.
	const taken, told = "0.15 m is taken", "The pilot leans 0.30 m to either side."
	assert.Contains(t, said(func([]TowRung) {}), taken)
	assert.NotContains(t, said(func(r []TowRung) {
		for i := range r {
			r[i].Range.OK = false
		}
	}), taken)
	assert.Contains(t, said(func(r []TowRung) {
		for i := range r {
			r[i].Range.Bank.Sideways, r[i].Range.Bank.Stated = .3, true
		}
	}), told)

	guessed := *c.Craft
	guessed.Weights = slices.Clone(guessed.Weights)
	assert.NotContains(t, said(func([]TowRung) {}), "no radius of gyration")
	guessed.Weights[0].Radius = 0
	c.Craft = &guessed
	assert.Contains(t, said(func([]TowRung) {}), "no radius of gyration")
}

// Of the speeds that have a range as calculated, the middle one is told with what each thing left
// out does.
func TestTheMiddleOfTheTrusted(t *testing.T) {
	for _, c := range []struct {
		at   []int
		want int
	}{{nil, -1}, {[]int{1}, 1}, {[]int{1, 3}, 3}, {[]int{0, 2, 3}, 2}} {
		card := TowCard{Rungs: make([]TowRung, 4)}
		for _, i := range c.at {
			card.Rungs[i].Trust.Range.OK = true
		}
		got := card.trusted()
		if c.want < 0 {
			assert.Nil(t, got)
			continue
		}
		assert.Same(t, &card.Rungs[c.want], got)
	}
	c := cardOf("teal-tandem", units.Metric)
	at := c.trusted()
	require.NotNil(t, at)
	all := strings.Join(c.facts(), " ")
	assert.Contains(t, all, "How far to trust it, at "+units.Metric.Speed().Words(at.Speed, units.Nearest)+": "+at.Trust.Words(units.Metric))
	assert.Contains(t, all, "It lifts off at "+c.LiftOff.LiftOffWords(units.Metric))
	assert.Equal(t, c.Windows[0].LiftOff.Speed, c.LiftOff.Plain)
	assert.Greater(t, c.LiftOff.High, c.LiftOff.Plain)
	notes := strings.Join(c.notes(), " ")
	assert.Contains(t, notes, noteTrust)
	assert.Contains(t, notes, noteChop)
	still := *c
	still.LiftOff = tow.Trusted{}
	assert.NotContains(t, strings.Join(still.facts(), " "), "It lifts off at")
}

// What tells how far to trust a card may come from elsewhere, for its map only.
func TestTheCardsVariants(t *testing.T) {
	c := cardOf("teal-tandem", units.Metric)
	require.NotNil(t, c.Variants)
	var parts []float64
	o := TowCardOptions{Top: 50 / 3.6, Variants: c.Variants, Progress: func(part float64) { parts = append(parts, part) }}
	_, err := NewTowCard(t.Context(), readymaps.Coarse()["reedling-tandem"], o)
	assert.ErrorContains(t, err, "of another map")
	assert.Empty(t, parts)
	got, err := NewTowCard(t.Context(), readymaps.Coarse()["teal-tandem"], o)
	require.NoError(t, err)
	assert.Same(t, c.Variants, got.Variants)
	assert.Equal(t, c.LiftOff, got.LiftOff)
	assert.IsNonDecreasing(t, parts)
	assert.Equal(t, 1., parts[len(parts)-1])

	// They are made only where something is told that is to be trusted or not.
	window := func(ok bool) []tow.Window { return []tow.Window{{LiftOff: tow.LiftOff{OK: ok}}} }
	for _, k := range []struct {
		card TowCard
		want bool
	}{
		{TowCard{}, false},
		{TowCard{Windows: window(false), Rungs: []TowRung{{}}}, false},
		{TowCard{Windows: window(true)}, true},
		{TowCard{Rungs: []TowRung{{}, {Range: tow.Range{OK: true}}}}, true},
	} {
		assert.Equal(t, k.want, k.card.promises(), "%+v", k.card)
	}
}

func TestWordsOfReactionsAndGains(t *testing.T) {
	m := func(knowing, seeing motion.Margin, fixed bool) ReactionMargins {
		return ReactionMargins{motion.Reaction{Knowing: knowing, Seeing: seeing, Fixed: motion.Outcome{Settled: fixed}}, true}
	}
	late := func(d float64) motion.Margin { return motion.Margin{OK: true, Delay: d} }
	assert.Equal(t, "–", mayBeLate(ReactionMargins{}))
	assert.Equal(t, "any", mayBeLate(m(late(1), late(1), true)))
	assert.Equal(t, "none", mayBeLate(m(late(1), motion.Margin{}, false)))
	assert.Equal(t, "over 2", mayBeLate(m(motion.Margin{OK: true, Delay: 2, Beyond: true}, motion.Margin{OK: true, Delay: 2, Beyond: true}, false)))
	assert.Equal(t, "0.34", mayBeLate(m(late(.5), late(.349), false)), "the smaller, rounded down")
	c := cardOf("reedling-tandem", units.Metric)
	assert.Equal(t, "–", c.gain(Gain{}))
	assert.Equal(t, "0.34", c.gain(Gain{Value: .349, OK: true}))
	assert.Equal(t, "over 5.00", c.gain(Gain{Value: 5, OK: true, More: true}))
}

// The words of a rung, made by hand.
func TestVerdict(t *testing.T) {
	c := *cardOf("teal-tandem", units.Metric)
	var base TowRung
	for _, r := range c.Rungs {
		if r.Range.OK {
			base = r
			break
		}
	}
	require.True(t, base.Range.OK)
	say := func(change func(r *TowRung)) string {
		r := base
		change(&r)
		return c.verdict(&r)
	}
	deep := func(r *TowRung, d, move float64) {
		r.Range.High.Clearance = r.Range.Low.Clearance + d
		r.Range.High.Pilot.X = r.Range.Low.Pilot.X + move
	}
	assert.Contains(t, say(func(r *TowRung) { deep(r, .0999, 1) }), "Only 99 mm lie between the two.")
	assert.NotContains(t, say(func(r *TowRung) { deep(r, .1001, 1) }), "lie between")
	assert.Contains(t, say(func(r *TowRung) { deep(r, .2, .039) }), "Touchy: it rises more than 5 times as far as the pilot moves.")
	assert.NotContains(t, say(func(r *TowRung) { deep(r, .2, .041) }), "Touchy")
	assert.Contains(t, say(func(r *TowRung) { r.Range.Bank = tow.BankLimit{AtLow: .06, AtHigh: .1} }), "A tip touches the water at 3.4° of bank at the lowest height, at 5.7° at the highest.")
	room := "No room above: there a gain of the boat's speed of 0.24 m/s is too much if the pilot stays still."
	assert.Contains(t, say(func(r *TowRung) { r.Gains[1] = Gain{.2499, true, false} }), room)
	for _, g := range []Gain{{.2501, true, false}, {.2, false, false}, {.2, true, true}} {
		assert.NotContains(t, say(func(r *TowRung) { r.Gains[1] = g }), "No room")
	}
	assert.NotContains(t, say(func(r *TowRung) { r.Depression = tow.Depression{Share: .0999} }), "gives way")
	assert.Contains(t, say(func(r *TowRung) { r.Depression = tow.Depression{Share: .1001} }), "The water gives way by 10 % of the clearance.")
	strip := gecp.CriticalStrip{Wing: "front", LiftCoefficient: 1.5, Limit: 1.2}
	assert.Contains(t, say(func(r *TowRung) { r.Strip = strip }), `The flow may leave wing "front": its section lift of 1.50 is over the limit of 1.20`)
	strip.LiftCoefficient = 1.2
	assert.NotContains(t, say(func(r *TowRung) { r.Strip = strip }), "may leave wing")
	assert.Contains(t, say(func(r *TowRung) {
		r.Range.OK, r.Range.None, r.Range.Flies = false, tow.NoneUnstable, true
		r.Water.Support = tow.SupportNone
	}), "Do not fly: it holds no height by itself with its floats clear, wherever the pilot sits. Stay slower: with the pilot at")
	assert.Contains(t, say(func(r *TowRung) {
		r.Range.OK, r.Range.None, r.Range.Flies = false, tow.NoneUnstable, true
		r.Water.Known, r.Water.Support, r.Water.Carried = true, tow.SupportAftFloat, .93
	}), "it carries 7 % of the weight. Thrown clear of the water: it holds no height by itself")
}

func writers(c *TowCard) map[string]func(io.Writer) error {
	return map[string]func(io.Writer) error{
		"text":     c.WriteText,
		"markdown": c.WriteMarkdown,
		"csv":      c.WriteCSV,
		"html":     func(w io.Writer) error { return c.WriteHTML(w, `<svg viewBox="0 0 9 9"></svg>`) },
	}
}

func written(t *testing.T, write func(io.Writer) error) string {
	var b bytes.Buffer
	require.NoError(t, write(&b))
	return b.String()
}

var notANumber = regexp.MustCompile(`NaN|Inf\b|%!|-0\b(?:[^.]|$)|<nil>`)

// Every form bears the cautions, the let-go heights rounded down, the words of every
// speed, and no figure that is none.
func TestTowCardForms(t *testing.T) {
	for _, card := range readyCards() {
		name := card.key
		for form, write := range writers(card.TowCard) {
			s := written(t, write)
			flat := strings.Join(strings.Fields(strings.NewReplacer("# ", "", "\\", "", "**", "").Replace(s)), " ")
			assert.Contains(t, flat, gecp.Cautions, "%s as %s", name, form)
			assert.NotRegexp(t, notANumber, s, "%s as %s", name, form)
			assert.Contains(t, flat, "19.5°", "the wake's outer edge, %s as %s", name, form)
			for _, r := range card.Rungs {
				verdict := r.Verdict
				switch form {
				case "html":
					verdict = html.EscapeString(verdict)
				case "csv":
					verdict = strings.ReplaceAll(verdict, `"`, `""`)
				}
				assert.Contains(t, flat, verdict, "%s as %s", name, form)
				if r.Range.OK {
					down := fmt.Sprintf("%.2f m", math.Floor(r.Range.High.Clearance*100)/100)
					if card.Units == units.Customary {
						down = fmt.Sprintf("%.1f in", math.Floor(r.Range.High.Clearance/.0254*10)/10)
					}
					assert.Contains(t, r.Verdict, "Let go above "+down)
					assert.Contains(t, flat, strings.Fields(down)[0])
				}
			}
		}
	}
}

func TestTowCardCSV(t *testing.T) {
	for _, card := range readyCards() {
		name := card.key
		r := csv.NewReader(strings.NewReader(written(t, card.WriteCSV)))
		r.Comment = '#'
		rows, err := r.ReadAll()
		require.NoError(t, err, name)
		require.Len(t, rows, 1+len(card.Rungs), name)
		col := map[string]int{}
		for i, h := range rows[0] {
			assert.NotContains(t, col, h)
			col[h] = i
		}
		speed, height, force := "speed_kmh", "m", "N"
		size, v, f := 1., 1/3.6, 1.
		if card.Units == units.Customary {
			speed, height, force = "speed_mph", "in", "lbf"
			size, v, f = .0254, .44704, 4.4482216152605
		}
		near := func(row []string, key string, want float64) {
			require.Contains(t, col, key)
			got, err := strconv.ParseFloat(row[col[key]], 64)
			require.NoError(t, err, key)
			assert.InEpsilon(t, want, got, 1e-5, key)
		}
		for i, g := range card.Rungs {
			row := rows[1+i]
			near(row, speed, g.Speed/v)
			if g.rests() {
				near(row, "line_tension_"+force, g.Water.LineTension/f)
			} else if g.Range.Flies {
				near(row, "line_tension_"+force, g.Range.LineTension/f)
			}
			if g.Trust.Range.OK {
				near(row, "let_go_calculated_"+height, g.Trust.LetGo.Plain/size)
				near(row, "let_go_at_best_"+height, g.Trust.LetGo.High/size)
				near(row, "lowest_calculated_"+height, g.Trust.Lowest.Plain/size)
				if g.Trust.LetGo.NoLow {
					assert.Empty(t, row[col["let_go_at_worst_"+height]])
					assert.Empty(t, row[col["lowest_at_worst_"+height]])
				} else {
					near(row, "lowest_at_worst_"+height, g.Trust.Lowest.High/size)
					near(row, "let_go_at_worst_"+height, g.Trust.LetGo.Low/size)
				}
			} else {
				assert.Empty(t, row[col["let_go_calculated_"+height]])
				assert.Empty(t, row[col["lowest_calculated_"+height]])
				assert.Empty(t, row[col["let_go_at_best_"+height]])
			}
			if g.Range.OK {
				near(row, "no_chop_of_"+height, g.Range.MostChop()/size)
				near(row, "high_"+height, g.Range.High.Clearance/size)
				near(row, "pilot_lowest_"+height, g.Range.Low.Pilot.X/size)
				shown, err := strconv.ParseFloat(row[col["let_go_"+height]], 64)
				require.NoError(t, err)
				assert.LessOrEqual(t, shown*size, g.Range.High.Clearance+1e-9)
			} else {
				assert.Empty(t, row[col["let_go_"+height]])
				assert.Empty(t, row[col["high_"+height]])
			}
			assert.Equal(t, g.Verdict, row[col["verdict"]])
		}
	}
}

// The page is whole by itself: every element is closed, nothing runs, nothing is
// fetched, and the picture is in it.
func TestTowCardHTML(t *testing.T) {
	card := cardOf("teal-tandem", units.Metric)
	s := written(t, writers(card)["html"])
	assert.True(t, strings.HasPrefix(s, "<!DOCTYPE html>"))
	assert.Contains(t, s, `<svg viewBox="0 0 9 9"></svg>`)
	for _, no := range []string{"<script", "http://", "https://", "url(", "<link", "javascript:", "onload"} {
		assert.NotContains(t, s, no)
	}
	var open []string
	for _, m := range regexp.MustCompile(`<(/?)([a-z0-9]+)[^>]*>`).FindAllStringSubmatch(s, -1) {
		switch {
		case m[2] == "meta":
		case m[1] == "":
			open = append(open, m[2])
		default:
			require.NotEmpty(t, open)
			assert.Equal(t, open[len(open)-1], m[2])
			open = open[:len(open)-1]
		}
	}
	assert.Empty(t, open)
	assert.NotContains(t, written(t, func(w io.Writer) error { return card.WriteHTML(w, "") }), "<figure")
}

// Names from a stranger's file stay names.
func TestTowCardHostileNames(t *testing.T) {
	m := readymaps.Coarse()["teal-tandem"]
	c := m.Model().Craft()
	c.Name = "<script>alert(1)</script> | *bold* [x](y) # \"q\""
	v, err := cardOf("teal-tandem", units.Metric).Variants.For(c)
	require.NoError(t, err)
	card, err := NewTowCard(t.Context(), v.Map(), TowCardOptions{Top: 20 / 3.6, Variants: v})
	require.NoError(t, err)
	assert.NotContains(t, written(t, writers(card)["html"]), "<script")
	md := written(t, card.WriteMarkdown)
	assert.Contains(t, md, `\<script\>`)
	assert.Contains(t, md, `\| \*bold\* \[x\]`)
}

func TestTowCardWithoutParts(t *testing.T) {
	m := readymaps.Coarse()["teal-tandem"]
	with := func(change func(*gecp.Craft)) (*TowCard, error) {
		c := m.Model().Craft()
		change(c)
		n, err := m.For(c)
		require.NoError(t, err)
		return NewTowCard(t.Context(), n, TowCardOptions{Top: 60 / 3.6})
	}
	for path, change := range map[string]func(*gecp.Craft){
		"pilot":   func(c *gecp.Craft) { c.Pilot = nil },
		"weights": func(c *gecp.Craft) { c.Weights = nil },
		"tow":     func(c *gecp.Craft) { c.Tow = nil },
	} {
		_, err := with(change)
		var p gecp.Problems
		require.ErrorAs(t, err, &p, path)
		assert.Equal(t, path, p[0].Path)
		assert.Contains(t, p[0].Text, "add an entry like")
	}
	// Without floats the flight is told all the same.
	c := m.Model().Craft()
	c.Floats = nil
	v, err := cardOf("teal-tandem", units.Metric).Variants.For(c)
	require.NoError(t, err)
	card, err := NewTowCard(t.Context(), v.Map(), TowCardOptions{Top: 55 / 3.6, Variants: v})
	require.NoError(t, err)
	assert.Zero(t, card.LiftOff)
	assert.Empty(t, card.Windows)
	flown := false
	for _, r := range card.Rungs {
		assert.False(t, r.Water.Known)
		flown = flown || r.Range.OK
	}
	assert.True(t, flown)
	for form, write := range writers(card) {
		s := written(t, write)
		flat := strings.Join(strings.Fields(s), " ")
		assert.Contains(t, flat, "Nothing is known of the run on the water", form)
		assert.NotRegexp(t, notANumber, s, form)
	}
}

func TestTowCardRefuses(t *testing.T) {
	m := readymaps.Coarse()["teal-tandem"]
	for _, o := range []TowCardOptions{
		{Top: 1}, {Top: 101}, {Top: math.NaN()}, {Rules: tow.Rules{OwnLimit: -1}}, {Rules: tow.Rules{OwnLimit: math.Inf(1)}},
		{Rules: tow.Rules{ReachMargin: -.1}}, {Rules: tow.Rules{SelfHoldingMargin: math.NaN()}}, {Rules: tow.Rules{MinReaction: 3}}, {Density: -1}, {Density: math.NaN()},
	} {
		_, err := NewTowCard(t.Context(), m, o)
		assert.Error(t, err, "%+v", o)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err := NewTowCard(ctx, m, TowCardOptions{})
	assert.ErrorIs(t, err, context.Canceled)
}

// Names cannot be read as formulas by a spreadsheet.
func TestNotFormula(t *testing.T) {
	for in, want := range map[string]string{"": "", "front": "front", "=1": "'=1", "+1": "'+1", "-1": "'-1", "@x": "'@x"} {
		assert.Equal(t, want, notFormula(in))
	}
}

func ExampleTowCard_WriteText() {
	model, err := gecp.NewModel(gecp.Demo(), gecp.Mesh{Rows: 2, Strips: 4}) // coarse, for speed
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := model.BuildMap(context.Background(), gecp.MapOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	card, err := NewTowCard(context.Background(), m, TowCardOptions{Units: units.Customary})
	if err != nil {
		fmt.Println(err)
		return
	}
	var text strings.Builder
	if err := card.WriteText(&text); err != nil {
		fmt.Println(err)
		return
	}
	title, _, _ := strings.Cut(text.String(), "\n")
	fmt.Fprintln(os.Stdout, title)
	// Output: Tow card of Reedling
}
