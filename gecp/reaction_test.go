package gecp

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEdge(t *testing.T) {
	list := []float64{0, 1, 2, 3, 4}
	up := func(limit float64) func(float64) bool { return func(v float64) bool { return v <= limit } }
	assert.Equal(t, stretch{}, edge(list, .01, up(-1)))
	s := edge(list, .01, up(2.345))
	assert.InDelta(t, 2.345, s.last, .01)
	assert.True(t, s.any && !s.all && !s.again)
	s = edge(list, .01, up(9))
	assert.Equal(t, stretch{last: 4, any: true, all: true}, s)
	s = edge(list, .01, func(v float64) bool { return v < 1.5 || v > 3.5 })
	assert.InDelta(t, 1.5, s.last, .01)
	assert.True(t, s.again)
	s = edge([]float64{4, 2, 1}, .01, func(v float64) bool { return v > 1.2 })
	assert.InDelta(t, 1.2, s.last, .02)
}

// The margin is what it says: with it the craft settles, with a little more it does
// not; the slowest shift and the least travel likewise.
func TestReactionMargin(t *testing.T) {
	r := stiffRun(t, 14)
	var margins []float64
	for _, clearance := range []float64{.25, .4, .6} {
		x, err := r.Reaction(clearance)
		require.NoError(t, err)
		t.Log(x)
		require.True(t, x.Known && !x.Beyond)
		assert.False(t, x.Frozen.Settled)
		assert.True(t, x.Prompt.Settled)
		margins = append(margins, x.Margin)
		fly := func(l PilotLaw, change func(*Flight)) bool {
			f := start(t, r, clearance, StandardLeap)
			change(f)
			return f.Settle(l).Settled
		}
		l := x.Law
		for late, want := range map[float64]bool{x.Margin: true, x.Margin + .02: false, x.Margin / 2: true} {
			l.Delay = late
			assert.Equal(t, want, fly(l, func(*Flight) {}), "delay %.2f at %v m", late, clearance)
		}
		l.Delay = DelayPosition
		require.True(t, x.Shift.Found && x.Travel.Found)
		for more, want := range map[float64]bool{.001: true, -.02: false} {
			assert.Equal(t, want, fly(l, func(f *Flight) { f.maxShift = x.Shift.Value + more }), "shift %+v m/s at %v m", more, clearance)
			assert.Equal(t, want, fly(l, func(f *Flight) {
				at := f.start.Pilot.X
				k := (x.Travel.Value + more) / (f.aft - f.fwd)
				f.fwd, f.aft = at+k*(f.fwd-at), at+k*(f.aft-at)
			}), "travel %+v m at %v m", more, clearance)
		}
		// No feedback of a state and its rates holds a root a over a delay of 2/a or more.
		m, err := r.Modes(clearance)
		require.NoError(t, err)
		if a := real(m[0].Root); a > 0 {
			assert.Less(t, x.Margin, 2/a)
		}
		assert.Contains(t, x.String(), fmt.Sprintf("Reaction margin %.2f s", x.Margin))
	}
	// Higher up the craft runs away faster and the pilot has less time.
	assert.Greater(t, margins[0], margins[1])
	assert.Greater(t, margins[1], margins[2])
}

func TestReactionThatCannotSave(t *testing.T) {
	x, err := stiffRun(t, 15).Reaction(.4)
	require.NoError(t, err)
	assert.False(t, x.Known)
	assert.Zero(t, x.Margin)
	assert.True(t, x.LacksTravel)
	assert.Equal(t, "no reaction saves it: the pilot reaches the stop", x.Verdict())
	require.True(t, x.Travel.Found)
	p := Demo().Pilot
	assert.Greater(t, x.Travel.Value, p.XAft-p.XForward)
	assert.Contains(t, x.String(), "Pilot at once")

	_, err = stiffRun(t, 14).Reaction(.05)
	assert.Error(t, err)
}

// Settled means: it has come to rest, and stays so.
func TestSettle(t *testing.T) {
	small := Disturbance{SpeedUp: SpeedUp{By: .2, Over: 1}}
	f := start(t, stiffRun(t, 15), .2, small)
	o := f.Settle(FixedPilot{})
	require.True(t, o.Settled, o)
	was := f.State()
	for range 100 {
		require.True(t, f.Step(.1, f.place))
	}
	assert.InDelta(t, was.Clearance, f.State().Clearance, settledHeight)
	assert.GreaterOrEqual(t, o.Top, was.Clearance)
	assert.GreaterOrEqual(t, o.Time, settledFrom-Tick)

	// A line that stretches swings for long, and dies away.
	o = start(t, elasticRun(t, 15), .2, small).Settle(FixedPilot{})
	assert.True(t, o.Settled, o)

	o = start(t, stiffRun(t, 14), .3, StandardLeap).Settle(FixedPilot{})
	assert.False(t, o.Settled)
	assert.GreaterOrEqual(t, o.Nose, FlightRange.PitchMax)
	assert.False(t, math.IsInf(o.Top, 0))
}

func TestVerdicts(t *testing.T) {
	for want, x := range map[string]Reaction{
		"settles with the pilot frozen":                           {Frozen: Outcome{Settled: true}, Known: true, Margin: 1},
		"runs away if left alone; a reaction within 2 s saves it": {Known: true, Beyond: true, Margin: 2},
		"faster than people react":                                {Known: true, Margin: .32},
		"at the edge of what people manage":                       {Known: true, Margin: .45},
		"0.30 s more than the slowest published delay":            {Known: true, Margin: .8},
		"no reaction saves it: the pilot shifts too slowly":       {LacksSpeed: true},
		"no reaction saves it: a wing comes down to the water":    {Prompt: Outcome{End: End{Cause: CauseWingWet}}},
	} {
		assert.Equal(t, want, x.Verdict())
		assert.NotContains(t, x.String(), "NaN")
	}
}

func BenchmarkSettle(b *testing.B) {
	r := stiffRun(b, 14)
	law, err := r.PilotLaw(.3)
	require.NoError(b, err)
	law.Delay = .3
	for b.Loop() {
		f, err := r.Flight(.3, StandardLeap)
		if err != nil {
			b.Fatal(err)
		}
		f.Settle(law)
	}
}

// How late may the pilot be, and what happens to one who holds still.
func ExampleSteadyTow_Reaction() {
	m, err := Demo().BuildMap(context.Background(), FlightRange)
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := m.Run(14, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, clearance := range []float64{.2, .6} {
		x, err := r.Reaction(clearance)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("from %.1f m: more time than people need: %v\n", clearance, x.Margin > DelayAcceleration)
	}
	f, err := r.Flight(.4, StandardLeap)
	if err != nil {
		fmt.Println(err)
		return
	}
	for f.Step(1./60, 1.3) { // a hand holds the pilot at 1.30 m
	}
	fmt.Println("held still, it pitches up:", f.End().Cause == CausePitchedUp)
	// Output:
	// from 0.2 m: more time than people need: true
	// from 0.6 m: more time than people need: false
	// held still, it pitches up: true
}
