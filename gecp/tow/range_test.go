package tow

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/units"
)

// hill is the plank with loads by formula, chosen so that everything about its range is
// known: at 20 m/s in air of 1.25 kg/m3 the needed centre of gravity moves aft from the
// water up to a clearance top, m, and forward above it, so that the craft holds itself
// up to there. The pilot is half of the mass, the other half stands at 1 m.
type hill struct {
	top     float64
	section func(clearance float64) float64 // section lift coefficient; nil for a map without strips
	change  func(c *gecp.Craft)
}

const (
	hillSpeed = 20.
	hillQ     = 250.
	hillX     = .9 // where the change of lift with pitch acts, m aft of the datum
)

// pilot is the needed position: the centre of gravity, on the datum line, stands under cg.
func (h hill) pilot(c float64) float64 {
	pitch := (100*gecp.G/hillQ + .5*c) / 40
	return 2*h.cg(c)/math.Cos(pitch) - 1
}

func (h hill) cg(c float64) float64 { return hillX - .3 + .2*(1-(c-h.top)*(c-h.top)) }

func (h hill) tow(t *testing.T, speed float64) SteadyTow {
	craft := handCraft()
	craft.Pilot.XForward, craft.Pilot.XAft = -5, 5
	if h.change != nil {
		h.change(craft)
	}
	mo, err := gecp.NewModel(craft, gecp.Mesh{Rows: 1, Strips: 2})
	require.NoError(t, err)
	const perRad, fall = 40., .5 // lift/q = perRad pitch - fall c
	weight := craft.Mass() * gecp.G
	m, err := mo.FitMap(t.Context(), gecp.MapOptions{ClearanceMin: .05, ClearanceMax: 2, PitchMin: -.1, PitchMax: .3, Heights: 10, Pitches: 5},
		func(c, pitch float64) (gecp.MapNode, error) {
			moment := -(h.cg(c)-hillX)*weight/hillQ + hillX*fall*c
			slope := .4*(c-h.top)*weight/hillQ + hillX*fall
			closer := mo.LowestPoints().At(pitch).DepthByPitch
			n := gecp.MapNode{
				LoadsPerQ: gecp.LoadsPerQ{Lift: perRad*pitch - fall*c, Moment: -hillX*perRad*pitch + moment},
				ByHeight:  gecp.LoadsPerQ{Lift: -fall, Moment: slope},
				ByPitch:   gecp.LoadsPerQ{Lift: perRad + fall*closer, Moment: -hillX*perRad - slope*closer},
			}
			if h.section != nil {
				n.StripLift = []float64{h.section(c), .1}
			}
			return n, nil
		})
	require.NoError(t, err)
	r, err := NewSteadyTow(m, gecp.Freestream{Speed: speed, Density: 1.25})
	require.NoError(t, err)
	r.friction = gecp.Drag{}
	return r
}

// inTime is a pilot who is in time below a clearance.
func inTime(below float64) ReactionFunc {
	return func(_ context.Context, _ SteadyTow, clearance, _, _ float64) (bool, error) {
		return clearance < below, nil
	}
}

// closeGap of the plank, whose chord is 2 m.
const plankClose = gecp.CloseGap * 2

func TestRangeByHand(t *testing.T) {
	const near = 3e-3 // the map and the level places against places turned with the pitch
	flat := func(cl float64) func(float64) float64 { return func(float64) float64 { return cl } }
	for _, c := range []struct {
		name      string
		h         hill
		speed     float64
		rules     Rules
		none      NoRange
		low, high float64
		end       LimitKind
	}{
		{"your own limit", hill{top: .9}, 0, Rules{}, NoneNot, plankClose, .6, LimitOwn},
		{"another limit of one's own", hill{top: .9}, 0, Rules{OwnLimit: .45}, NoneNot, plankClose, .45, LimitOwn},
		{"self-holding, less the margin", hill{top: .5}, 0, Rules{}, NoneNot, plankClose, .45, LimitSelfHolding},
		{"another margin", hill{top: .5}, 0, Rules{SelfHoldingMargin: .2}, NoneNot, plankClose, .3, LimitSelfHolding},
		{"self-holding just above one's own limit", hill{top: .66}, 0, Rules{}, NoneNot, plankClose, .6, LimitOwn},
		{"self-holding just under it", hill{top: .64}, 0, Rules{}, NoneNot, plankClose, .59, LimitSelfHolding},
		{"the reach, less its margin", hill{top: .9, change: func(c *gecp.Craft) { c.Pilot.XAft = hill{top: .9}.pilot(.4) }}, 0, Rules{}, NoneNot, plankClose, .35, LimitReach},
		{"another margin of the reach", hill{top: .9, change: func(c *gecp.Craft) { c.Pilot.XAft = hill{top: .9}.pilot(.4) }}, 0, Rules{ReachMargin: .1}, NoneNot, plankClose, .3, LimitReach},
		{"the forward stop lifts the lower end", hill{top: .9, change: func(c *gecp.Craft) { c.Pilot.XForward = hill{top: .9}.pilot(.3) }}, 0, Rules{}, NoneNot, .3, .6, LimitOwn},
		{"the map ends", hill{top: 3}, 0, Rules{OwnLimit: 50}, NoneNot, plankClose, 2, LimitMap},
		{"a section's limit above", hill{top: .9, section: func(c float64) float64 { return .9 * c / .37 }}, 0, Rules{}, NoneNot, plankClose, .37, LimitSection},
		{"a section's limit below", hill{top: .9, section: func(c float64) float64 { return .9 * (1.3 - c) / (1.3 - .27) }}, 0, Rules{}, NoneNot, .27, .6, LimitOwn},
		{"no section near its limit", hill{top: .9, section: flat(.899)}, 0, Rules{}, NoneNot, plankClose, .6, LimitOwn},
		{"nobody is in time above", hill{top: .9}, 0, Rules{Reaction: inTime(.37)}, NoneNot, plankClose, .37, LimitReaction},
		{"everybody is in time", hill{top: .9}, 0, Rules{Reaction: inTime(9)}, NoneNot, plankClose, .6, LimitOwn},

		{"too slow", hill{top: .9}, 5, Rules{}, NoneNotFlying, 0, 0, 0},
		{"floats in the water", hill{top: .9, change: func(c *gecp.Craft) { c.Floats = []gecp.Float{{X: 0, Z: -9}, {X: 2, Z: -9}} }}, 0, Rules{}, NoneInWater, 0, 0, 0},
		{"nowhere stable", hill{top: -1}, 0, Rules{}, NoneUnstable, .05, 0, 0},
		{"stable, but out of reach", hill{top: .9, change: func(c *gecp.Craft) { c.Pilot.XForward, c.Pilot.XAft = 1, 2 }}, 0, Rules{}, NoneOutOfReach, .05, 0, 0},
		{"stable too close to the water only", hill{top: .12}, 0, Rules{}, NoneTooClose, .05, 0, 0},
		{"a margin takes it all", hill{top: .2}, 0, Rules{}, NoneMargins, plankClose, 0, LimitSelfHolding},
		{"a margin leaves too little", hill{top: plankClose + .05 + .5*LeastDepth}, 0, Rules{}, NoneMargins, plankClose, 0, LimitSelfHolding},
		{"a margin leaves just enough", hill{top: plankClose + .05 + 1.5*LeastDepth}, 0, Rules{}, NoneNot, plankClose, plankClose + 1.5*LeastDepth, LimitSelfHolding},
		{"nobody is in time anywhere", hill{top: .9}, 0, Rules{Reaction: inTime(0)}, NoneReaction, plankClose, 0, LimitReaction},
		{"in time in a sliver only", hill{top: .9}, 0, Rules{Reaction: inTime(plankClose + .9*LeastDepth)}, NoneReaction, plankClose, 0, LimitReaction},
		{"a section over its limit everywhere", hill{top: .9, section: flat(.901)}, 0, Rules{}, NoneSection, plankClose, 0, LimitSection},
	} {
		t.Run(c.name, func(t *testing.T) {
			speed := c.speed
			if speed == 0 {
				speed = hillSpeed
			}
			r, err := c.h.tow(t, speed).Range(t.Context(), c.rules)
			require.NoError(t, err)
			assert.Equal(t, c.none, r.None)
			assert.Equal(t, c.none == NoneNot, r.OK)
			if c.low != 0 {
				assert.InDelta(t, c.low, r.Low.Clearance, near, "the lowest clearance")
				require.Len(t, r.Limits, int(numLimits))
				for k, l := range r.Limits {
					assert.Equal(t, LimitKind(k), l.Kind)
				}
			}
			if !r.OK {
				assert.Contains(t, r.Words(units.Metric), "Do not fly: ")
				assert.NotEmpty(t, r.Reason(units.Customary))
				if c.end != 0 || c.none == NoneMargins {
					assert.Equal(t, c.end, r.End.Kind)
				}
				return
			}
			tol := near
			if c.end == LimitReaction {
				tol = reactionStep/5 + near
				assert.Less(t, r.High.Clearance, c.high, "on the safe side")
			}
			assert.InDelta(t, c.high, r.High.Clearance, tol, "the height to let go")
			assert.Equal(t, c.end, r.End.Kind)
			assert.InDelta(t, r.End.Clearance(), r.High.Clearance, 1e-12)
			for _, l := range r.Limits {
				if l.OK {
					assert.LessOrEqual(t, r.High.Clearance, l.Clearance()+1e-12, "%v", l.Kind)
				}
			}
			assert.InDelta(t, math.Min(r.Low.Pilot.X, r.High.Pilot.X), r.PilotForward, 1e-9)
			assert.InDelta(t, math.Max(r.Low.Pilot.X, r.High.Pilot.X), r.PilotAft, 1e-9)
			words := r.Words(units.Metric)
			assert.Contains(t, words, fmt.Sprintf("Let go above %s:", units.Metric.LetGo(r.High.Clearance)))
			assert.Contains(t, words, c.end.String())
		})
	}
}

func TestRulesChecked(t *testing.T) {
	r, err := Rules{}.Checked()
	require.NoError(t, err)
	assert.Equal(t, Rules{OwnLimit: .6, SelfHoldingMargin: .05, ReachMargin: .05, MinReaction: .5}, r)
	for _, c := range []struct {
		r    Rules
		want string
	}{
		{Rules{OwnLimit: 100, SelfHoldingMargin: 10, ReachMargin: 10, MinReaction: 2}, ""},
		{Rules{OwnLimit: 100.1}, "your own let-go height is 100.1 m; give one above 0 and up to 100 m"},
		{Rules{OwnLimit: -1}, "your own let-go height is -1 m"},
		{Rules{OwnLimit: math.NaN()}, "your own let-go height is NaN m"},
		{Rules{SelfHoldingMargin: 10.1}, "the margin below the end of self-holding is 10.1 m"},
		{Rules{SelfHoldingMargin: -.1}, "the margin below the end of self-holding"},
		{Rules{ReachMargin: 10.1}, "the margin below the end of the pilot's reach is 10.1 m"},
		{Rules{ReachMargin: -.1}, "the margin below the end of the pilot's reach"},
		{Rules{MinReaction: 2.1}, "the reaction margin that a pilot needs is 2.1 s; give one above 0 and up to 2 s"},
		{Rules{MinReaction: -.1}, "the reaction margin that a pilot needs"},
	} {
		_, err := c.r.Checked()
		if c.want == "" {
			assert.NoError(t, err)
			continue
		}
		assert.ErrorContains(t, err, c.want)
		_, err = hill{top: .9}.tow(t, hillSpeed).Range(t.Context(), c.r)
		assert.ErrorContains(t, err, c.want)
	}
}

func TestLowerLimit(t *testing.T) {
	a := Limit{LimitSelfHolding, .5, .05, true}
	for _, c := range []struct {
		b    Limit
		want LimitKind
	}{
		{Limit{LimitOwn, .46, 0, true}, LimitSelfHolding},
		{Limit{LimitOwn, .45, 0, true}, LimitOwn},
		{Limit{LimitOwn, .44, 0, true}, LimitOwn},
		{Limit{LimitOwn, .44, 0, false}, LimitSelfHolding},
		{Limit{LimitReach, .52, .08, true}, LimitReach},
	} {
		assert.Equal(t, c.want, lower(a, c.b).Kind, "%+v", c.b)
	}
	assert.InDelta(t, .45, a.Clearance(), 1e-12)
}

func TestInRange(t *testing.T) {
	ok := Trim{HeightStable: true}
	assert.True(t, inRange(ok), "the pilot just at a stop")
	for _, change := range []func(b *Trim){
		func(b *Trim) { b.HeightStable = false },
		func(b *Trim) { b.TravelMargin = -1e-9 },
		func(b *Trim) { b.Close = true },
	} {
		b := ok
		change(&b)
		assert.False(t, inRange(b), "%+v", b)
	}
}

func TestTooThin(t *testing.T) {
	assert.False(t, tooThin(0, LeastDepth))
	assert.True(t, tooThin(0, LeastDepth-1e-9))
	assert.True(t, tooThin(.3, .2))
}

// Each condition of height stability is needed, and level is not enough.
func TestHeightStableNeedsEachCondition(t *testing.T) {
	for _, c := range []struct {
		momentByPitch, upByHeight, slope float64
		want                             bool
	}{
		{-1, -1, 1, true},
		{0, -1, 1, false}, {1, -1, 1, false},
		{-1, 0, 1, false}, {-1, 1, 1, false},
		{-1, -1, 0, false}, {-1, -1, -1, false},
		{math.NaN(), -1, 1, false}, {-1, math.NaN(), 1, false}, {-1, -1, math.NaN(), false},
	} {
		assert.Equal(t, c.want, heightStable(c.momentByPitch, c.upByHeight, c.slope), "%+v", c)
	}
}

// A reaction that fails in a gap and is in time again higher up: the first failure
// counts. An error of the reaction is passed on, and a cancelled context.
func TestRangeAsksForReactionsInOrder(t *testing.T) {
	h := hill{top: .9}.tow(t, hillSpeed)
	gap := func(_ context.Context, _ SteadyTow, c, limit, delay float64) (bool, error) {
		assert.Equal(t, .55, limit)
		assert.Equal(t, .4, delay)
		return c < .3 || c > .35, nil
	}
	r, err := h.Range(t.Context(), Rules{Reaction: gap, OwnLimit: .55, MinReaction: .4})
	require.NoError(t, err)
	assert.InDelta(t, .3, r.High.Clearance, reactionStep)
	assert.Less(t, r.High.Clearance, .3)

	broken := errors.New("broken")
	_, err = h.Range(t.Context(), Rules{Reaction: func(context.Context, SteadyTow, float64, float64, float64) (bool, error) { return false, broken }})
	assert.ErrorIs(t, err, broken)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = h.Range(ctx, Rules{})
	assert.ErrorIs(t, err, context.Canceled)
}

// The pilot is asked about from just above the lowest clearance to just below the end,
// rising, in steps no wider than reactionStep.
func TestRangeAsksForReactionsEverywhere(t *testing.T) {
	for _, own := range []float64{.6, .3, .22} {
		h := hill{top: .9}.tow(t, hillSpeed)
		var asked []float64
		always := func(_ context.Context, _ SteadyTow, c, _, _ float64) (bool, error) {
			asked = append(asked, c)
			return true, nil
		}
		r, err := h.Range(t.Context(), Rules{Reaction: always, OwnLimit: own})
		require.NoError(t, err)
		require.True(t, r.OK)
		low, high := r.Low.Clearance, r.High.Clearance
		require.GreaterOrEqual(t, len(asked), 2)
		assert.True(t, asked[0] > low && asked[0] <= low+1e-3, "%v from %v", asked[0], low)
		last := asked[len(asked)-1]
		assert.True(t, last < high && last >= high-1.1e-3, "%v to %v", last, high)
		for i := 1; i < len(asked); i++ {
			step := asked[i] - asked[i-1]
			assert.True(t, step > 0 && step <= reactionStep+1e-12, "a step of %v", step)
		}
		assert.LessOrEqual(t, len(asked), int((high-low)/reactionStep)+2, "no more often than it must")
	}
}

// The strip told of is the more loaded one of both ends.
func TestRangeTellsTheMoreLoadedStrip(t *testing.T) {
	for _, sign := range []float64{1, -1} {
		section := func(c float64) float64 { return .5 + sign*.2*(c-.3) }
		r, err := hill{top: .9, section: section}.tow(t, hillSpeed).Range(t.Context(), Rules{})
		require.NoError(t, err)
		require.True(t, r.OK && r.HasStrip)
		worse := math.Max(section(r.Low.Clearance), section(r.High.Clearance))
		assert.InDelta(t, worse, r.Strip.LiftCoefficient, 2e-3)
	}
}

// Between the ends of any range that is offered the craft holds itself, the pilot
// reaches, the floats are clear and no strip is over its limit; and nothing lower or
// higher that is left out was free of every limit.
func TestRangeOfRandomCraft(t *testing.T) {
	rng := rand.New(rand.NewPCG(23, 1))
	offered := 0
	for range 250 {
		m := anyMap(rng)
		r := randomRun(t, rng, m)
		g, err := r.Range(t.Context(), Rules{})
		require.NoError(t, err)
		free := func(b Trim) bool { return inRange(b) && r.floatsClear(b) && !r.overSection(b) }
		if !g.OK {
			continue
		}
		offered++
		assert.True(t, free(g.Low))
		for i := 1; i < 40; i++ {
			b, err := r.Trim(g.Low.Clearance + (g.High.Clearance-g.Low.Clearance)*float64(i)/40)
			require.NoError(t, err)
			assert.True(t, free(b), "%+v", b)
			assert.LessOrEqual(t, b.LineTension, g.LineTension*(1+1e-3))
			assert.GreaterOrEqual(t, b.Pilot.X, g.PilotForward-2e-3)
			assert.LessOrEqual(t, b.Pilot.X, g.PilotAft+2e-3)
		}
		// A margin above the height to let go, the limit that ends the range is met.
		if g.End.Kind == LimitSelfHolding || g.End.Kind == LimitReach {
			b, err := r.Trim(g.End.At + 1e-3)
			if err == nil {
				assert.False(t, free(b), "%v %+v", g.End, b)
			}
		}
		if g.HasStrip {
			assert.LessOrEqual(t, g.Strip.ShareOfLimit(), 1.)
		}
	}
	t.Logf("%d of 250 are offered", offered)
	assert.Greater(t, offered, 10)
}

func TestRangeWords(t *testing.T) {
	r := Range{
		OK: true, Low: Trim{Clearance: .1234, Pilot: gecp.Position{X: 1.234, OK: true}}, High: Trim{Clearance: .3077, Pilot: gecp.Position{X: 1.3, OK: true}},
		End: Limit{LimitSelfHolding, .3577, .05, true},
	}
	assert.Equal(t, "Tow it between 0.13 m and 0.30 m. Let go above 0.30 m: 0.05 m higher the craft no longer holds its height by itself. It flies low with the pilot at 1.23 m; moving to 1.30 m raises it to the top.", r.String())
	assert.Contains(t, r.Words(units.Customary), "between 4.9 in and 12.1 in. Let go above 12.1 in: 2.0 in higher")
	r.High.Pilot.X = 1.2345
	assert.Contains(t, r.String(), "moving by less than can be told here")
	r.End = Limit{LimitOwn, .3077, 0, true}
	assert.Contains(t, r.String(), "Let go above 0.30 m: your own limit.")
	r.End = Limit{LimitReaction, .3077, 0, true}
	assert.Contains(t, r.String(), "higher up no one can react in time.")
	r.Low.Pilot, r.High.Pilot = gecp.Position{}, gecp.Position{}
	assert.NotContains(t, r.String(), "pilot")
}

// Why there is no range, in words, with the figures of the lowest trim.
func TestReasons(t *testing.T) {
	m := readymaps.All()["reedling-tandem"]
	st, err := NewSteadyTow(m, gecp.Freestream{Speed: 14})
	require.NoError(t, err)
	p := m.Model().Craft().Pilot
	at := func(n NoRange, x float64) Range {
		return Range{Tow: st, None: n, Low: Trim{Clearance: .1234, Pitch: .05, Pilot: gecp.Position{X: x, OK: true}}}
	}
	assert.Equal(t, "it holds no height by itself with its floats clear, wherever the pilot sits", at(NoneUnstable, 1).Reason(units.Metric))
	assert.Equal(t, "it holds a height by itself only with the pilot 0.13 m further forward than the craft lets them", at(NoneOutOfReach, p.XForward-.121).Reason(units.Metric))
	assert.Equal(t, "it holds a height by itself only with the pilot 0.32 m further aft than the craft lets them", at(NoneOutOfReach, p.XAft+.311).Reason(units.Metric))
	// The front wing, whose trailing edge is the lowest point, has a chord of 1.8 m; seven
	// hundredths of that are 12.6 cm.
	assert.Contains(t, at(NoneTooClose, 1).Reason(units.Metric), "only below 0.13 m, too close to the water")
	assert.InDelta(t, .126, at(NoneTooClose, 1).leastSure(), 1e-12)

	c := m.Model().Craft()
	c.Weights = append(c.Weights, gecp.Weight{Name: "ballast", Mass: c.Pilot.Mass, X: 1.2, Z: .5})
	c.Pilot = nil
	n, err := m.For(c)
	require.NoError(t, err)
	still, err := NewSteadyTow(n, gecp.Freestream{Speed: 14})
	require.NoError(t, err)
	assert.Equal(t, "it holds no height by itself with its floats clear", Range{Tow: still, None: NoneUnstable}.Reason(units.Metric))
}

// The ends of what a rule may be are good values.
func TestRulesAtTheirEnds(t *testing.T) {
	for _, r := range []Rules{{OwnLimit: 100}, {SelfHoldingMargin: 10}, {ReachMargin: 10}, {MinReaction: 2}, {OwnLimit: 1e-9}} {
		got, err := r.Checked()
		assert.NoError(t, err, "%+v", r)
		assert.Positive(t, got.OwnLimit)
	}
	for _, r := range []Rules{{OwnLimit: 100.1}, {SelfHoldingMargin: 10.1}, {ReachMargin: 10.1}, {MinReaction: 2.1}, {OwnLimit: -1}, {MinReaction: math.NaN()}} {
		_, err := r.Checked()
		assert.ErrorContains(t, err, "give one above 0", "%+v", r)
	}
}

// The ends of a range, a millimetre inside, and those of what would be the range if
// people reacted at once.
func TestBounds(t *testing.T) {
	limits := make([]Limit, numLimits)
	for k := range limits {
		limits[k] = Limit{Kind: LimitKind(k), At: 1 + float64(k), OK: true}
	}
	limits[LimitReaction].At = .1
	limits[LimitOwn] = Limit{Kind: LimitOwn, At: .6, OK: true}
	limits[LimitReach] = Limit{Kind: LimitReach, At: .64, Margin: .05, OK: true}
	limits[LimitSection] = Limit{Kind: LimitSection, At: .2}
	low, high, ok := Range{None: NoneReaction, Low: Trim{Clearance: .13}, Limits: limits}.Bounds()
	assert.True(t, ok)
	assert.InDelta(t, .131, low, 1e-12)
	assert.InDelta(t, .589, high, 1e-12, "the lowest limit that is met, but that of reactions")
	low, high, ok = Range{OK: true, Low: Trim{Clearance: .13}, High: Trim{Clearance: .3}}.Bounds()
	assert.True(t, ok)
	assert.InDelta(t, .131, low, 1e-12)
	assert.InDelta(t, .299, high, 1e-12)
	_, _, ok = Range{None: NoneUnstable}.Bounds()
	assert.False(t, ok)
	low, high = inside(.2, .202)
	assert.InDelta(t, .2005, low, 1e-12, "a quarter of what is thin")
	assert.InDelta(t, .2015, high, 1e-12)
}
