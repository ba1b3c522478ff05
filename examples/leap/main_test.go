package main

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

func leapOut(t *testing.T, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, run(context.Background(), args, &out))
	assert.NotContains(t, out.String(), "NaN")
	assert.NotContains(t, out.String(), "Inf")
	return out.String()
}

// picture returns a drawn file, which must be well-formed and without a missing number.
func picture(t *testing.T, name string) string {
	t.Helper()
	drawn, err := os.ReadFile(name)
	require.NoError(t, err)
	d := xml.NewDecoder(bytes.NewReader(drawn))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else {
			require.NoError(t, err)
		}
	}
	assert.NotContains(t, string(drawn), "NaN")
	return string(drawn)
}

func TestReportAndStrip(t *testing.T) {
	svg := filepath.Join(t.TempDir(), "leap.svg")
	out := leapOut(t, "-svg", svg)
	for _, has := range []string{"Reedling", "reaction margin", "runs away, doubling in", "no reaction saves it", "in the water", "does not train", "McRuer", gecp.Cautions} {
		assert.Contains(t, out, has)
	}
	drawn := picture(t, svg)
	for _, has := range []string{"settles", "lost: ", "the pilot does nothing", "does not train", "licensed or"} {
		assert.Contains(t, drawn, has)
	}
	// Two wings, their roots and tips, in every frame.
	assert.Greater(t, strings.Count(drawn, "<path"), 3*frames*4/2)
}

// The picture of the modes has a growing one where the craft runs away.
func TestRoots(t *testing.T) {
	svg := filepath.Join(t.TempDir(), "roots.svg")
	leapOut(t, "-speeds", "14", "-clearances", "0.3", "-roots", svg)
	drawn := picture(t, svg)
	for _, has := range []string{"runs away, doubling in", "dies away, halving in", "growth, 1/s", "does not train", "licensed or"} {
		assert.Contains(t, drawn, has)
	}
}

func TestOtherAsks(t *testing.T) {
	out := leapOut(t, "-us", "-speeds", "14.5", "-clearances", "0.2,0.3")
	assert.Contains(t, out, "32.4 mph")
	assert.Contains(t, out, "8 in")
	assert.NotContains(t, out, " m/s")
	out = leapOut(t, "-craft", "../../testdata/crafts/garganey-swept.json", "-clearances", "0.6")
	assert.Contains(t, out, "Garganey")
}

func TestAsksThatFail(t *testing.T) {
	for want, args := range map[string][]string{
		"not a number":               {"-speeds", "fast"},
		"is not understood":          {"craft.json"},
		"no such file":               {"-craft", "none.json"},
		"speed is -3":                {"-speeds", "-3"},
		"choose other -speeds":       {"-speeds", "15", "-clearances", "0.4", "-svg", "x.svg"},
		"no flight can begin at any": {"-clearances", "0.05"},
	} {
		err := run(context.Background(), args, io.Discard)
		assert.ErrorContains(t, err, want)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	assert.ErrorIs(t, run(ctx, nil, io.Discard), context.Canceled)
}

func TestWrap(t *testing.T) {
	assert.Equal(t, []string{"a bc", "def g"}, wrap("a bc def g", 5))
	for _, l := range wrap(gecp.Cautions, 60) {
		assert.LessOrEqual(t, len(l), 60)
	}
}
