// Package readme holds the figures of README.md to what the checks print.
package readme

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Printed runs the tests of the calling package whose names match a pattern once more and
// returns what they print.
func Printed(t *testing.T, pattern string) string {
	t.Helper()
	if os.Getenv("CI") != "true" {
		t.Skip("runs the checks once more: CI=true go test does")
	}
	self, err := os.Executable()
	require.NoError(t, err)
	out, err := exec.CommandContext(t.Context(), self, "-test.run", pattern, "-test.v").CombinedOutput()
	require.NoError(t, err, "%s", out)
	return string(out)
}

// Table returns the cells of README's table whose head begins with the words given, by
// the first cell of each row.
func Table(t *testing.T, head string) map[string][]string {
	t.Helper()
	lines := strings.Split(Text(t), "\n")
	rows := map[string][]string{}
	for i, line := range lines {
		if !strings.HasPrefix(line, "| "+head) {
			continue
		}
		for _, row := range lines[i+2:] { // past the line under the head
			if !strings.HasPrefix(row, "|") {
				break
			}
			cells := strings.Split(strings.Trim(row, "| "), " | ")
			rows[cells[0]] = cells[1:]
		}
		require.NotEmpty(t, rows)
		return rows
	}
	require.Failf(t, "README has no such table", "%s", head)
	return nil
}

// Text returns README.md of the module that holds the calling package.
func Text(t *testing.T) string {
	t.Helper()
	dir, err := os.Getwd()
	require.NoError(t, err)
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		require.NotEqual(t, dir, filepath.Dir(dir), "no go.mod above the package")
		dir = filepath.Dir(dir)
	}
	b, err := os.ReadFile(filepath.Join(dir, "README.md"))
	require.NoError(t, err)
	return string(b)
}
