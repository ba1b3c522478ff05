package lake

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/testdata/readme"
)

// TestReadmeTellsWhatTheLakesChecksPrint holds README's table of the lake's checks to what
// they print, digit for digit.
func TestReadmeTellsWhatTheLakesChecksPrint(t *testing.T) {
	printed := readme.Printed(t, "Published|^TestFitCoverage$")
	rows := readme.Table(t, "check of the lake's part")
	for _, c := range []struct{ row, line, cell string }{
		{"least squares, a straight line", `check NIST Norris: .*?difference (\S+) of`, "$1 of an estimate or a standard error"},
		{"least squares, seven parameters, ill-conditioned", `check NIST Longley: .*?difference (\S+) of an estimate, (\S+) of`, "$1 of an estimate, $2 of a standard error"},
		{"a straight line, both coordinates uncertain", `check Pearson.*?difference (\S+) of an estimate, (\S+) of`, "$1 of an estimate, $2 of a standard error"},
		{"95 % intervals of invented logs with known truth", `check coverage, factor and offset: of (\d+) logs.*?hold lift factor (\d+) of \d+, offset (\d+) of`,
			"of $1 they hold the lift factor in $2, the offset in $3"},
		{"the same, the offset growing with clearance", `check coverage, growth: of (\d+) logs.*?hold lift factor (\d+) of \d+, offset (\d+) of \d+, growth (\d+) of`,
			"of $1 they hold the lift factor in $2, the offset in $3, its growth in $4"},
		{"uniform rod as a pendulum", `check pendulum: .*?gyration (\S+)`, "$1 of the radius of gyration"},
		{"Froude's rule", `check Froude: largest difference (\S+)`, "$1"},
	} {
		t.Run(c.row, func(t *testing.T) {
			line := regexp.MustCompile(c.line)
			at := line.FindStringSubmatchIndex(printed)
			require.NotNil(t, at, "no check prints %s in\n%s", c.line, printed)
			require.Contains(t, rows, c.row, "README has no such row")
			assert.Equal(t, string(line.ExpandString(nil, c.cell, printed, at)), rows[c.row][1])
			delete(rows, c.row)
		})
	}
	assert.Empty(t, rows, "rows that no check prints")
}
