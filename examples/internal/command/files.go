package command

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Outputs are the files that a program writes.
type Outputs struct {
	p     *Program
	force *bool
}

// Outputs defines -f, which lets the files that a program writes replace others.
func (p *Program) Outputs() Outputs {
	return Outputs{p, p.Flags.Bool("f", false, "replace files that exist")}
}

// Draw writes a picture, unless the name is empty. A picture that draw cannot make is
// a warning; a file that cannot be written is an error.
func (o Outputs) Draw(name string, draw func(w io.Writer) error) error {
	if name == "" {
		return nil
	}
	var b bytes.Buffer
	if err := draw(&b); err != nil {
		o.p.Warn(fmt.Errorf("%s is not drawn: %w", name, err))
		return nil
	}
	if err := o.put(name, b.Bytes()); err != nil {
		return fmt.Errorf("the table stands, the picture does not: %w", err)
	}
	return nil
}

// Write writes a file whose text comes from write.
func (o Outputs) Write(name string, write func(w io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	return o.put(name, b.Bytes())
}

// Check returns an error if a file must not be written: it is one that the program has
// read or written, it is none of the ordinary kind, or it exists and -f is not given.
func (o Outputs) Check(name string) error {
	info, err := os.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	}
	if to, err := os.Stat(name); err == nil {
		for _, u := range o.p.used {
			if used, err := os.Stat(u); err == nil && os.SameFile(to, used) {
				return fmt.Errorf("%s is a file that was just read or written; write to another name", name)
			}
		}
	}
	switch {
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s exists and is no ordinary file; write to another name", name)
	case !*o.force:
		return fmt.Errorf("%s exists; give -f to replace it, or another name", name)
	}
	return nil
}

// put writes a file beside its name and then moves it there, so that nothing is left
// half written; nothing after the program was stopped.
func (o Outputs) put(name string, text []byte) (err error) {
	o.p.mu.Lock()
	defer o.p.mu.Unlock()
	if o.p.over {
		return context.Canceled
	}
	if err := o.Check(name); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".writing-*")
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", name, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if _, err := f.Write(text); err != nil {
		return err
	}
	if err := f.Chmod(0o644); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	o.p.used = append(o.p.used, name)
	return os.Rename(f.Name(), name)
}
