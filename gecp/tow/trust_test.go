package tow

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/internal/canceltest"
	"example.org/groundeffect/gecp/internal/readymaps"
)

var none, endless = math.Inf(-1), math.Inf(1)

func TestNewBand(t *testing.T) {
	for _, c := range []struct {
		name   string
		others []float64
		want   Band
	}{
		{"nothing left out", nil, Band{Plain: 1, Low: 1, High: 1}},
		{"no change", []float64{1}, Band{Plain: 1, Low: 1, High: 1}},
		{"lower", []float64{.9, .8, .85}, Band{Plain: 1, Low: .8, High: 1}},
		{"higher", []float64{1.1, 1.3}, Band{Plain: 1, Low: 1, High: 1.3}},
		{"both", []float64{1.1, .7}, Band{Plain: 1, Low: .7, High: 1.1}},
		{"none below", []float64{none, .9}, Band{Plain: 1, Low: .9, High: 1, NoLow: true}},
		{"none above", []float64{endless}, Band{Plain: 1, Low: 1, High: 1, NoHigh: true}},
		{"none either way", []float64{none, endless}, Band{Plain: 1, Low: 1, High: 1, NoLow: true, NoHigh: true}},
	} {
		assert.Equal(t, c.want, newBand(1, c.others...), c.name)
	}
	// Of any figures: the band holds the plain one and all others, and no more.
	rng := rand.New(rand.NewPCG(1, 2))
	for range 100 {
		plain := rng.NormFloat64()
		others := make([]float64, rng.IntN(5))
		for i := range others {
			others[i] = rng.NormFloat64()
		}
		b := newBand(plain, others...)
		assert.LessOrEqual(t, b.Low, plain)
		assert.GreaterOrEqual(t, b.High, plain)
		ends := append([]float64{plain}, others...)
		assert.Contains(t, ends, b.Low)
		assert.Contains(t, ends, b.High)
		lower := newBand(plain, append(others, b.Low-.1)...)
		assert.Equal(t, b.Low-.1, lower.Low, "what lowers the figure lowers the low end")
		assert.Equal(t, b.High, lower.High)
	}
}

func TestFoundBelowAndAbove(t *testing.T) {
	for _, c := range []struct {
		a, b         found
		below, above bool
	}{
		{found{1, 1, 0, 0}, found{1, 1, 0, 0}, false, false},
		{found{.9, .9, 0, 0}, found{1, 1, 0, 0}, true, false},
		{found{1.1, 1.1, 0, 0}, found{1, 1, 0, 0}, false, true},
		{found{1, 1, 2, 0}, found{1, 1, 3, 0}, true, false},
		{found{1, 1, 3, 0}, found{1, 1, 2, 0}, false, true},
		{found{.9, .9, 3, 0}, found{1, 1, 2, 0}, true, false},
		{found{1.1, 1.1, 2, 0}, found{1, 1, 3, 0}, false, true},
		{noHeight, found{1, 1, 2, 0}, true, false},
		{found{1, 1, 0, .2}, found{1, 1, 0, .3}, false, false},
		{found{none, endless, 0, 0}, found{1, 1, 0, 0}, true, true},
	} {
		assert.Equal(t, c.below, c.a.below(c.b), "%+v below %+v", c.a, c.b)
		assert.Equal(t, c.above, c.a.above(c.b), "%+v above %+v", c.a, c.b)
	}
	for _, c := range []struct {
		a, b  found
		later bool
	}{
		{found{from: .3}, found{from: .2}, true}, {found{from: .2}, found{from: .2}, false}, {found{from: .2}, found{from: .3}, false},
		{noHeight, found{from: .3}, true}, {found{from: .3}, noHeight, false},
	} {
		assert.Equal(t, c.later, c.a.later(c.b), "%+v later than %+v", c.a, c.b)
	}
}

// A figure that is 1 and changes with the lift factor: all that lowers it at once, and all
// that raises it, of each group one.
func TestAllThatIsLeftOutAtOnce(t *testing.T) {
	n := func(e Effect, lift float64) variant { return variant{effect: e, lift: lift} }
	ask := func(_ context.Context, n variant, _ bool) (found, error) {
		switch at := 1 + n.lift; {
		case n.lift <= -10:
			return noHeight, nil
		default:
			at = math.Min(at, 1+n.cp) // the offset is a cap here
			return found{at, at, n.lift, 0}, nil
		}
	}
	for _, c := range []struct {
		name      string
		groups    [][]variant
		low, high float64
		noLow     bool
	}{
		{"nothing left out", nil, 1, 1, false},
		{"no effect", [][]variant{{n(EffectMesh, 0)}}, 1, 1, false},
		{"one lowers", [][]variant{{n(EffectMesh, -.2)}}, .8, 1, false},
		{"two lower", [][]variant{{n(EffectMesh, -.2)}, {n(EffectMap, -.1)}}, .7, 1, false},
		{"one lowers, one would raise", [][]variant{{n(EffectMesh, -.2)}, {n(EffectMap, .1)}}, .8, 1, false},
		{"of a group the lower counts", [][]variant{{n(EffectLine, -.2), n(EffectLine, -.3), n(EffectLine, .1)}, {n(EffectMap, -.1)}}, .6, 1, false},
		{"none at all", [][]variant{{n(EffectMesh, -10)}, {n(EffectMap, -.1)}}, .9, 1, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := &Variants{groups: c.groups}
			got, _, err := v.fold(t.Context(), found{1, 1, 0, 0}, ask)
			require.NoError(t, err)
			assert.InDelta(t, c.low, got.Low, 1e-12)
			assert.InDelta(t, c.high, got.High, 1e-12)
			assert.Equal(t, c.noLow, got.NoLow)
		})
	}
	// What lowers only beyond a cap is among what lowers all the same.
	v := &Variants{groups: [][]variant{{{effect: EffectMesh, lift: -.05, cp: .1}}}}
	var asked []float64
	_, _, err := v.fold(t.Context(), found{1, 1, 0, 0}, func(_ context.Context, n variant, w bool) (found, error) {
		if w {
			asked = append(asked, n.lift)
		}
		return found{1, 1, n.lift, 0}, nil
	})
	require.NoError(t, err)
	assert.Equal(t, []float64{-.05}, asked)

	// The craft with all that lowers is asked wholly, and that with all that lets the range begin
	// higher; not that with all that raises the end.
	var mu sync.Mutex
	wholly := map[float64]bool{}
	v = &Variants{groups: [][]variant{{n(EffectMesh, -.2)}, {n(EffectMap, -.1)}, {{effect: EffectWake, lift: .4, line: 1}}, {n(EffectLine, .8)}}}
	got, from, err := v.fold(t.Context(), found{1, 1, 0, 0}, func(_ context.Context, n variant, w bool) (found, error) {
		mu.Lock()
		defer mu.Unlock()
		wholly[math.Round(10*n.lift)] = w
		return found{1 + n.lift, 1 + n.lift, 0, n.line}, nil
	})
	require.NoError(t, err)
	assert.Equal(t, Band{High: 1}, from.Band)
	assert.Equal(t, map[float64]bool{-2: false, -1: false, 4: true, 8: false, -3: true, 12: false}, wholly)
	assert.InDelta(t, .7, got.Low, 1e-12)
	assert.InDelta(t, 2.2, got.High, 1e-12)
	require.Len(t, got.Effects, 4)
	for i, want := range []struct {
		e         Effect
		low, high float64
	}{{EffectMesh, .8, 1}, {EffectMap, .9, 1}, {EffectWake, 1, 1.4}, {EffectLine, 1, 1.8}} {
		assert.Equal(t, want.e, got.Effects[i].Effect)
		assert.InDelta(t, want.low, got.Effects[i].Band.Low, 1e-12)
		assert.InDelta(t, want.high, got.Effects[i].Band.High, 1e-12)
	}

	for _, at := range []float64{-.2, -.3} { // of one alone, and of the end
		_, _, err = v.fold(t.Context(), found{1, 1, 0, 0}, func(_ context.Context, n variant, _ bool) (found, error) {
			if math.Abs(n.lift-at) < 1e-9 {
				return found{}, errors.New("broken")
			}
			return found{1 + n.lift, 1 + n.lift, 0, 0}, nil
		})
		assert.ErrorContains(t, err, "broken")
	}
}

// hills are variants of a hill whose craft holds itself up to 0.8 m; each unit of times of
// down moves that 0.1 m down.
func hills(t *testing.T) (m *gecp.Map, down func(e Effect, times float64) variant) {
	m = hill{top: .8}.tow(t, hillSpeed).m
	to := hill{top: .7}.tow(t, hillSpeed).m
	return m, func(e Effect, times float64) variant {
		return variant{effect: e, changes: []gecp.MapDifference{{From: m, To: to, Times: times}}}
	}
}

func rangeOf(t *testing.T, m *gecp.Map, speed float64, rules Rules) Range {
	t.Helper()
	st, err := NewSteadyTow(m, gecp.Freestream{Speed: speed, Density: 1.25})
	require.NoError(t, err)
	r, err := st.Range(t.Context(), rules)
	require.NoError(t, err)
	return r
}

func TestTrustByHand(t *testing.T) {
	m, down := hills(t)
	const near = 6e-3 // the wings' friction, which the formula leaves out, moves the limit by 5 mm
	for _, c := range []struct {
		name             string
		groups           [][]variant
		limit            float64
		plain, low, high float64
		noLow            bool
	}{
		{"nothing left out", nil, 1.5, .75, .75, .75, false},
		{"lower", [][]variant{{down(EffectMesh, 1)}}, 1.5, .75, .65, .75, false},
		{"higher", [][]variant{{down(EffectMesh, -1)}}, 1.5, .75, .75, .85, false},
		{"two lower", [][]variant{{down(EffectMesh, 1)}, {down(EffectWake, 2)}}, 1.5, .75, .45, .75, false},
		{"a group", [][]variant{{down(EffectThickness, 1), down(EffectThickness, 2), down(EffectThickness, -1)}}, 1.5, .75, .55, .85, false},
		{"one each way", [][]variant{{down(EffectMesh, 1)}, {down(EffectWake, -2)}}, 1.5, .75, .65, .95, false},
		{"not higher than the own limit", [][]variant{{down(EffectMesh, -1)}}, .6, .6, .6, .6, false},
		{"each alone stays above the own limit", [][]variant{{down(EffectMesh, 1)}, {down(EffectWake, 1)}, {down(EffectMap, 1)}}, .6, .6, .45, .6, false},
		{"nothing is left", [][]variant{{down(EffectMesh, 7)}}, 1.5, .75, .75, .75, true},
		{"nothing is left of both", [][]variant{{down(EffectMesh, 3)}, {down(EffectWake, 4)}}, 1.5, .75, .35, .75, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := &Variants{m: m, groups: c.groups}
			r := rangeOf(t, m, hillSpeed, Rules{OwnLimit: c.limit})
			x, err := v.Trust(t.Context(), r)
			require.NoError(t, err)
			got := x.LetGo
			assert.InDelta(t, c.plain, got.Plain, near)
			assert.Equal(t, r.High.Clearance, got.Plain)
			assert.InDelta(t, c.low, got.Low, near)
			assert.InDelta(t, c.high, got.High, near)
			assert.Equal(t, c.noLow, got.NoLow)
			assert.False(t, got.NoHigh)
			for _, e := range got.Effects {
				assert.GreaterOrEqual(t, e.Band.Low, got.Low)
				assert.LessOrEqual(t, e.Band.High, got.High)
			}
			cut, err := x.Cut()
			require.NoError(t, err)
			assert.True(t, x.HasPilot)
			assert.Equal(t, cut.Low.Pilot.X, x.Pilot.Plain)

			require.NoError(t, err)
			switch {
			case c.noLow:
				assert.False(t, cut.OK)
				assert.Equal(t, NoneTrust, cut.None)
			case c.low == c.plain:
				assert.Equal(t, r, cut)
			default:
				require.True(t, cut.OK)
				assert.Equal(t, got.Low, cut.High.Clearance)
				assert.Equal(t, LimitTrust, cut.End.Kind)
			}
		})
	}
}

// What lets the range begin higher may leave no height together with what lets it end lower,
// though each alone leaves many: here from 0.4 m, where the pilot's reach begins, to 0.75 m.
func TestTrustOfBothEnds(t *testing.T) {
	forward := hill{top: .8}.pilot(.4)
	reach := func(c *gecp.Craft) { c.Pilot.XForward = forward }
	m, to := hill{top: .8, change: reach}.tow(t, hillSpeed).m, hill{top: .7, change: reach}.tow(t, hillSpeed).m
	down := func(e Effect, times float64) variant {
		return variant{effect: e, changes: []gecp.MapDifference{{From: m, To: to, Times: times}}}
	}
	// The hill's crest moves by 0.1 m each time, and rises or falls a little.
	ends := func(k float64) float64 { return .75 - .1*k }
	begins := func(k float64) float64 { return .8 - .1*k - math.Sqrt(.16-.01*k+.01*k*k) }
	const near = 1e-2
	for _, c := range []struct {
		name      string
		groups    [][]variant
		below     float64 // up to where people are in time, m; 0: not asked
		from, to  float64 // from 0: none is left
		low, high float64 // of the lowest clearance
	}{
		{"nothing left out", nil, 0, .4, .75, .4, .4},
		{"lower", [][]variant{{down(EffectMesh, 1)}}, 0, .4, ends(1), begins(1), .4},
		{"higher", [][]variant{{down(EffectMesh, -1)}}, 0, begins(-1), .75, .4, begins(-1)},
		{"two higher", [][]variant{{down(EffectMesh, -1)}, {down(EffectMap, -1)}}, 0, begins(-2), .75, .4, begins(-2)},
		{"of a group the higher counts", [][]variant{{down(EffectMesh, -1), down(EffectMesh, -2), down(EffectMesh, .5)}}, 0, begins(-2), ends(.5), begins(.5), begins(-2)},
		{"either way", [][]variant{{down(EffectMesh, 1)}, {down(EffectWake, -2)}}, 0, begins(-2), ends(1), begins(1), begins(-2)},
		{"nothing is left of both", [][]variant{{down(EffectMesh, 3)}, {down(EffectWake, -2)}}, 0, 0, 0, plankClose, begins(-2)},
		{"in time all the way", [][]variant{{down(EffectWake, -2)}}, 2, begins(-2), .75, .4, begins(-2)},
		{"in time to its end", [][]variant{{down(EffectWake, -1)}}, .65, begins(-1), .65, .4, begins(-1)},
		{"late where it begins then", [][]variant{{down(EffectWake, -2)}}, .5, 0, 0, .4, .4},
		{"late where all at once let it begin", [][]variant{{down(EffectWake, -1)}, {down(EffectMesh, -1)}}, .5, 0, 0, .4, begins(-1)},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := &Variants{m: m, groups: c.groups}
			rules := Rules{OwnLimit: 1.5}
			if c.below > 0 {
				rules.Reaction = inTime(c.below)
			}
			r := rangeOf(t, m, hillSpeed, rules)
			require.True(t, r.OK)
			x, err := v.Trust(t.Context(), r)
			require.NoError(t, err)
			assert.Equal(t, r.Low.Clearance, x.Lowest.Plain)
			assert.InDelta(t, c.low, x.Lowest.Low, near)
			assert.InDelta(t, c.high, x.Lowest.High, near)
			assert.Equal(t, c.from == 0, x.Lowest.NoHigh)
			assert.Equal(t, c.from == 0, x.LetGo.NoLow)
			assert.False(t, x.Lowest.NoLow)
			for _, e := range x.Lowest.Effects {
				assert.LessOrEqual(t, e.Band.High, x.Lowest.High)
			}
			cut, err := x.Cut()
			require.NoError(t, err)
			require.Equal(t, c.from > 0, cut.OK)
			assert.Equal(t, cut.Low.Pilot.X, x.Pilot.Plain)
			assert.Equal(t, cut.Low.Clearance, x.PilotAt)
			if cut.OK {
				assert.InDelta(t, c.from, cut.Low.Clearance, near)
				assert.InDelta(t, c.to, cut.High.Clearance, near)
			} else {
				assert.Equal(t, NoneTrust, cut.None)
			}
		})
	}
}

// The dent takes from the height over flat water what it is deep, and gives what it is a rise.
func TestTrustOfTheDent(t *testing.T) {
	m, down := hills(t)
	r := rangeOf(t, m, hillSpeed, Rules{OwnLimit: 1.5})
	_, plain, err := (&asked{rules: r.Rules}).equilibrium(r.Tow)
	require.NoError(t, err)
	a := asked{Variants: &Variants{m: m}, rules: r.Rules, plain: &r, moving: MovingDepression{Down: .03, Up: .02}}
	for _, c := range []struct {
		dent, shift float64
	}{{1, -.03}, {-1, .02}, {0, 0}} {
		f, err := a.letGoOf(t.Context(), variant{dent: c.dent}, false)
		require.NoError(t, err)
		assert.InDelta(t, plain.low+c.shift, f.low, 1e-9)
		assert.InDelta(t, plain.beyond+c.shift, f.beyond, 1e-9)
		assert.InDelta(t, r.Low.Clearance+c.shift, f.from, 1e-9)
		p, err := a.pilot(variant{dent: c.dent}, r.Low.Clearance)
		require.NoError(t, err)
		b, err := r.Tow.Trim(r.Low.Clearance - c.shift)
		require.NoError(t, err)
		assert.InDelta(t, b.Pilot.X, p.low, 1e-9)
		assert.True(t, variant{dent: c.dent}.onlyDent())
	}
	// Not lower than the map reaches, and not where a thing cannot fly.
	lowest := r.Tow.bounds.ClearanceMin
	p, err := a.pilot(variant{dent: -1}, lowest)
	require.NoError(t, err)
	floor, err := r.Tow.Trim(lowest)
	require.NoError(t, err)
	assert.Equal(t, found{floor.Pilot.X, floor.Pilot.X, 0, 0}, p)
	p, err = a.pilot(variant{slower: .9}, lowest)
	require.NoError(t, err)
	assert.Equal(t, found{none, endless, 0, 0}, p, "too slow")
	// With reactions it is taken from the height as calculated, and nothing is asked.
	a.rules.Reaction = func(context.Context, SteadyTow, float64, float64, float64) (bool, error) {
		return false, errors.New("asked")
	}
	f, err := a.letGoOf(t.Context(), variant{dent: 1}, false)
	require.NoError(t, err)
	assert.InDelta(t, r.High.Clearance-.03, f.low, 1e-9)
	for _, n := range []variant{down(EffectMesh, 1), {lift: .1}, {cp: .1}, {growth: .1}, {line: 1}, {slower: .1}} {
		assert.False(t, n.onlyDent(), "%+v", n)
	}
}

// With people's reaction: found for each variant about where it is expected, wholly for the
// low end, and less what it is found to.
func TestTrustWithReactions(t *testing.T) {
	m, down := hills(t)
	rules := Rules{OwnLimit: 1.5, Reaction: func(_ context.Context, st SteadyTow, cl, _, _ float64) (bool, error) {
		return cl < .02*st.stream.Speed, nil // 0.4 m at 20 m/s
	}}
	v := &Variants{m: m, groups: [][]variant{{{effect: EffectBoatAir, slower: .1}}, {down(EffectMesh, 1)}}}
	var ranges []Range
	speeds := []float64{19, 19.5, 20, 20.5, 21}
	for _, speed := range speeds {
		ranges = append(ranges, rangeOf(t, m, speed, rules))
	}
	for i, r := range ranges {
		x, err := v.Trust(t.Context(), r)
		require.NoError(t, err)
		at := .02 * speeds[i]
		assert.InDelta(t, at, x.LetGo.Plain, reactionFine)
		assert.InDelta(t, .9*at, x.LetGo.Low, 2*reactionFine)
		assert.LessOrEqual(t, x.LetGo.Low, .9*at-reactionFine)
		require.Len(t, x.LetGo.Effects, 2)
		assert.Equal(t, EffectMesh, x.LetGo.Effects[0].Effect)
		assert.InDelta(t, at, x.LetGo.Effects[0].Band.Low, reactionFine)
		assert.InDelta(t, .9*at, x.LetGo.Effects[1].Band.Low, reactionFine)
	}
	// What lowers the height by equilibrium below that of reactions counts, too.
	v.groups = [][]variant{{down(EffectMesh, 4)}}
	for _, r := range ranges {
		x, err := v.Trust(t.Context(), r)
		require.NoError(t, err)
		assert.InDelta(t, .35, x.LetGo.Low, .03)
		assert.Less(t, x.LetGo.Low, x.LetGo.Plain)
	}
	// Where only equilibrium is lowered, and not below, reactions rule as before.
	v.groups = [][]variant{{down(EffectMesh, 1)}}
	x, err := v.Trust(t.Context(), ranges[0])
	require.NoError(t, err)
	assert.InDelta(t, x.LetGo.Plain, x.LetGo.Low, 2*reactionFine)
	// What leaves none by equilibrium counts, though one part of it lets people be in time higher up
	// than the craft itself does, and the other lower: so the two are not asked together.
	rules.Reaction = func(_ context.Context, st SteadyTow, cl, _, _ float64) (bool, error) {
		below := .3
		if k := st.craft.Correction; k != nil {
			below += k.LiftFactor - 1
		}
		return cl < below, nil
	}
	a, b := down(EffectMesh, 3), down(EffectWake, 4)
	a.lift, b.lift = .03, -.03
	v.groups = [][]variant{{a}, {b}}
	x, err = v.Trust(t.Context(), rangeOf(t, m, hillSpeed, rules))
	require.NoError(t, err)
	assert.InDelta(t, .27, x.LetGo.Low, 2*reactionFine)
	assert.False(t, x.LetGo.Effects[0].Band.NoLow)
	assert.False(t, x.LetGo.Effects[1].Band.NoLow)
	assert.True(t, x.LetGo.NoLow)
	assert.True(t, x.Lowest.NoHigh)
	// An error of theirs ends it.
	broken := ranges[0]
	broken.Rules.Reaction = func(context.Context, SteadyTow, float64, float64, float64) (bool, error) {
		return false, errors.New("broken")
	}
	_, err = v.Trust(t.Context(), broken)
	assert.ErrorContains(t, err, "broken")
}

// The clearance up to which one is in time, from wherever it is looked for.
func TestReactionNear(t *testing.T) {
	r := rangeOf(t, hill{top: .8}.tow(t, hillSpeed).m, hillSpeed, Rules{OwnLimit: 1.5})
	low, high := inside(r.Low.Clearance, r.High.Clearance)
	for _, c := range []struct {
		below, want float64
		ok          bool
	}{
		{.3, .3, true}, {low + .001, low, true}, {high - .001, high, true}, {low, 0, false}, {0, 0, false}, {high + .001, r.High.Clearance, true}, {2, r.High.Clearance, true},
	} {
		for _, expected := range []float64{-1, r.Low.Clearance, .2999, .3001, .31, .45, r.High.Clearance, 3} {
			asks := 0
			r.Rules.Reaction = func(_ context.Context, _ SteadyTow, cl, limit, delay float64) (bool, error) {
				asks++
				assert.True(t, cl >= low && cl <= high)
				assert.Equal(t, 1.5, limit)
				assert.Equal(t, SlowestReaction, delay)
				return cl < c.below, nil
			}
			got, ok, err := r.reactionNear(t.Context(), expected)
			require.NoError(t, err)
			require.Equal(t, c.ok, ok, "below %v, expected at %v", c.below, expected)
			assert.LessOrEqual(t, asks, 14)
			if !ok {
				continue
			}
			if c.want == r.High.Clearance {
				assert.Equal(t, c.want, got)
				continue
			}
			assert.Less(t, got, c.below)
			assert.InDelta(t, c.want, got, reactionFine)
		}
	}
	for broken := 1; broken <= 3; broken++ {
		asks := 0
		r.Rules.Reaction = func(_ context.Context, _ SteadyTow, cl, _, _ float64) (bool, error) {
			if asks++; asks == broken {
				return false, errors.New("broken")
			}
			return cl < .34, nil
		}
		_, ok, err := r.reactionNear(t.Context(), .3)
		assert.ErrorContains(t, err, "broken")
		assert.False(t, ok)
	}
}

// A range is cut where less than the least depth is left, and its figures are those of what
// is left.
func TestCut(t *testing.T) {
	r := rangeOf(t, hill{top: .8}.tow(t, hillSpeed).m, hillSpeed, Rules{OwnLimit: 1.5})
	low, high := r.Low.Clearance, r.High.Clearance
	for _, c := range []struct {
		name     string
		from, to float64
		ok       bool
	}{
		{"above", low, high + .1, true}, {"at the end", low, high, true}, {"below", low, .4, true},
		{"just deep enough", low, low + LeastDepth + 1e-9, true}, {"too thin", low, low + LeastDepth - 1e-9, false}, {"under it", low, low - .1, false}, {"nothing", low, none, false},
		{"from lower", low - .1, high, true}, {"from lower, too thin", low - .1, low + LeastDepth - 1e-9, false}, {"from higher", .5, high, true}, {"both", .4, .6, true},
		{"just deep enough at the top", high - LeastDepth - 1e-9, high, true}, {"too thin at the top", high - LeastDepth + 1e-9, high, false}, {"over it", high + .1, high, false},
		{"crossed", .6, .4, false}, {"from nowhere", endless, high, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := r.cut(c.from, c.to)
			require.NoError(t, err)
			require.Equal(t, c.ok, got.OK)
			assert.Equal(t, r.Curve, got.Curve)
			if !c.ok {
				assert.Equal(t, r.Low, got.Low)
				assert.Equal(t, NoneTrust, got.None)
				assert.True(t, got.Flies)
				assert.Zero(t, got.High)
				assert.Equal(t, "Do not fly: by the calculation it may be towed up to 0.75 m, but what that leaves out may leave no height to tow it at.", got.String())
				assert.Equal(t, r.Low.LineTension, got.LineTension)
				assert.False(t, got.Limits[LimitTrust].OK)
				return
			}
			if c.from <= low && c.to >= high {
				assert.Equal(t, r, got)
				return
			}
			assert.Equal(t, math.Max(c.from, low), got.Low.Clearance)
			assert.Equal(t, math.Min(c.to, high), got.High.Clearance)
			assert.False(t, r.Limits[LimitTrust].OK, "the range that was cut stays as it is")
			assert.Equal(t, math.Max(got.Low.Pilot.X, got.High.Pilot.X), got.PilotAft)
			assert.Equal(t, math.Min(got.Low.Pilot.X, got.High.Pilot.X), got.PilotForward)
			at, err := r.Tow.Trim(got.Low.Clearance)
			require.NoError(t, err)
			assert.InDelta(t, at.Pilot.X, got.Low.Pilot.X, 1e-9)
			if c.to >= high {
				assert.Equal(t, r.End, got.End, "what ends it is as before")
				assert.Equal(t, r.Limits, got.Limits)
				return
			}
			assert.Equal(t, Limit{Kind: LimitTrust, At: c.to, OK: true}, got.End)
			assert.Equal(t, got.End, got.Limits[LimitTrust])
			assert.Contains(t, got.String(), "higher up what the calculation leaves out may end it.")
		})
	}
	still := Range{None: NoneUnstable}
	got, err := Trust{Range: still}.Cut()
	require.NoError(t, err)
	assert.Equal(t, still, got)
}

// What the variants of the ready craft are, and that what is left out of them keeps to its
// rules: each band holds the plain figure and those of each effect alone.
func TestTrustOfReadyCraft(t *testing.T) {
	for key, speed := range map[string]float64{"reedling-tandem": 16, "teal-tandem": 15, "coot-single": 15} {
		t.Run(key, func(t *testing.T) {
			t.Parallel()
			m := readymaps.All()[key]
			parts := []float64{0}
			v, err := NewVariants(t.Context(), m, func(part float64) { parts = append(parts, part) })
			require.NoError(t, err)
			assert.IsNonDecreasing(t, parts)
			assert.Equal(t, 1., parts[len(parts)-1])
			assert.Same(t, m, v.Map())
			effects := []Effect{EffectMesh, EffectMap, EffectWake, EffectThickness, EffectViscosity, EffectBoatAir, EffectLine, EffectDent}
			if key == "coot-single" {
				effects = []Effect{EffectMesh, EffectMap, EffectThickness, EffectViscosity, EffectBoatAir, EffectLine, EffectDent}
			}
			st, err := NewSteadyTow(m, gecp.Freestream{Speed: speed})
			require.NoError(t, err)
			r, err := st.Range(t.Context(), Rules{})
			require.NoError(t, err)
			x, err := v.Trust(t.Context(), r)
			require.NoError(t, err)
			assert.Equal(t, r.OK, key != "coot-single")
			check := func(b Trusted) {
				var names []Effect
				for _, e := range b.Effects {
					names = append(names, e.Effect)
					assert.Equal(t, b.Plain, e.Band.Plain)
					assert.LessOrEqual(t, e.Band.Low, b.Plain)
					assert.GreaterOrEqual(t, e.Band.High, b.Plain)
					assert.GreaterOrEqual(t, e.Band.Low, b.Low, "%v", e.Effect)
					assert.LessOrEqual(t, e.Band.High, b.High, "%v", e.Effect)
					assert.True(t, b.NoLow || !e.Band.NoLow)
				}
				assert.Equal(t, effects, names)
				for _, f := range []float64{b.Plain, b.Low, b.High} {
					assert.False(t, math.IsNaN(f) || math.IsInf(f, 0))
				}
			}
			if r.OK {
				check(x.LetGo)
				assert.Contains(t, x.String(), "Height to let go: ")
			}
			check(x.Pilot)
			assert.Contains(t, x.String(), "Pilot at ")
			l, off, err := v.LiftOff(t.Context(), 0, m.Model().Craft().Pilot.Middle())
			require.NoError(t, err)
			if l.OK {
				assert.Equal(t, l.Speed, off.Plain)
				check(off)
				// The boat runs faster by what its air is slower.
				assert.InDelta(t, l.Speed/(1-x.Air.Mean), off.Effects[len(effects)-3].Band.High, 1e-3)
			} else {
				assert.Zero(t, off)
			}

			// The same for a craft that was corrected by runs, at no cost: in place of viscosity
			// stands what the runs leave open.
			c := m.Model().Craft()
			c.Correction = &gecp.Correction{LiftFactor: .95, LiftFactorError: .01, CPOffsetError: .02, Runs: 9, On: true}
			w, err := v.For(c)
			require.NoError(t, err)
			var named []Effect
			for _, g := range w.groups {
				named = append(named, g[0].effect)
			}
			assert.NotContains(t, named, EffectViscosity)
			assert.Contains(t, named, EffectRuns)
			_, err = w.Trust(t.Context(), r)
			assert.ErrorContains(t, err, "is of another map", "the range is that of the craft before")
		})
	}
}

// What stands for the effects that do not depend on the wings.
func TestFillByHand(t *testing.T) {
	craft := handCraft()
	craft.Tow.LineMass = lineMass(.2)
	m := func(change func(c *gecp.Craft)) *Variants {
		c := craft.Clone()
		change(c)
		n, err := hill{change: func(h *gecp.Craft) { *h = *c }}.tow(t, hillSpeed).m.For(c)
		require.NoError(t, err)
		v := &Variants{m: n}
		require.NoError(t, v.fill())
		return v
	}
	v := m(func(*gecp.Craft) {})
	air, err := FindBoatAir(craft)
	require.NoError(t, err)
	rest := [][]variant{
		{{effect: EffectBoatAir, slower: air.Mean}},
		{{effect: EffectLine, line: -1}, {effect: EffectLine, line: 1}},
		{{effect: EffectDent, dent: 1}, {effect: EffectDent, dent: -1}},
	}
	viscosity := []variant{{effect: EffectViscosity, lift: leastLift - 1}}
	assert.InDelta(t, .95, 1+viscosity[0].lift, 1e-12)
	assert.Equal(t, append([][]variant{viscosity}, rest...), v.groups)
	off := m(func(c *gecp.Craft) { c.Correction = &gecp.Correction{LiftFactor: .9, LiftFactorError: .1, Runs: 3} })
	assert.Equal(t, append([][]variant{viscosity}, rest...), off.groups, "a correction that is off")
	on := m(func(c *gecp.Craft) {
		c.Correction = &gecp.Correction{LiftFactor: .9, LiftFactorError: .1, CPOffsetError: .2, CPPerMError: .3, Runs: 3, On: true}
	})
	assert.Equal(t, append([][]variant{
		{{effect: EffectRuns, lift: -.2}, {effect: EffectRuns, lift: .2}},
		{{effect: EffectRuns, cp: -.4}, {effect: EffectRuns, cp: .4}},
		{{effect: EffectRuns, growth: -.6}, {effect: EffectRuns, growth: .6}},
	}, rest...), on.groups)
	sure := m(func(c *gecp.Craft) { c.Correction = &gecp.Correction{LiftFactor: .9, Runs: 3, On: true} })
	assert.Equal(t, rest, sure.groups)

	for _, c := range []struct {
		name string
		v    *Variants
		n    variant
		want gecp.Correction
		line float64
	}{
		{"less lift", v, variant{lift: -.05}, gecp.Correction{LiftFactor: .95, Runs: 1, On: true}, .2},
		{"of one that is off", off, variant{lift: -.05}, gecp.Correction{LiftFactor: .95, Runs: 1, On: true}, .2},
		{"beside the runs", on, variant{lift: -.2, cp: .4, growth: .6}, gecp.Correction{LiftFactor: .7, LiftFactorError: .1, CPOffset: .4, CPOffsetError: .2, CPPerM: .6, CPPerMError: .3, Runs: 3, On: true}, .2},
		{"as little as a file takes", on, variant{lift: -.5, cp: -9, growth: -9}, gecp.Correction{LiftFactor: .5, LiftFactorError: .1, CPOffset: -5, CPOffsetError: .2, CPPerM: -5, CPPerMError: .3, Runs: 3, On: true}, .2},
		{"as much", on, variant{lift: .9, cp: 9, growth: 9}, gecp.Correction{LiftFactor: 1.5, LiftFactorError: .1, CPOffset: 5, CPOffsetError: .2, CPPerM: 5, CPPerMError: .3, Runs: 3, On: true}, .2},
		{"no line", v, variant{line: -1}, gecp.Correction{LiftFactor: 1, Runs: 1, On: true}, 0},
		{"two lines", v, variant{line: 1}, gecp.Correction{LiftFactor: 1, Runs: 1, On: true}, .4},
		{"as heavy as a file takes", v, variant{line: 9}, gecp.Correction{LiftFactor: 1, Runs: 1, On: true}, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, err := c.v.mapOf(c.n)
			require.NoError(t, err)
			got := n.Model().Craft()
			assert.InDelta(t, c.want.LiftFactor, got.Correction.LiftFactor, 1e-12)
			c.want.LiftFactor = got.Correction.LiftFactor
			assert.Equal(t, c.want, *got.Correction)
			assert.InDelta(t, c.line, *got.Tow.LineMass, 1e-12)
		})
	}
	same, err := v.mapOf(variant{slower: .1, dent: 1})
	require.NoError(t, err)
	assert.Same(t, v.m, same, "nothing of the map is changed")
}

func TestVariantsAddUp(t *testing.T) {
	m := readymaps.All()["coot-single"]
	a := variant{changes: []gecp.MapDifference{{From: m, To: m, Times: 1}}, lift: -.05, cp: .1, growth: .2, line: -1, slower: .1, dent: 1}
	b := variant{changes: []gecp.MapDifference{{From: m, To: m, Times: 2}}, lift: .02, cp: -.3, growth: .1, line: 2, slower: .2}
	got := variant{}.with(a).with(b)
	assert.Equal(t, []gecp.MapDifference{{From: m, To: m, Times: 1}, {From: m, To: m, Times: 2}}, got.changes)
	assert.Len(t, a.changes, 1, "it stays as it was")
	for _, c := range [][2]float64{{got.lift, -.03}, {got.cp, -.2}, {got.growth, .3}, {got.line, 1}, {got.slower, .28}, {got.dent, 1}} {
		assert.InDelta(t, c[1], c[0], 1e-12)
	}
}

func TestFinerMesh(t *testing.T) {
	for _, c := range []struct {
		m, want gecp.Mesh
		ratio   float64
	}{
		{gecp.Mesh{Rows: 4, Strips: 8}, gecp.Mesh{Rows: 6, Strips: 12}, 1.5},
		{gecp.Mesh{Rows: 2, Strips: 4}, gecp.Mesh{Rows: 3, Strips: 6}, 1.5},
		{gecp.Mesh{Rows: 1, Strips: 2}, gecp.Mesh{Rows: 2, Strips: 3}, 1.5},
		{gecp.Mesh{Rows: 1, Strips: 1}, gecp.Mesh{Rows: 2, Strips: 2}, 2},
		{gecp.Mesh{Rows: 3, Strips: 4}, gecp.Mesh{Rows: 5, Strips: 6}, 1.5},
	} {
		got, ratio := finerMesh(c.m)
		assert.Equal(t, c.want, got)
		assert.InDelta(t, c.ratio, ratio, 1e-12)
	}
}

// With free wakes in the map itself, the other way is the straight one: a map of one way
// changed to the other answers as a map of the other.
func TestTheWakesOtherWay(t *testing.T) {
	straight, err := gecp.NewModel(crafts.All()[0].Craft, gecp.Mesh{})
	require.NoError(t, err)
	free := straight.WithWake(gecp.WakeFree)
	straight = straight.WithWake(gecp.WakeStraight)
	pilot := func(m *gecp.Map, cl float64) float64 {
		st, err := NewSteadyTow(m, gecp.Freestream{Speed: 16})
		require.NoError(t, err)
		b, err := st.Trim(cl)
		require.NoError(t, err)
		return b.Pilot.X
	}
	var own, other []*gecp.Map
	for _, mo := range []*gecp.Model{straight, free} {
		m, err := mo.BuildMap(t.Context(), gecp.MapOptions{})
		require.NoError(t, err)
		v, err := NewVariants(t.Context(), m, nil)
		require.NoError(t, err)
		for _, g := range v.groups {
			if g[0].effect == EffectWake {
				require.Len(t, g, 1)
				n, err := v.mapOf(g[0])
				require.NoError(t, err)
				own, other = append(own, m), append(other, n)
			}
		}
	}
	require.Len(t, own, 2)
	for _, cl := range []float64{.2, .3, .45} {
		a, b := pilot(own[0], cl), pilot(own[1], cl)
		assert.Greater(t, math.Abs(a-b), .01, "it matters")
		const near = 4e-3
		assert.InDelta(t, b, pilot(other[0], cl), near)
		assert.InDelta(t, a, pilot(other[1], cl), near)
	}
}

func TestTrustRefuses(t *testing.T) {
	m := readymaps.All()["teal-tandem"]
	for path, change := range map[string]func(c *gecp.Craft){
		"weights": func(c *gecp.Craft) { c.Weights = nil },
		"tow":     func(c *gecp.Craft) { c.Tow = nil },
	} {
		c := m.Model().Craft()
		change(c)
		n, err := m.For(c)
		require.NoError(t, err)
		_, err = NewVariants(t.Context(), n, nil)
		var p gecp.Problems
		require.ErrorAs(t, err, &p, path)
		assert.Equal(t, path, p[0].Path)
		_, err = (&Variants{m: m}).For(c)
		assert.ErrorAs(t, err, &p, path)
	}
	other := m.Model().Craft()
	other.Wings[0].IncidenceDeg++
	_, err := (&Variants{m: m}).For(other)
	assert.ErrorIs(t, err, gecp.ErrOtherWings)
}

func TestTrustStopsWhenCancelled(t *testing.T) {
	for _, r := range crafts.All() {
		if r.Key != "coot-single" {
			continue
		}
		mo, err := gecp.NewModel(r.Craft, gecp.Mesh{Rows: 1, Strips: 3})
		require.NoError(t, err)
		m, err := mo.BuildMap(t.Context(), gecp.MapOptions{})
		require.NoError(t, err)
		canceltest.Stops(t, func(ctx context.Context) (*Variants, error) { return NewVariants(ctx, m, nil) })
	}
	m, down := hills(t)
	v := &Variants{m: m, groups: [][]variant{{down(EffectMesh, 1)}, {down(EffectWake, -1)}}}
	rules := Rules{OwnLimit: 1.5, Reaction: func(ctx context.Context, st SteadyTow, cl, _, _ float64) (bool, error) {
		return cl < .4, ctx.Err()
	}}
	r := rangeOf(t, m, hillSpeed, rules)
	canceltest.Stops(t, func(ctx context.Context) (Trust, error) { return v.Trust(ctx, r) })
}
