package gecp

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/vlm"
)

// small is a craft file that every test can change in place.
const small = `{
  "name": "Small",
  "wings": [
    {"name": "front", "x_m": 0, "z_m": 0, "incidence_deg": 5,
     "stations": [{"y_m": 0, "chord_m": 1.6}, {"y_m": 2, "chord_m": 1.5, "twist_deg": -1}],
     "camber": {"height": 0.02, "at": 0.4}, "thickness": 0.1, "tip_plates": {"down_m": 0.15, "up_m": 0}},
    {"name": "rear", "x_m": 3, "z_m": 0.4, "incidence_deg": 3,
     "stations": [{"y_m": 0, "chord_m": 1.4}, {"y_m": 2.2, "chord_m": 1.4}]}
  ],
  "weights": [{"name": "structure", "mass_kg": 75, "x_m": 1.7, "z_m": 0.2}],
  "pilot": {"mass_kg": 80, "x_forward_m": 0.9, "x_aft_m": 1.5, "z_m": 0.5},
  "tow": {"x_m": 0.1, "z_m": 0.1, "boat_height_m": 1, "line_m": 30, "boat_length_m": 6},
  "floats": [{"x_m": 0.3, "z_m": -0.35}, {"x_m": 4.2, "z_m": -0.3}],
  "parasite_area_m2": 0.35
}
`

// problemsOf reads a file that must fail.
func problemsOf(t *testing.T, file string) Problems {
	t.Helper()
	c, err := Read(strings.NewReader(file))
	require.Nil(t, c)
	var p Problems
	require.ErrorAs(t, err, &p)
	require.NotEmpty(t, p)
	return p
}

func TestReadRefuses(t *testing.T) {
	swap := func(old, new string) string {
		require.Contains(t, small, old)
		return strings.Replace(small, old, new, 1)
	}
	for _, c := range []struct {
		name, file string
		path       string
		words      []string
	}{
		{"empty", "", "", []string{"line 1, column 1", "the file is empty"}},
		{"blank", " \n\t\n", "", []string{"the file is empty"}},
		{"truncated", small[:strings.Index(small, `"twist_deg"`)], "", []string{"line 5, column 74", "ends too early", "the { of line 5, column 47 is never closed"}},
		{"truncated in text", small[:14], "", []string{"ends too early", `the " of line 2, column 11`}},
		{"brace missing", strings.TrimSuffix(strings.TrimSpace(small), "}"), "", []string{"ends too early", "the { of line 1, column 1"}},
		{"goes on", small + "{}", "", []string{"line 16, column 1", "goes on after the brace"}},
		{"comma too many", swap(`"down_m": 0.15, "up_m": 0}`, `"down_m": 0.15, }`), "", []string{"line 6, column 94", "'}'", "take away the comma"}},
		{"comma missing", swap(`"name": "front",`, `"name": "front"`), "", []string{"line 4", "a comma or a colon is missing"}},
		{"decimal comma", swap(`"x_m": 3,`, `"x_m": 3,1,`), "", []string{"line 7", "'1'", "a decimal takes a point"}},
		{"comment", swap(`"pilot"`, `// me`+"\n"+`"pilot"`), "", []string{"no comments"}},
		{"single quotes", swap(`"pilot"`, `'pilot'`), "", []string{"double quotes"}},
		{"text over a line's end", swap(`"structure"`, "\"struc\nture\""), "", []string{"a line ends within double quotes"}},
		{"NaN", swap(`"x_m": 3,`, `"x_m": NaN,`), "", []string{"'N'", "numbers are finite decimals"}},
		{"infinity", swap(`"x_m": 3,`, `"x_m": -Infinity,`), "", []string{"'I'", "numbers are finite decimals"}},
		{"not UTF-8", swap(`"structure"`, "\"str\xfccture\""), "", []string{"line 10, column 28", "UTF-8"}},
		{"not JSON", "name: Small", "", []string{"line 1, column 1", "begins with {"}},
		{"too deep", strings.Repeat("[", 20000), "", []string{"too deep"}},
		{"a list", "[1, 2]", "", []string{"holds a list in brackets", "a craft file is an object"}},
		{"a number", "7", "", []string{"holds the number 7"}},
		{"null", "null", "", []string{"holds null"}},
		{"too large", `{"name": "` + strings.Repeat("x", maxFile) + `"}`, "", []string{"larger than 1 MiB"}},

		{"unknown key", swap(`"chord_m": 1.5`, `"chrod_m": 1.5`), "wings[0].stations[1].chrod_m", []string{`wing "front", station 2`, `unknown key "chrod_m"`, `did you mean "chord_m"?`}},
		{"unit left out", swap(`"incidence_deg": 3`, `"Incidence": 3`), "wings[1].Incidence", []string{`wing "rear"`, `did you mean "incidence_deg"?`}},
		{"far from any key", swap(`"floats"`, `"pontoons"`), "pontoons", []string{"known here: name, wings, weights, pilot, tow, floats, parasite_area_m2"}},
		{"case", swap(`"pilot"`, `"Pilot"`), "Pilot", []string{`did you mean "pilot"?`}},
		{"key of signs", swap(`"pilot"`, `"a.b[\u0007]"`), `"a.b[\a]"`, []string{"unknown key"}},
		{"twice", swap(`"z_m": 0.4,`, `"z_m": 0.4, "x_m": 4,`), "wings[1].x_m", []string{`wing "rear"`, `"x_m" stands here twice`}},
		{"missing", swap(`"incidence_deg": 3,`, ``), "wings[1].incidence_deg", []string{`wing "rear"`, `the key "incidence_deg" is missing`}},
		{"no wings", `{"name": "Small"}`, "wings", []string{`the key "wings" is missing`}},
		{"number as text", swap(`"chord_m": 1.5`, `"chord_m": "1.5"`), "wings[0].stations[1].chord_m", []string{`wing "front", station 2`, "without quotes: 1.5"}},
		{"text for a number", swap(`"chord_m": 1.5`, `"chord_m": "wide"`), "wings[0].stations[1].chord_m", []string{`is the text "wide"; give a number`}},
		{"NaN as text", swap(`"chord_m": 1.5`, `"chord_m": "NaN"`), "wings[0].stations[1].chord_m", []string{`is the text "NaN"; give a number`}},
		{"bool for a number", swap(`"x_m": 3`, `"x_m": true`), "wings[1].x_m", []string{"is true; give a number"}},
		{"null for a number", swap(`"x_m": 3`, `"x_m": null`), "wings[1].x_m", []string{"is null; give a number"}},
		{"list for a number", swap(`"x_m": 3`, `"x_m": [null, {"a": null}]`), "wings[1].x_m", []string{"is a list in brackets [ ]; give a number"}},
		{"number for text", swap(`"name": "rear"`, `"name": 2`), "wings[1].name", []string{"wing 2", "is the number 2; give text"}},
		{"object for a list", swap(`[{"name": "structure", "mass_kg": 75, "x_m": 1.7, "z_m": 0.2}]`, `{}`), "weights", []string{"is an object in braces { }; give a list"}},
		{"list for an object", swap(`"pilot": {`, `"pilot": [], "pilot": {`), "pilot", []string{"is a list in brackets [ ]; give an object"}},
		{"null for a section", swap(`"pilot": {`, `"pilot": null, "pilot": {`), "pilot", []string{"pilot: is null", "leave the key out"}},
		{"too large a number", swap(`"x_m": 3`, `"x_m": 1e999`), "wings[1].x_m", []string{"1e999 is too large"}},
		{"zero that would pass for absent", swap(`"boat_length_m": 6`, `"boat_length_m": 6, "line_stiffness_n": 0`), "tow.line_stiffness_n", []string{"line_stiffness_n is 0; give a line's stiffness EA between 500 and"}},
		{"seven wings", swap(`"wings": [`, `"wings": [`+strings.Repeat(`{},`, 5)), "wings", []string{"there are 7; give 1 to 6 wings"}},
		{"no wing", `{"name": "Small", "wings": []}`, "wings", []string{"there are 0; give 1 to 6 wings"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := problemsOf(t, c.file)
			i := 0
			for i < len(p)-1 && p[i].Path != c.path {
				i++
			}
			require.Equal(t, c.path, p[i].Path, p)
			for _, w := range c.words {
				assert.Contains(t, p[i].Text, w)
			}
			for _, q := range p {
				assert.NotContains(t, q.Text, "\n")
				assert.Less(t, len(q.Text), 400)
			}
		})
	}
}

// One slip makes one problem, not a train of them.
func TestReadDoesNotEcho(t *testing.T) {
	for _, c := range [][2]string{
		{`"chord_m": 1.5`, `"chord_m": "wide"`},
		{`"chord_m": 1.5`, `"chord_m": "1.5"`},
		{`"chord_m": 1.5`, `"chord_m": 0`},
		{`"y_m": 2,`, ``},
		{`"x_aft_m": 1.5`, `"x_aft_m": null`},
		{`"line_m": 30`, `"line_m": -1`},
		{`"camber": {"height": 0.02, "at": 0.4}`, `"camber": 3`},
		{`"name": "rear"`, `"name": ""`},
		{`"floats": [`, `"floats": [3, `},
	} {
		require.Contains(t, small, c[0])
		p := problemsOf(t, strings.Replace(small, c[0], c[1], 1))
		assert.Len(t, p, 1, "%s", p)
	}
}

func TestReadTellsAllAtOnce(t *testing.T) {
	file := small
	for _, c := range [][2]string{
		{`"name": "front"`, `"nmae": "front"`},
		{`"chord_m": 1.5`, `"chord_m": "1.5"`},
		{`"twist_deg": -1`, `"twist_deg": -30`},
		{`"mass_kg": 75`, `"mass_kg": -75`},
		{`"x_forward_m": 0.9`, `"x_forward_m": 1.9`},
		{`"line_m": 30`, `"line_m": 300`},
		{`"z_m": -0.35}`, `"z_m": [-0.35]}`},
	} {
		require.Contains(t, file, c[0])
		file = strings.Replace(file, c[0], c[1], 1)
	}
	p := problemsOf(t, file)
	var paths []string
	for _, q := range p {
		paths = append(paths, q.Path)
	}
	assert.ElementsMatch(t, []string{
		"wings[0].nmae", "wings[0].name", "wings[0].stations[1].chord_m", "wings[0].stations[1].twist_deg",
		"weights[0].mass_kg", "pilot.x_forward_m", "tow.line_m", "floats[0].z_m",
	}, paths)
	assert.Equal(t, len(p), strings.Count(p.Error(), "\n")+1, "one sentence a line")
	assert.Contains(t, p.Error(), `weights[0].mass_kg: weight "structure": mass_kg is -75`)
}

func TestReadAcceptsByteOrderMark(t *testing.T) {
	c, err := Read(strings.NewReader("\ufeff" + small))
	require.NoError(t, err)
	assert.Equal(t, "Small", c.Name)
}

func TestReadPassesOnReadErrors(t *testing.T) {
	broken := errors.New("the card was pulled")
	_, err := Read(io.MultiReader(strings.NewReader(small[:50]), iotest.ErrReader(broken)))
	assert.ErrorIs(t, err, broken)
	var p Problems
	assert.False(t, errors.As(err, &p))
}

// forever repeats a text without end.
type forever struct{ text string }

func (f forever) Read(p []byte) (int, error) {
	n := 0
	for n+len(f.text) <= len(p) {
		n += copy(p[n:], f.text)
	}
	return max(n, copy(p, f.text)), nil
}

// soon is what a second on an idle machine may become on a busy one; what grows
// with the square of the input takes far longer.
const soon = 5 * time.Second

// Large files, sound or not, are answered at once.
func TestReadIsQuick(t *testing.T) {
	fill := func(head, unit, tail string) io.Reader {
		n := (maxFile - len(head) - len(tail)) / len(unit)
		return strings.NewReader(head + strings.Repeat(unit, n) + tail)
	}
	for name, c := range map[string]struct {
		file io.Reader
		want string
	}{
		"100 MB":        {io.LimitReader(forever{`{"name": "x"}`}, 100e6), "larger than 1 MiB"},
		"without end":   {forever{" "}, "larger than 1 MiB"},
		"wings":         {fill(`{"name": "x", "wings": [`, `{},`, `{}]}`), "give 1 to 6 wings"},
		"stations":      {fill(`{"name": "x", "wings": [{"stations": [`, `{"y_m":0},`, `{}]}]}`), "give 2 to 24 stations"},
		"unknown keys":  {fill(`{`, `"chrod_m": 1,`, `"x": 1}`), "more like these"},
		"one long key":  {fill(`{"`, `a`, `": 1}`), "unknown key"},
		"one long name": {fill(`{"name": "`, `ü`, `", "wings": []}`), "give at most 80"},
		"long number":   {fill(`{"name": `, `1`, `}`), "is the number 111"},
		"deep":          {fill(`{"name": `, `[`, ``), "too deep"},
		"newlines":      {fill(`{`, "\n", `]`), "column 1"},
		"nulls":         {fill(`{"weights": [`, `null,`, `null]}`), "give 1 to 200 weights"},
	} {
		start := time.Now()
		_, err := Read(c.file)
		require.ErrorContains(t, err, c.want, name)
		assert.Less(t, time.Since(start), soon, name)
		assert.Less(t, len(err.Error()), 40_000, name)
	}
}

func TestRoundTrip(t *testing.T) {
	full := demoCrafts(t)
	c, err := Read(strings.NewReader(small))
	require.NoError(t, err)
	full["small"] = c
	bare, err := Read(strings.NewReader(`{"name": "Bare <1> & \"2\"", "weights": [], "wings": [{"name": "ä", "x_m": -0.0, "z_m": 1e-7, "incidence_deg": 0.1,
		"stations": [{"y_m": 0.123456789012345678, "chord_m": 1}, {"y_m": 2, "chord_m": 0.3333333333333333}], "tip_plates": {}}]}`))
	require.NoError(t, err)
	full["bare"] = bare
	for name, c := range full {
		var one, two bytes.Buffer
		require.NoError(t, c.Write(&one))
		assert.True(t, bytes.HasSuffix(one.Bytes(), []byte("}\n")), name)
		again, err := Read(bytes.NewReader(one.Bytes()))
		require.NoError(t, err, name)
		assert.Equal(t, c, again, name)
		require.NoError(t, again.Write(&two))
		assert.Equal(t, one.String(), two.String(), name)
	}
	var b bytes.Buffer
	require.NoError(t, bare.Write(&b))
	for _, absent := range []string{"weights", "pilot", "tow\"", "floats", "parasite", "camber", "thickness", "plates", "twist", "le_"} {
		assert.NotContains(t, b.String(), absent, "what was absent stays absent")
	}
	assert.Contains(t, b.String(), `Bare <1> & \"2\"`)
}

func TestWriteRefusesNaN(t *testing.T) {
	c := Demo()
	c.Wings[1].Z = math.NaN()
	var b bytes.Buffer
	err := c.Write(&b)
	assert.ErrorContains(t, err, `wings[1].z_m: wing "rear": z_m is not a number`)
	assert.Zero(t, b.Len(), "nothing is half written")

	// A craft still in work is written as it stands.
	c = Demo()
	c.Wings[0].Stations[1].Chord = -1
	require.NotNil(t, c.Check())
	require.NoError(t, c.Write(&b))
	assert.Contains(t, b.String(), `"chord_m": -1`)
}

// Whatever comes in, Read does not panic; what it accepts writes and reads back
// equal, passes Check, has finite geometry and makes a lattice.
func FuzzRead(f *testing.F) {
	entries, err := os.ReadDir("crafts")
	require.NoError(f, err)
	for _, e := range entries {
		data, err := os.ReadFile("crafts/" + e.Name())
		require.NoError(f, err)
		f.Add(data)
	}
	f.Add([]byte(small))
	f.Add([]byte(`{"name": "a", "wings": [{"stations": [null, {}]}], "x": [{}]}`))
	f.Add([]byte("\ufeff[[[\"\\"))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := Read(bytes.NewReader(data))
		if err != nil {
			require.Nil(t, c)
			require.NotEmpty(t, err.Error())
			return
		}
		require.Nil(t, c.Check())
		var b bytes.Buffer
		require.NoError(t, c.Write(&b))
		again, err := Read(&b)
		require.NoError(t, err)
		require.Equal(t, c, again)
		requireFinite(t, c)
	})
}

// So it is with crafts that no file was written for.
func TestSoundCraftsStaySound(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	sound := 0
	for range 400 {
		c := randomCraft(rng)
		if p := c.Check(); p != nil {
			require.NotEmpty(t, p.Error())
			continue
		}
		sound++
		var b bytes.Buffer
		require.NoError(t, c.Write(&b))
		again, err := Read(&b)
		require.NoError(t, err)
		require.Equal(t, c, again)
		requireFinite(t, c)
	}
	assert.Greater(t, sound, 100)
}

func requireFinite(t *testing.T, c *Craft) {
	t.Helper()
	finite := func(v ...float64) {
		for _, x := range v {
			require.False(t, math.IsNaN(x) || math.IsInf(x, 0), v)
		}
	}
	for _, s := range c.Surfaces(Mesh{Rows: 4, Strips: 8}) {
		for _, st := range s.Stations {
			require.Positive(t, st.Chord)
			for _, xi := range []float64{0, .3, 1} {
				p := st.Point(xi)
				finite(p.X, p.Y, p.Z)
			}
		}
	}
	_, err := vlm.New(c.Surfaces(Mesh{Rows: 1, Strips: 1}), vlm.Options{})
	require.NoError(t, err)
	s := c.Shape()
	finite(s.Area, s.Span, s.MAC, s.MACX)
	for _, w := range s.Wings {
		finite(w.Area, w.Span, w.AspectRatio, w.MAC, w.MACX, w.MACY)
	}
	u := c.LowestPoints()
	for _, pitch := range []float64{-.3, 0, .1} {
		low := u.At(pitch)
		finite(low.Depth, low.X, low.Z)
	}
	x, z := c.CG(1)
	finite(x, z, c.Mass())
}

func ExampleRead() {
	craft, err := Read(strings.NewReader(`{
		"name": "Moorhen",
		"wings": [{"name": "wing", "x_m": 0, "z_m": 0, "incidence_deg": 4,
			"stations": [{"y_m": 0, "chord_m": 2}, {"y_m": 1.5, "chord_m": 1}]}]
	}`))
	if err != nil {
		fmt.Println(err)
		return
	}
	shape := craft.Shape()
	fmt.Printf("%s: %.2f m2, mean chord %.3f m\n", craft.Name, shape.Area, shape.MAC)
	fmt.Println(craft.Require(BlockFloats))

	// A file with slips is answered with all of them, one a line.
	_, err = Read(strings.NewReader(`{"name": "Moorhen", "wing": []}`))
	fmt.Println(err)
	// Output:
	// Moorhen: 4.50 m2, mean chord 1.556 m
	// floats: the craft file does not tell where the craft floats; add an entry like "floats": [{"x_m": 0.3, "z_m": -0.35}, {"x_m": 4.2, "z_m": -0.3}]
	// wing: unknown key "wing"; did you mean "wings"?
	// wings: the key "wings" is missing
}

// How a program shows a craft is nobody else's matter.
func TestReadPassesOverTheView(t *testing.T) {
	with := strings.Replace(small, "{", `{"view": {"speed_mps": 14, "pins": [{"a": null}, []]}, `, 1)
	c, err := Read(strings.NewReader(with))
	require.NoError(t, err)
	plain, err := Read(strings.NewReader(small))
	require.NoError(t, err)
	assert.Equal(t, plain, c)
	_, err = Read(strings.NewReader(strings.Replace(small, `"stations"`, `"view": {}, "stations"`, 1)))
	assert.ErrorContains(t, err, "unknown key")
}
