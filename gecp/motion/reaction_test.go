package motion

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/tow"
)

// The margin is what it says: with it, and with every delay looked at below it, the
// craft is saved, with a little more it is not; the slowest shift and the least
// travel likewise.
func TestReactionMargin(t *testing.T) {
	r := stiffRun(t, 14)
	var margins []float64
	for _, clearance := range []float64{.16, .25} {
		x, err := ReactionAt(t.Context(), r, clearance, 1.5)
		require.NoError(t, err)
		t.Log(x)
		m := x.Knowing
		require.True(t, m.OK && !m.Beyond)
		assert.False(t, x.Fixed.Saved())
		assert.True(t, m.Prompt.Saved())
		margins = append(margins, m.Delay)
		fly := func(l PilotLaw, change func(*Flight)) bool {
			f := start(t, r, clearance, StandardSpeedUp())
			change(f)
			return f.Settle(l, 1.5).Saved()
		}
		l := m.Law
		for late, want := range map[float64]bool{m.Delay: true, m.Delay + fineDelay: false, 0: true, coarseDelay: true} {
			l.Delay = late
			assert.Equal(t, want, fly(l, func(*Flight) {}), "delay %.2f at %v m", late, clearance)
		}
		l = x.Counts().Law
		l.Delay = DelayPosition
		for _, least := range []struct {
			name string
			Least
			set func(f *Flight, v float64)
		}{
			{"shift", x.Shift, func(f *Flight, v float64) { f.maxShift = v }},
			{"travel", x.Travel, func(f *Flight, v float64) {
				at := f.start.Pilot.X
				k := v / (f.aft - f.fwd)
				f.fwd, f.aft = at+k*(f.fwd-at), at+k*(f.aft-at)
			}},
		} {
			if !least.OK || least.None {
				continue
			}
			assert.True(t, fly(l, func(f *Flight) { least.set(f, least.Value+.001) }), "%s at %v m", least.name, clearance)
			assert.False(t, fly(l, func(f *Flight) { least.set(f, least.Value-.02) }), "%s at %v m", least.name, clearance)
		}
		// No feedback of a state and its rates holds a root a over a delay of 2/a or more.
		modes, err := ModesAt(r, clearance)
		require.NoError(t, err)
		if a := real(modes[0].Root); a > 0 {
			assert.Less(t, m.Delay, 2/a)
		}
		assert.Contains(t, x.String(), m.Words()+" for "+KnowingPilot)
	}
	assert.Greater(t, margins[0], margins[1], "higher up the pilot has less time")
}

// The demo at 13.9 m/s and 0.25 m, to stay below 0.6 m: about 0.3 s for a pilot who
// knows the right position for every speed, none for one who sees the motion only,
// from a computation apart from this one, with a straight line.
func TestReactionOfTheTwoPilots(t *testing.T) {
	r := straightRun(t, 13.9)
	x, err := MarginsAt(t.Context(), r, .25, 0)
	require.NoError(t, err)
	assert.Equal(t, DefaultLimit, x.Limit)
	assert.InDelta(t, .3, x.Knowing.Delay, .03)
	assert.True(t, x.Knowing.OK)
	assert.False(t, x.Seeing.OK)
	assert.Equal(t, x.Seeing, x.Counts())
	ok, err := InTime(t.Context(), r, .25, 0, 0)
	require.NoError(t, err)
	assert.False(t, ok)
	// A higher limit leaves more time.
	y, err := MarginsAt(t.Context(), r, .25, 2)
	require.NoError(t, err)
	assert.Greater(t, y.Knowing.Delay, x.Knowing.Delay)
}

func TestCounts(t *testing.T) {
	m := func(d float64) Margin { return Margin{OK: true, Delay: d} }
	for _, c := range []struct {
		knowing, seeing, want Margin
	}{
		{m(.3), m(.5), m(.3)},
		{m(.5), m(.3), m(.3)},
		{m(.4), m(.4), m(.4)},
		{m(.3), Margin{}, Margin{}},
		{Margin{}, m(.3), Margin{}},
		{Margin{}, Margin{}, Margin{}},
	} {
		assert.Equal(t, c.want, Reaction{Knowing: c.knowing, Seeing: c.seeing}.Counts(), "%+v", c)
	}
}

// What a range asks agrees with the smaller of the margins.
func TestInTimeIsTheSmallerMargin(t *testing.T) {
	for key, speed := range map[string]float64{"teal-tandem": 17, "garganey-swept": 17, "water-rail-canard": 22} {
		var craft *gecp.Craft
		for _, ready := range crafts.All() {
			if ready.Key == key {
				craft = ready.Craft
			}
		}
		model, err := gecp.NewModel(craft, gecp.Mesh{Rows: 2, Strips: 4})
		require.NoError(t, err)
		m, err := model.BuildMap(t.Context(), gecp.MapOptions{Heights: 4, Pitches: 5, Tolerance: .05})
		require.NoError(t, err)
		r, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: speed})
		require.NoError(t, err)
		for _, clearance := range []float64{.31, .4} {
			x, err := MarginsAt(t.Context(), r, clearance, .6)
			require.NoError(t, err)
			t.Log(key, x)
			c := x.Counts()
			for _, delay := range []float64{0, .2, .5, c.Delay, c.Delay + fineDelay} {
				ok, err := InTime(t.Context(), r, clearance, .6, min(delay, MaxDelay))
				require.NoError(t, err)
				want := x.Fixed.Saved() || c.OK && delay <= c.Delay
				assert.Equal(t, want, ok, "%s at %v m, %v s late, margin %v s", key, clearance, delay, c.Delay)
			}
		}
	}
	_, err := InTime(t.Context(), stiffRun(t, 14), .25, 0, 2.1)
	assert.ErrorContains(t, err, "from 0 to 2 s")
	_, err = InTime(t.Context(), stiffRun(t, 14), .25, 0, math.NaN())
	assert.Error(t, err)
}

func TestReactionStopsWhenCancelled(t *testing.T) {
	r := stiffRun(t, 14)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := ReactionAt(ctx, r, .25, 0)
	assert.ErrorIs(t, err, context.Canceled)
	_, err = InTime(ctx, r, .25, 0, .5)
	assert.ErrorIs(t, err, context.Canceled)
}

func TestReactionRefusals(t *testing.T) {
	r := stiffRun(t, 14)
	_, err := ReactionAt(t.Context(), r, .05, 0)
	assert.ErrorContains(t, err, "float 1 is still")
	for _, limit := range []float64{-1, 101, math.NaN()} {
		_, err := MarginsAt(t.Context(), r, .25, limit)
		assert.ErrorContains(t, err, "above 0 and up to 100 m", "%v", limit)
	}
	_, err = MarginsAt(t.Context(), r, .25, 100)
	assert.NoError(t, err)
	for _, delay := range []float64{-.001, 2.001, math.NaN()} {
		_, err := InTime(t.Context(), r, .25, 0, delay)
		assert.ErrorContains(t, err, "give one from 0 to 2 s", "%v", delay)
	}
	for _, delay := range []float64{0, MaxDelay} {
		_, err := InTime(t.Context(), r, .25, 0, delay)
		assert.NoError(t, err)
	}
}

// Where no reaction saves, what is missing is what a flight without that bound has.
func TestReactionSaysWhatIsMissing(t *testing.T) {
	travel, speed, neither := 0, 0, 0
	for _, clearance := range []float64{.25, .3} {
		at, err := stiffRun(t, 14).Trim(clearance)
		require.NoError(t, err)
		for _, change := range []func(p *gecp.Pilot){
			func(*gecp.Pilot) {},
			func(p *gecp.Pilot) { p.MaxShift = .05 },
			func(p *gecp.Pilot) { p.XForward = at.Pilot.X - .01 },
			func(p *gecp.Pilot) { p.XForward, p.MaxShift = at.Pilot.X-.01, .02 },
		} {
			c := stiffRun(t, 14).Map().Model().Craft()
			change(c.Pilot)
			m, err := flightMap().For(c)
			require.NoError(t, err)
			r, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: 14})
			require.NoError(t, err)
			x, err := ReactionAt(t.Context(), r, clearance, 1.5)
			require.NoError(t, err)
			assert.Equal(t, clearance, x.Clearance)
			if x.Counts().OK {
				assert.False(t, x.LacksTravel || x.LacksSpeed)
				continue
			}
			law, err := DesignPilotLaw(r, clearance)
			require.NoError(t, err)
			saved := func(change func(f *Flight)) bool {
				any := false
				for _, strength := range []float64{1, .5, 2} {
					l := law.by(strength)
					l.SeesMotionOnly = true
					f := start(t, r, clearance, StandardSpeedUp())
					change(f)
					any = any || f.Settle(l, 1.5).Saved()
				}
				return any
			}
			assert.Equal(t, saved(func(f *Flight) { f.fwd, f.aft = -50, 50 }), x.LacksTravel)
			assert.Equal(t, saved(func(f *Flight) { f.maxShift = 50 }), x.LacksSpeed)
			switch {
			case x.LacksTravel:
				travel++
			case x.LacksSpeed:
				speed++
			default:
				neither++
			}
		}
	}
	t.Logf("%d lack travel, %d speed of shifting alone, %d neither", travel, speed, neither)
	for _, n := range []int{travel, speed, neither} {
		assert.Positive(t, n)
	}
}

func TestOutcomeNamesTheFloat(t *testing.T) {
	o := Outcome{Settled: true, Touch: Touch{OK: true, Float: 1}}
	assert.Contains(t, o.String(), "float 2 touched the water")
}

func TestSavedIsAtRestBelowTheLimit(t *testing.T) {
	for _, c := range []struct {
		o    Outcome
		want bool
	}{
		{Outcome{Settled: true}, true},
		{Outcome{Afloat: true}, true},
		{Outcome{}, false},
		{Outcome{Above: true}, false},
		{Outcome{End: End{Cause: CauseFloatStruck}}, false},
	} {
		assert.Equal(t, c.want, c.o.Saved(), "%+v", c.o)
	}
	// One that would settle, but above the limit, is left there.
	small := Disturbance{SpeedUp: SpeedUp{By: .2, Over: 1}}
	free := start(t, stiffRun(t, 15), .15, small).Settle(FixedPilot{}, 1.5)
	require.True(t, free.Settled)
	low := start(t, stiffRun(t, 15), .15, small).Settle(FixedPilot{}, free.Top-1e-3)
	assert.True(t, low.Above)
	assert.False(t, low.Saved())
	assert.Greater(t, low.Top, free.Top-1e-3)
	assert.True(t, start(t, stiffRun(t, 15), .15, small).Settle(FixedPilot{}, free.Top+1e-3).Settled)
}

// Settled means: it has come to rest, and stays so.
func TestSettle(t *testing.T) {
	small := Disturbance{SpeedUp: SpeedUp{By: .2, Over: 1}}
	f := start(t, stiffRun(t, 15), .15, small)
	o := f.Settle(FixedPilot{}, 3)
	require.True(t, o.Settled, o)
	was := f.State()
	for range 100 {
		require.True(t, f.Step(.1, f.position))
	}
	assert.InDelta(t, was.Clearance, f.State().Clearance, settledHeight)
	assert.GreaterOrEqual(t, o.Top, was.Clearance)
	assert.GreaterOrEqual(t, o.Time, settledFrom-Tick)

	// A line that stretches swings for long, and dies away.
	o = start(t, elasticRun(t, 15), .15, small).Settle(FixedPilot{}, 3)
	assert.True(t, o.Settled, o)

	o = start(t, stiffRun(t, 14), .3, StandardSpeedUp()).Settle(FixedPilot{}, 3)
	assert.False(t, o.Settled)
	assert.GreaterOrEqual(t, o.Nose, flightMap().Range().PitchMax)
	assert.False(t, math.IsInf(o.Top, 0))
}

func TestVerdicts(t *testing.T) {
	both := func(m Margin) Reaction { return Reaction{Knowing: m, Seeing: m} }
	for want, x := range map[string]Reaction{
		"comes to rest with the pilot still":                      {Fixed: Outcome{Settled: true}},
		"runs away if left alone; a reaction within 2 s saves it": both(Margin{OK: true, Beyond: true, Delay: 2}),
		"faster than people react":                                both(Margin{OK: true, Delay: .329}),
		"at the edge of what people manage":                       both(Margin{OK: true, Delay: .33}),
		"0.10 s more than the slowest published delay":            both(Margin{OK: true, Delay: .6}),
		"0.30 s more than the slowest published delay":            both(Margin{OK: true, Delay: .8}),
		"no reaction saves it: the pilot reaches the stop":        {LacksTravel: true, LacksSpeed: true},
		"no reaction saves it: the pilot shifts too slowly":       {LacksSpeed: true},
		"no reaction saves it: a wing comes down to the water":    both(Margin{Prompt: Outcome{End: End{Cause: CauseWingWet}}}),
		"no reaction saves it: it rises over the let-go limit":    both(Margin{Prompt: Outcome{Above: true}}),
	} {
		assert.Equal(t, want, x.Verdict())
		assert.NotContains(t, x.String(), "NaN")
	}
	assert.Equal(t, "at the edge of what people manage", both(Margin{OK: true, Delay: .599}).Verdict())
}

func TestMarginWords(t *testing.T) {
	assert.Equal(t, "none", Margin{}.Words())
	assert.Equal(t, "0.30 s", Margin{OK: true, Delay: .3}.Words())
	assert.Equal(t, "over 2 s", Margin{OK: true, Delay: 2, Beyond: true}.Words())
}

func BenchmarkSettle(b *testing.B) {
	r := stiffRun(b, 14)
	law, err := DesignPilotLaw(r, .3)
	require.NoError(b, err)
	law.Delay = .3
	for b.Loop() {
		f, err := NewFlight(r, .3, StandardSpeedUp())
		if err != nil {
			b.Fatal(err)
		}
		f.Settle(law, 3)
	}
}

// How late may the pilot be, and what happens to one who holds still.
func ExampleReactionAt() {
	m, err := gecp.Demo().BuildMap(context.Background(), gecp.MapOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: 14})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, clearance := range []float64{.2, .6} {
		x, err := ReactionAt(context.Background(), r, clearance, 0)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("from %.1f m: more time than people need: %v\n", clearance, x.Counts().OK && x.Counts().Delay > DelayAcceleration)
	}
	f, err := NewFlight(r, .4, StandardSpeedUp())
	if err != nil {
		fmt.Println(err)
		return
	}
	for f.Step(1./60, 1.3) { // a hand holds the pilot at 1.30 m
	}
	fmt.Println("held still, it pitches up:", f.End().Cause == CausePitchedUp)
	// Output:
	// from 0.2 m: more time than people need: false
	// from 0.6 m: more time than people need: false
	// held still, it pitches up: true
}
