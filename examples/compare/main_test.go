package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/command/commandtest"
	"example.org/groundeffect/gecp"
)

const crafts = "../../gecp/crafts/"

func compare(t *testing.T, args ...string) string {
	t.Helper()
	return commandtest.Output(t, program, args...)
}

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the comparison")
	tandem := crafts + "reedling-tandem.json"
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"one.json"}, Code: command.Misused, Says: `one file is given, "one.json"; give 2 craft files, or none`},
		{Args: []string{tandem, tandem, tandem}, Code: command.Misused, Says: "3 files are given; give 2 craft files, or none"},
		{Args: []string{tandem, "-us"}, Code: command.Misused, Says: "one file is given"},
		{Args: []string{"no-file", "no-other"}, Code: command.Failed, Says: "no-file"},
		{Args: []string{tandem, ""}, Code: command.Failed, Says: "no such file"},
		{Args: []string{"-speed", "500"}, Code: command.Misused, Says: "between 0.1 and 100"},
		{Args: []string{"-speed", "0"}, Code: command.Misused, Says: "between 0.1 and 100"},
		{Args: []string{"-craft", tandem}, Code: command.Misused, Says: "name the two craft files without a flag: compare A.json B.json"},
	})
}

func TestStatedVariation(t *testing.T) {
	s := compare(t)
	assert.Contains(t, s, "wings[1].incidence_deg: 2, then 3")
	assert.NotContains(t, s, "wings[0]")
	assert.True(t, strings.HasSuffix(s, gecp.Cautions+"\n"))
	for _, what := range []string{"lift-off speed", "speed window", "pilot's travel", "self-holding ceiling", "ceiling of the pilot's reach", "let-go height", "line tension"} {
		assert.GreaterOrEqual(t, strings.Count(s, what), 2, "%s in the table and in a sentence", what)
	}
	// The demo shows the danger, and reads as it should.
	assert.Contains(t, s, "The let-go height: do not fly, for both.")
	assert.Contains(t, s, "A at this speed: Do not fly: no one can react in time")
	assert.Contains(t, s, "A, pilot forward: with the pilot at 1.05 m it flies from")
}

func TestTwoFiles(t *testing.T) {
	s := compare(t, crafts+"reedling-tandem.json", "-us", crafts+"water-rail-canard.json")
	assert.Contains(t, s, `name: "Reedling", then "Water Rail"`)
	assert.Contains(t, s, "wings[1].stations[2].chord_m: absent, then 1.5")
	same := compare(t, crafts+"reedling-tandem.json", crafts+"reedling-tandem.json")
	assert.Contains(t, same, "  nothing\n")
	assert.NotContains(t, same, "rises from")
	assert.NotContains(t, same, "falls from")
	assert.Contains(t, compare(t, "-speed", "5"), "A at this speed: Do not fly: too slow")
	towed := compare(t, "-speed", "17", crafts+"teal-tandem.json", crafts+"reedling-tandem.json")
	assert.Contains(t, towed, "A at this speed: Tow it between")
	assert.Contains(t, towed, "The let-go height was: ")
}
