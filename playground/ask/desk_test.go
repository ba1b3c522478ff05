package ask

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// putTo asks a desk and reads the answer into a.
func putTo(t *testing.T, d *Desk, q map[string]any, a any) {
	t.Helper()
	text, err := json.Marshal(q)
	require.NoError(t, err)
	out := d.Answer(t.Context(), text, nil)
	var head struct {
		ID       int       `json:"id"`
		OK       bool      `json:"ok"`
		Problems []problem `json:"problems"`
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

func refused(t *testing.T, d *Desk, q map[string]any) []problem {
	t.Helper()
	text, err := json.Marshal(q)
	require.NoError(t, err)
	var head struct {
		OK       bool      `json:"ok"`
		Problems []problem `json:"problems"`
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
	d := new(Desk)
	c := gecp.Demo()
	var a heights
	putTo(t, d, about("heights", c, map[string]any{"fidelity": "fine", "pilot_x_m": c.Pilot.XForward + .2}), &a)
	m, err := c.BuildMap(t.Context(), gecp.MapOptions{ClearanceMin: lowest, ClearanceMax: highest})
	require.NoError(t, err)
	run, err := m.Run(startSpeed, 0)
	require.NoError(t, err)
	require.Len(t, a.Points, steps)
	assert.Equal(t, lowest, a.Points[0].Clearance)
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
		run, err := m.Run(startSpeed*k, 0)
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
	least, ok := liftoff(m)
	require.True(t, ok)
	slow, err := m.Run(least-.02, 0)
	require.NoError(t, err)
	_, err = slow.Trim(lowest)
	assert.ErrorIs(t, err, gecp.ErrTooSlow)
}

// The map is kept; what is not in it must not be.
func TestKeptMapsServeTheCraftAsked(t *testing.T) {
	kept, fresh := new(Desk), new(Desk)
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
	putTo(t, kept, about("heights", heavy, nil), &a)
	assert.Equal(t, b, a, "back to the first")
}

func TestPoseCarriesTheWeight(t *testing.T) {
	d := new(Desk)
	c := gecp.Demo()
	var a pose
	putTo(t, d, about("pose", c, map[string]any{"fidelity": "fine"}), &a)
	require.NotNil(t, a.Lift)
	assert.InDelta(t, a.Weight, *a.Lift, .05*a.Weight, "but for the line's pull")
	var h heights
	putTo(t, d, about("heights", c, map[string]any{"fidelity": "fine"}), &h)
	require.Len(t, h.Side.Wings, len(c.Wings))
	require.Len(t, a.Plan, len(c.Wings))
	// The pressures add up to the lift, as far as seen from above.
	var sum, spans float64
	for i, p := range a.Plan {
		for _, cell := range p.Cells {
			assert.GreaterOrEqual(t, cell.Pressure, a.Range[0])
			assert.LessOrEqual(t, cell.Pressure, a.Range[1])
			sum += 2 * cell.Pressure * area(cell.Corners)
		}
		s := a.Spans[i]
		for j := 1; j < len(s.Y); j++ {
			spans += (s.Y[j] - s.Y[j-1]) * (s.Lift[j] + s.Lift[j-1])
		}
	}
	assert.InDelta(t, *a.Lift, sum, .08**a.Lift)
	assert.InDelta(t, *a.Lift, spans, .1**a.Lift)
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

func area(c [4][2]float64) float64 {
	var a float64
	for i := range c {
		j := (i + 1) % 4
		a += c[i][0]*c[j][1] - c[j][0]*c[i][1]
	}
	return math.Abs(a) / 2
}

func TestPitchHeld(t *testing.T) {
	d := new(Desk)
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
			d := new(Desk)
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
	d := new(Desk)
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
			ps := refused(t, new(Desk), c.q)
			assert.Equal(t, c.path, ps[0].Path)
			assert.NotEmpty(t, ps[0].Text)
		})
	}
}

func TestUSSentences(t *testing.T) {
	d := new(Desk)
	var a, b heights
	putTo(t, d, about("heights", gecp.Demo(), nil), &a)
	putTo(t, d, about("heights", gecp.Demo(), map[string]any{"units": "us"}), &b)
	assert.Contains(t, a.Sentence, "50.0\u00a0km/h")
	assert.Contains(t, b.Sentence, "31.1\u00a0mph")
	a.Sentence, b.Sentence = "", ""
	a.Notes, b.Notes = nil, nil
	assert.Equal(t, a, b, "figures stay SI")
}

func TestReadyCraftAllFly(t *testing.T) {
	d := new(Desk)
	var r readyCrafts
	putTo(t, d, map[string]any{"id": 1, "ask": "ready"}, &r)
	require.Len(t, r.Crafts, 4)
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
	putTo(t, new(Desk), about("heights", gecp.Demo(), map[string]any{"fidelity": "fine"}), &a)
	require.NotNil(t, a.Lines.LetGo, a.Sentence)
	assert.Contains(t, a.Sentence, "Let go above")
	for _, l := range []*float64{a.Lines.SelfHolding, a.Lines.Reach} {
		if l != nil {
			assert.LessOrEqual(t, *a.Lines.LetGo, *l+1e-9, "no line lies under the let-go height")
		}
	}
}

func TestTheCeilingsAreTheCards(t *testing.T) {
	c := gecp.Demo()
	m, err := c.BuildMap(t.Context(), gecp.MapOptions{ClearanceMin: lowest, ClearanceMax: highest})
	require.NoError(t, err)
	card, err := m.TowCard(t.Context(), gecp.TowCardOptions{Limit: .6, Units: gecp.Customary})
	require.NoError(t, err)
	d := new(Desk)
	usable := 0
	for _, r := range card.Rungs {
		var a heights
		putTo(t, d, about("heights", c, map[string]any{"fidelity": "fine", "speed_mps": r.Speed}), &a)
		require.Equal(t, r.Usable, a.Lines.LetGo != nil, "%.1f m/s: %s", r.Speed, a.Sentence)
		if r.Usable {
			usable++
			assert.InDelta(t, r.High.Clearance, *a.Lines.LetGo, 1e-6)
		}
	}
	assert.Positive(t, usable)

	var a textAnswer
	putTo(t, d, about("card", c, map[string]any{"fidelity": "fine", "units": "us"}), &a)
	var text strings.Builder
	require.NoError(t, card.WriteText(&text))
	assert.Equal(t, text.String(), a.Text)
	assert.Contains(t, a.HTML, gecp.Cautions)
}

func TestLeap(t *testing.T) {
	c := gecp.Demo()
	m, err := c.BuildMap(t.Context(), gecp.MapOptions{ClearanceMin: lowest, ClearanceMax: highest})
	require.NoError(t, err)
	run, err := m.Run(startSpeed, 0)
	require.NoError(t, err)
	want, err := run.Flight(.25, gecp.Disturbance{SpeedUp: gecp.SpeedUp{Start: upsetAfter, By: 1, Over: boatOver}})
	require.NoError(t, err)

	d := new(Desk)
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
	r, err := run.Reaction(.25)
	require.NoError(t, err)
	require.True(t, r.Shift.Found && !r.Shift.Any && r.Travel.Found, "the demo shows a figure for each")
	require.Len(t, late.Rows, 4)
	assert.Contains(t, late.Rows[0].Text, r.Verdict())
	assert.Contains(t, late.Rows[1].Text, fmt.Sprintf("%.2f\u00a0m/s;", r.Shift.Value))
	assert.Contains(t, late.Rows[2].Text, fmt.Sprintf("%.2f\u00a0m;", r.Travel.Value))
	assert.Equal(t, gecp.HumanRange, late.Rows[3].Text)
	assert.Contains(t, late.Close, "does not train")
	putTo(t, d, about("margin", c, map[string]any{"fidelity": "fine", "clearance_m": .25, "units": "us"}), &late)
	assert.Contains(t, late.Rows[1].Text, fmt.Sprintf("%.2f\u00a0ft/s;", r.Shift.Value/.3048))

	// A wave lifts the water, and the craft with it.
	putTo(t, d, about("leap", c, map[string]any{"fidelity": "fine", "clearance_m": .25, "upset": "wave", "size": .2, "hand": "none"}), &a)
	wave, err := run.Flight(.25, gecp.Disturbance{Wave: gecp.Wave{Start: upsetAfter, Height: .2, Length: waveLength}})
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
	d := new(Desk)
	var a textAnswer
	putTo(t, d, about("csv", gecp.Demo(), nil), &a)
	rows, err := csv.NewReader(strings.NewReader(a.Text)).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, steps+1)
	assert.Equal(t, "clearance_m", rows[0][0])
	assert.Equal(t, "0.05", rows[1][0])
}

func TestAPanicIsAnAnswer(t *testing.T) {
	d := new(Desk)
	q := about("heights", gecp.Demo(), nil)
	putTo(t, d, q, new(heights))
	d.shapes[0].fields = nil
	ps := refused(t, d, q)
	assert.Contains(t, ps[0].Text, gaveUp)
	putTo(t, d, q, new(heights))
}

func TestCancelledWorkStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	text, err := json.Marshal(about("heights", gecp.Demo(), nil))
	require.NoError(t, err)
	d := new(Desk)
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
	d := new(Desk)
	f.Fuzz(func(t *testing.T, q []byte) {
		out := d.Answer(t.Context(), q, nil)
		var head struct {
			OK       *bool     `json:"ok"`
			Problems []problem `json:"problems"`
		}
		require.NoError(t, json.Unmarshal(out, &head), "every answer is JSON, so without NaN")
		require.NotNil(t, head.OK)
		assert.NotContains(t, string(out), gaveUp)
		assert.Equal(t, *head.OK, len(head.Problems) == 0)
	})
}
