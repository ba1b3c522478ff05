package main

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/command/commandtest"
	"example.org/groundeffect/gecp"
)

// fed returns the program with an input.
func fed(in string) commandtest.New {
	return func() (*command.Program, func(ctx context.Context, out io.Writer) error) {
		p, work := program()
		p.In = strings.NewReader(in)
		return p, work
	}
}

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, fed("wrong\n"), "the study")
	commandtest.Refuses(t, fed(""), []commandtest.Mistake{
		{Args: []string{"-from", "0"}, Code: command.Misused, Says: "give a number between 1 and"},
		{Args: []string{"-speed", "fast"}, Code: command.Misused, Says: `"fast" is not a number`},
		{Args: []string{"craft.json"}, Code: command.Misused, Says: "is not understood"},
	})
	_, out, _ := commandtest.Call(t, fed(""), "-h")
	assert.Contains(t, out, gecp.Cautions)
}

func TestAnswers(t *testing.T) {
	in := `{"base": "../../gecp/crafts/teal-tandem.json", "set": {"wings[1].x_m": 4.4}}` + "\nwrong\n"
	code, out, errs := commandtest.Call(t, fed(in), "-mesh", "2x4", "-speed", "17")
	assert.Equal(t, command.Done, code)
	assert.Empty(t, errs)
	lines := strings.Split(out, "\n")
	assert.Len(t, lines, 3)
	assert.True(t, strings.HasPrefix(lines[0], `{"name":"Teal","travel_m":`))
	assert.True(t, strings.HasPrefix(lines[1], `{"error":`))
	code, again, _ := commandtest.Call(t, fed(in), "-mesh", "2x4", "-speed", "17", "-from", "2", "-count", "1")
	assert.Equal(t, command.Done, code)
	assert.Equal(t, lines[1]+"\n", again)
}

// Answers go out while more lines are awaited.
func TestStreams(t *testing.T) {
	in, feed := io.Pipe()
	out, answers := io.Pipe()
	done := make(chan int, 1)
	go func() {
		p, work := program()
		p.In = in
		var errs bytes.Buffer
		done <- p.Run(t.Context(), nil, answers, &errs, work)
	}()
	first := make([]byte, 9)
	_, err := feed.Write([]byte("wrong\nmore"))
	assert.NoError(t, err)
	_, err = io.ReadFull(out, first)
	assert.NoError(t, err)
	assert.Equal(t, `{"error":`, string(first))
	go io.Copy(io.Discard, out)
	feed.Close()
	assert.Equal(t, command.Done, <-done)
}
