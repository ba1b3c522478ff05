package command

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

type work = func(ctx context.Context, out io.Writer) error

// full is a disk without room.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

func TestHowAProgramEnds(t *testing.T) {
	cancelled, cancel := context.WithCancel(t.Context())
	cancel()
	ok := func(context.Context, io.Writer) error { return nil }
	for _, c := range []struct {
		name      string
		ctx       context.Context
		args      []string
		work      work
		code      int
		out, errs string // parts
	}{
		{"done", t.Context(), nil, ok, Done, "", ""},
		{"help", t.Context(), []string{"-h"}, ok, Done, "What acts where.\n\nusage: sweep [flags]", ""},
		{"unknown flag", t.Context(), []string{"-nope"}, ok, Misused, "", "flag provided but not defined: -nope\nThe flags: sweep -h\n"},
		{"stray argument", t.Context(), []string{"a.json"}, ok, Misused, "", `"a.json" is not understood`},
		{"stray argument before a flag", t.Context(), []string{"a.json", "-density", "1"}, ok, Misused, "", `"a.json" is not understood`},
		{"density 0", t.Context(), []string{"-density", "0"}, ok, Misused, "", "give a number between 0.1 and 10"},
		{"density NaN", t.Context(), []string{"-density", "NaN"}, ok, Misused, "", "is not a number"},
		{"clearances NaN", t.Context(), []string{"-clearances", "0.1,NaN"}, ok, Misused, "", `"NaN" is not a number`},
		{"clearances +Inf", t.Context(), []string{"-clearances", "+Inf"}, ok, Misused, "", `"+Inf" is not a number`},
		{"no clearances", t.Context(), []string{"-clearances", ""}, ok, Misused, "", "a number is missing"},
		{"a comma too many", t.Context(), []string{"-clearances", "0.1,"}, ok, Misused, "", "a number is missing"},
		{"no craft", t.Context(), []string{"-craft", ""}, ok, Misused, "", "it is empty"},
		{"bad mesh", t.Context(), []string{"-mesh", "4by8"}, ok, Misused, "", "no mesh"},
		{"failed", t.Context(), nil, func(context.Context, io.Writer) error { return errors.New("wing 1 is wet") }, Failed, "", "wing 1 is wet\n"},
		{"failed with output", t.Context(), nil, func(_ context.Context, out io.Writer) error {
			io.WriteString(out, "a table")
			return errors.New("no picture")
		}, Failed, "a table", "no picture\n"},
		{"stopped", cancelled, nil, func(ctx context.Context, out io.Writer) error {
			io.WriteString(out, "half a table")
			return ctx.Err()
		}, Interrupted, "", "Stopped: the sweep was given up.\n"},
		{"stopped, deaf", cancelled, nil, func(context.Context, io.Writer) error { select {} }, Interrupted, "", "Stopped: the sweep was given up.\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := New("sweep", "What acts where.", "the sweep")
			p.Craft()
			p.Density()
			p.Numbers("clearances", "heights")
			p.Mesh()
			var out, errs bytes.Buffer
			assert.Equal(t, c.code, p.Run(c.ctx, c.args, &out, &errs, c.work))
			assert.Contains(t, out.String(), c.out)
			assert.Equal(t, c.out == "", out.Len() == 0)
			assert.Contains(t, errs.String(), c.errs)
			if c.errs != "" {
				assert.Equal(t, 1, strings.Count(errs.String(), c.errs), "told once")
			} else {
				assert.Empty(t, errs.String())
			}
			assert.NotContains(t, errs.String(), "%!")
		})
	}
	var errs bytes.Buffer
	p := New("sweep", "", "the sweep")
	assert.Equal(t, Failed, p.Run(t.Context(), nil, full{}, &errs, func(_ context.Context, out io.Writer) error { _, err := io.WriteString(out, "x"); return err }))
	assert.Equal(t, "no space left\n", errs.String())
}

func TestArgumentsAreCounted(t *testing.T) {
	for args, want := range map[string]string{
		"":             "",
		"a b":          "",
		"a":            `one file is given, "a"; give 2 craft files, or none`,
		"a b c":        "3 files are given; give 2 craft files, or none",
		"-speed 3 a":   `one file is given, "a"`,
		"a -speed 3":   `one file is given, "a"`,
		"-speed 3 a b": "",
		"a -speed 3 b": "",
		"a b -speed 3": "",
	} {
		p := New("compare", "", "the comparison")
		p.Files = 2
		p.Number("speed", "speed", math.NaN(), 1, 100)
		var errs bytes.Buffer
		code := p.Run(t.Context(), strings.Fields(args), io.Discard, &errs, func(context.Context, io.Writer) error { return nil })
		if want == "" {
			assert.Equal(t, Done, code, args)
			assert.Empty(t, errs.String(), args)
		} else {
			assert.Equal(t, Misused, code, args)
			assert.Contains(t, errs.String(), want)
		}
	}
}

// asChild, in the environment, makes this test's program a child that works for ever.
const asChild = "COMMAND_TEST_CHILD"

// Ctrl-C ends a program whose work listens to nothing.
func TestCtrlC(t *testing.T) {
	if os.Getenv(asChild) != "" {
		os.Args = os.Args[:1]
		New("sweep", "", "the sweep").Main(func(context.Context, io.Writer) error {
			os.Stderr.WriteString("at work\n")
			select {}
		})
	}
	child := exec.Command(os.Args[0], "-test.run=^TestCtrlC$")
	child.Env = append(os.Environ(), asChild+"=1")
	stderr, err := child.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	lines := bufio.NewScanner(stderr)
	require.True(t, lines.Scan())
	assert.Equal(t, "at work", lines.Text())
	require.NoError(t, child.Process.Signal(os.Interrupt))
	require.True(t, lines.Scan())
	assert.Equal(t, "Stopped: the sweep was given up.", lines.Text())
	assert.False(t, lines.Scan(), "one line")
	var exit *exec.ExitError
	require.ErrorAs(t, child.Wait(), &exit)
	assert.Equal(t, Interrupted, exit.ExitCode())
}

func TestFilesAreMovedIntoPlace(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out.svg")
	write := func(text string, err error) func(io.Writer) error {
		return func(w io.Writer) error { io.WriteString(w, text); return err }
	}
	content := func() string { text, _ := os.ReadFile(name); return string(text) }
	fresh := func(force bool) Outputs {
		o := New("draw", "", "the drawing").Outputs()
		*o.force = force
		return o
	}
	require.NoError(t, fresh(false).Write(name, write("one", nil)))
	assert.ErrorContains(t, fresh(false).Write(name, write("two", nil)), "exists; give -f")
	assert.Equal(t, "one", content())
	assert.ErrorContains(t, fresh(true).Write(name, write("half", errors.New("broken"))), "broken")
	assert.Equal(t, "one", content(), "a failure leaves what was there")
	o := fresh(true)
	require.NoError(t, o.Write(name, write("two", nil)))
	assert.Equal(t, "two", content())
	assert.ErrorContains(t, o.Write(name, write("three", nil)), "just read or written", "two outputs in one file")
	assert.Equal(t, "two", content())

	other := filepath.Join(dir, "link.svg")
	require.NoError(t, os.Symlink(name, other))
	assert.ErrorContains(t, fresh(true).Write(other, write("through a link", nil)), "no ordinary file")
	require.NoError(t, os.Remove(other))
	assert.ErrorContains(t, fresh(true).Write(dir, write("", nil)), "no ordinary file")
	assert.Error(t, fresh(true).Write(filepath.Join(dir, "no", "such", "folder.svg"), write("", nil)))

	// The craft file itself is never written over, also under another path.
	craft := filepath.Join(dir, "craft.json")
	var b bytes.Buffer
	require.NoError(t, gecp.Demo().Write(&b))
	require.NoError(t, os.WriteFile(craft, b.Bytes(), 0o600))
	p := New("draw", "", "the drawing")
	o = p.Outputs()
	*o.force = true
	_, err := p.ReadCraft(craft)
	require.NoError(t, err)
	assert.ErrorContains(t, o.Write(filepath.Join(dir, ".", "craft.json"), write("gone", nil)), "just read or written")

	all, _ := os.ReadDir(dir)
	assert.Len(t, all, 2, "nothing is left beside them")
}

// What work does after the program was stopped leaves nothing behind.
func TestNothingIsWrittenOnceStopped(t *testing.T) {
	name := filepath.Join(t.TempDir(), "late.svg")
	p := New("draw", "", "the drawing")
	o := p.Outputs()
	ctx, cancel := context.WithCancel(t.Context())
	go_, late := make(chan struct{}), make(chan error)
	var out, errs bytes.Buffer
	code := p.Run(ctx, nil, &out, &errs, func(context.Context, io.Writer) error {
		go func() { <-go_; late <- o.Write(name, func(io.Writer) error { return nil }) }()
		cancel()
		select {}
	})
	assert.Equal(t, Interrupted, code)
	close(go_)
	assert.ErrorIs(t, <-late, context.Canceled)
	assert.NoFileExists(t, name)
}

// A picture that cannot be made is a warning, a file that cannot be written an error.
func TestDrawings(t *testing.T) {
	for _, c := range []struct {
		name string
		draw error
		code int
		errs string
	}{
		{"", errors.New("nothing to see"), Done, ""},
		{filepath.Join(t.TempDir(), "p.svg"), errors.New("nothing to see"), Done, "is not drawn: nothing to see\n"},
		{filepath.Join(t.TempDir(), "no", "p.svg"), nil, Failed, "the table stands, the picture does not: "},
	} {
		p := New("draw", "", "the drawing")
		o := p.Outputs()
		var out, errs bytes.Buffer
		code := p.Run(t.Context(), nil, &out, &errs, func(_ context.Context, out io.Writer) error {
			io.WriteString(out, "table")
			return o.Draw(c.name, func(io.Writer) error { return c.draw })
		})
		assert.Equal(t, c.code, code)
		assert.Equal(t, "table", out.String())
		assert.Contains(t, errs.String(), c.errs)
		assert.LessOrEqual(t, strings.Count(errs.String(), "\n"), 1)
	}
}

func TestStatus(t *testing.T) {
	var s status
	s.set("fitting", 0)
	assert.Equal(t, "fitting ..", s.line(2))
	s.set("fitting", .5)
	assert.Equal(t, "fitting [============            ] 50 %", s.line(2))
	s.set("fitting", 1)
	assert.Equal(t, "fitting [========================] 100 %", s.line(2))
}

// What takes less than a second shows nothing; what was shown is cleared.
func TestStatusWaits(t *testing.T) {
	for _, c := range []struct{ ticks, shown int }{{0, 0}, {patience - 1, 0}, {patience, 1}, {patience + 2, 3}} {
		var s status
		s.set("fitting", .25)
		tick, stop, ended := make(chan time.Time), make(chan struct{}), make(chan struct{})
		var b bytes.Buffer
		go func() { defer close(ended); s.show(&b, tick, stop) }()
		for range c.ticks {
			tick <- time.Time{}
		}
		close(stop)
		<-ended
		assert.Equal(t, c.shown, strings.Count(b.String(), "25 %"))
		assert.Equal(t, c.shown > 0, strings.HasSuffix(b.String(), clear))
	}
}

// In a pipe and in a file no status is shown.
func TestNoStatusInAPipe(t *testing.T) {
	r, w, err := os.Pipe()
	require.NoError(t, err)
	p := New("x", "", "y")
	p.Stage("fitting")(.5)
	p.show(w)()
	require.NoError(t, w.Close())
	text, err := io.ReadAll(r)
	require.NoError(t, err)
	assert.Empty(t, text)
}
