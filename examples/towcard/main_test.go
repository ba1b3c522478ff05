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
	"example.org/groundeffect/gecp/lake"
)

// teal is a craft that may be towed, at a few speeds, so that the test is quick.
var teal = []string{"-craft", commandtest.Teal, "-top", "16", "-mesh", "2x4"}

func call(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	return commandtest.Call(t, program, append(append([]string{}, teal...), args...)...)
}

// flat returns a text without its form, in one line.
func flat(s string) string {
	return strings.Join(strings.Fields(strings.NewReplacer("# ", "", "**", "", "&#39;", "'").Replace(s)), " ")
}

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the tow card")
	commandtest.TakesACraft(t, program)
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-format", "pdf"}, Code: command.Misused, Says: `the format "pdf" is not known; give text, markdown, csv or html`},
		{Args: []string{"-limit", "-1"}, Code: command.Misused, Says: "between 0.01 and 100"},
		{Args: []string{"-margin", "0"}, Code: command.Misused, Says: "between 0.001 and 10"},
		{Args: []string{"-reach-margin", "0"}, Code: command.Misused, Says: "between 0.001 and 10"},
		{Args: []string{"-top", "500"}, Code: command.Misused, Says: "between 3 and 100"},
		{Args: []string{"-craft", "main_test.go"}, Code: command.Failed, Says: "main_test.go:"},
	})
}

func TestForms(t *testing.T) {
	for form, end := range map[string]string{"text": gecp.Cautions, "markdown": gecp.Cautions, "csv": "", "html": gecp.Cautions + "</p> </main> </body> </html>"} {
		systems := [][]string{nil}
		if form == "text" {
			systems = append(systems, []string{"-us"}) // the library's tests have the other forms
		}
		for _, us := range systems {
			code, out, errs := commandtest.Call(t, program, append(us, "-format", form, "-mesh", "2x4")...)
			require.Equal(t, command.Done, code, errs)
			assert.Empty(t, errs)
			f := flat(out)
			assert.Contains(t, f, gecp.Cautions, form)
			assert.Contains(t, f, "Tow card of Reedling", form)
			assert.True(t, strings.HasSuffix(f, end), form)
			assert.Equal(t, form == "html", strings.Contains(f, "<svg"))
			for _, never := range []string{"NaN", "Inf", "%!", "<nil>"} {
				assert.NotContains(t, out, never)
			}
		}
	}
}

func TestACraftThatMayBeTowed(t *testing.T) {
	_, out, errs := call(t, "-format", "html")
	assert.Empty(t, errs)
	assert.Contains(t, flat(out), "Tow it between")
	assert.Contains(t, flat(out), "let go above 0.", "in the picture")
}

// The log sheet has the card's ladder, and as CSV it is a log.
func TestLogSheet(t *testing.T) {
	_, out, errs := call(t, "-top", "9", "-log")
	assert.Empty(t, errs)
	assert.Contains(t, out, "Log of runs of Teal")
	assert.Contains(t, flat(out), gecp.Cautions)
	_, page, _ := call(t, "-top", "9", "-log", "-format", "html", "-us")
	assert.Contains(t, page, "speed, mph")
	_, table, _ := call(t, "-top", "9", "-log", "-format", "csv")
	table = strings.Replace(table, ",,,,,,\n", ",0.2,1.4,3,200,15,calm\n", 1)
	l, err := lake.ReadLog(strings.NewReader(table))
	require.NoError(t, err, table)
	assert.Len(t, l.Runs, 1)
	code, _, errs := call(t, "-top", "9", "-log", "-format", "markdown")
	assert.Equal(t, command.Failed, code)
	assert.Contains(t, errs, "has no form markdown")
}

// The rules of the range are those of the flags.
func TestRules(t *testing.T) {
	_, out, _ := call(t, "-limit", "0.31", "-margin", "0.02", "-reach-margin", "0.03", "-reaction", "0.4")
	assert.Contains(t, flat(out), "holds by itself less 0.02 m, the end of the pilot's reach less 0.03 m, the height above which no one can react within 0.40 s")
	assert.Contains(t, flat(out), "your own limit of 0.31 m")
}

// The demo shows the danger: at no speed can anyone react in time.
func TestTheDemoIsNotOffered(t *testing.T) {
	out := flat(commandtest.Output(t, program, "-mesh", "3x6"))
	assert.Contains(t, out, "do not fly")
	assert.Contains(t, out, "no one can react in time")
	assert.NotContains(t, out, "Tow it between")
	_, page, _ := commandtest.Call(t, program, "-format", "html", "-mesh", "3x6")
	assert.Contains(t, flat(page), "Do not fly: no one can react in time.", "in the picture")
	assert.NotContains(t, flat(page), "let go above 0.")
}

func TestFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "card.html")
	code, out, errs := call(t, "-top", "9", "-format", "html", "-o", name)
	require.Equal(t, command.Done, code, errs)
	assert.Empty(t, out)
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Contains(t, string(text), "Tow card of Teal")
	code, out, errs = call(t, "-top", "9", "-o", name)
	assert.Equal(t, command.Failed, code)
	assert.Contains(t, errs, "exists; give -f")
	assert.Empty(t, out)
	code, _, errs = call(t, "-top", "9", "-f", "-o", name)
	assert.Equal(t, command.Done, code, errs)
	text, _ = os.ReadFile(name)
	assert.NotContains(t, string(text), "<html")

	craft, err := os.ReadFile(commandtest.Teal)
	require.NoError(t, err)
	own := filepath.Join(t.TempDir(), "craft.json")
	require.NoError(t, os.WriteFile(own, craft, 0o600))
	commandtest.Refuses(t, program, []commandtest.Mistake{{Args: []string{"-f", "-craft", own, "-o", own}, Code: command.Failed, Says: "a file that was just read or written"}})
	text, _ = os.ReadFile(own)
	assert.Equal(t, craft, text)
}
