package main

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/command/commandtest"
	"example.org/groundeffect/gecp"
)

// teal is Teal without floats.
func teal(t *testing.T) *gecp.Craft {
	t.Helper()
	craft, err := gecp.ReadFile(commandtest.Teal)
	require.NoError(t, err)
	craft.Floats = nil
	return craft
}

// quick is a craft without floats, and so without a window: quick.
func quick(t *testing.T) []string {
	t.Helper()
	return []string{"-craft", written(t, teal(t)), "-mesh", "2x4"}
}

func written(t *testing.T, craft *gecp.Craft) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, craft.Write(&b))
	file := filepath.Join(t.TempDir(), "craft.json")
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	return file
}

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the look at changes")
	commandtest.TakesACraft(t, program)
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-set", "wings[1].x_m"}, Code: command.Misused, Says: "it has no = between the dimension and its value"},
		{Args: []string{"-set", "wings[1].x_n=3"}, Code: command.Failed, Says: "the nearest are wings[1].x_m"},
		{Args: []string{"-set", "wings[1].incidence_deg=45"}, Code: command.Failed, Says: "incidence_deg is 45"},
		{Args: []string{"-least-window", "0"}, Code: command.Misused, Says: "give a number between 0.01 and 30"},
		{Args: []string{"-by", "beauty"}, Code: command.Failed, Says: "is no answer asked for; give one of travel, lowest,"},
		{Args: []string{"-by", "reaction"}, Code: command.Failed, Says: "the last with -reaction"},
	})
}

func TestReportAndCSV(t *testing.T) {
	name := filepath.Join(t.TempDir(), "changes.csv")
	bars := filepath.Join(t.TempDir(), "bars.svg")
	out := commandtest.Output(t, program, append(quick(t), "-csv", name, "-svg", bars)...)
	chart, err := os.ReadFile(bars)
	require.NoError(t, err)
	for _, has := range []string{"</svg>", "change of the height to let go with a step, mm", "wings[1].camber.height", "Blue raises it"} {
		assert.Contains(t, string(chart), has)
	}
	assert.NotContains(t, string(chart), "NaN")
	for _, has := range []string{
		"Teal at 57.0 km/h: what a step of each dimension does", "as it is", "wings[1].x_m", "Ranked by the height to let go",
		"Without pilot and floats there is no speed window", "or give -reaction", "* one way only",
	} {
		assert.Contains(t, out, has)
	}
	assert.True(t, strings.HasSuffix(out, gecp.Cautions+"\n"))
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.True(t, bytes.HasPrefix(b, []byte("dimension,step,unit,travel_m,let_go_m,self_holding_m,reach_m,lift_off_mps,window_mps,pull_N\nbase,0,,")))
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	require.NoError(t, err)
	found := map[string]bool{}
	for _, r := range rows[2:] {
		found[r[0]] = true
		step, err := strconv.ParseFloat(r[1], 64)
		require.NoError(t, err)
		assert.Positive(t, step)
		assert.NotEmpty(t, r[2])
		assert.Empty(t, r[8], "no window without floats")
		for _, v := range r[3:] {
			if v != "" {
				_, err := strconv.ParseFloat(v, 64)
				assert.NoError(t, err)
			}
		}
	}
	for _, path := range []string{"wings[0].span_m", "wings[1].incidence_deg", "pilot.x_m", "weights[2].mass_kg", "tow.line_m", "parasite_area_m2"} {
		assert.True(t, found[path], path)
	}
}

// One change in full, and all else of the craft so changed.
func TestSet(t *testing.T) {
	out := commandtest.Output(t, program, append(quick(t), "-set", "wings[1].incidence_deg=3", "-set", "wings[1].x_m=4.2", "-us")...)
	for _, has := range []string{
		"Teal at 35.4 mph, with wings[1].incidence_deg=3, wings[1].x_m=4.2", "difference", "As it is: ", "Changed: ", "All that follows is of the craft as changed", " in",
	} {
		assert.Contains(t, out, has)
	}
}

// What a craft lacks is named with what would give it.
func TestAdvice(t *testing.T) {
	craft := teal(t)
	craft.Pilot.XForward, craft.Pilot.XAft = craft.Pilot.XForward+.6, craft.Pilot.XAft+.6
	out := commandtest.Output(t, program, "-craft", written(t, craft), "-mesh", "2x4")
	for _, has := range []string{"Do not fly: ", "It has no height at which to tow it at 57.0 km/h.", "each solved in full:\n- "} {
		assert.Contains(t, out, has)
	}
}
