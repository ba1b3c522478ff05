package design

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

func TestParseVariations(t *testing.T) {
	got, err := ParseVariations("wings[1].x_m=3..4.5, wings[1].incidence_deg = 0 .. 6,pilot.x_m=-0.3..0.3")
	require.NoError(t, err)
	assert.Equal(t, []Variation{{"wings[1].x_m", 3, 4.5}, {"wings[1].incidence_deg", 0, 6}, {PilotShift, -.3, .3}}, got)
	for s, says := range map[string]string{
		"":                     "no = between",
		"wings[1].x_m":         "no = between",
		"wings[1].x_m=3":       "no .. between",
		"=1..2":                "the dimension is missing",
		"wings[1].x_m=a..2":    `"a" is not a number`,
		"wings[1].x_m=1..Inf":  `"Inf" is not a number`,
		"wings[1].x_m=2..1":    "must rise",
		"wings[1].x_m=1..2,":   "no = between",
		"wings[1].x_m=1..2..3": `"2..3" is not a number`,
	} {
		_, err := ParseVariations(s)
		assert.ErrorContains(t, err, says, s)
	}
}

func FuzzParseVariations(f *testing.F) {
	for _, s := range []string{"wings[1].x_m=3..4.5,pilot.x_m=-0.3..0.3", "a=1e300..2e300", "=..", ",", "a=-0..0x1p3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := ParseVariations(s)
		if err != nil {
			return
		}
		for _, v := range got {
			assert.NotEmpty(t, v.Path)
			assert.Less(t, v.From, v.To)
			assert.False(t, math.IsInf(v.From, 0) || math.IsInf(v.To, 0))
			again, err := ParseVariations(v.String())
			require.NoError(t, err)
			assert.Equal(t, []Variation{v}, again)
			_ = v.check(gecp.Demo()) // never panics
		}
	})
}

func TestValue(t *testing.T) {
	c := gecp.Demo()
	for path, want := range map[string]float64{
		"wings[1].x_m": 3.6, "wings[0].stations[1].chord_m": 1.8, "wings[1].camber.height": .02, "pilot.x_aft_m": 1.65, PilotShift: 0,
		"weights[2].mass_kg": 26, "tow.line_m": 30, "floats[1].x_m": 4.4, "parasite_area_m2": .35, "wings[0].tip_plates.down_m": 0, "wings[1].chord_m": 1.5,
	} {
		x, err := Variation{Path: path}.value(c)
		require.NoError(t, err, path)
		assert.InDelta(t, want, x, 1e-12, path)
	}
	for _, path := range []string{"wings[2].x_m", "wings[-1].x_m", "wings[1].x", "wings.x_m", "wings[1.x_m", "wings[1]", "name", "", "correction.lift_factor", "wings[0].stations[9].y_m"} {
		_, err := Variation{Path: path}.value(c)
		assert.ErrorContains(t, err, "is no dimension of the craft; the nearest are", path)
	}
}

// A value that is put is the value found; the shift moves both ends and is none as found.
func TestPut(t *testing.T) {
	c := gecp.Demo()
	v := Variation{Path: "wings[1].incidence_deg"}
	require.NoError(t, put(c, v.Path, 3.25))
	x, err := v.value(c)
	require.NoError(t, err)
	assert.Equal(t, 3.25, x)
	assert.Equal(t, 2., gecp.Demo().Wings[1].IncidenceDeg)
	shift := Variation{Path: PilotShift}
	require.NoError(t, put(c, shift.Path, -.2))
	assert.InDelta(t, .85, c.Pilot.XForward, 1e-12)
	assert.InDelta(t, 1.45, c.Pilot.XAft, 1e-12)
	x, err = shift.value(c)
	require.NoError(t, err)
	assert.Zero(t, x)
	c.Pilot = nil
	assert.ErrorContains(t, put(c, shift.Path, 1), "where the pilot can be")
	assert.Equal(t, []float64{.01, .5, 1}, []float64{shift.step(), v.step(), Variation{Path: "pilot.mass_kg"}.step()})
}
