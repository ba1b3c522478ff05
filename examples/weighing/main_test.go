package main

import (
	"encoding/csv"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/command/commandtest"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/lake"
)

var readings = []string{"-scales", "0.40:34.5,4.40:36.1", "-raised", "0.40:32.6,4.40:38.0", "-angle", "15", "-swing", "36", "-pivot", "2.2"}

func TestCommandLine(t *testing.T) {
	commandtest.TakesACraft(t, program)
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: nil, Code: command.Failed, Says: "no scales are given; put places and readings behind -scales"},
		{Args: []string{"-scales", "0.4:x,4:1"}, Code: command.Failed, Says: `-scales: "x" of scale 1 is not a number`},
		{Args: []string{"-scales", "0.4:38,4:31", "-raised", "1"}, Code: command.Failed, Says: `-raised: scale 1 is "1"`},
		{Args: []string{"-scales", "0.4:38"}, Code: command.Failed, Says: "stands on 1 scales; give 2 to 12"},
		{Args: []string{"-scales", "0.4:38,4:31", "-swing", "30"}, Code: command.Failed, Says: "weigh the craft with its nose raised too"},
		{Args: []string{"-scales", "0.4:38,4:31", "-scale-accuracy", "0"}, Code: command.Misused, Says: "between 0.001 and 50"},
		{Args: []string{"-scales", "0.4:38,4:31", "-density", "0"}, Code: command.Misused, Says: "between 0.1 and 10"},
	})
}

func TestReport(t *testing.T) {
	out := commandtest.Output(t, program, readings...)
	for _, says := range []string{
		"Reedling without its pilot, as weighed", "70.6 kg", "+0.6 kg", "more than the readings can be off",
		"For the same centre of gravity in flight the pilot sits", "is taken off", "1. Nobody sits on the craft", "5. Read everything twice", gecp.Cautions,
	} {
		assert.Contains(t, out, says)
	}
	us := commandtest.Output(t, program, append([]string{"-us"}, readings...)...)
	assert.Contains(t, us, "155.6 lb")
	assert.NotContains(t, us, " kg ")
}

func TestCSVAndFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "weighed.json")
	out := commandtest.Output(t, program, append([]string{"-csv", "-o", name}, readings...)...)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	assert.Equal(t, []string{"quantity", "weighed", "standard_uncertainty", "file", "unit"}, rows[0])
	c, err := gecp.ReadFile(name)
	require.NoError(t, err)
	sum, ok := lake.Sum(c)
	require.True(t, ok)
	for i, want := range []float64{sum.Mass, sum.X, sum.Z, sum.Radius()} {
		got, err := strconv.ParseFloat(rows[i+1][1], 64)
		require.NoError(t, err)
		assert.InEpsilon(t, want, got, 1e-6, rows[i+1][0])
	}

	less := commandtest.Output(t, program, "-csv", "-scales", "0.40:34.5,4.40:36.1")
	assert.Contains(t, less, "radius_of_gyration,,,1.6")
	own := filepath.Join(t.TempDir(), "absurd.json")
	code, _, errs := commandtest.Call(t, program, "-scales", "0.40:4000,4.40:4500", "-o", own)
	assert.Equal(t, command.Failed, code)
	assert.Contains(t, errs, "is not written, no craft can weigh this")
	assert.NoFileExists(t, own)
}
