package design

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/testdata/readme"
)

// TestReadmeTellsWhatTheChecksPrint holds README's table of this package's checks to what they print.
func TestReadmeTellsWhatTheChecksPrint(t *testing.T) {
	printed := readme.Printed(t, "^TestPublished")
	rows := readme.Table(t, "check of the design part")
	for check, cells := range rows {
		for _, figure := range strings.Split(cells[1], ", ") {
			value, _, _ := strings.Cut(figure, " in the share of one")
			assert.Contains(t, printed, value, check)
		}
	}
	assert.Equal(t, len(rows), strings.Count(printed, "largest difference"), "one row a check")
}
