package gecp

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func smallCraft(t testing.TB) *Craft {
	t.Helper()
	c, err := Read(strings.NewReader(small))
	require.NoError(t, err)
	return c
}

// rectangle is a plain wing.
func rectangle(name string, x, z, incidence, chord, half float64) Wing {
	return Wing{Name: name, X: x, Z: z, IncidenceDeg: incidence, Stations: []Station{{Chord: chord}, {Y: half, Chord: chord}}}
}

func TestCheckRefuses(t *testing.T) {
	stations := func(n int) []Station {
		s := make([]Station, n)
		for i := range s {
			s[i] = Station{Y: float64(i) * .01, Chord: 1}
		}
		return s
	}
	for _, c := range []struct {
		name  string
		slip  func(c *Craft)
		path  string
		words []string
	}{
		{"no name", func(c *Craft) { c.Name = " " }, "name", []string{"the name is empty"}},
		{"name with a line break", func(c *Craft) { c.Name = "a\nb" }, "name", []string{`"a\nb"`, "cannot be shown"}},
		{"name not UTF-8", func(c *Craft) { c.Name = "a\xff" }, "name", []string{"cannot be shown"}},
		{"long name", func(c *Craft) { c.Name = strings.Repeat("x", 81) }, "name", []string{"81 letters; give at most 80"}},
		{"wing without a name", func(c *Craft) { c.Wings[1].Name = "" }, "wings[1].name", []string{"wing 2", "the name is empty"}},
		{"two wings of a name", func(c *Craft) { c.Wings[1].Name = "front" }, "wings[1].name", []string{`"front" is taken by wing 1`}},
		{"wing named like a plate", func(c *Craft) { c.Wings[1].Name = "front plate down" }, "wings[1].name", []string{`is taken by wing 1 or its tip plates`}},
		{"no wings", func(c *Craft) { c.Wings = nil }, "wings", []string{"there are 0; give 1 to 6 wings"}},
		{"seven wings", func(c *Craft) { c.Wings = make([]Wing, 7) }, "wings", []string{"there are 7; give 1 to 6 wings"}},
		{"one station", func(c *Craft) { c.Wings[0].Stations = stations(1) }, "wings[0].stations", []string{`wing "front"`, "there are 1; give 2 to 24 stations"}},
		{"10,000 stations", func(c *Craft) { c.Wings[0].Stations = stations(10_000) }, "wings[0].stations", []string{"there are 10000; give 2 to 24 stations"}},
		{"crossing stations", func(c *Craft) { c.Wings[1].Stations = []Station{{Chord: 1}, {Y: 2, Chord: 1}, {Y: 1.5, Chord: 1}} }, "wings[1].stations[2].y_m", []string{`wing "rear", station 3`, "1.5 after 2", "crossing stations", "outwards"}},
		{"equal stations", func(c *Craft) { c.Wings[1].Stations = []Station{{Chord: 1}, {Chord: .9}} }, "wings[1].stations[1].y_m", []string{"0 after 0", "crossing stations"}},
		{"across the centreline", func(c *Craft) { c.Wings[1].Stations[0].Y = -1 }, "wings[1].stations[0].y_m", []string{"y_m is -1", "between 0 and 50 m from the centreline", "mirror image"}},
		{"short span", func(c *Craft) { c.Wings[1].Stations[1].Y = .02 }, "wings[1].stations[1].y_m", []string{"half span is 0.02 m; give at least 0.05 m"}},
		{"small chord", func(c *Craft) { c.Wings[0].Stations[1].Chord = .01 }, "wings[0].stations[1].chord_m", []string{`wing "front", station 2: chord_m is 0.01; give a chord between 0.02 and 20 m`}},
		{"millimetres", func(c *Craft) { c.Wings[0].Stations[1].Chord = 1500 }, "wings[0].stations[1].chord_m", []string{"chord_m is 1500", "between 0.02 and 20 m"}},
		{"incidence", func(c *Craft) { c.Wings[0].IncidenceDeg = 21 }, "wings[0].incidence_deg", []string{"incidence_deg is 21", "between -20 and 20 deg"}},
		{"twist", func(c *Craft) { c.Wings[0].Stations[1].TwistDeg = -21 }, "wings[0].stations[1].twist_deg", []string{"twist_deg is -21"}},
		{"incidence and twist", func(c *Craft) { c.Wings[0].IncidenceDeg, c.Wings[0].Stations[1].TwistDeg = 15, 15 }, "wings[0].stations[1].twist_deg", []string{"30 deg together", "within 25 deg"}},
		{"camber", func(c *Craft) { c.Wings[0].Camber.Height = -.2 }, "wings[0].camber.height", []string{`wing "front", camber: height is -0.2`, "between -0.15 and 0.15 chords"}},
		{"camber far back", func(c *Craft) { c.Wings[0].Camber.At = .95 }, "wings[0].camber.at", []string{"at is 0.95", "between 0.1 and 0.9 chords"}},
		{"thickness", func(c *Craft) { c.Wings[0].Thickness = 12 }, "wings[0].thickness", []string{"thickness is 12", "between 0 and 0.3 chords", "thin wings"}},
		{"plate", func(c *Craft) { c.Wings[0].TipPlates.Up = 2.5 }, "wings[0].tip_plates.up_m", []string{"tip plates: up_m is 2.5", "between 0 and 2 m"}},
		{"plate of a hair", func(c *Craft) { c.Wings[0].TipPlates.Down = 1e-6 }, "wings[0].tip_plates.down_m", []string{"down_m is 1e-06; give 0, for no plate, or at least 0.005 m"}},
		{"wing far away", func(c *Craft) { c.Wings[1].X = 3200 }, "wings[1].x_m", []string{"x_m is 3200", "between -50 and 50 m aft of the datum"}},
		{"upright wing", func(c *Craft) { c.Wings[1].Stations[1].LEZ = 20 }, "wings[1].stations[1].le_z_m", []string{"20 m within 2.2 m of span", "tip_plates"}},
		{"leading edge crosses", func(c *Craft) { c.Wings[1].Stations[1].LEX = 15 }, "wings[1].stations[1].le_x_m", []string{"the leading edge runs 15 m", "cross"}},
		{"trailing edge crosses", func(c *Craft) {
			c.Wings[1].Stations = []Station{{Chord: 1}, {Y: 1, Chord: 1}, {Y: 1.01, Chord: .5}, {Y: 2, Chord: .5}}
		}, "wings[1].stations[2].le_x_m", []string{"the trailing edge runs 0.5 m", "cross"}},

		{"mass", func(c *Craft) { c.Weights[0].Mass = 0 }, "weights[0].mass_kg", []string{`weight "structure": mass_kg is 0`, "between 0.01 and 2000 kg"}},
		{"weight without a name", func(c *Craft) { c.Weights[0].Name = "" }, "weights[0].name", []string{"weight 1: the name is empty"}},
		{"grams", func(c *Craft) { c.Pilot.Mass = 80_000 }, "pilot.mass_kg", []string{"pilot: mass_kg is 80000"}},
		{"pilot's places", func(c *Craft) { c.Pilot.XForward = 1.6 }, "pilot.x_forward_m", []string{"pilot: x_forward_m is 1.6, aft of x_aft_m, 1.5"}},
		{"shift", func(c *Craft) { c.Pilot.MaxShift = -1 }, "pilot.max_shift_mps", []string{"max_shift_mps is -1"}},
		{"line", func(c *Craft) { c.Tow.Line = 0 }, "tow.line_m", []string{"tow: line_m is 0", "between 1 and 200 m"}},
		{"line shorter than the pole", func(c *Craft) { c.Tow.Line, c.Tow.BoatHeight = 2, 3 }, "tow.line_m", []string{"line_m is 2, not longer than boat_height_m, 3"}},
		{"line under water", func(c *Craft) { c.Tow.BoatHeight = -1 }, "tow.boat_height_m", []string{"boat_height_m is -1", "between 0 and 10 m above the water"}},
		{"soft line", func(c *Craft) { c.Tow.LineStiffness = 3 }, "tow.line_stiffness_n", []string{"line_stiffness_n is 3", "between 500 and"}},
		{"21 floats", func(c *Craft) { c.Floats = make([]Float, 21) }, "floats", []string{"there are 21; give 1 to 20 floats"}},
		{"float", func(c *Craft) { c.Floats[1].Z = 1e3 }, "floats[1].z_m", []string{"float 2: z_m is 1000"}},
		{"parasite area", func(c *Craft) { c.ParasiteArea = -1 }, "parasite_area_m2", []string{"parasite_area_m2 is -1", "between 0 and 20 m2"}},

		{"through the other", func(c *Craft) { c.Wings[1] = rectangle("rear", .5, -.1, -4, 1.6, 1.5) }, "wings[1]", []string{`wing "rear": it passes through wing "front" at y = 0 m`}},
		{"through it further out", func(c *Craft) {
			c.Wings[1] = rectangle("rear", .2, .35, 5, 1, 1.9)
			c.Wings[1].Stations[1].LEZ = -.6
		}, "wings[1]", []string{`passes through wing "front" at y = 1.`}},
		{"a slat between the points looked at", func(c *Craft) {
			c.Wings[0] = rectangle("front", 0, 0, 0, 1.6, 2)
			c.Wings[1] = rectangle("rear", .475, .01, 20, .045, 2)
		}, "wings[1]", []string{`passes through wing "front"`}},
		{"a wing behind a slat within it", func(c *Craft) {
			c.Wings[0] = rectangle("front", .475, .01, 20, .045, 2)
			c.Wings[1] = rectangle("rear", 0, 0, 0, 1.6, 2)
		}, "wings[1]", []string{`passes through wing "front"`}},
		{"parallel wings that cross", func(c *Craft) {
			c.Wings[0] = rectangle("front", 0, 0, 0, 1.6, 2)
			c.Wings[1] = rectangle("rear", 0, .3, 0, 1.6, 2)
			c.Wings[1].Stations[1].LEZ = -.61
		}, "wings[1]", []string{`passes through wing "front" at y = `}},
		{"a dip between the places looked at", func(c *Craft) {
			c.Wings[0] = rectangle("front", 0, 0, 0, 1.6, 2)
			c.Wings[1] = rectangle("rear", 0, .03, 0, 1.6, 2)
			c.Wings[1].Stations = []Station{{Chord: 1}, {Y: 1.002, Chord: 1}, {Y: 1.012, Chord: 1, LEZ: -.05}, {Y: 1.022, Chord: 1}, {Y: 2, Chord: 1}}
		}, "wings[1]", []string{`passes through wing "front" at y = 1.012 m`}},
		{"within the other", func(c *Craft) { c.Wings[1] = rectangle("rear", 0, .06, 5, 1.4, 1.5) }, "wings[1]", []string{`wing "rear": it lies inside wing "front"`, "half of the two thicknesses"}},
		{"on the other", func(c *Craft) { c.Wings[1] = c.Wings[0]; c.Wings[1].Name = "rear" }, "wings[1]", []string{`wing "front"`, "meet at a tip plate"}},
		{"plate through the other", func(c *Craft) { c.Wings[1] = rectangle("rear", 0, -.1, 5, 1.4, 2.2) }, "wings[1]", []string{`it and wing "front" meet at a tip plate, at y = 2 m`}},
		{"plate into plate", func(c *Craft) {
			c.Wings[0].TipPlates = TipPlates{Up: .3}
			c.Wings[1] = rectangle("rear", .5, .5, 5, 1.4, 2)
			c.Wings[1].TipPlates = TipPlates{Down: .3}
		}, "wings[1]", []string{"meet at a tip plate, at y = 2 m"}},

		{"in the water", func(c *Craft) { c.Floats = []Float{{X: 1, Z: -.2}} }, "wings[0]", []string{`wing "front": it lies 0.0`, "under water", "at 0.0 deg of pitch", "raise the wing's z_m or lower the z_m of the floats"}},
		{"standing on its tail", func(c *Craft) { c.Floats = []Float{{X: 1, Z: -2}, {X: 3, Z: 0}} }, "floats", []string{"at 45.0 deg of pitch", "within 20 deg"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			craft := smallCraft(t)
			c.slip(craft)
			p := checked(craft)
			require.Len(t, p, 1, "%v", p)
			assert.Equal(t, c.path, p[0].Path)
			for _, w := range c.words {
				assert.Contains(t, p[0].Text, w)
			}
			assert.NotContains(t, p[0].String(), "\n")
		})
	}
}

func TestCheckAccepts(t *testing.T) {
	for name, slip := range map[string]func(c *Craft){
		"as it is":               func(c *Craft) {},
		"nothing but wings":      func(c *Craft) { *c = Craft{Name: c.Name, Wings: c.Wings} },
		"empty lists":            func(c *Craft) { c.Weights, c.Floats = []Weight{}, []Float{} },
		"halves apart":           func(c *Craft) { c.Wings[1].Stations[0].Y = .6 },
		"first and last at once": func(c *Craft) { c.Pilot.XAft = c.Pilot.XForward },
		"one float":              func(c *Craft) { c.Floats = []Float{{X: 1, Z: -.5}} },
		"two floats abreast":     func(c *Craft) { c.Floats = []Float{{X: 1, Z: -.5}, {X: 1, Z: -.4}} },
		"a wing over the other":  func(c *Craft) { c.Wings[1] = rectangle("rear", 0, .17, 5, 1.6, 2) },
		"a wing beside another": func(c *Craft) {
			c.Wings[1] = rectangle("rear", 0, 0, 5, 1.6, 1)
			c.Wings[1].Stations = []Station{{Y: 2.1, Chord: 1}, {Y: 3, Chord: 1}}
		},
		"under here, over there": func(c *Craft) { // never over each other between
			c.Wings[0].TipPlates = TipPlates{}
			c.Wings[1] = Wing{Name: "rear", X: 0, Z: -.25, Stations: []Station{
				{Y: 0, Chord: .5}, {Y: .5, Chord: .5}, {Y: .9, Chord: .5, LEX: 2}, {Y: 1.1, Chord: .5, LEX: 2, LEZ: .6}, {Y: 1.5, Chord: .5, LEZ: .6}, {Y: 2, Chord: .5, LEZ: .6}}}
		},
		"strongly swept and tapered": func(c *Craft) { // aspect ratio 2 sqrt 2, taper 1/3, 53.54 deg
			c.Wings = []Wing{{Name: "front", Stations: []Station{{Chord: 1.5}, {Y: math.Sqrt2, Chord: .5, LEX: 1.914}}}}
		},
		"plates to the other's edge": func(c *Craft) { // stops short of the upper wing
			c.Wings[0].TipPlates = TipPlates{Up: .3}
			c.Wings[1] = rectangle("rear", 0, .4, 5, 1.6, 2)
		},
	} {
		c := smallCraft(t)
		slip(c)
		assert.Nil(t, c.Check(), name)
	}
}

// Every number of the struct, made NaN, infinite or absurd, is named at its path.
func TestCheckNamesEveryNumber(t *testing.T) {
	visited := 0
	var visit func(c *Craft, v reflect.Value, path string)
	visit = func(c *Craft, v reflect.Value, path string) {
		switch v.Kind() {
		case reflect.Pointer:
			visit(c, v.Elem(), path)
		case reflect.Struct:
			for i, k := range keysOf(v.Type()) {
				if f := v.Field(i); f.Kind() != reflect.Struct && f.Kind() != reflect.Pointer || !f.IsZero() { // an absent section has no numbers
					visit(c, f, below(path, k.name))
				}
			}
		case reflect.Slice:
			for i := range v.Len() {
				visit(c, v.Index(i), fmt.Sprintf("%s[%d]", path, i))
			}
		case reflect.Float64:
			was := v.Float()
			for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300} {
				v.SetFloat(x)
				p := checked(c)
				require.Len(t, p, 1, "%s = %v: %v", path, x, p)
				require.Equal(t, path, p[0].Path)
				visited++
			}
			v.SetFloat(was)
		}
	}
	demo := func() *Craft {
		c := Demo()
		mass := .03
		c.Tow.LineMass = &mass
		return c
	}
	c := demo()
	visit(c, reflect.ValueOf(c).Elem(), "")
	assert.Greater(t, visited, 150)
	assert.Equal(t, demo(), c)
}

// The ends of every range belong to it and what lies just beyond does not.
func TestLimits(t *testing.T) {
	for path, l := range limits() {
		assert.Less(t, l.lo, l.hi, path)
		for x, ok := range map[float64]bool{l.lo: true, l.hi: true, math.Nextafter(l.lo, -1e9): false, math.Nextafter(l.hi, 1e9): false} {
			c := &Craft{
				Name:    "x",
				Wings:   []Wing{{Name: "w", Stations: make([]Station, 2)}},
				Weights: make([]Weight, 1), Pilot: &Pilot{}, Tow: &Tow{}, Floats: make([]Float, 1), Correction: &Correction{},
			}
			c.Wings[0].Camber.Height = .01
			c.Tow.LineMass = new(float64)
			at := set(t, reflect.ValueOf(c).Elem(), "", path, x)
			k := checker{craft: c}
			k.values(reflect.ValueOf(c).Elem(), "")
			assert.Equal(t, ok, k.clean(at), "%s = %v", at, x)
		}
	}
}

// set puts x into the number of the given section path, in the first entry of
// every list, and returns its full path.
func set(t *testing.T, v reflect.Value, at, path string, x float64) string {
	name, rest, deeper := strings.Cut(path, ".")
	for i, k := range keysOf(v.Type()) {
		if k.name != name {
			continue
		}
		f, at := reflect.Indirect(v.Field(i)), below(at, name)
		if f.Kind() == reflect.Slice {
			f, at = f.Index(0), at+"[0]"
		}
		if deeper {
			return set(t, f, at, rest, x)
		}
		if f.Kind() == reflect.Int { // just beyond an end is the next whole number
			if x > 1 {
				x = math.Ceil(x)
			}
			f.SetInt(int64(x))
			return at
		}
		f.SetFloat(x)
		return at
	}
	t.Fatalf("no number at %s", path)
	return ""
}

// checked returns what Check found.
func checked(c *Craft) Problems {
	var p Problems
	errors.As(c.Check(), &p)
	return p
}

// A sound craft has no error at all, also when it is kept as an error.
func TestCheckOfASoundCraftIsNil(t *testing.T) {
	var err error = Demo().Check()
	assert.True(t, err == nil)
}

// The lattice gives each bay a strip of its own: their number is held.
func TestBaysAreCounted(t *testing.T) {
	with := func(wings, stations int) *Craft {
		c := &Craft{Name: "many"}
		for i := range wings {
			w := Wing{Name: fmt.Sprint(i), Z: float64(i)}
			for j := range stations {
				w.Stations = append(w.Stations, Station{Y: float64(j) * .3, Chord: 1})
			}
			c.Wings = append(c.Wings, w)
		}
		return c
	}
	assert.NoError(t, with(6, 11).Check(), "60 bays")
	assert.ErrorContains(t, with(6, 12).Check(), "the wings have 66 bays between stations in all; give at most 60")
	assert.NoError(t, with(1, 24).Check())
	assert.ErrorContains(t, with(1, 25).Check(), "there are 25; give 2 to 24 stations")
}

// Problems of one part do not hide those of another.
func TestCheckTellsAllAtOnce(t *testing.T) {
	c := smallCraft(t)
	c.Wings = append(c.Wings, rectangle("third", .3, -.1, -5, 1, 1), rectangle("fourth", -1, 1, 0, .001, 1))
	c.Pilot.Mass = -1
	c.Floats = []Float{{X: 1, Z: -.25}}
	var paths []string
	for _, p := range checked(c) {
		paths = append(paths, p.Path)
	}
	assert.Equal(t, []string{"wings[3].stations[0].chord_m", "wings[3].stations[1].chord_m", "pilot.mass_kg", "wings[2]", "wings[0]"}, paths)
}

// The depth told is what has to be added to the wing's z_m, for a craft that
// rests level.
func TestDepthToldIsTheRemedy(t *testing.T) {
	c := smallCraft(t)
	c.Floats = []Float{{X: 1, Z: -.25}}
	low := c.LowestPoints().At(0)
	require.Len(t, checked(c), 1)
	assert.Contains(t, checked(c)[0].Text, fmt.Sprintf("it lies %.3g m under water", low.Depth-.25))
	c.Wings[0].Z += low.Depth - .25 + 1e-6
	assert.Nil(t, c.Check())
}

func TestCheckIsQuick(t *testing.T) {
	worst := &Craft{Name: "worst"}
	for i := range 6 {
		w := Wing{Name: fmt.Sprint(i), Z: float64(i), Thickness: .1, Camber: Camber{.1, .4}, TipPlates: TipPlates{.1, .1}}
		for j := range 11 {
			w.Stations = append(w.Stations, Station{Y: float64(j) * .1, Chord: 2, TwistDeg: float64(j % 5)})
		}
		worst.Wings = append(worst.Wings, w)
	}
	require.Nil(t, worst.Check())
	for name, c := range map[string]*Craft{
		"at every limit": worst,
		"wings":          {Name: "x", Wings: make([]Wing, 1e6)},
		"stations":       {Name: "x", Wings: []Wing{{Name: "w", Stations: make([]Station, 1e6)}}},
		"weights":        {Name: "x", Wings: Demo().Wings, Weights: make([]Weight, 1e6)},
		"long name":      {Name: strings.Repeat("ä", 1e7), Wings: Demo().Wings},
	} {
		start := time.Now()
		p := checked(c)
		assert.Less(t, time.Since(start), soon, name)
		assert.LessOrEqual(t, len(p), 2, name)
	}
}
