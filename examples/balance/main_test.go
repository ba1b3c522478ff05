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

func balance(t *testing.T, args ...string) string {
	t.Helper()
	return commandtest.Output(t, program, args...)
}

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the balance")
	commandtest.TakesACraft(t, program)
	commandtest.Draws(t, program, "-svg", "-speeds", "14")
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-speeds", "13,x"}, Code: command.Misused, Says: `"x" is not a number`},
		{Args: []string{"-speeds", ""}, Code: command.Misused, Says: "a number is missing"},
		{Args: []string{"-speeds", "0"}, Code: command.Failed, Says: "speed is 0 m/s"},
		{Args: []string{"-pilot", "NaN"}, Code: command.Misused, Says: "is not a number"},
	})
}

func TestReport(t *testing.T) {
	out := balance(t)
	for _, has := range []string{
		"Reedling: where the pilot has to be, m aft of the datum; the craft gives 1.05 to 1.65",
		"Speed window: with the pilot at 1.35 m it lifts off at", "holds no height from",
		"54.0 km/h: Do not fly: no one can react in time", "at 0.15 m a float still lies in the water",
		"with the pilot at 1.35 m the nose rises: ", "too far aft", "the nose sinks: ",
	} {
		assert.Contains(t, out, has)
	}
	assert.True(t, strings.HasSuffix(out, gecp.Cautions+"\n"))
}

// Each position asked for has its speed window and its words at each height.
func TestPositions(t *testing.T) {
	out := balance(t, "-pilot", "1.2,1.5", "-speeds", "14")
	for _, at := range []string{"1.20 m", "1.50 m"} {
		assert.Equal(t, 1, strings.Count(out, "Speed window: with the pilot at "+at))
		assert.GreaterOrEqual(t, strings.Count(out, "with the pilot at "+at+" the nose "), 3)
	}
	out = balance(t, "-us", "-pilot", "1.5", "-speeds", "14")
	assert.Contains(t, out, "31.3 mph")
	assert.Contains(t, out, "with the pilot at 59.1 in the nose rises")
}

func TestOthers(t *testing.T) {
	good := balance(t, "-craft", "../../gecp/crafts/teal-tandem.json", "-speeds", "17")
	assert.Contains(t, good, "61.2 km/h: Tow it between")
	assert.Contains(t, good, "The line, 30 m of 45 g/m (that of a laid polypropylene rope of 10 mm; the craft file tells none), pulls the craft with ")
	out := balance(t, "-speeds", "5,60")
	assert.Contains(t, out, "18.0 km/h: Do not fly: too slow")
	assert.Contains(t, out, "216.0 km/h: Do not fly: it holds a height by itself only with the pilot ")
	assert.Contains(t, out, " further forward than the craft lets them")

	write := func(change func(*gecp.Craft)) string {
		c := gecp.Demo()
		change(c)
		var b bytes.Buffer
		require.NoError(t, c.Write(&b))
		name := filepath.Join(t.TempDir(), "craft.json")
		require.NoError(t, os.WriteFile(name, b.Bytes(), 0o600))
		return name
	}
	heavy := write(func(c *gecp.Craft) { c.Weights[2].Mass = 900 })
	commandtest.Refuses(t, program, []commandtest.Mistake{{Args: []string{"-craft", heavy}, Code: command.Failed, Says: "give -speeds, for with the pilot at 1.35 m it does not lift off"}})
	name := write(func(c *gecp.Craft) { c.Floats = nil })
	assert.NotContains(t, balance(t, "-craft", name, "-speeds", "14"), "Speed window")
	commandtest.Refuses(t, program, []commandtest.Mistake{{Args: []string{"-craft", name}, Code: command.Failed, Says: "give -speeds, for the lift-off is not known"}})
}

func TestPicture(t *testing.T) {
	name := filepath.Join(t.TempDir(), "b.svg")
	balance(t, "-speeds", "14,15", "-svg", name)
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	for _, has := range []string{"pilot&#39;s travel", "50.4 km/h", "54.0 km/h", "clearance under the wings, m"} {
		assert.Contains(t, string(b), has)
	}
	assert.NotContains(t, string(b), "NaN")
}

// What rests on a correction says so, in the report and in the picture.
func TestCorrected(t *testing.T) {
	dir := t.TempDir()
	craft := gecp.Demo()
	craft.Correction = &gecp.Correction{LiftFactor: .95, CPOffset: .02, Runs: 14, On: true}
	var b bytes.Buffer
	require.NoError(t, craft.Write(&b))
	file, name := filepath.Join(dir, "craft.json"), filepath.Join(dir, "picture.svg")
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	out := commandtest.Output(t, program, "-craft", file, "-speeds", "14", "-svg", name)
	assert.Contains(t, out, "The wings' loads are corrected by 14 runs.")
	drawn, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Contains(t, string(drawn), "corrected by 14 runs.")
}
