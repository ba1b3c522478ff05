package design

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
)

// Each dimension can be read back after it was set, and moves nothing else that is not part of it.
func TestSet(t *testing.T) {
	for _, r := range crafts.All() {
		before := r.Craft.Clone()
		all := Dimensions(r.Craft)
		for _, d := range all {
			changed, err := Set(r.Craft, d.Path, d.Value+d.Step)
			if err != nil { // at a limit of the file, or a wing in the water: the other way goes
				changed, err = Set(r.Craft, d.Path, d.Value-d.Step)
				require.NoError(t, err, "%s %s", r.Key, d.Path)
				d.Step = -d.Step
			}
			want := d.Value + d.Step
			if d.Path == "pilot.x_m" {
				want = 0
				assert.InDelta(t, r.Craft.Pilot.XAft+d.Step, changed.Pilot.XAft, 1e-12)
				assert.InDelta(t, r.Craft.Pilot.XForward+d.Step, changed.Pilot.XForward, 1e-12)
			}
			assert.InDelta(t, want, dimension(t, changed, d.Path).Value, 1e-9, "%s %s", r.Key, d.Path)
			back, err := Set(changed, d.Path, d.Value-map[bool]float64{true: d.Step}[d.Path == "pilot.x_m"])
			require.NoError(t, err)
			again := Dimensions(back)
			require.Len(t, again, len(all))
			for i, e := range all {
				assert.InDelta(t, e.Value, again[i].Value, 1e-9, "%s there and back: %s", d.Path, e.Path)
			}
			assert.Equal(t, before, r.Craft, "the craft itself stays")
		}
	}
}

func dimension(t *testing.T, c *gecp.Craft, path string) Dimension {
	t.Helper()
	for _, d := range Dimensions(c) {
		if d.Path == path {
			return d
		}
	}
	require.Fail(t, "no such dimension", path)
	return Dimension{}
}

// The dimensions of a whole wing, on a wing of which the figures are plain.
func TestWholeWing(t *testing.T) {
	c := gecp.Demo()
	c.Wings[0].Stations = []gecp.Station{
		{Y: 0, Chord: 2}, {Y: 1, Chord: 2, LEX: .1, LEZ: .05, TwistDeg: -1}, {Y: 2, Chord: 1, LEX: 1, LEZ: .2, TwistDeg: -3},
	}
	c.Floats = nil // so that no wing comes into the water
	require.NoError(t, c.Check())
	for path, want := range map[string]float64{
		"wings[0].span_m": 4, "wings[0].chord_m": 1.75, "wings[0].twist_deg": -3,
		"wings[0].sweep_deg": gecp.Degrees(math.Atan(.5)), "wings[0].dihedral_deg": gecp.Degrees(math.Atan(.1)),
	} {
		assert.InDelta(t, want, dimension(t, c, path).Value, 1e-12, path)
	}
	for _, q := range []struct {
		path  string
		value float64
		want  []gecp.Station
	}{
		{"wings[0].span_m", 6, []gecp.Station{{Y: 0, Chord: 2}, {Y: 1.5, Chord: 2, LEX: .15, LEZ: .075, TwistDeg: -1}, {Y: 3, Chord: 1, LEX: 1.5, LEZ: .3, TwistDeg: -3}}},
		{"wings[0].chord_m", .875, []gecp.Station{{Y: 0, Chord: 1}, {Y: 1, Chord: 1, LEX: .1, LEZ: .05, TwistDeg: -1}, {Y: 2, Chord: .5, LEX: 1, LEZ: .2, TwistDeg: -3}}},
		{"wings[0].sweep_deg", 0, []gecp.Station{{Y: 0, Chord: 2}, {Y: 1, Chord: 2, LEX: -.4, LEZ: .05, TwistDeg: -1}, {Y: 2, Chord: 1, LEX: 0, LEZ: .2, TwistDeg: -3}}},
		{"wings[0].dihedral_deg", 0, []gecp.Station{{Y: 0, Chord: 2}, {Y: 1, Chord: 2, LEX: .1, LEZ: -.05, TwistDeg: -1}, {Y: 2, Chord: 1, LEX: 1, LEZ: 0, TwistDeg: -3}}},
		{"wings[0].twist_deg", -1, []gecp.Station{{Y: 0, Chord: 2}, {Y: 1, Chord: 2, LEX: .1, LEZ: .05, TwistDeg: 0}, {Y: 2, Chord: 1, LEX: 1, LEZ: .2, TwistDeg: -1}}},
	} {
		n, err := Set(c, q.path, q.value)
		require.NoError(t, err, q.path)
		for i, s := range n.Wings[0].Stations {
			w := q.want[i]
			assert.InDeltaSlice(t, []float64{w.Y, w.Chord, w.LEX, w.LEZ, w.TwistDeg}, []float64{s.Y, s.Chord, s.LEX, s.LEZ, s.TwistDeg}, 1e-12, "%s, station %d", q.path, i)
		}
		assert.Equal(t, c.Wings[1], n.Wings[1])
	}
}

// A wing without camber can be given some, and has no place of it before.
func TestSetCamberOfAFlatWing(t *testing.T) {
	c := gecp.Demo()
	c.Wings[0].Camber = gecp.Camber{}
	for _, d := range Dimensions(c) {
		assert.NotEqual(t, "wings[0].camber.at", d.Path)
	}
	n, err := Set(c, "wings[0].camber.height", .02)
	require.NoError(t, err)
	assert.Equal(t, gecp.Camber{Height: .02, At: .4}, n.Wings[0].Camber)
}

func TestSetRefuses(t *testing.T) {
	c := gecp.Demo()
	for says, s := range map[string]Setting{
		"wings[1].x_n is no dimension of the craft; the nearest are wings[1].x_m": {"wings[1].x_n", 3},
		"wings[7].x_m is no dimension of the craft; the nearest are wings[":       {"wings[7].x_m", 3},
		"an empty name is no dimension of the craft":                              {"", 3},
		"wings[1].x_m is to be NaN; give a finite number":                         {"wings[1].x_m", math.NaN()},
		"wings[1].incidence_deg: wing \"rear\": incidence_deg is 45; give":        {"wings[1].incidence_deg", 45},
		"wings[1].stations[0].chord_m":                                            {"wings[1].chord_m", -1},
		"give a place between 0 and":                                              {"wings[1].span_m", 0.0 - 5},
	} {
		_, err := Set(c, s.Path, s.Value)
		assert.ErrorContains(t, err, says)
	}
	c.Pilot = nil
	_, err := Set(c, "pilot.x_m", .1)
	var problems gecp.Problems
	require.ErrorAs(t, err, &problems)
	assert.ErrorContains(t, err, "where the pilot can be")
	for _, d := range Dimensions(c) {
		assert.False(t, strings.HasPrefix(d.Path, "pilot"), d.Path)
	}
}

// Numbers that belong together change together: each alone would be refused.
func TestSetAll(t *testing.T) {
	c := gecp.Demo()
	together := []Setting{{"pilot.x_forward_m", 1.8}, {"pilot.x_aft_m", 2.2}}
	_, err := Set(c, together[0].Path, together[0].Value)
	require.Error(t, err)
	n, err := SetAll(c, together)
	require.NoError(t, err)
	assert.Equal(t, [2]float64{1.8, 2.2}, [2]float64{n.Pilot.XForward, n.Pilot.XAft})
	_, err = SetAll(c, []Setting{{"a", 1}, {"b", 2}})
	assert.ErrorContains(t, err, "a is no dimension")
	assert.ErrorContains(t, err, "b is no dimension")
}

func TestParseSet(t *testing.T) {
	s, err := ParseSet(" wings[1].x_m = 3.2 ")
	require.NoError(t, err)
	assert.Equal(t, Setting{"wings[1].x_m", 3.2}, s)
	for text, says := range map[string]string{
		"wings[1].x_m": "it has no =", "=3": "the dimension is missing", "a=b": `"b" is not a number`, "a=NaN": "is not a number", "a=1=2": "is not a number",
	} {
		_, err := ParseSet(text)
		assert.ErrorContains(t, err, says)
		assert.ErrorContains(t, err, "write a dimension and its value as wings[1].x_m=3.2")
	}
}

// What is read is written and read again as the same; and no setting panics or makes a craft
// that fails Check.
func FuzzParseSet(f *testing.F) {
	for _, s := range []string{"wings[1].x_m=3.2", "a=1e300", "=", "wings[0].span_m=-0", "pilot.x_m=0x1p-3", "wings[0].sweep_deg=90"} {
		f.Add(s)
	}
	demo := gecp.Demo()
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseSet(text)
		if err != nil {
			return
		}
		again, err := ParseSet(s.String())
		require.NoError(t, err)
		require.Equal(t, s, again)
		if c, err := Set(demo, s.Path, s.Value); err == nil {
			require.NoError(t, c.Check())
		}
	})
}
