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

// file writes a file and returns its name.
func file(t *testing.T, name, text string) string {
	t.Helper()
	name = filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	return name
}

// firstRuns returns the first runs of the invented log.
func firstRuns(n int) string {
	return strings.Join(strings.SplitAfter(string(demoLog), "\n")[:n+1], "")
}

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the log's fit")
	commandtest.TakesACraft(t, program)
	commandtest.Draws(t, program, "-svg", "-csv", "-runs", file(t, "runs.csv", string(demoLog)))
	broken := file(t, "broken.csv", "speed_kmh,clearance_m,pilot_m\nfast,0.2,1\n50,,1\n")
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: nil, Code: command.Failed, Says: "no log is given; put one behind -runs, or give -demo"},
		{Args: []string{"-demo", "-runs", broken}, Code: command.Failed, Says: "give one of them"},
		{Args: []string{"-runs", "nowhere.csv"}, Code: command.Failed, Says: "nowhere.csv"},
		{Args: []string{"-runs", broken}, Code: command.Failed, Says: "line 2, column 1: speed_kmh is \"fast\""},
		{Args: []string{"-runs", broken}, Code: command.Failed, Says: "line 3, column 2: clearance_m is empty"},
		{Args: []string{"-demo", "-pitch-accuracy", "0"}, Code: command.Misused, Says: "between 0.001 and 10"},
		{Args: []string{"-demo", "-speed-accuracy", "x"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-demo", "-clearance-accuracy", "-1"}, Code: command.Misused, Says: "between 0.001 and 2"},
		{Args: []string{"-demo", "-pilot-accuracy", "3"}, Code: command.Misused, Says: "between 0.001 and 2"},
	})
}

// The invented log gives back what it was made with, and names its slip.
func TestDemo(t *testing.T) {
	for line := range strings.Lines(strings.TrimSpace(string(demoLog))) {
		assert.True(t, strings.HasSuffix(strings.TrimSpace(line), "note") || strings.Contains(line, "invented"), line)
	}
	if os.Getenv("CI") == "true" { // two tow cards take half a minute
		tellsOfTheDemo(t)
	}
	rows, err := csv.NewReader(strings.NewReader(commandtest.Output(t, program, "-demo", "-csv", "-mesh", "3x6"))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 3)
	assert.Equal(t, []string{"parameter", "estimate", "low", "high", "unit"}, rows[0])
	for i, want := range []struct {
		name  string
		truth float64
		unit  string
	}{{"lift_factor", .94, "1"}, {"cp_offset_m", .05, "m"}} {
		row := rows[i+1]
		assert.Equal(t, want.name, row[0])
		assert.Equal(t, want.unit, row[4])
		var v [3]float64
		for j := range v {
			v[j], err = strconv.ParseFloat(row[j+1], 64)
			require.NoError(t, err)
		}
		assert.True(t, v[1] <= want.truth && want.truth <= v[2], row)
		assert.InDelta(t, v[0]-v[1], v[2]-v[0], 1e-12)
	}
}

// tellsOfTheDemo looks at all that is said of the invented log.
func tellsOfTheDemo(t *testing.T) {
	out := commandtest.Output(t, program, "-demo", "-mesh", "3x6")
	for _, says := range []string{
		"Log of 16 runs of Teal", `The column "wind" is not known; it is kept and not used.`,
		"95 % interval", "growth of that offset with clearance: cannot be told from these runs", "fly runs at clearances further apart",
		"28 degrees of freedom", "Correlation of lift factor and offset", "The runs ask for a correction",
		"line 12: it does not agree with the others", "What changes on the tow card, corrected by 15 runs", "let-go height at 65 km/h: 0.", " in place of 0.", gecp.Cautions,
	} {
		assert.Contains(t, out, says)
	}
	assert.True(t, strings.HasPrefix(out, "Do not go by the old card. With the correction the neutral points change their order"), "the warning stands first")
}

func TestWrittenCraft(t *testing.T) {
	runs := file(t, "runs.csv", string(demoLog))
	name := filepath.Join(t.TempDir(), "corrected.json")
	out := commandtest.Output(t, program, "-craft", commandtest.Teal, "-mesh", "2x4", "-runs", runs, "-o", name, "-csv")
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	c, err := gecp.ReadFile(name)
	require.NoError(t, err)
	require.NotNil(t, c.Correction)
	assert.Equal(t, rows[1][1], strconv.FormatFloat(c.Correction.LiftFactor, 'g', -1, 64))
	assert.Equal(t, 15, c.Correction.Runs)
	assert.True(t, c.Correction.On)
	assert.Greater(t, c.Correction.CPOffsetError, 0.)
	before, err := gecp.ReadFile(commandtest.Teal)
	require.NoError(t, err)
	assert.Equal(t, before, c.Uncorrected(), "nothing else changes")

	// Held against the corrected craft the log fits, and asks for the same correction anew.
	again := commandtest.Output(t, program, "-craft", name, "-mesh", "2x4", "-runs", runs, "-csv")
	assert.Equal(t, out, again)
	few := file(t, "few.csv", firstRuns(3))
	assert.Contains(t, commandtest.Output(t, program, "-craft", name, "-mesh", "2x4", "-runs", few), "Log of 3 runs of Teal against the calculation, the wings' loads corrected by 15 runs")
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-craft", name, "-mesh", "2x4", "-runs", runs, "-o", name, "-csv"}, Code: command.Failed, Says: "write to another name"},
	})
}

// Of few runs there is the comparison alone.
func TestFewRuns(t *testing.T) {
	few := file(t, "few.csv", firstRuns(3))
	out := commandtest.Output(t, program, "-craft", commandtest.Teal, "-mesh", "2x4", "-runs", few)
	assert.Contains(t, out, "No fit: 3 runs of the log can be held against the calculation; a fit takes 5 or more.")
	assert.Regexp(t, `1\.\d\d +1\.\d\d +\+0\.\d\d`, out, "the log's position, the predicted one and the difference")
	us := commandtest.Output(t, program, "-craft", commandtest.Teal, "-mesh", "2x4", "-runs", few, "-us")
	assert.Contains(t, us, "mph")
	assert.NotContains(t, us, "km/h")
	assert.NotContains(t, out, "What changes")
	assert.Equal(t, "parameter,estimate,low,high,unit\n", commandtest.Output(t, program, "-craft", commandtest.Teal, "-mesh", "2x4", "-runs", few, "-csv"))
	name := filepath.Join(t.TempDir(), "corrected.json")
	code, _, errs := commandtest.Call(t, program, "-craft", commandtest.Teal, "-mesh", "2x4", "-runs", few, "-o", name)
	assert.Equal(t, command.Failed, code)
	assert.Contains(t, errs, "is not written: 3 runs of the log")
	assert.NoFileExists(t, name)
	svg := filepath.Join(t.TempDir(), "few.svg")
	code, _, errs = commandtest.Call(t, program, "-craft", commandtest.Teal, "-mesh", "2x4", "-runs", few, "-svg", svg)
	assert.Equal(t, command.Done, code)
	assert.Contains(t, errs, "few.svg is not drawn: 3 runs")
}

func TestPicture(t *testing.T) {
	name := filepath.Join(t.TempDir(), "p.svg")
	commandtest.Output(t, program, "-demo", "-csv", "-mesh", "2x4", "-svg", name)
	drawn, err := os.ReadFile(name)
	require.NoError(t, err)
	for _, says := range []string{"log less prediction", "corrected by 15 runs", "not used", "two standard errors"} {
		assert.Contains(t, string(drawn), says)
	}
	assert.False(t, bytes.Contains(drawn, []byte("NaN")) || bytes.Contains(drawn, []byte("Inf")))
}
