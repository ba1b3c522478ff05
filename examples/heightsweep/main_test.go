package main

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/examples/internal/command"
	"example.org/groundeffect/examples/internal/command/commandtest"
	"example.org/groundeffect/gecp"
)

func sweep(t *testing.T, args ...string) string {
	t.Helper()
	return commandtest.Output(t, program, args...)
}

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the sweep")
	commandtest.TakesACraft(t, program)
	commandtest.Draws(t, program, "-svg", "-clearances", "0.2,0.5")
	commandtest.Draws(t, program, "-svg", "-csv", "-clearances", "0.2,0.5")
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-clearances", "0.1,0"}, Code: command.Failed, Says: "must lie above the water"},
		{Args: []string{"-clearances", "-0.2"}, Code: command.Failed, Says: "must lie above the water"},
		{Args: []string{"-clearances", "0.001"}, Code: command.Failed, Says: "0.001 m above the water, less than 0.02 of its chord"},
		{Args: []string{"-clearances", "a"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-clearances", "NaN"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-clearances", ""}, Code: command.Misused, Says: "a number is missing"},
		{Args: []string{"-pitch", "90"}, Code: command.Misused, Says: "between -20 and 20"},
		{Args: []string{"-pitch", "NaN"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-speed", "0"}, Code: command.Misused, Says: "between 0.1 and 100"},
		{Args: []string{"-speed", "Inf"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-mesh", "200x200"}, Code: command.Failed, Says: "at most 4000"},
	})
}

func table(t *testing.T, out string) [][]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	return rows
}

func TestCSV(t *testing.T) {
	rows := table(t, sweep(t, "-csv", "-clearances", "0.1, 0.4,1", "-pitch", "2", "-speed", "10"))
	require.Len(t, rows, 4)
	assert.Equal(t, "clearance_m,height_m,pitch_deg,lift_N,induced_drag_N,moment_Nm,cp_m,pitch_neutral_m,height_neutral_m", strings.Join(rows[0], ","))
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	number := func(row []string, name string) float64 {
		require.Contains(t, column, name)
		v, err := strconv.ParseFloat(row[column[name]], 64)
		require.NoError(t, err, name)
		return v
	}
	want, err := gecp.Demo().Sweep(t.Context(), gecp.SweepQuestion{Speed: 10, Pitch: gecp.Radians(2), Clearances: []float64{.1, .4, 1}})
	require.NoError(t, err)
	for i, r := range want {
		row := rows[i+1]
		for name, v := range map[string]float64{
			"clearance_m": r.Clearance, "height_m": r.Height, "pitch_deg": gecp.Degrees(r.Pitch), "lift_N": r.Lift, "induced_drag_N": r.InducedDrag,
			"moment_Nm": r.Moment, "cp_m": r.CP.X, "pitch_neutral_m": r.PitchNeutral.X, "height_neutral_m": r.HeightNeutral.X,
		} {
			assert.Equal(t, v, number(row, name), name)
		}
	}
}

func TestReport(t *testing.T) {
	for _, c := range []struct {
		args []string
		has  []string
	}{
		{nil, []string{"Where the lift of Reedling acts, height by height, at 14 m/s (50.4 km/h), nose up 3.0°", "height-stability", "Height-stability margin", "centre of pressure runs", "forward"}},
		{[]string{"-us"}, []string{"31.3 mph", "lbf", "ft2"}},
		{[]string{"-clearances", "0.3,0.6"}, []string{"Wakes that pass other wings follow the flow"}},
		{[]string{"-wake", "straight", "-clearances", "0.3,0.6"}, []string{"Wakes run straight: where one passes another wing this errs to the unsafe side"}},
		{[]string{"-clearances", "0.08", "-pitch", "-1"}, []string{"# The section of wing \"front\" fills"}},
		{[]string{"-craft", "../../gecp/crafts/coot-single.json"}, []string{"Coot"}},
		{[]string{"-clearances", "0.3"}, []string{"One clearance alone"}},
	} {
		out := sweep(t, c.args...)
		for _, h := range c.has {
			assert.Contains(t, out, h, "%v", c.args)
		}
		assert.True(t, strings.HasSuffix(out, gecp.Cautions+"\n"), "the cautions end it")
	}
}

// The closing sentence names the crossing of the neutral points, whatever the ladder; at
// other pitches there is none, or another.
func TestCrossing(t *testing.T) {
	for _, ladder := range []string{"0.3,1.0", "0.1,0.2", "2,3", "0.1,0.15,0.17", "0.3"} {
		assert.Contains(t, sweep(t, "-clearances", ladder), "only below 0.20 m: above it", ladder)
	}
	assert.Contains(t, sweep(t, "-pitch", "8"), "nowhere lies ahead of the pitch neutral point: the craft does not hold")
	assert.NotContains(t, sweep(t, "-pitch", "1"), "only below 0.20 m")
}

// Rows that are too close to the water for the neutral points are marked.
func TestCloseRowsAreMarked(t *testing.T) {
	out := sweep(t, "-clearances", "0.05,0.5")
	assert.Contains(t, out, "* Closer to the water than 0.07 of the chord")
	for _, line := range strings.Split(out, "\n") {
		switch {
		case strings.HasPrefix(strings.TrimSpace(line), "0.05 "):
			assert.Contains(t, line, " *")
		case strings.HasPrefix(strings.TrimSpace(line), "0.50 "):
			assert.NotContains(t, line, " *")
		}
	}
	assert.NotContains(t, sweep(t, "-clearances", "0.3,0.5"), "* Closer")
}

func TestPicture(t *testing.T) {
	for _, c := range []struct {
		args []string
		has  []string
	}{
		{nil, []string{"neutral points cross, 0.20 m", "clearance under the wings, m"}},
		{[]string{"-us"}, []string{"neutral points cross, 8.0 in", "clearance under the wings, in", "31.3 mph"}},
	} {
		name := filepath.Join(t.TempDir(), "h.svg")
		sweep(t, append(c.args, "-svg", name, "-clearances", "0.1,0.5")...)
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		words := ""
		d := xml.NewDecoder(bytes.NewReader(b))
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err)
			if c, ok := tok.(xml.CharData); ok {
				words += string(c)
			}
		}
		for _, w := range append(c.has, "centre of pressure", "pitch neutral point", "height neutral point", "water") {
			assert.Contains(t, words, w)
		}
		assert.NotContains(t, string(b), "NaN")
	}
}

// What rests on a correction says so, in the report and in the picture.
func TestCorrected(t *testing.T) {
	dir := t.TempDir()
	craft := gecp.Demo()
	craft.Correction = &gecp.Correction{LiftFactor: .95, CPOffset: .02, Runs: 14, On: true}
	var b bytes.Buffer
	require.NoError(t, craft.Write(&b))
	file, name := filepath.Join(dir, "craft.json"), filepath.Join(dir, "picture.svg")
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	out := commandtest.Output(t, program, "-craft", file, "-svg", name)
	assert.Contains(t, out, "The wings' loads are corrected by 14 runs.")
	drawn, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Contains(t, string(drawn), "corrected by 14 runs.")
}
