package solver

import (
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/lake"
)

// The page's log is the library's: predictions, estimates and correction.
func TestLogOfRuns(t *testing.T) {
	text, err := os.ReadFile("../../examples/logbook/testdata/invented_runs.csv")
	require.NoError(t, err)
	var craft *gecp.Craft
	for _, r := range crafts.All() {
		if r.Key == "teal-tandem" {
			craft = r.Craft
		}
	}
	var a logAnswer
	d := new(Service)
	putTo(t, d, about("log", craft, map[string]any{"fidelity": "fine", "text": string(text)}), &a)
	l, err := lake.ReadLog(strings.NewReader(string(text)))
	require.NoError(t, err)
	require.Len(t, a.Runs, len(l.Runs))
	m, err := craft.BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	runs, err := lake.CompareRuns(m, l.Runs, 0)
	require.NoError(t, err)
	for i, r := range runs {
		if r.Err == nil {
			assert.InDelta(t, r.PilotDifference, *a.Runs[i].Off, 1e-9)
		} else {
			assert.NotEmpty(t, a.Runs[i].Why)
		}
	}
	f, err := lake.FitLog(t.Context(), m, l.Runs, lake.FitOptions{})
	require.NoError(t, err)
	want, err := f.Correction()
	require.NoError(t, err)
	require.NotNil(t, a.Correction)
	assert.InDelta(t, want.LiftFactor, a.Correction.LiftFactor, 1e-9)
	assert.InDelta(t, want.CPOffset, a.Correction.CPOffset, 1e-9)

	// With the correction the sentence says so, and the predictions rest on it.
	corrected := *craft
	corrected.Correction = a.Correction
	corrected.Correction.On = true
	var h heights
	putTo(t, d, about("heights", &corrected, map[string]any{"fidelity": "fine", "speed_mps": 17}), &h)
	words, ok := corrected.CorrectionWords()
	require.True(t, ok)
	assert.Contains(t, h.Sentence, words)
	var b logAnswer
	putTo(t, d, about("log", &corrected, map[string]any{"fidelity": "fine", "text": string(text)}), &b)
	assert.Equal(t, words, b.Corrected)

	// Too few runs are compared all the same; faults come each with its line.
	var few logAnswer
	putTo(t, d, about("log", craft, map[string]any{"fidelity": "fine", "text": "speed_kmh,clearance_m,pilot_m\n62,0.2,1.5\n"}), &few)
	assert.Len(t, few.Runs, 1)
	assert.Nil(t, few.Correction)
	assert.NotEmpty(t, few.Sentences)
	var none logAnswer
	putTo(t, d, about("log", craft, map[string]any{"fidelity": "fine", "text": " "}), &none)
	assert.Empty(t, none.Runs)
}

// The fit weighs the log by the accuracies that the owner states, and refuses each that is
// none.
func TestAccuraciesOfALog(t *testing.T) {
	text, err := os.ReadFile("../../examples/logbook/testdata/invented_runs.csv")
	require.NoError(t, err)
	all := crafts.All()
	craft := all[slices.IndexFunc(all, func(r crafts.Ready) bool { return r.Key == "teal-tandem" })].Craft
	ask := func(more map[string]any) map[string]any {
		more["fidelity"], more["text"] = "coarse", string(text)
		return about("log", craft, more)
	}
	d := new(Service)
	fit := func(more map[string]any) []string {
		var a logAnswer
		putTo(t, d, ask(more), &a)
		require.NotEmpty(t, a.Estimates)
		return a.Estimates
	}
	stated := func(key string, v float64) map[string]any {
		a := map[string]any{"speed_mps": .3, "clearance_m": .05, "pilot_m": .02, "pitch_deg": .5}
		if key != "" {
			a[key] = v
		}
		return map[string]any{"log_accuracy": a}
	}
	usual := fit(map[string]any{})
	assert.Equal(t, usual, fit(stated("", 0)))
	for _, c := range []struct {
		key, name string
		v, most   float64
	}{{"speed_mps", "speed", .9, 10}, {"clearance_m", "clearance", .2, 2}, {"pilot_m", "pilot's position", .06, 2}, {"pitch_deg", "pitch", 2, 10}} {
		if c.key != "pitch_deg" { // of which the log may have none
			assert.NotEqual(t, usual, fit(stated(c.key, c.v)), c.key)
		}
		for _, v := range []float64{0, -1, .0009, c.most * 1.001} {
			ps := refused(t, d, ask(stated(c.key, v)))
			assert.Equal(t, "log_accuracy."+c.key, ps[0].Path)
			assert.Contains(t, ps[0].Text, "the accuracy of the "+c.name)
		}
	}
}
