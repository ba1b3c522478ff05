package main

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/examples/internal/command/commandtest"
	"example.org/groundeffect/testdata/readme"
)

// README shows what the program prints of the demo craft.
func TestReadmeShowsTheDemo(t *testing.T) {
	if os.Getenv("CI") != "true" {
		t.Skip("builds the demo's map: CI=true go test does")
	}
	_, section, ok := strings.Cut(readme.Text(t), "## When a wing drops\n")
	require.True(t, ok)
	section, _, _ = strings.Cut(section, "\n## ")
	_, table, ok := strings.Cut(section, "```\n")
	require.True(t, ok)
	table, rest, _ := strings.Cut(table, "```")
	out := commandtest.Output(t, program, "-clearances", "0.15,0.2,0.3,0.5,1")
	var printed []string
	for _, line := range strings.Split(out, "\n") {
		printed = append(printed, strings.TrimRight(line, " "))
	}
	lines := strings.Split(strings.TrimSpace(table), "\n")
	require.Len(t, lines, 7)
	for _, line := range lines {
		assert.Contains(t, strings.Join(printed, "\n"), strings.TrimSpace(line))
	}
	_, verdict, _ := strings.Cut(rest, `sums it up: "`)
	verdict, _, _ = strings.Cut(verdict, `"`)
	assert.Contains(t, out, verdict)
	assert.Greater(t, len(verdict), 40)
}
