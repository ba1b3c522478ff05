package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/command/commandtest"
	"example.org/groundeffect/gecp"
)

// quick is the smallest search there is.
var quick = []string{"-vary", "wings[1].incidence_deg=5..7", "-holding", "0.2", "-effort", "20", "-mesh", "2x4"}

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the search")
	commandtest.TakesACraft(t, program)
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-vary", "wings[1].x_m=3"}, Code: command.Misused, Says: "its bounds have no .. between them"},
		{Args: []string{"-vary", "wings[1].x=3..4"}, Code: command.Failed, Says: "wings[1].x is no dimension of the craft"},
		{Args: []string{"-goal", "fast"}, Code: command.Misused, Says: "give window, travel or let_go"},
		{Args: []string{"-effort", "5"}, Code: command.Failed, Says: "5 craft are to be looked at; give 20 to"},
		{Args: []string{"-craft", "../../gecp/crafts/coot-single.json"}, Code: command.Failed, Says: "has one wing; say with -vary what to change"},
	})
}

// The report, and the craft file that goes with it, which is replaced only with -f.
func TestReport(t *testing.T) {
	if os.Getenv("CI") == "" {
		t.Log("only where CI is set: it takes some seconds")
		return
	}
	name := filepath.Join(t.TempDir(), "better.json")
	with := append([]string{"-craft", commandtest.Teal, "-o", name}, quick...)
	out := commandtest.Output(t, program, with...)
	for _, has := range []string{
		"Teal improved: speed window", "craft looked at the best has a speed window of", "as in the file", "to build", "nine tenths kept",
		"wings[1].incidence_deg  6.00 deg", "it lifts off at 54.0 km/h or below", "weigh the craft that is built", "leap and balance",
	} {
		assert.Contains(t, out, has)
	}
	assert.True(t, strings.HasSuffix(out, gecp.Cautions+"\n"))
	c, err := gecp.ReadFile(name)
	require.NoError(t, err)
	changed, err := gecp.ReadFile(commandtest.Teal)
	require.NoError(t, err)
	changed.Wings[1].IncidenceDeg = c.Wings[1].IncidenceDeg
	assert.Equal(t, changed, c, "nothing but what was varied")
	code, _, errs := commandtest.Call(t, program, with...)
	assert.Equal(t, command.Failed, code)
	assert.Contains(t, errs, "exists; give -f to replace it")
}

func TestCorrected(t *testing.T) {
	if os.Getenv("CI") == "" {
		t.Log("only where CI is set: it takes some seconds")
		return
	}
	craft, err := gecp.ReadFile(commandtest.Teal)
	require.NoError(t, err)
	craft.Correction = &gecp.Correction{LiftFactor: .95, Runs: 14, On: true}
	var b bytes.Buffer
	require.NoError(t, craft.Write(&b))
	file := filepath.Join(t.TempDir(), "craft.json")
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	out := commandtest.Output(t, program, append([]string{"-craft", file, "-us"}, quick...)...)
	assert.Contains(t, out, "The wings' loads are corrected by 14 runs. The correction belongs to the wings that it was fitted to")
	assert.Contains(t, out, "mph")
}
