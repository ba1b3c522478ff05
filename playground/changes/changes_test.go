package changes

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/playground/exchange"
)

// small is an invented craft of thin wings.
const small = `{"name":"Small","wings":[
	{"name":"front","x_m":0,"z_m":0,"incidence_deg":8.5,"stations":[{"y_m":0,"chord_m":2.2},{"y_m":3.2,"chord_m":1.2}]},
	{"name":"rear","x_m":4.45,"z_m":0.6,"incidence_deg":6,"stations":[{"y_m":0,"chord_m":2.3},{"y_m":3.2,"chord_m":2.05}],"camber":{"height":0.015,"at":0.5}}],
	"weights":[{"name":"structure","mass_kg":86,"x_m":3.08,"z_m":0.25}],
	"pilot":{"mass_kg":76,"x_forward_m":1.15,"x_aft_m":1.95,"z_m":0.5},
	"tow":{"x_m":0.3,"z_m":0.5,"boat_height_m":1.0,"line_m":30,"boat_length_m":6},
	"floats":[{"x_m":0.8,"z_m":-0.34},{"x_m":5.6,"z_m":-0.53}]}`

// plain is one of a single wing, which is solved anew in a moment.
var plain = regexp.MustCompile(`(?s),\s*\{"name":"rear".*"camber":\{[^}]*\}\}\]`).ReplaceAllString(small, "]")

// whole leaves a test that solves two wings anew some hundred times to the runs where
// everything must run.
func whole(t *testing.T) {
	t.Helper()
	if os.Getenv("CI") != "true" {
		t.Skip("it takes half a minute; CI=true go test ./playground/changes runs it")
	}
}

// tooSlow is a speed at which the small craft has no height to be towed at, the highest such, m/s.
func tooSlow(t *testing.T) float64 {
	t.Helper()
	c, err := gecp.Read(strings.NewReader(small))
	require.NoError(t, err)
	for v := 16.; v > 10; v -= .1 {
		if !answers(t, c, v).Range.OK {
			return v
		}
	}
	require.Fail(t, "the small craft is towed at any speed")
	return 0
}

// answers are those of a craft on a coarse lattice.
func answers(t *testing.T, c *gecp.Craft, speed float64) design.Answers {
	t.Helper()
	m, err := gecp.NewModel(c, (&exchange.Question{Fidelity: "coarse"}).Mesh())
	require.NoError(t, err)
	f, err := m.BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	got, err := design.Question{Speed: speed, Rules: tow.Rules{OwnLimit: .6}}.Ask(t.Context(), f)
	require.NoError(t, err)
	return got
}

// about returns a question about the small craft on a coarse lattice.
func about(kind string, speed float64, more map[string]any) map[string]any {
	q := map[string]any{"id": 7, "ask": kind, "craft": json.RawMessage(small), "speed_mps": speed, "limit_m": .6, "fidelity": "coarse", "units": "metric"}
	for k, v := range more {
		q[k] = v
	}
	return q
}

// put asks a service and reads the answer into a; it returns what was objected to.
func put(t *testing.T, ctx context.Context, v *Service, q map[string]any, progress func(float64), a any) []exchange.Problem {
	t.Helper()
	text, err := json.Marshal(q)
	require.NoError(t, err)
	out := v.Answer(ctx, text, progress)
	var head struct {
		ID       int                `json:"id"`
		OK       bool               `json:"ok"`
		Problems []exchange.Problem `json:"problems"`
	}
	require.NoError(t, json.Unmarshal(out, &head), string(out))
	assert.Equal(t, 7, head.ID)
	if !head.OK {
		require.NotEmpty(t, head.Problems)
		return head.Problems
	}
	require.NoError(t, json.Unmarshal(out, a))
	return nil
}

// The steps are those of package design, each with the craft that it makes, in words of
// both systems.
func TestSteps(t *testing.T) {
	var v Service
	var a steps
	part := 0.
	require.Empty(t, put(t, t.Context(), &v, about("steps", 15, map[string]any{"craft": json.RawMessage(plain)}), func(p float64) {
		assert.GreaterOrEqual(t, p, part)
		part = p
	}, &a))
	assert.Equal(t, 1., part)
	found := v.found
	require.Greater(t, len(found.Dimensions), 20)
	require.Len(t, a.Steps, len(found.Dimensions))
	assert.Equal(t, found.Base.Range.OK, a.Range)
	assert.True(t, a.Whole)
	shown := columns(found)
	assert.Equal(t, found.Options.Rank, shown[0])
	assert.Subset(t, shown, []design.Answer{design.AnswerLetGo, design.AnswerWindow})
	require.Len(t, a.Columns, len(shown))
	for i, c := range a.Columns {
		assert.Equal(t, shown[i].String(), c.Key)
	}
	for _, c := range a.Columns {
		assert.Len(t, c.Order, len(a.Steps))
	}
	for i, s := range a.Steps {
		d := &found.Dimensions[i]
		assert.Equal(t, d.Path, s.Path)
		if want, err := design.Set(found.Craft, d.Path, d.Value+d.Step); err == nil {
			assert.Equal(t, want, s.Larger, s.Path)
		} else {
			assert.Nil(t, s.Larger, s.Path)
		}
		assert.NotEqual(t, s.More, s.Less, s.Path)
		assert.Equal(t, d.Words(found, units.Customary), s.Sentence.US)
		require.Len(t, s.Effects, len(shown))
		for j, e := range s.Effects {
			is := d.Effects[shown[j]]
			require.Equal(t, is.OK, e.PerStep != nil, s.Path)
			assert.Equal(t, is.OK, e.Words.Metric != "", s.Path)
			assert.Equal(t, e.Seen, strings.ContainsAny(e.Words.Metric, "123456789"), "%s: %s", s.Path, e.Words.Metric)
			assert.Equal(t, is.OneSided || is.Bends, e.Only != "", s.Path)
		}
	}

}

// Advice rests on the steps found before, and its crafts hold.
func TestAdvice(t *testing.T) {
	whole(t)
	speed := tooSlow(t)
	var v Service
	var a steps
	require.Empty(t, put(t, t.Context(), &v, about("steps", speed, nil), nil, &a))
	found := v.found
	assert.False(t, a.Range)
	assert.Len(t, a.Columns, 2, "a craft with a speed window is ranked by it")
	assert.Equal(t, "window", a.Columns[0].Key)
	var advice advised
	require.Empty(t, put(t, t.Context(), &v, about("advice", speed, map[string]any{"least_window_mps": 1.2}), nil, &advice))
	assert.Same(t, found, v.found, "what was found is kept")
	assert.True(t, advice.Needed)
	require.NotEmpty(t, advice.Changes)
	assert.Regexp(t, `^It has no height .*:$`, advice.Sentence.Metric)
	for _, c := range advice.Changes {
		got := answers(t, c.Craft, speed)
		assert.True(t, got.Holds(1.2), c.Words.Metric)
		assert.NotRegexp(t, `[=_]`, c.Words.Metric, "the file's keys are not for the page")
		assert.Contains(t, c.Words.US, "mph")
	}
	// Another speed is another question, and its craft lacks nothing.
	require.Empty(t, put(t, t.Context(), &v, about("advice", 15, map[string]any{"least_window_mps": 1.2}), nil, &advice))
	assert.NotSame(t, found, v.found)
	assert.False(t, advice.Needed)
	assert.Empty(t, advice.Changes)
}

// The builds' figures are those of package design.
func TestBuilds(t *testing.T) {
	whole(t)
	var v Service
	var a built
	require.Empty(t, put(t, t.Context(), &v, about("builds", 14.5, nil), nil, &a))
	c, err := gecp.Read(strings.NewReader(small))
	require.NoError(t, err)
	want, err := design.Tolerance(t.Context(), c, design.ToleranceOptions{
		Speed: 14.5, Builds: 100, Checked: 5, Seed: seed, Rules: tow.Rules{OwnLimit: .6}, Mesh: (&exchange.Question{Fidelity: "coarse"}).Mesh(),
	})
	require.NoError(t, err)
	assert.Equal(t, want.Words(units.Metric), a.Words.Metric)
	assert.Equal(t, want.Words(units.Customary), a.Words.US)
	f := want.Spreads[design.LetGoClearance]
	require.NotNil(t, a.LetGo)
	assert.Equal(t, spread{f.P2_5, f.P50, f.P97_5}, *a.LetGo)
	require.NotEmpty(t, a.Pilot)
	below := 0.
	for _, p := range a.Pilot {
		assert.Greater(t, p.Clearance, below)
		below = p.Clearance
		assert.LessOrEqual(t, p.Lo, p.Half)
		assert.LessOrEqual(t, p.Half, p.Hi)
	}
	assert.Less(t, len(a.Pilot), len(want.Pilot), "where fewer than half of them have a position there is none")
}

// What is wrong is said beside its control, and a cancelled question is no answer.
func TestObjections(t *testing.T) {
	var v Service
	var none struct{}
	cancelled, cancel := context.WithCancel(t.Context())
	cancel()
	for _, c := range []struct {
		name string
		ctx  context.Context
		q    map[string]any
		path string
		text string
	}{
		{"too slow", t.Context(), about("steps", .5, nil), "speed_mps", "the speed is 1.8 km/h"},
		{"no own limit", t.Context(), about("builds", 15, map[string]any{"limit_m": 0}), "limit_m", "your own let-go height is 0 m"},
		{"no window", t.Context(), about("advice", 15, map[string]any{"least_window_mps": 0}), "least_window_mps", "the speed window that your boat can hold is 0 km/h"},
		{"no craft", t.Context(), about("steps", 15, map[string]any{"craft": map[string]any{}}), "name", "missing"},
		{"no tow", t.Context(), about("builds", 15, map[string]any{"craft": json.RawMessage(strings.Replace(small, `"tow":`, `"view":`, 1))}), "tow", "tow"},
		{"another question", t.Context(), about("heights", 15, nil), "", "knows no question"},
		{"cancelled", cancelled, about("steps", 15, nil), "", context.Canceled.Error()},
	} {
		t.Run(c.name, func(t *testing.T) {
			ps := put(t, c.ctx, &v, c.q, nil, &none)
			require.NotEmpty(t, ps)
			assert.Equal(t, c.path, ps[0].Path)
			assert.Contains(t, ps[0].Text, c.text)
		})
	}
	assert.Nil(t, v.found)
	assert.False(t, math.IsNaN(v.of.speed))
}
