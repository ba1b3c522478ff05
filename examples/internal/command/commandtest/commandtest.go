// Package commandtest tests what all programs of the examples do alike.
package commandtest

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/examples/internal/command"
)

// New makes a program and its work, afresh for each run.
type New func() (*command.Program, func(ctx context.Context, out io.Writer) error)

// Call runs a program and returns its exit code and what it wrote.
func Call(t *testing.T, program New, args ...string) (code int, out, errs string) {
	t.Helper()
	return call(t.Context(), program, args...)
}

func call(ctx context.Context, program New, args ...string) (code int, out, errs string) {
	var o, e bytes.Buffer
	p, work := program()
	code = p.Run(ctx, args, &o, &e, work)
	return code, o.String(), e.String()
}

// Output runs a program that must do well, in silence beside its output, and returns
// that.
func Output(t *testing.T, program New, args ...string) string {
	t.Helper()
	code, out, errs := Call(t, program, args...)
	require.Equal(t, command.Done, code, errs)
	assert.Empty(t, errs, "nothing but the output in a pipe")
	for _, never := range []string{"NaN", "Inf", "%!", "{", "<nil>"} {
		assert.NotContains(t, out, never, "%v", args)
	}
	return out
}

// Mistake is a call that must be refused.
type Mistake struct {
	Args []string
	Code int
	Says string
}

// Refuses runs calls that must be refused, each with its reason, told once.
func Refuses(t *testing.T, program New, mistakes []Mistake) {
	t.Helper()
	for _, m := range mistakes {
		code, out, errs := Call(t, program, m.Args...)
		assert.Equal(t, m.Code, code, "%v", m.Args)
		assert.Equal(t, 1, strings.Count(errs, m.Says), "%q of %q is told once: %s", m.Says, m.Args, errs)
		assert.Empty(t, out, "%v", m.Args)
		assert.NotContains(t, errs, "%!", "%v", m.Args)
		assert.NotContains(t, errs, "usage", "%v", m.Args)
	}
}

// Behaves tests what all programs do alike. What one does is what it gives up.
func Behaves(t *testing.T, program New, does string) {
	t.Helper()
	for _, h := range []string{"-h", "-help", "--help"} {
		code, out, errs := Call(t, program, h)
		assert.Equal(t, command.Done, code, h)
		assert.Equal(t, 1, strings.Count(out, "usage: "), h)
		assert.Contains(t, out, "-density", h)
		assert.Empty(t, errs, h)
	}
	Refuses(t, program, []Mistake{
		{[]string{"-nope"}, command.Misused, "flag provided but not defined: -nope"},
		{[]string{"-density", "0"}, command.Misused, "give a number between 0.1 and 10"},
		{[]string{"-density", "NaN"}, command.Misused, "is not a number"},
		{[]string{"-density"}, command.Misused, "flag needs an argument"},
	})
	stopped, stop := context.WithCancel(t.Context())
	stop()
	code, out, errs := call(stopped, program)
	assert.Equal(t, command.Interrupted, code)
	assert.Equal(t, "Stopped: "+does+" was given up.\n", errs)
	assert.Empty(t, out)
}

// TakesACraft tests the flag -craft.
func TakesACraft(t *testing.T, program New) {
	t.Helper()
	empty := filepath.Join(t.TempDir(), "empty.json")
	require.NoError(t, os.WriteFile(empty, nil, 0o600))
	Refuses(t, program, []Mistake{
		{[]string{"-craft", ""}, command.Misused, "it is empty; give a craft file"},
		{[]string{"-craft", "nowhere.json"}, command.Failed, "nowhere.json"},
		{[]string{"-craft", empty}, command.Failed, "empty.json"},
		{[]string{"more.json"}, command.Misused, `"more.json" is not understood; put a craft file behind -craft`},
	})
}

// Teal is the file of a craft whose map takes the fewest solutions, as seen from a program's folder.
const Teal = "../../gecp/crafts/teal-tandem.json"

// Draws tests a flag that names a picture: the file is there once it is whole, replaced
// with -f only, never the craft file; and where it cannot be written the rest stands.
// The args, with -craft Teal, make a call that draws.
func Draws(t *testing.T, program New, flag string, args ...string) {
	t.Helper()
	dir := t.TempDir()
	name := filepath.Join(dir, "picture.svg")
	// It is about files here: a coarse mesh will do.
	if p, _ := program(); p.Flags.Lookup("mesh") != nil && !slices.Contains(args, "-mesh") {
		args = append([]string{"-mesh", "2x4"}, args...)
	}
	with := func(more ...string) []string { return append(append([]string{}, args...), more...) }
	craft, err := os.ReadFile(Teal)
	require.NoError(t, err)
	file := filepath.Join(dir, "craft.json")
	require.NoError(t, os.WriteFile(file, craft, 0o600))
	args = append([]string{"-craft", file}, args...)
	want := Output(t, program, with(flag, name)...)
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	require.Contains(t, string(text), "</svg>")
	require.NoError(t, os.WriteFile(name, []byte("mine"), 0o600))
	for says, more := range map[string][]string{
		"picture.svg exists; give -f to replace it":        {flag, name},
		"craft.json is a file that was just read":          {"-craft", file, "-f", flag, filepath.Join(dir, ".", "craft.json")},
		"no such file or directory":                        {flag, filepath.Join(dir, "none", "p.svg")},
		"exists and is no ordinary file; write to another": {"-f", flag, dir},
	} {
		code, out, errs := Call(t, program, with(more...)...)
		assert.Equal(t, command.Failed, code, says)
		assert.Equal(t, 1, strings.Count(errs, says), errs)
		assert.Contains(t, errs, "the table stands, the picture does not")
		assert.Equal(t, want, out, "the table stands")
	}
	text, _ = os.ReadFile(name)
	assert.Equal(t, "mine", string(text))
	text, _ = os.ReadFile(file)
	assert.Equal(t, craft, text)

	Output(t, program, with("-f", flag, name)...)
	text, _ = os.ReadFile(name)
	assert.Contains(t, string(text), "</svg>")
	left, _ := os.ReadDir(dir)
	assert.Len(t, left, 2, "nothing is left beside the files")
}
