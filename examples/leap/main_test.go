package main

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/command/commandtest"
	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
)

// saved is a call with a flight that a reaction in time saves.
var saved = []string{"-speeds", "14", "-clearances", "0.2"}

func leapOut(t *testing.T, args ...string) string {
	t.Helper()
	return commandtest.Output(t, program, args...)
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
	for _, never := range []string{"NaN", "Inf", "-0<", "%!"} {
		assert.NotContains(t, string(drawn), never)
	}
	return string(drawn)
}

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the look at reactions")
	commandtest.TakesACraft(t, program)
	commandtest.Draws(t, program, "-roots", saved...)
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-speeds", "fast"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-speeds", "-3"}, Code: command.Failed, Says: "speed is -3"},
		{Args: []string{"-clearances", ""}, Code: command.Misused, Says: "a number is missing"},
		{Args: []string{"-clearances", "NaN"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-clearances", "0.05"}, Code: command.Failed, Says: "no flight can begin at any of the clearances between 18.0 km/h and 108.0 km/h"},
		{Args: []string{"-limit", "0"}, Code: command.Misused, Says: "between 0.01 and 100"},
	})
}

func TestReport(t *testing.T) {
	out := leapOut(t, "-speeds", "12,14", "-clearances", "0.15,0.2,0.4,0.6")
	for _, has := range []string{
		"Reedling", "runs away, doubling in", "no reaction saves it", "in the water", "does not train", "McRuer",
		"0.60 m is the limit: let go", "margin (1)", motion.KnowingPilot, motion.SeeingPilot,
	} {
		assert.Contains(t, out, has)
	}
	assert.True(t, strings.HasSuffix(out, gecp.Cautions+"\n"))
	assert.NotContains(t, out, "radius of gyration", "the file tells all")
	// Both margins of a flight stand beside each other, and the smaller one makes the words.
	for _, line := range strings.Split(out, "\n") {
		if strings.HasPrefix(line, "50.4 km/h  0.20 m") {
			assert.Regexp(t, `0\.\d\d s +none +none saves +none saves +no reaction saves it`, line)
		}
	}
	assert.Contains(t, out, "50.4 km/h  0.20 m")
}

func TestOtherAsks(t *testing.T) {
	out := leapOut(t, "-us", "-speeds", "14.5", "-clearances", "0.2")
	assert.Contains(t, out, "32.4 mph")
	assert.Contains(t, out, "7.9 in")
	assert.NotContains(t, out, " m/s")
	out = leapOut(t, "-craft", "../../gecp/crafts/garganey-swept.json", "-clearances", "0.6", "-limit", "1")
	assert.Contains(t, out, "Garganey")
	assert.Contains(t, out, motion.GuessedRadii(must(gecp.ReadFile("../../gecp/crafts/garganey-swept.json"))))
}

func must(c *gecp.Craft, err error) *gecp.Craft {
	if err != nil {
		panic(err)
	}
	return c
}

// The strip and the courses show the flight with the margin, a later one and the others.
func TestStripAndCourses(t *testing.T) {
	dir := t.TempDir()
	strip, courses := filepath.Join(dir, "strip.svg"), filepath.Join(dir, "courses.svg")
	leapOut(t, append(saved, "-svg", strip, "-courses", courses)...)
	for _, name := range []string{strip, courses} {
		drawn := picture(t, name)
		for _, has := range []string{"Reedling at 50.4 km/h and 0.20 m", "comes to rest", "lost: rises over 0.60 m", "knowing the position for every speed", "seeing the motion only, reacting at once", "pilot still: ", "does not train", "licensed or"} {
			assert.Contains(t, drawn, has, name)
		}
	}
	// Two wings, their roots and tips, in every frame.
	assert.Greater(t, strings.Count(picture(t, strip), "<path"), 3*frames*4/2)
}

// The picture of the modes has a growing one where the craft runs away.
func TestRoots(t *testing.T) {
	svg := filepath.Join(t.TempDir(), "roots.svg")
	leapOut(t, append(saved, "-roots", svg)...)
	drawn := picture(t, svg)
	for _, has := range []string{"at 1.20 m: runs away, doubling in", "halving in", "growth, 1/s", "#D55E00", "#0072B2", "does not train", "licensed or"} {
		assert.Contains(t, drawn, has)
	}
}

// A picture for which no flight is fit is a warning, and costs no more.
func TestNothingToDraw(t *testing.T) {
	name := filepath.Join(t.TempDir(), "x.svg")
	code, out, errs := commandtest.Call(t, program, "-speeds", "15", "-clearances", "0.4", "-svg", name)
	assert.Equal(t, command.Done, code)
	assert.Contains(t, out, gecp.Cautions)
	assert.Equal(t, name+" is not drawn: no flight of the table is saved by a reaction in time and lost by a late one; choose other -speeds or -clearances for the picture\n", errs)
	assert.NoFileExists(t, name)
	code, _, errs = commandtest.Call(t, program, append(saved, "-svg", name, "-courses", name)...)
	assert.Equal(t, command.Failed, code)
	assert.Contains(t, errs, "just read or written", "two pictures in one file")
}

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		want   string
	}{
		{0, 10, "0 2 4 6 8 10"}, {-3.5, 3.5, "-3 -2 -1 0 1 2 3"}, {1.05, 1.27, "1.05 1.10 1.15 1.20 1.25"}, {0, .6, "0.0 0.1 0.2 0.3 0.4 0.5 0.6"}, {40, 470, "100 200 300 400"},
	} {
		var got []string
		for _, k := range ticks(c.lo, c.hi) {
			got = append(got, k.Label)
		}
		assert.Equal(t, c.want, strings.Join(got, " "))
	}
	for span := 1e-3; span < 1e4; span *= 1.3 {
		n := len(ticks(-span/3, 2*span/3))
		assert.GreaterOrEqual(t, n, 4, "%v", span)
		assert.LessOrEqual(t, float64(n), math.Ceil(10.), "%v", span)
	}
}
