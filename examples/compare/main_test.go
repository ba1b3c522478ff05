package main

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

func compare(t *testing.T, args ...string) string {
	var out bytes.Buffer
	require.NoError(t, run(context.Background(), args, &out))
	return out.String()
}

func TestStatedVariation(t *testing.T) {
	s := compare(t)
	assert.Contains(t, s, "wings[1].incidence_deg: 2, then 3")
	assert.NotContains(t, s, "wings[0]")
	assert.Contains(t, s, gecp.Cautions)
	for _, what := range []string{"lift-off speed", "runaway speed", "pilot's travel", "self-holding ceiling", "ceiling of the pilot's reach", "pull"} {
		assert.GreaterOrEqual(t, strings.Count(s, what), 2, "%s in the table and in a sentence", what)
	}
}

func TestTwoFiles(t *testing.T) {
	const dir = "../../testdata/crafts/"
	s := compare(t, "-us", dir+"reedling-tandem.json", dir+"water-rail-canard.json")
	assert.Contains(t, s, `name: "Reedling", then "Water Rail"`)
	assert.Contains(t, s, "wings[1].stations[2].chord_m: absent, then 1.5")
	same := compare(t, dir+"reedling-tandem.json", dir+"reedling-tandem.json")
	assert.Contains(t, same, "  nothing\n")
	assert.NotContains(t, same, "rises")
	assert.NotContains(t, same, "falls")
	assert.Contains(t, compare(t, "-speed", "5"), "A does not fly at this speed: too slow")
}

func TestMistakes(t *testing.T) {
	for args, want := range map[string]string{
		"one.json":         "give two to compare",
		"no-file no-other": "no-file",
		"-speed 500":       "m/s",
	} {
		assert.ErrorContains(t, run(context.Background(), strings.Fields(args), &bytes.Buffer{}), want, args)
	}
}
