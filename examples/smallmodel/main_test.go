package main

import (
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

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the small model")
	commandtest.TakesACraft(t, program)
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-scale", "4"}, Code: command.Misused, Says: "between 0.05 and 1"},
		{Args: []string{"-scale", "NaN"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-o", "main.go"}, Code: command.Failed, Says: "main.go exists; give -f to replace it"},
	})
}

func TestReportAndFiles(t *testing.T) {
	dir := t.TempDir()
	name, sheet, card := filepath.Join(dir, "model.json"), filepath.Join(dir, "sheet.html"), filepath.Join(dir, "card.html")
	out := commandtest.Output(t, program, "-craft", "../../gecp/crafts/teal-tandem.json", "-scale", "0.2", "-o", name, "-sheet", sheet, "-card", card)
	for _, says := range []string{"Small model of Teal at 0.2 of its size", "From the model to the craft", "What does not scale", "Tow card of Teal, model at 0.2", "Tow it between 0."} {
		assert.Contains(t, out, says)
	}
	assert.Equal(t, 2, strings.Count(strings.Join(strings.Fields(out), " "), gecp.Cautions), "both sheets carry them")
	c, err := gecp.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, "Teal, model at 0.2", c.Name)
	for file, says := range map[string]string{sheet: "What a result on the model says", card: "Let go above"} {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.Contains(t, string(text), says)
		assert.Contains(t, string(text), gecp.Cautions)
	}
}
