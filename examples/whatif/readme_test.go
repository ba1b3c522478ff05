package main

import (
	"bytes"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/testdata/readme"
)

// README shows some rows and columns of the demo's table.
func TestReadmeShowsTheDemo(t *testing.T) {
	if os.Getenv("CI") != "true" {
		t.Skip("solves a hundred craft: CI=true go test does")
	}
	s, err := design.FindSensitivities(t.Context(), gecp.Demo(), design.SensitivityOptions{Question: design.Question{Speed: 57 * units.KMH}, Far: -1})
	require.NoError(t, err)
	var b bytes.Buffer
	report(&b, &s, design.Advice{}, units.Metric)
	whole, shown := table(b.String()), table(readme.Text(t))
	require.GreaterOrEqual(t, len(shown), 4)
	for path, cells := range shown {
		for column, cell := range cells {
			assert.Equal(t, whole[path][column], cell, "%s: %s", path, column)
		}
	}

	// And one change that gives the demo what it lacks; here only this one is solved.
	said := advised.FindStringSubmatch(readme.Text(t))
	require.NotNil(t, said)
	path := said[1]
	value, err := strconv.ParseFloat(said[2], 64)
	require.NoError(t, err)
	i := slices.IndexFunc(s.Dimensions, func(d design.Sensitivity) bool { return d.Path == path })
	require.GreaterOrEqual(t, i, 0)
	d := s.Dimensions[i].Dimension
	c := design.Change{Dimension: d, Steps: int(math.Round((value - d.Value) / d.Step))}
	c.Craft, err = design.Set(s.Craft, path, c.Value+c.By())
	require.NoError(t, err)
	model, err := gecp.NewModel(c.Craft, gecp.Mesh{})
	require.NoError(t, err)
	m, err := model.BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	c.Answers, err = s.Options.Question.Ask(t.Context(), m)
	require.NoError(t, err)
	words := c.Words(&s, units.Metric)
	assert.True(t, strings.Contains(strings.Join(strings.Fields(readme.Text(t)), " "), words), "README has another than %q", words)
}

var advised = regexp.MustCompile(`(?m)^ +- .*\((\S+)=([0-9.]+)\): tow it between`)

var gap = regexp.MustCompile(` {2,}`)

// table returns the cells of the table of dimensions in a text, by the dimension and the
// column's head.
func table(text string) map[string]map[string]string {
	rows := map[string]map[string]string{}
	var heads []string
	for line := range strings.Lines(text) {
		cells := gap.Split(strings.TrimSpace(line), -1)
		switch {
		case cells[0] == "dimension":
			heads = cells
		case heads == nil:
		case len(cells) < 3:
			return rows
		default:
			// As it is, the craft has no step: count from the right.
			rows[cells[0]] = map[string]string{}
			for i := 1; i <= len(cells)-1 && heads[len(heads)-i] != "step"; i++ {
				rows[cells[0]][heads[len(heads)-i]] = cells[len(cells)-i]
			}
		}
	}
	return rows
}
