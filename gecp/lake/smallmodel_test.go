package lake

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// Froude's rule as textbooks of naval architecture have it (for instance Lewis, Principles
// of Naval Architecture, vol. II; from memory): a model of a twenty-fifth of a ship's
// length runs at a fifth of its speed, and its residuary resistance times 25^3 is the
// ship's in the same water.
func TestPublishedFroude(t *testing.T) {
	worst := 0.
	for _, c := range []struct {
		scale               Similarity
		speed, force, width float64
	}{{1. / 25, 5, 15625, 625}, {1. / 16, 4, 4096, 256}, {1. / 4, 2, 64, 16}} {
		for _, v := range [][2]float64{{c.speed, 1 / c.scale.Speed()}, {c.force, 1 / c.scale.Mass()}, {c.width, 1 / c.scale.Area()}} {
			worst = max(worst, math.Abs(v[1]/v[0]-1))
		}
		// The Froude number is one and the same; the Reynolds number is not.
		assert.InDelta(t, 1, c.scale.Speed()/math.Sqrt(c.scale.Length()), 1e-15)
		assert.InDelta(t, c.scale.Speed()*c.scale.Length(), c.scale.Reynolds(), 1e-15)
		assert.InDelta(t, c.scale.Mass()*c.scale.Length()*c.scale.Length(), c.scale.Inertia(), 1e-15)
	}
	t.Logf("check Froude: largest difference %.2g", worst)
	assert.Less(t, worst, 1e-12)
}

// The model's flow is the craft's: lift and drag in proportion, every place along the
// craft too, at the same pitch.
func TestModelIsSimilar(t *testing.T) {
	const s = Similarity(.25)
	for _, r := range crafts.All() {
		c := r.Craft
		m, err := ScaleCraft(c, s)
		require.NoError(t, err)
		heights := []float64{.12, .3, .8}
		small := []float64{.03, .075, .2}
		a, err := c.Sweep(t.Context(), gecp.SweepQuestion{Speed: 14, Pitch: .05, Clearances: heights})
		require.NoError(t, err)
		b, err := m.Sweep(t.Context(), gecp.SweepQuestion{Speed: 14 * s.Speed(), Pitch: .05, Clearances: small})
		require.NoError(t, err)
		for i := range a {
			assert.InEpsilon(t, a[i].Lift*s.Mass(), b[i].Lift, 1e-9)
			assert.InEpsilon(t, a[i].InducedDrag*s.Mass(), b[i].InducedDrag, 1e-9)
			assert.InDelta(t, a[i].CP.X*s.Length(), b[i].CP.X, 1e-9)
			assert.InDelta(t, a[i].PitchNeutral.X*s.Length(), b[i].PitchNeutral.X, 1e-9)
			assert.InDelta(t, a[i].HeightNeutral.X*s.Length(), b[i].HeightNeutral.X, 1e-9)
		}
		x := c.Pilot.XAft
		i, j := motion.InertiaOf(c, x), motion.InertiaOf(m, s.Length()*x)
		assert.InEpsilon(t, i.Mass*s.Mass(), j.Mass, 1e-12)
		assert.InEpsilon(t, i.Pitch*s.Inertia(), j.Pitch, 1e-12)
		assert.InDelta(t, i.X*s.Length(), j.X, 1e-12)
		assert.InDelta(t, i.Z*s.Length(), j.Z, 1e-12)
		assert.InEpsilon(t, motion.AirInertia(c, x, 0)*s.Inertia(), motion.AirInertia(m, s.Length()*x, 0), 1e-12)
	}
}

// All that a craft file holds is scaled, and the craft itself stays as it was.
func TestScaleCraft(t *testing.T) {
	c := gecp.Demo()
	c.Correction = &gecp.Correction{LiftFactor: .95, CPOffset: .04, CPPerM: .2, CPOffsetError: .01, LiftFactorError: .02, Runs: 9, On: true}
	c.Wings[0].TipPlates = gecp.TipPlates{Up: .1}
	before := c.Clone()
	m, err := ScaleCraft(c, .25)
	require.NoError(t, err)
	assert.Equal(t, before, c)
	assert.Equal(t, "Reedling, model at 0.25", m.Name)
	assert.Equal(t, &gecp.Correction{LiftFactor: .95, CPOffset: .01, CPPerM: .2, CPOffsetError: .0025, LiftFactorError: .02, Runs: 9, On: true}, m.Correction)
	assert.InDelta(t, .025, m.Wings[0].TipPlates.Up, 1e-15)
	assert.Equal(t, c.Wings[0].Thickness, m.Wings[0].Thickness, "thickness is in chords")
	assert.Equal(t, c.Wings[0].IncidenceDeg, m.Wings[0].IncidenceDeg)
	assert.InDelta(t, c.Tow.Line/4, m.Tow.Line, 1e-12)
	assert.Zero(t, m.Tow.LineStiffness, "so soft a line is in no file")
	assert.InDelta(t, gecp.DefaultLineMass/16, *m.Tow.LineMass, 1e-12, "the default is a line of full size")
	half, err := ScaleCraft(c, .5)
	require.NoError(t, err)
	assert.InDelta(t, c.Tow.LineStiffness/8, half.Tow.LineStiffness, 1e-9)
	assert.InDelta(t, c.ParasiteArea/16, m.ParasiteArea, 1e-12)
	assert.InDelta(t, c.Pilot.MaxShift/2, m.Pilot.MaxShift, 1e-12)
	tenth, err := ScaleCraft(c, .12)
	require.NoError(t, err)
	assert.Equal(t, 1., tenth.Tow.BoatLength, "the boat stays one")
	c.Pilot.Radius, c.Pilot.MaxShift = 0, 0
	m, err = ScaleCraft(c, .25)
	require.NoError(t, err)
	assert.InDelta(t, motion.PilotRadius/4, m.Pilot.Radius, 1e-12, "a weight is no person")
	assert.InDelta(t, motion.DefaultShift/2, m.Pilot.MaxShift, 1e-12)
	for _, s := range []Similarity{0, .049, 1.01, -1, Similarity(math.NaN()), Similarity(math.Inf(1))} {
		_, err := ScaleCraft(c, s)
		assert.ErrorContains(t, err, "between 0.05 and 1", s)
	}
	c.Weights[0].Mass = .5
	_, err = ScaleCraft(c, .05)
	assert.ErrorContains(t, err, "no model of Reedling can be calculated at a scale of 0.05")
	var p gecp.Problems
	assert.ErrorAs(t, err, &p)
}

// The least stiffness and the shortest boat are those that a craft file takes.
func TestScaleCraftKnowsTheFilesLimits(t *testing.T) {
	for k, ok := range map[float64]bool{softestLine: true, softestLine - .1: false} {
		c := gecp.Demo()
		c.Tow.LineStiffness = k
		assert.Equal(t, ok, c.Check() == nil, k)
	}
	for l, ok := range map[float64]bool{shortestBoat: true, shortestBoat - .001: false} {
		c := gecp.Demo()
		c.Tow.BoatLength = l
		assert.Equal(t, ok, c.Check() == nil, l)
	}
}

func smallModel(t *testing.T, key string, s Similarity, u units.System) *SmallModel {
	t.Helper()
	m, err := NewSmallModel(t.Context(), readymaps.Coarse()[key], s, TowCardOptions{Units: u}, nil)
	require.NoError(t, err)
	return m
}

// The model's card is the craft's by Froude's rule, but for friction and for people.
func TestModelsCard(t *testing.T) {
	const s = Similarity(.25)
	m := smallModel(t, "teal-tandem", s, units.Metric)
	card := m.Card
	assert.InDelta(t, tow.DefaultOwnLimit/4, card.Rules.OwnLimit, 1e-12)
	assert.InDelta(t, tow.DefaultMargin/4, card.Rules.SelfHoldingMargin, 1e-12)
	assert.InDelta(t, tow.DefaultMargin/4, card.Rules.ReachMargin, 1e-12)
	offered, borderline := 0, 0
	for _, r := range card.Rungs[:len(card.Rungs)-4] { // at the last ones friction decides
		n := r.Speed / units.KMH
		assert.InDelta(t, math.Round(n), n, 1e-9, "whole km/h")
		st, err := tow.NewSteadyTow(readymaps.Coarse()["teal-tandem"], gecp.Freestream{Speed: r.Speed / s.Speed()})
		require.NoError(t, err)
		big, err := st.Range(t.Context(), tow.Rules{})
		require.NoError(t, err)
		plain := r.Trust.Range // the card's own is cut by what is left out
		if big.OK != plain.OK {
			borderline++ // where the range is about to close
			continue
		}
		if !big.OK {
			continue
		}
		offered++
		assert.InDelta(t, big.High.Clearance*s.Length(), plain.High.Clearance, .006)
		assert.LessOrEqual(t, r.Range.High.Clearance, plain.High.Clearance)
		assert.GreaterOrEqual(t, r.Range.Low.Clearance, plain.Low.Clearance)
		assert.InDelta(t, big.Low.Pilot.X*s.Length(), plain.Low.Pilot.X, .006)
		assert.InDelta(t, big.Low.Pitch, plain.Low.Pitch, .001)
		extra := st.FrictionDrag().Force*s.Mass() - r.Range.Tow.FrictionDrag().Force
		assert.InDelta(t, big.Low.Drag()*s.Mass(), plain.Low.Drag()+extra, .02*big.Low.Drag()*s.Mass(), "but for friction")
		for _, x := range r.Margins {
			assert.False(t, x.OK, "nobody reacts on a model")
		}
	}
	assert.LessOrEqual(t, borderline, 1)
	assert.GreaterOrEqual(t, offered, 3)
	text := written(t, card.WriteText)
	assert.NotContains(t, text, "may be late")
	assert.NotContains(t, text, "reaction to")
	assert.Contains(t, text, "Nobody reacts on the model")
	assert.Regexp(t, `0\.\d{3} m`, text, "millimetres count on a model")
	assert.NotRegexp(t, notANumber, text)
}

// The model's wakes go the way of the craft's.
func TestModelHasTheCraftsWakes(t *testing.T) {
	craft := readymaps.Coarse()["teal-tandem"].Model()
	for _, way := range []gecp.WakeWay{gecp.WakeFree, gecp.WakeStraight} {
		m, err := craft.WithWake(way).BuildMap(t.Context(), gecp.MapOptions{Heights: 4, Pitches: 4, Tolerance: .05})
		require.NoError(t, err)
		small, err := NewSmallModel(t.Context(), m, .5, TowCardOptions{Top: 5}, nil)
		require.NoError(t, err)
		assert.Equal(t, way, small.Map.Model().Wake())
	}
}

// What counts as little scales too.
func TestDecisionsOfAModelsCard(t *testing.T) {
	assert.True(t, isThin(.05, .0749, .25))
	assert.False(t, isThin(.05, .0751, .25))
	assert.True(t, hasNoRoom(Gain{.1249, true, false}, .25))
	assert.False(t, hasNoRoom(Gain{.1251, true, false}, .25))
	assert.False(t, hasNoRoom(Gain{.1, false, false}, 1))
	assert.False(t, hasNoRoom(Gain{.1, true, true}, 1))
	for _, c := range []struct {
		scale             float64
		u                 units.System
		first, step, unit float64
	}{{1, units.Metric, 10, 5, units.KMH}, {1, units.Customary, 5, 5, units.MPH}, {.25, units.MetricModel, 6, 3, units.KMH}, {.25, units.CustomaryModel, 3, 3, units.MPH}, {.05, units.MetricModel, 2, 1, units.KMH}} {
		first, step := (&TowCardOptions{Scale: c.scale, Units: c.u}).ladder()
		assert.InDelta(t, c.first*c.unit, first, 1e-12)
		assert.InDelta(t, c.step*c.unit, step, 1e-12)
	}
	_, err := NewTowCard(t.Context(), readymaps.Coarse()["teal-tandem"], TowCardOptions{Scale: 2})
	assert.ErrorContains(t, err, "the model's scale is 2")
}

func TestWhatDoesNotScale(t *testing.T) {
	m := smallModel(t, "teal-tandem", .25, units.Metric)
	require.True(t, m.Flies)
	assert.InDelta(t, 1, lowReynolds(1e6), 1e-12)
	assert.InDelta(t, 1, lowReynolds(5e6), 1e-12)
	assert.InDelta(t, .7, lowReynolds(1e5), 1e-12)
	assert.InDelta(t, .7, lowReynolds(1e3), 1e-12)
	assert.InDelta(t, .85, lowReynolds(math.Sqrt(1e11)), 1e-12)
	assert.InDelta(t, .23, slowestWave(), .003, "0.23 m/s, Lamb, Hydrodynamics, art. 267 (from memory)")
	for i, w := range m.Wings {
		assert.InEpsilon(t, 8, w.CraftReynolds/w.Reynolds, 1e-9)
		assert.InEpsilon(t, m.Speed*m.Model.Shape().Wings[i].MAC/gecp.AirViscosity, w.Reynolds, 1e-9)
		assert.Less(t, w.Limit, w.CraftLimit)
	}
	st, err := tow.NewSteadyTow(readymaps.Coarse()["teal-tandem"], gecp.Freestream{Speed: 2 * m.Speed})
	require.NoError(t, err)
	assert.InDelta(t, m.Friction-st.FrictionDrag().Force/64, m.FrictionExtra, 1e-9)
	k := 2 * math.Pi / min(m.Model.Shape().Wings[0].MAC, m.Model.Shape().Wings[1].MAC)
	assert.InEpsilon(t, k*k*.0728/9806.65, m.Capillary, 1e-9)

	for share, says := range map[float64]string{
		.0099: "is what the scale gives, within 1 % of the line's pull", -.0099: "is what the scale gives",
		.0101: "costs 1 % of the line's pull more", -.0101: "costs 1 % of the line's pull less",
	} {
		assert.Contains(t, (&SmallModel{FrictionExtra: 3 * share, LineTension: 3}).frictionWords(), says)
	}
	assert.Contains(t, (&SmallModel{FrictionExtra: .5, Friction: 1}).frictionWords(), "costs 50 % of the friction itself more")

	// A wing that works beyond what so small a section bears is named.
	assert.Empty(t, (&SmallModel{Card: m.Card}).mostLoaded())
	for i := range m.Card.Rungs {
		m.Card.Rungs[i].Strip = gecp.CriticalStrip{}
	}
	for i := range m.Card.Rungs {
		if r := &m.Card.Rungs[i]; r.Range.OK && r.Range.HasStrip {
			r.Strip = gecp.CriticalStrip{Wing: m.Wings[0].Name, LiftCoefficient: 1.01 * m.Wings[0].CraftLimit * lowReynolds(m.Wings[0].Reynolds*r.Speed/m.Speed), Limit: 2}
			assert.Contains(t, m.mostLoaded(), "the flow may leave the model's wing")
			r.Strip.LiftCoefficient *= .98
			assert.Empty(t, m.mostLoaded())
			break
		}
	}
}

func TestBuildSheet(t *testing.T) {
	for _, key := range []string{"teal-tandem", "reedling-tandem", "coot-single"} {
		for _, u := range []units.System{units.Metric, units.Customary} {
			if u == units.Customary && !inBoth(key) {
				continue
			}
			m := smallModel(t, key, .2, u)
			s := m.Sheet()
			text := written(t, s.WriteText)
			page := written(t, s.WriteHTML)
			for _, form := range []string{text, page} {
				assert.Contains(t, strings.Join(strings.Fields(form), " "), gecp.Cautions)
				assert.NotRegexp(t, notANumber, form, key)
				assert.NotContains(t, form, "NaN")
			}
			assert.NotContains(t, text, blank, "a build sheet has nothing to fill in")
			for _, w := range m.Craft.Wings {
				assert.Contains(t, text, w.Name)
			}
			for _, says := range []string{"What does not scale", "Reynolds number", "Surface tension", "a gust of 1 m/s", "What a result on the model says", "moments of inertia", "3125"} {
				assert.Contains(t, text, says)
			}
			if u == units.Customary {
				assert.NotRegexp(t, `\d (mm|kg|N)\b`, text)
			}
		}
	}
}
