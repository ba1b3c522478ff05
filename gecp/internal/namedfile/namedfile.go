// Package namedfile reads files by name.
package namedfile

import (
	"fmt"
	"io"
	"os"
)

// Read returns what read makes of the named file. An error of read is told under the
// file's name.
func Read[T any](name string, read func(io.Reader) (*T, error)) (*T, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	v, err := read(f)
	if err != nil {
		return nil, fmt.Errorf("%s:\n%w", name, err)
	}
	return v, nil
}
