package lake

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// The sheet has a line for each speed on the floats, two for each in flight, and none for
// the others.
func TestLogSheet(t *testing.T) {
	for _, c := range readyCards() {
		s := c.LogSheet()
		table := s.Parts[1]
		n := 0
		for _, r := range c.Rungs {
			if r.Range.OK || r.rests() {
				row := table.Rows[n]
				if n++; r.Range.OK {
					assert.Equal(t, row, table.Rows[n])
					n++
				}
				assert.Equal(t, c.Units.Speed().Number(r.Speed, units.Nearest), row[0], c.key)
				assert.Equal(t, c.letGo(&r), row[1])
			}
		}
		assert.Len(t, table.Rows, n, c.key)
		text, page := written(t, s.WriteText), written(t, s.WriteHTML)
		for _, form := range []string{text, page} {
			assert.Contains(t, strings.Join(strings.Fields(form), " "), gecp.Cautions)
			assert.NotRegexp(t, notANumber, form)
		}
		assert.Contains(t, text, blank)
		assert.Contains(t, page, `<table class="fill">`)
		assert.Equal(t, 8*n+5, strings.Count(page, "<td>"))
	}
}

// A sheet is a log once it is filled in, whatever the units and whatever is left empty.
func TestLogSheetIsALog(t *testing.T) {
	for _, c := range readyCards() {
		text := written(t, c.WriteLogCSV)
		_, err := ReadLog(strings.NewReader(text))
		assert.ErrorContains(t, err, "the log sheet is not filled in", c.key)

		rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		require.NoError(t, err)
		col := map[string]int{}
		for i, h := range rows[0] {
			col[strings.SplitN(h, "_", 3)[0]] = i
		}
		h, f := c.Units.Clearance(), c.Units.Force()
		rows[1][3], rows[1][4], rows[1][6] = h.Number(.3, units.Nearest), h.Number(1.2, units.Nearest), f.Number(250, units.Nearest)
		rows[2][8] = "fell in; let go"
		var filled strings.Builder
		w := csv.NewWriter(&filled)
		require.NoError(t, w.WriteAll(rows))
		_, err = ReadLog(strings.NewReader(filled.String()))
		require.ErrorContains(t, err, "line 3, column 4: clearance", "a line with a note is no empty one")
		assert.NotContains(t, err.Error(), "line 4")

		rows[2][8] = ""
		filled.Reset()
		require.NoError(t, w.WriteAll(rows))
		l, err := ReadLog(strings.NewReader(filled.String()))
		require.NoError(t, err)
		require.Len(t, l.Runs, 1)
		assert.InDelta(t, c.Rungs[0].Speed, l.Runs[0].Speed, 1e-9)
		assert.InDelta(t, .3, l.Runs[0].Clearance, h.Size/10)
		assert.InDelta(t, 250, l.Runs[0].Pull.Value, f.Size/2)
		assert.Equal(t, []string{notRun(len(rows) - 2)}, l.Ignored(), "the card's own columns are no strangers")
		assert.Equal(t, filled.String(), written(t, l.Write))
	}
	// In a log that is no sheet a line with a speed alone is a fault.
	_, err := ReadLog(strings.NewReader("speed_kmh,clearance_m,pilot_m\n50,.3,1\n55,,\n"))
	assert.ErrorContains(t, err, "line 3, column 2: clearance_m is empty")
	assert.Equal(t, "One line has a speed and nothing else; it counts as not run.", notRun(1))
}

func TestSheetEscapes(t *testing.T) {
	s := Sheet{Title: "<b>", Parts: []SheetPart{{Title: "<i>", Head: []string{"<u>"}, Rows: [][]string{{"<s>"}}, Lines: []string{"<p>\nx"}}}}
	page := written(t, s.WriteHTML)
	for _, tag := range []string{"<b>", "<i>", "<u>", "<s>", "<p>"} {
		assert.NotContains(t, page, tag)
	}
	assert.NotContains(t, page, `class="fill"`)
	assert.NotContains(t, written(t, s.WriteText), blank)
}
