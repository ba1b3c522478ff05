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

// few builds of which little is unknown, on a coarse mesh: quick.
var few = []string{"-craft", commandtest.Teal, "-builds", "2", "-mesh", "2x4", "-position", "0", "-twist", "0", "-incidence", "0"}

func with(args ...string) []string { return append(append([]string{}, few...), args...) }

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the look at builds")
	commandtest.TakesACraft(t, program)
	commandtest.Draws(t, program, "-svg", few[2:]...)
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-builds", "0"}, Code: command.Misused, Says: "give a number between 1 and 100000"},
		{Args: []string{"-halves", "2"}, Code: command.Misused, Says: "give a number between 0 and 1"},
		{Args: []string{"-incidence", "half"}, Code: command.Misused, Says: `"half" is not a number`},
		{Args: []string{"-seed", "-1"}, Code: command.Misused, Says: "give a number between 0 and"},
	})
}

func TestReport(t *testing.T) {
	out := commandtest.Output(t, program, with("-incidence", "0.5")...)
	for _, has := range []string{
		"Teal, built 2 times, at 57.0 km/h", "Of 100 such builds ", "height to let go", "97.5 of 100 below",
		"incidence 0.5 degrees and twist 0 degrees of each half wing", "2 builds solved in full differ by up to", "leap and balance",
	} {
		assert.Contains(t, out, has)
	}
	assert.True(t, strings.HasSuffix(out, gecp.Cautions+"\n"))
	assert.Equal(t, out, commandtest.Output(t, program, with("-incidence", "0.5", "-seed", "1")...), "the same seed, the same answer")
	assert.NotEqual(t, out, commandtest.Output(t, program, with("-incidence", "0.5", "-seed", "2")...))
	out = commandtest.Output(t, program, with("-us")...)
	assert.Contains(t, out, "35.4 mph")
	assert.Contains(t, out, " in ")
}

func TestCSV(t *testing.T) {
	name := filepath.Join(t.TempDir(), "spread.csv")
	commandtest.Output(t, program, with("-csv", name)...)
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.True(t, bytes.HasPrefix(b, []byte("quantity,unit,p2.5,p50,p97.5,share_none\nlet_go,m,")))
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 8)
	for _, r := range rows[1:] {
		share, err := strconv.ParseFloat(r[5], 64)
		require.NoError(t, err)
		assert.Equal(t, share == 1, r[3] == "", "%v", r)
	}
	code, _, errs := commandtest.Call(t, program, with("-csv", name)...)
	assert.Equal(t, command.Failed, code)
	assert.Contains(t, errs, "exists; give -f to replace it")
}

func TestPicture(t *testing.T) {
	name := filepath.Join(t.TempDir(), "b.svg")
	commandtest.Output(t, program, with("-svg", name, "-speed", "16")...)
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	for _, has := range []string{"pilot&#39;s travel", "95 of 100 builds", "half of them", "let go, one of 40: ", `fill-opacity="0.16"`} {
		assert.Contains(t, string(b), has)
	}
	assert.NotContains(t, string(b), "NaN")
}

// What rests on a correction says so.
func TestCorrected(t *testing.T) {
	craft, err := gecp.ReadFile(commandtest.Teal)
	require.NoError(t, err)
	craft.Correction = &gecp.Correction{LiftFactor: .95, Runs: 14, On: true}
	var b bytes.Buffer
	require.NoError(t, craft.Write(&b))
	file := filepath.Join(t.TempDir(), "craft.json")
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	assert.Contains(t, commandtest.Output(t, program, with("-craft", file)...), "The wings' loads are corrected by 14 runs.")
}
