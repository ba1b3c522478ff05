package solver

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/playground/exchange"
)

// startSpeed is the demo's, m/s.
const startSpeed = 57 * units.KMH

// putTo asks a service and reads the answer into a.
func putTo(t *testing.T, d *Service, q map[string]any, a any) {
	t.Helper()
	text, err := json.Marshal(q)
	require.NoError(t, err)
	out := d.Answer(t.Context(), text, nil)
	var head struct {
		ID       int                `json:"id"`
		OK       bool               `json:"ok"`
		Problems []exchange.Problem `json:"problems"`
	}
	require.NoError(t, json.Unmarshal(out, &head), string(out))
	require.True(t, head.OK, "%v", head.Problems)
	assert.Equal(t, q["id"], head.ID)
	require.NoError(t, json.Unmarshal(out, a))
}

// UnmarshalJSON reads the answer as the page does.
func (h *heights) UnmarshalJSON(text []byte) error {
	type plain heights
	a := struct {
		*plain
		Points struct {
			Columns []string
			Rows    [][]any
		}
	}{plain: (*plain)(h)}
	if err := json.Unmarshal(text, &a); err != nil {
		return err
	}
	h.Points = nil
	for _, r := range a.Points.Rows {
		named := map[string]any{}
		for i, name := range a.Points.Columns {
			named[name] = r[i]
		}
		row, err := json.Marshal(named)
		if err != nil {
			return err
		}
		var p point
		d := json.NewDecoder(bytes.NewReader(row))
		d.DisallowUnknownFields()
		if err := d.Decode(&p); err != nil {
			return err
		}
		h.Points = append(h.Points, p)
	}
	return nil
}

func refused(t *testing.T, d *Service, q map[string]any) []exchange.Problem {
	t.Helper()
	text, err := json.Marshal(q)
	require.NoError(t, err)
	var head struct {
		OK       bool               `json:"ok"`
		Problems []exchange.Problem `json:"problems"`
	}
	require.NoError(t, json.Unmarshal(d.Answer(t.Context(), text, nil), &head))
	require.False(t, head.OK)
	require.NotEmpty(t, head.Problems)
	return head.Problems
}

// about is a question about a craft, with changes.
func about(kind string, c *gecp.Craft, more map[string]any) map[string]any {
	q := map[string]any{
		"id": 7, "ask": kind, "craft": c, "speed_mps": startSpeed, "pitch_deg": nil, "pilot_x_m": nil,
		"limit_m": .6, "top_m": 1., "clearance_m": .2, "fidelity": "coarse", "units": "metric",
	}
	for k, v := range more {
		q[k] = v
	}
	return q
}

func TestHeightsAreTheLibrarys(t *testing.T) {
	d := new(Service)
	c := gecp.Demo()
	var a heights
	putTo(t, d, about("heights", c, map[string]any{"fidelity": "fine", "pilot_x_m": c.Pilot.XForward + .2}), &a)
	m, err := c.BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	run, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: startSpeed})
	require.NoError(t, err)
	require.Len(t, a.Points, steps)
	assert.Equal(t, exchange.Lowest, a.Points[0].Clearance)
	assert.InDelta(t, 1, a.Points[steps-1].Clearance, 1e-12)
	for _, p := range a.Points {
		b, err := run.Trim(p.Clearance)
		if err != nil {
			assert.Nil(t, p.CP)
			continue
		}
		// The table has millionths, of the clearance too.
		assert.InDelta(t, b.CP, *p.CP, 1e-5)
		assert.InDelta(t, b.Pilot.X, *p.PilotNeeded, 1e-5)
		assert.InDelta(t, b.Drag(), *p.Drag, 1e-3)
		assert.Equal(t, b.HeightStable, *p.Stable)
		assert.Equal(t, b.TravelMargin >= 0, *p.Reachable)
	}
	var near nearby
	putTo(t, d, about("nearby", c, map[string]any{"fidelity": "fine"}), &near)
	require.Len(t, near.Speeds, 2)
	for i, k := range []float64{.9, 1.1} {
		run, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: startSpeed * k})
		require.NoError(t, err)
		known := 0
		for _, p := range near.Speeds[i].Points {
			if b, err := run.Trim(p.Clearance); err == nil {
				known++
				assert.InDelta(t, b.Pilot.X, *p.PilotNeeded, 1e-9)
				assert.Equal(t, b.HeightStable, *p.Stable)
			} else {
				assert.Nil(t, p.PilotNeeded)
			}
		}
		assert.Greater(t, known, 10)
	}
	for _, h := range a.Held {
		b, err := run.Trim(h.Clearance)
		require.NoError(t, err)
		assert.InDelta(t, c.Pilot.XForward+.2, b.Pilot.X, 1e-3)
	}
	var off accuracy
	putTo(t, d, about("accuracy", c, map[string]any{"fidelity": "fine"}), &off)
	assert.Positive(t, off.LiftPct, "a map is not the solution itself")
	assert.Less(t, off.LiftPct, .5)
}

// The map is kept; what is not in it must not be.
func TestKeptMapsServeTheCraftAsked(t *testing.T) {
	kept, fresh := new(Service), new(Service)
	c := gecp.Demo()
	putTo(t, kept, about("heights", c, nil), new(heights))
	heavy := gecp.Demo()
	heavy.Weights[0].Mass += 20
	heavy.Pilot.Mass -= 5
	heavy.Tow.Z += .1
	heavy.ParasiteArea += .1
	var a, b heights
	putTo(t, kept, about("heights", heavy, nil), &a)
	putTo(t, fresh, about("heights", heavy, nil), &b)
	assert.Len(t, kept.shapes, 1, "the wings are the same: one map")
	assert.Equal(t, b, a)

	other := gecp.Demo()
	other.Wings[0].IncidenceDeg++
	putTo(t, kept, about("heights", other, nil), &a)
	assert.Len(t, kept.shapes, 2)
	a = heights{}
	putTo(t, kept, about("heights", heavy, nil), &a)
	assert.Equal(t, b, a, "back to the first")
}

func TestPoseCarriesTheWeight(t *testing.T) {
	d := new(Service)
	c := gecp.Demo()
	var a pose
	putTo(t, d, about("pose", c, map[string]any{"fidelity": "fine"}), &a)
	require.NotNil(t, a.Lift)
	assert.InDelta(t, a.Weight, *a.Lift, .05*a.Weight, "but for the line's pull")
	var h heights
	putTo(t, d, about("heights", c, map[string]any{"fidelity": "fine"}), &h)
	require.Len(t, h.Side.Wings, len(c.Wings))
	require.Len(t, a.Plan, len(c.Wings))
	// The pressures and the loads along the span are the library's.
	model, err := gecp.NewModel(c, poseMesh)
	require.NoError(t, err)
	wings, err := model.Pressures(t.Context(), .2, gecp.Radians(*a.PitchDeg))
	require.NoError(t, err)
	q := gecp.Freestream{Speed: startSpeed, Density: gecp.AirDensity}.DynamicPressure()
	for i, w := range wings {
		require.Len(t, a.Plan[i].Cells, len(w.Cells))
		for j, want := range w.Cells {
			got := a.Plan[i].Cells[j]
			assert.Equal(t, want.Corners, got.Corners)
			assert.InDelta(t, q*want.Coefficient, got.Pressure, 1e-9*q)
			assert.GreaterOrEqual(t, got.Pressure, a.Range[0])
			assert.LessOrEqual(t, got.Pressure, a.Range[1])
		}
		for j, want := range w.Spans {
			assert.Equal(t, want.Y, a.Spans[i].Y[j])
			assert.InDelta(t, q*want.ForcePerSpan, a.Spans[i].Lift[j], 1e-9*q)
		}
	}
	require.NotNil(t, a.Peak)
	assert.Positive(t, a.Peak.Limit)
	// At rest on its clearance: no point of the side view lies lower, one lies there.
	low := math.Inf(1)
	sin, cos := math.Sincos(*a.PitchDeg * math.Pi / 180)
	for _, w := range h.Side.Wings {
		for _, l := range append(w.Sections, w.Plates...) {
			for _, p := range l {
				low = min(low, *a.Height+p[1]*cos-p[0]*sin)
			}
		}
	}
	assert.InDelta(t, a.Clearance, low, 2e-3)
}

func TestPitchHeld(t *testing.T) {
	d := new(Service)
	c := gecp.Demo()
	var a heights
	putTo(t, d, about("heights", c, map[string]any{"pitch_deg": 3.}), &a)
	for i, p := range a.Points {
		assert.Equal(t, 3., *p.PitchDeg)
		if i > 0 {
			assert.Less(t, *p.LiftOverDrag, *a.Points[i-1].LiftOverDrag, "the water helps less, higher up")
		}
	}
	var p pose
	putTo(t, d, about("pose", c, map[string]any{"pitch_deg": 3., "clearance_m": a.Points[5].Clearance}), &p)
	assert.InDelta(t, *a.Points[5].Lift, *p.Lift, 1e-3)
	assert.Contains(t, a.Sentence, "pitch held at 3.0 degrees")
}

func TestWhatIsMissingIsSaid(t *testing.T) {
	for _, c := range []struct {
		name string
		cut  func(*gecp.Craft)
		says string
	}{
		{"no pilot", func(c *gecp.Craft) { c.Pilot = nil }, "where the pilot can be"},
		{"no tow", func(c *gecp.Craft) { c.Tow = nil }, "how the craft is towed"},
		{"no weights", func(c *gecp.Craft) { c.Weights = nil }, "what the craft weighs"},
		{"wings alone", func(c *gecp.Craft) { *c = gecp.Craft{Name: c.Name, Wings: c.Wings} }, "how the craft is towed"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := new(Service)
			craft := gecp.Demo()
			c.cut(craft)
			var a heights
			putTo(t, d, about("heights", craft, nil), &a)
			assert.Contains(t, strings.Join(a.Notes, " "), c.says)
			assert.Len(t, a.Points, steps)
			assert.NotEmpty(t, a.Sentence)
			var p pose
			putTo(t, d, about("pose", craft, nil), &p)
			require.NotNil(t, p.Lift)
		})
	}
}

func TestTooSlowIsSaid(t *testing.T) {
	d := new(Service)
	var a heights
	putTo(t, d, about("heights", gecp.Demo(), map[string]any{"speed_mps": 4.}), &a)
	assert.Contains(t, a.Sentence, "too slow")
	for _, p := range a.Points {
		assert.Nil(t, p.CP)
	}
	var p pose
	putTo(t, d, about("pose", gecp.Demo(), map[string]any{"speed_mps": 4.}), &p)
	assert.Contains(t, p.Sentence, "Too slow")
}

func TestProblemsNameTheirPlace(t *testing.T) {
	bad := gecp.Demo()
	bad.Wings[1].Stations[0].Chord = -1
	for _, c := range []struct {
		name string
		q    map[string]any
		path string
	}{
		{"craft", about("heights", bad, nil), "wings[1].stations[0].chord_m"},
		{"speed", about("heights", gecp.Demo(), map[string]any{"speed_mps": 0.}), "speed_mps"},
		{"pitch", about("pose", gecp.Demo(), map[string]any{"pitch_deg": 40.}), "pitch_deg"},
		{"clearance", about("pose", gecp.Demo(), map[string]any{"clearance_m": 0.}), "clearance_m"},
		{"limit", about("heights", gecp.Demo(), map[string]any{"limit_m": -1.}), "limit_m"},
		{"top", about("heights", gecp.Demo(), map[string]any{"top_m": 40.}), "top_m"},
		{"kind", about("weather", gecp.Demo(), nil), ""},
		{"file", map[string]any{"id": 1, "ask": "read", "text": "{"}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			ps := refused(t, new(Service), c.q)
			assert.Equal(t, c.path, ps[0].Path)
			assert.NotEmpty(t, ps[0].Text)
		})
	}
}

func TestUSSentences(t *testing.T) {
	d := new(Service)
	var a, b heights
	putTo(t, d, about("heights", gecp.Demo(), nil), &a)
	putTo(t, d, about("heights", gecp.Demo(), map[string]any{"units": "us"}), &b)
	assert.Contains(t, a.Sentence, "57.0 km/h")
	assert.Contains(t, b.Sentence, "35.4 mph")
	a.Sentence, b.Sentence = "", ""
	a.Notes, b.Notes = nil, nil
	require.NotNil(t, a.Lines.SelfHolding)
	assert.Equal(t, units.Metric.LetGo(*a.Lines.SelfHolding), a.Lines.Words["self_holding_m"], "rounded down")
	assert.Equal(t, units.Customary.LetGo(*a.Lines.SelfHolding), b.Lines.Words["self_holding_m"])
	a.Lines.Words, b.Lines.Words = nil, nil
	assert.Equal(t, a, b, "figures stay SI")
}

func TestReadyCraftAllFly(t *testing.T) {
	d := new(Service)
	var r readyCrafts
	putTo(t, d, map[string]any{"id": 1, "ask": "ready"}, &r)
	require.Len(t, r.Crafts, len(crafts.All()))
	assert.Equal(t, gecp.Demo(), r.Crafts[0].Craft)
	for _, c := range r.Crafts {
		var a heights
		putTo(t, d, about("heights", c.Craft, map[string]any{"speed_mps": c.SpeedMPS}), &a)
		assert.GreaterOrEqual(t, a.lowestBalanced(), 0, "%s does not fly at its first speed: %s", c.Title, a.Sentence)
	}
}

// The demo begins where it can be towed: the page opens on a picture that works.
func TestTheDemoBeginsUsable(t *testing.T) {
	var a heights
	putTo(t, new(Service), about("heights", gecp.Demo(), map[string]any{"fidelity": "fine"}), &a)
	require.NotNil(t, a.Lines.LetGo, a.Sentence)
	assert.Contains(t, a.Sentence, "Let go above")
	for _, l := range []*float64{a.Lines.SelfHolding, a.Lines.Reach} {
		if l != nil {
			assert.LessOrEqual(t, *a.Lines.LetGo, *l+1e-9, "no line lies under the let-go height")
		}
	}
}

// The page and the card have the same range for the same craft, speed and rules, as calculated
// and as it is to be trusted, and show it rounded by the same functions.
func TestTheRangeIsTheCards(t *testing.T) {
	fidelity := "coarse" // takes a tenth of the time
	if os.Getenv("CI") == "true" {
		fidelity = "fine"
	}
	for _, ready := range crafts.All() {
		// One that may be towed and one that may not, each in one system of units.
		name, u := "metric", units.Metric
		switch ready.Key {
		case "teal-tandem":
		case "reedling-tandem":
			name, u = "us", units.Customary
		default:
			continue
		}
		d := new(Service)
		putTo(t, d, about("leftOut", ready.Craft, map[string]any{"fidelity": fidelity}), new(gotReady))
		left := d.shapes[0].left
		card, err := lake.NewTowCard(t.Context(), left.Map(), lake.TowCardOptions{Units: u, Rules: tow.Rules{OwnLimit: .6}, Variants: left})
		require.NoError(t, err)
		at := func(kind string, r *lake.TowRung) (a towing) {
			putTo(t, d, about(kind, ready.Craft, map[string]any{"fidelity": fidelity, "speed_mps": r.Speed, "units": name}), &a)
			return a
		}
		offered, trusted := 0, 0
		for i := range card.Rungs {
			r := &card.Rungs[i]
			if i%2 == 0 {
				a, plain := at("towing", r), r.Trust.Range
				what := fmt.Sprintf("%s at %.1f m/s: %s", ready.Key, r.Speed, a.Sentence)
				require.Equal(t, plain.OK, a.OK, what)
				require.Equal(t, plain.OK, a.Lines.LetGo != nil, what)
				assert.Contains(t, a.Sentence, plain.Words(u), what)
				if plain.OK {
					offered++
					assert.Equal(t, plain.High.Clearance, *a.Lines.LetGo, what)
					assert.Equal(t, plain.Low.Clearance, *a.Lines.Low, what)
					assert.Contains(t, a.Sentence, "Let go above "+u.LetGo(plain.High.Clearance))
					assert.Len(t, a.Gains, 2)
				}
			}
			if !r.Trust.Range.OK {
				continue
			}
			a := at("trust", r)
			what := fmt.Sprintf("%s at %.1f m/s: %s", ready.Key, r.Speed, a.Sentence)
			assert.Equal(t, r.Range.OK, a.OK, what)
			assert.Contains(t, a.Sentence, r.Range.Words(u)+" By the calculation alone the height to let go is "+r.Trust.LetGo.LetGoWords(u)+".", what)
			if r.Range.OK {
				trusted++
				assert.Equal(t, r.Range.High.Clearance, *a.Lines.LetGo, what)
				assert.Less(t, *a.Lines.LetGo, r.Trust.Range.High.Clearance, what)
			}
		}
		if ready.Key == "teal-tandem" {
			assert.Positive(t, offered)
			assert.True(t, trusted > 0 || fidelity == "coarse", "on the coarse mesh the band reaches down to none")
			continue
		}
		var a cardAnswer
		putTo(t, d, about("card", ready.Craft, map[string]any{"fidelity": fidelity, "units": name}), &a)
		var text strings.Builder
		require.NoError(t, card.WriteText(&text))
		assert.Equal(t, text.String(), a.Text)
		assert.Contains(t, a.HTML, gecp.Cautions)
		assert.Contains(t, a.LogHTML, "Log of runs of Reedling")
		assert.Contains(t, a.LogCSV, "speed_mph,")
	}
}

// The page weighs as the library does.
func TestWeigh(t *testing.T) {
	c := gecp.Demo()
	put := func(more map[string]any) (a weighAnswer) {
		putTo(t, new(Service), about("weigh", c, more), &a)
		return a
	}
	a := put(nil)
	assert.Equal(t, lake.WeighingSteps(), a.Steps)
	assert.Nil(t, a.Rows)
	a = put(map[string]any{"scales": "0.40:34.5,4.40:36.1", "raised": "0.40:32.6,4.40:38.0", "angle_deg": 15., "swing_s": 36., "pivot_m": 2.2})
	level, err := lake.ParseScales("0.40:34.5,4.40:36.1", c, units.Metric)
	require.NoError(t, err)
	raised, err := lake.ParseScales("0.40:32.6,4.40:38.0", c, units.Metric)
	require.NoError(t, err)
	want, err := lake.Weigh(c, lake.Weighing{Level: level, Raised: raised, Angle: gecp.Radians(15), Swing: lake.Swing{TenSwings: 36, Pivot: 2.2}})
	require.NoError(t, err)
	for i, r := range want.Rows(c, units.Metric) {
		assert.Equal(t, weighRow(r), a.Rows[i])
	}
	weighed, err := want.Apply(c)
	require.NoError(t, err)
	assert.Equal(t, weighed, a.Craft)
	assert.Equal(t, want.Sentences(c, units.Metric), a.Sentences)

	a = put(map[string]any{"scales": "0.40:4000,4.40:4500"})
	assert.Nil(t, a.Craft)
	assert.Contains(t, a.Why, "No craft can weigh this")
	for path, more := range map[string]map[string]any{
		"scales": {"scales": "x"}, "raised": {"scales": "0.4:1,4:1", "raised": "x"}, "": {"scales": "0.4:1"},
	} {
		var r struct{ Problems []exchange.Problem }
		text, err := json.Marshal(about("weigh", c, more))
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(new(Service).Answer(t.Context(), text, nil), &r))
		require.Len(t, r.Problems, 1)
		assert.Equal(t, path, r.Problems[0].Path)
	}
}

// While a hand moves the reaction limit is left out, and that is said.
func TestTheQuickRangeSaysWhatItLeavesOut(t *testing.T) {
	teal := crafts.All()
	for _, ready := range teal {
		if ready.Key != "teal-tandem" {
			continue
		}
		var quick heights
		var full towing
		ask := map[string]any{"fidelity": "fine", "speed_mps": ready.Speed}
		d := new(Service)
		putTo(t, d, about("heights", ready.Craft, ask), &quick)
		putTo(t, d, about("towing", ready.Craft, ask), &full)
		require.NotNil(t, quick.Lines.LetGo)
		require.NotNil(t, full.Lines.LetGo)
		assert.LessOrEqual(t, *full.Lines.LetGo, *quick.Lines.LetGo)
		assert.Contains(t, quick.Sentence, unasked)
		assert.NotContains(t, full.Sentence, unasked)
		assert.NotNil(t, full.Lines.Reaction)
		assert.Nil(t, quick.Lines.Reaction)
	}
}

// A craft without weights or tow has no range, and that is no objection.
func TestTowingOfACraftThatLacksATow(t *testing.T) {
	for _, lacks := range []func(c *gecp.Craft){func(c *gecp.Craft) { c.Tow = nil }, func(c *gecp.Craft) { c.Weights, c.Pilot = nil, nil }} {
		c := gecp.Demo()
		lacks(c)
		var a towing
		putTo(t, new(Service), about("towing", c, map[string]any{"fidelity": "coarse"}), &a)
		assert.False(t, a.OK)
		assert.Empty(t, a.Sentence)
		assert.Empty(t, a.Facts)
		assert.Nil(t, a.Lines.LetGo)
	}
}

func TestTowingSaysWindowAndFacts(t *testing.T) {
	var a towing
	putTo(t, new(Service), about("towing", gecp.Demo(), map[string]any{"fidelity": "fine", "pilot_x_m": 1.5, "clearance_m": .3}), &a)
	m, err := gecp.Demo().BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	w, err := tow.FindWindow(t.Context(), m, 0, 1.5)
	require.NoError(t, err)
	assert.Equal(t, sentence(w.String()), a.Window)
	// Without a position of the pilot it is that for the exchange.Lowest clearance, also where people's
	// reaction alone keeps the craft from being towed.
	putTo(t, new(Service), about("towing", gecp.Demo(), map[string]any{"fidelity": "fine"}), &a)
	assert.False(t, a.OK)
	st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: startSpeed})
	require.NoError(t, err)
	r, err := st.Range(t.Context(), tow.Rules{Reaction: motion.InTime})
	require.NoError(t, err)
	require.Equal(t, tow.NoneReaction, r.None)
	w, err = tow.FindWindow(t.Context(), m, 0, r.Low.Pilot.X)
	require.NoError(t, err)
	assert.Equal(t, sentence(w.String()), a.Window)
	require.True(t, w.LiftOff.OK)
	margins, err := motion.MarginsAt(t.Context(), st, r.Low.Clearance, .6)
	require.NoError(t, err)
	require.Len(t, a.Facts, 3)
	assert.Equal(t, fact{"Lifts off at", units.Metric.FlyAbove(w.LiftOff.Speed)}, a.Facts[0])
	assert.Equal(t, fact{"Holds a height up to", units.Metric.StayBelow(w.To)}, a.Facts[1])
	assert.Equal(t, margins.Counts().Words(), a.Facts[2].Text)
	assert.Equal(t, []fact{{"Lifts off at", "not at all"}, {"Holds a height up to", "no speed"}}, speeds(&tow.Window{}, units.Metric))
	assert.Equal(t, "108.0 km/h at least", speeds(&tow.Window{OK: true, To: 30}, units.Metric)[1].Text)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	text, err := json.Marshal(about("towing", gecp.Demo(), nil))
	require.NoError(t, err)
	assert.Contains(t, string(new(Service).Answer(ctx, text, nil)), `"ok":false`)
}

func TestLeap(t *testing.T) {
	c := gecp.Demo()
	m, err := c.BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	run, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: startSpeed})
	require.NoError(t, err)
	want, err := motion.NewFlight(run, .25, motion.Disturbance{SpeedUp: motion.SpeedUp{Start: upsetAfter, By: 1, Over: boatOver}})
	require.NoError(t, err)

	d := new(Service)
	ask := func(hand string) map[string]any {
		return about("leap", c, map[string]any{"fidelity": "fine", "clearance_m": .25, "upset": "boat", "size": 1., "hand": hand})
	}
	var a leapStart
	putTo(t, d, ask("none"), &a)
	assert.Equal(t, .25, math.Round(a.Clearance*1e9)/1e9)
	assert.Equal(t, c.Pilot.XForward, a.Forward)
	var s leapState
	for range 1000 {
		putTo(t, d, map[string]any{"id": 1, "ask": "leapStep", "dt_s": .02, "place_m": 99}, &s)
		want.Step(.02, want.Start().Pilot.X)
		assert.InDelta(t, want.State().Clearance, s.Clearance, 1e-6, "at %v s", s.Time)
		if s.Over {
			break
		}
	}
	assert.Equal(t, sentence(want.End().String()), s.Verdict)
	refused(t, d, map[string]any{"id": 1, "ask": "leapStep", "dt_s": .02})

	// A hand that moves forward brings the nose down.
	putTo(t, d, ask("yours"), &a)
	var fore, aft leapState
	putTo(t, d, map[string]any{"id": 1, "ask": "leapStep", "dt_s": .8, "place_m": c.Pilot.XForward}, &fore)
	putTo(t, d, ask("yours"), &a)
	putTo(t, d, map[string]any{"id": 1, "ask": "leapStep", "dt_s": .8, "place_m": c.Pilot.XAft}, &aft)
	assert.Less(t, fore.PitchDeg, aft.PitchDeg)
	assert.Less(t, fore.Pilot, aft.Pilot)

	// Another craft ends the flight.
	bare := gecp.Demo()
	bare.Pilot, bare.Tow = nil, nil
	putTo(t, d, about("heights", bare, map[string]any{"fidelity": "fine"}), new(heights))
	refused(t, d, map[string]any{"id": 1, "ask": "leapStep", "dt_s": .02})

	putTo(t, d, ask("law"), &a)
	putTo(t, d, map[string]any{"id": 1, "ask": "leapStep", "dt_s": .5}, &s)
	assert.InDelta(t, .25, s.Clearance, .01, "nothing has happened yet")
	for _, bad := range []map[string]any{
		about("leap", c, map[string]any{"upset": "meteor", "hand": "yours"}),
		about("leap", c, map[string]any{"upset": "none", "hand": "third"}),
		about("leap", c, map[string]any{"upset": "boat", "size": 99., "hand": "yours"}),
	} {
		refused(t, d, bad)
	}

	var late marginAnswer
	putTo(t, d, about("margin", c, map[string]any{"fidelity": "fine", "clearance_m": .25}), &late)
	r, err := motion.ReactionAt(t.Context(), run, .25, .6)
	require.NoError(t, err)
	require.Len(t, late.Rows, 6)
	assert.Contains(t, late.Rows[0].Text, r.Verdict())
	assert.Equal(t, r.Knowing.Words(), late.Rows[1].Text)
	assert.Equal(t, r.Seeing.Words(), late.Rows[2].Text)
	assert.Equal(t, motion.HumanRange, late.Rows[5].Text)
	assert.Contains(t, late.Title, "to stay below 0.60 m")
	assert.Contains(t, late.Close, "does not train")
	putTo(t, d, about("margin", c, map[string]any{"fidelity": "fine", "clearance_m": .25, "units": "us"}), &late)
	assert.Contains(t, late.Rows[3].Text, "the craft file's is 1.6 ft/s")

	// A wave lifts the water, and the craft with it.
	putTo(t, d, about("leap", c, map[string]any{"fidelity": "fine", "clearance_m": .25, "upset": "wave", "size": .2, "hand": "none"}), &a)
	wave, err := motion.NewFlight(run, .25, motion.Disturbance{Wave: motion.Wave{Start: upsetAfter, Height: .2, Length: waveLength}})
	require.NoError(t, err)
	for range 100 {
		putTo(t, d, map[string]any{"id": 1, "ask": "leapStep", "dt_s": .02, "place_m": 99}, &s)
		wave.Step(.02, wave.Start().Pilot.X)
	}
	assert.InDelta(t, wave.State().Clearance, s.Clearance, 1e-6)
	assert.Greater(t, math.Abs(s.Clearance-.25), .005, "it is felt")
	refused(t, d, about("leap", c, map[string]any{"fidelity": "fine", "clearance_m": .25, "upset": "wave", "size": 3., "hand": "none"}))
}

func TestCSV(t *testing.T) {
	d := new(Service)
	var a textAnswer
	putTo(t, d, about("csv", gecp.Demo(), nil), &a)
	rows, err := csv.NewReader(strings.NewReader(a.Text)).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, steps+1)
	assert.Equal(t, "clearance_m", rows[0][0])
	assert.Equal(t, "0.05", rows[1][0])
}

func TestAPanicIsAnAnswer(t *testing.T) {
	d := new(Service)
	q := about("heights", gecp.Demo(), nil)
	putTo(t, d, q, new(heights))
	d.shapes[0].fields = nil
	ps := refused(t, d, q)
	assert.Contains(t, ps[0].Text, exchange.GaveUp)
	putTo(t, d, q, new(heights))
}

func TestCancelledWorkStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	text, err := json.Marshal(about("heights", gecp.Demo(), nil))
	require.NoError(t, err)
	d := new(Service)
	out := d.Answer(ctx, text, func(float64) { cancel() })
	assert.Contains(t, string(out), `"ok":false`)
	assert.Empty(t, d.shapes)
}

func FuzzAnswer(f *testing.F) {
	text, err := json.Marshal(about("pose", gecp.Demo(), nil))
	require.NoError(f, err)
	f.Add(text)
	f.Add([]byte(`{"id":1,"ask":"read","text":"{\"wings\":[]}"}`))
	f.Add([]byte(`{"id":1,"ask":"heights","craft":null,"speed_mps":1e308}`))
	f.Add([]byte(`[]`))
	d := new(Service)
	f.Fuzz(func(t *testing.T, q []byte) {
		out := d.Answer(t.Context(), q, nil)
		var head struct {
			OK       *bool              `json:"ok"`
			Problems []exchange.Problem `json:"problems"`
		}
		require.NoError(t, json.Unmarshal(out, &head), "every answer is JSON, so without NaN")
		require.NotNil(t, head.OK)
		assert.NotContains(t, string(out), exchange.GaveUp)
		assert.Equal(t, *head.OK, len(head.Problems) == 0)
	})
}

// What a hand waits for takes few solutions of the lattice, whatever the craft: a map's
// own wish for more nodes is for the fine answers.
func TestAQuickSweepSolvesLittle(t *testing.T) {
	for _, r := range crafts.All() {
		text, err := json.Marshal(about("heights", r.Craft, map[string]any{"fidelity": "coarse"}))
		require.NoError(t, err)
		solved := 0
		out := new(Service).Answer(t.Context(), text, func(float64) { solved++ })
		assert.Contains(t, string(out), `"ok":true`)
		assert.Positive(t, solved, r.Key)
		assert.LessOrEqual(t, solved, 28, "%s: 4 by 7 nodes", r.Key)
	}
}
