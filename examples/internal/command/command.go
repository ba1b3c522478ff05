// Package command is what the programs of this folder share: how they end, how they
// read their flags, show that they work, and write files.
package command

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"sync"
	"time"
)

// Exit codes of all programs.
const (
	Done        = 0
	Failed      = 1
	Misused     = 2
	Interrupted = 130 // as shells have it for Ctrl-C
)

// Program is one program. Define its flags, and then call Main or Run.
type Program struct {
	Flags *flag.FlagSet
	// Files is how many craft files may stand beside the flags, all or none of them; they
	// are then Given.
	Files int
	Given []string
	// Stream makes what work writes go out at once, for output without an end: what is
	// written then stands even if the work is stopped or fails.
	Stream bool
	// In is what the program reads beside files; New sets the process's standard input.
	In io.Reader

	answers, does string
	status        status
	mu            sync.Mutex // of what follows, and of a file on its way into place
	over          bool       // nothing more is written
	warnings      []string
	used          []string // files that were read or written: none is written over
}

// New returns a program by name, what it answers and what it does, as in "the sweep":
// that is what is given up when it is stopped.
func New(name, answers, does string) *Program {
	p := &Program{In: os.Stdin, Flags: flag.NewFlagSet(name, flag.ContinueOnError), answers: answers, does: does}
	p.Flags.SetOutput(io.Discard) // errors and usage are written here, once
	p.Flags.Usage = func() {}
	return p
}

// Main runs work with the process's arguments and ends the process. Ctrl-C stops it; a
// second one ends it at once.
func (p *Program) Main(work func(ctx context.Context, out io.Writer) error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	context.AfterFunc(ctx, stop)
	os.Exit(p.Run(ctx, os.Args[1:], os.Stdout, os.Stderr, work))
}

// Run parses the arguments, calls work, and returns the exit code. What work writes goes
// to out when it has ended, well or not, or at once with Stream; what went wrong goes to errOut, once. When the
// context is cancelled Run does not wait for work: it returns, and work writes nothing
// any more.
func (p *Program) Run(ctx context.Context, args []string, out, errOut io.Writer, work func(ctx context.Context, out io.Writer) error) int {
	switch err := p.parse(args); {
	case errors.Is(err, flag.ErrHelp):
		p.usage(out)
		return Done
	case err != nil:
		fmt.Fprintf(errOut, "%v\nThe flags: %s -h\n", err, p.Flags.Name())
		return Misused
	}
	hide := p.show(errOut)
	defer hide()
	stopped := func() int {
		hide()
		p.mu.Lock() // a file on its way gets there
		defer p.mu.Unlock()
		p.over = true
		fmt.Fprintf(errOut, "Stopped: %s was given up.\n", p.does)
		return Interrupted
	}
	var text bytes.Buffer
	done := make(chan error, 1)
	var to io.Writer = &text
	if p.Stream {
		to = stream{ctx, out}
	}
	go func() { done <- work(ctx, to) }()
	var err error
	select {
	case err = <-done:
	case <-ctx.Done():
	}
	if ctx.Err() != nil {
		return stopped()
	}
	hide()
	written := make(chan error, 1)
	go func() { _, err := text.WriteTo(out); written <- err }()
	select {
	case werr := <-written:
		err = errors.Join(werr, err)
	case <-ctx.Done(): // nobody reads
		return stopped()
	}
	for _, w := range p.warnings {
		fmt.Fprintln(errOut, w)
	}
	if err != nil {
		fmt.Fprintln(errOut, err)
		return Failed
	}
	return Done
}

// stream writes through until its context is cancelled.
type stream struct {
	ctx context.Context
	out io.Writer
}

func (s stream) Write(b []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.out.Write(b)
}

// parse reads flags, and files before, between or behind them.
func (p *Program) parse(args []string) error {
	for {
		if err := p.Flags.Parse(args); err != nil {
			return err
		}
		if p.Flags.NArg() == 0 {
			break
		}
		p.Given, args = append(p.Given, p.Flags.Arg(0)), p.Flags.Args()[1:]
	}
	switch n := len(p.Given); {
	case n == 0 || n == p.Files:
		return nil
	case p.Files == 0:
		return fmt.Errorf("%q is not understood; put a craft file behind -craft", p.Given[0])
	case n == 1:
		return fmt.Errorf("one file is given, %q; give %d craft files, or none", p.Given[0], p.Files)
	default:
		return fmt.Errorf("%d files are given; give %d craft files, or none", n, p.Files)
	}
}

func (p *Program) usage(out io.Writer) {
	fmt.Fprintf(out, "%s\n\nusage: %s [flags]", p.answers, p.Flags.Name())
	for i := range p.Files {
		fmt.Fprintf(out, " %c.json", 'A'+rune(i))
	}
	fmt.Fprintln(out)
	p.Flags.SetOutput(out)
	p.Flags.PrintDefaults()
	p.Flags.SetOutput(io.Discard)
}

// Warn tells on the error output, in the end, that something asked for beside the main
// output was left out.
func (p *Program) Warn(err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.warnings = append(p.warnings, err.Error())
}

// Stage says what work is at, for a terminal, and returns what tells how far it is, 0 to
// 1; without that a terminal shows only that it goes on.
func (p *Program) Stage(name string) func(part float64) {
	p.status.set(name, 0)
	return func(part float64) { p.status.set(name, part) }
}

// show shows on a terminal, but not in a pipe or a file, what work is at, from one second
// on, and returns what ends that.
func (p *Program) show(errOut io.Writer) (hide func()) {
	f, ok := errOut.(*os.File)
	if !ok {
		return func() {}
	}
	if info, err := f.Stat(); err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return func() {}
	}
	tick := time.NewTicker(time.Second / 4)
	stop, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		p.status.show(f, tick.C, stop)
	}()
	return sync.OnceFunc(func() {
		tick.Stop()
		close(stop)
		<-ended
	})
}
