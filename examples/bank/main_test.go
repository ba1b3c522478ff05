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
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/units"
)

func TestCommandLine(t *testing.T) {
	commandtest.Behaves(t, program, "the table")
	commandtest.TakesACraft(t, program)
	commandtest.Draws(t, program, "-svg", "-csv", "-wake", "straight", "-clearances", "0.3,0.6")
	commandtest.Refuses(t, program, []commandtest.Mistake{
		{Args: []string{"-clearances", "0.1,0"}, Code: command.Failed, Says: "must lie above the water"},
		{Args: []string{"-clearances", "0.001"}, Code: command.Failed, Says: "0.001 m above the water, less than 0.02 of its chord"},
		{Args: []string{"-clearances", "a"}, Code: command.Misused, Says: "is not a number"},
		{Args: []string{"-pitch", "90"}, Code: command.Misused, Says: "between -20 and 20"},
		{Args: []string{"-speed", "0"}, Code: command.Misused, Says: "between 0.1 and 100"},
		{Args: []string{"-wake", "bent"}, Code: command.Misused, Says: "give straight or free"},
		{Args: []string{"-mesh", "60x60"}, Code: command.Failed, Says: "at most 4000"},
	})
}

func TestCSV(t *testing.T) {
	out := commandtest.Output(t, program, "-csv", "-clearances", "0.2,0.5", "-pitch", "2", "-speed", "12")
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 7)
	assert.Equal(t, "clearance_m,bank_deg,roll_moment_Nm,side_force_N,yaw_moment_Nm,lift_N,pilot_shift_m,tip_clearance_m", strings.Join(rows[0], ","))
	number := func(row []string, i int) float64 {
		v, err := strconv.ParseFloat(row[i], 64)
		require.NoError(t, err, row)
		return v
	}
	m, err := gecp.NewModel(gecp.Demo(), gecp.Mesh{})
	require.NoError(t, err)
	q := gecp.Freestream{Speed: 12, Density: gecp.AirDensity}.DynamicPressure()
	for i, row := range rows[1:] {
		clearance, bank := []float64{.2, .5}[i/3], banksDeg[i%3]
		assert.Equal(t, clearance, number(row, 0))
		assert.Equal(t, bank, number(row, 1))
		tip := m.LowestPoints().HeightFor(clearance, gecp.Radians(2)) - m.LowestPoints().Banked(gecp.Radians(2), gecp.Radians(bank)).Depth
		assert.InDelta(t, tip, number(row, 7), 1e-12)
		p, err := m.Banked(t.Context(), gecp.BankedAttitude{Clearance: clearance, Pitch: gecp.Radians(2), Bank: gecp.Radians(bank)})
		if err != nil {
			assert.Equal(t, []string{"", "", "", "", ""}, row[2:7], "the tip is in the water")
			assert.Negative(t, tip)
			continue
		}
		assert.Equal(t, q*p.RollAboutDatumLine(), number(row, 2))
		assert.Equal(t, q*p.Side, number(row, 3))
		assert.Equal(t, q*p.Yaw, number(row, 4))
		assert.Equal(t, q*p.Lift, number(row, 5))
		if bank == 0 {
			assert.InDelta(t, 0, number(row, 2), 1e-6)
			assert.InDelta(t, 0, number(row, 6), 1e-9)
			assert.InDelta(t, clearance, number(row, 7), 1e-12)
		} else {
			assert.Positive(t, number(row, 2), "the water rights the wing")
			assert.Positive(t, number(row, 3), "the lift leans to the low side")
		}
	}
	require.Equal(t, "", rows[3][2], "5 degrees at 0.2 m are too many for the demo craft")

	alone := gecp.Demo()
	alone.Pilot = nil
	out = commandtest.Output(t, program, "-csv", "-clearances", "0.5", "-craft", written(t, alone))
	rows, err = csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, "", rows[2][6])
	assert.NotEqual(t, "", rows[2][2])
}

func written(t *testing.T, c *gecp.Craft) string {
	var b bytes.Buffer
	require.NoError(t, c.Write(&b))
	name := filepath.Join(t.TempDir(), "craft.json")
	require.NoError(t, os.WriteFile(name, b.Bytes(), 0o600))
	return name
}

func TestReport(t *testing.T) {
	stated, corrected, slow := gecp.Demo(), gecp.Demo(), gecp.Demo()
	stated.Pilot.Y = .08
	corrected.Correction = &gecp.Correction{LiftFactor: .95, Runs: 14, On: true}
	slow.Weights[0].Mass += 1500
	for _, c := range []struct {
		args []string
		has  []string
		not  []string
	}{
		{[]string{"-clearances", "0.13,0.3,0.6"}, []string{"What Reedling does when a wing drops, height by height, at 14 m/s (50.4 km/h), nose up 3.0°", "At this pitch a dropped tip comes up again",
			"(pilot.y_m); 0.15 m is taken", "Wakes that pass other wings follow the flow", "roll subsidence", "yaw on the line", "spread evenly over the wing's span", "In steady tow at 50.4 km/h", "towards the boat's side", "A negative shift keeps a bank from growing"}, []string{"* Closer"}},
		{[]string{"-wake", "straight", "-clearances", "0.1,0.6"}, []string{"* Closer to the water than 0.07", "in the water"}, nil},
		{[]string{"-wake", "straight", "-us", "-clearances", "0.3"}, []string{"31.3 mph", "lbf ft per degree"}, nil},
		{[]string{"-wake", "straight", "-craft", written(t, stated), "-clearances", "0.3"}, []string{"leaning 0.08 m"}, []string{"is taken"}},
		{[]string{"-wake", "straight", "-craft", written(t, corrected), "-clearances", "0.3"}, []string{"corrected by 14 runs"}, nil},
		{[]string{"-wake", "straight", "-craft", written(t, slow), "-clearances", "0.3"}, []string{"it flies in steady tow at none of these clearances"}, nil},
	} {
		out := commandtest.Output(t, program, c.args...)
		for _, h := range c.has {
			assert.Contains(t, out, h, "%v", c.args)
		}
		for _, n := range c.not {
			assert.NotContains(t, out, n, "%v", c.args)
		}
		assert.True(t, strings.HasSuffix(out, gecp.Cautions+"\n"), "the cautions end it")
	}
}

// All ready craft have a report and a picture.
func TestReadyCraft(t *testing.T) {
	for _, c := range crafts.All() {
		name := filepath.Join(t.TempDir(), "p.svg")
		out := commandtest.Output(t, program, "-wake", "straight", "-mesh", "2x4", "-clearances", "0.4,1", "-craft", written(t, c.Craft), "-svg", name)
		assert.Contains(t, out, c.Craft.Name)
		words := picture(t, name)
		assert.Contains(t, words, c.Craft.Name+" from behind, banked")
		for _, w := range c.Craft.Wings {
			assert.Contains(t, words, "lift of the "+w.Name+" wing")
		}
	}
}

// picture returns the words of a picture, which has to be well formed.
func picture(t *testing.T, name string) (words string) {
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.NotContains(t, string(b), "NaN")
	assert.NotContains(t, string(b), "Inf")
	d := xml.NewDecoder(bytes.NewReader(b))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return words
		}
		require.NoError(t, err)
		if c, ok := tok.(xml.CharData); ok {
			words += string(c)
		}
	}
}

func TestPicture(t *testing.T) {
	for _, c := range []struct {
		args []string
		has  []string
	}{
		{[]string{"-clearances", "0.3,0.6"}, []string{"Reedling from behind, banked 5°", "lower tip 0.07 m over the water", "water", "pilot", "50.4 km/h, nose up 3.0°, 0.30 m of clearance before banking", "the wings right it with"}},
		{[]string{"-clearances", "0.15"}, []string{"banked 2°"}},
		{[]string{"-clearances", "0.06"}, []string{"banked 0°", "lowest point 0.06 m over the water"}},
		{[]string{"-us", "-clearances", "0.6"}, []string{"31.3 mph", "lbf ft"}},
	} {
		name := filepath.Join(t.TempDir(), "p.svg")
		commandtest.Output(t, program, append(c.args, "-csv", "-wake", "straight", "-mesh", "2x4", "-svg", name)...)
		words := picture(t, name)
		for _, h := range c.has {
			assert.Contains(t, words, h, "%v", c.args)
		}
	}
}

// The bank from leaning is rounded up.
func TestAnglesRoundTowardsSafety(t *testing.T) {
	assert.Equal(t, "3.5°", degrees(gecp.Radians(3.41), units.Up))
	assert.Equal(t, "3.4°", degrees(gecp.Radians(3.4), units.Up))
	assert.Equal(t, "3.4°", units.BankLimit(gecp.Radians(3.49)))
}
