package solver

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/playground/exchange"
)

// anyCraft draws a craft: one that a builder may think of, or one of those bent by a few
// values that nobody should give.
func anyCraft(rng *rand.Rand) *gecp.Craft {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	all := crafts.All()
	c := all[rng.IntN(len(all))].Craft.Clone()
	if rng.IntN(2) == 0 { // a craft of its own
		c = &gecp.Craft{Name: "drawn", ParasiteArea: between(.05, .6)}
		x := 0.
		for i := range 1 + rng.IntN(3) {
			w := gecp.Wing{
				Name: fmt.Sprintf("wing %d", i+1), X: x, Z: between(-.2, .6), IncidenceDeg: between(-1, 8),
				Camber: gecp.Camber{Height: between(0, .05), At: between(.2, .6)}, Thickness: between(.05, .15),
			}
			y, chord := 0., between(.4, 2)
			for range 2 + rng.IntN(3) {
				w.Stations = append(w.Stations, gecp.Station{Y: y, Chord: chord, LEX: .3 * y * rng.Float64(), LEZ: between(-.05, .1) * y, TwistDeg: between(-3, 3)})
				y, chord = y+between(.3, 1.5), chord*between(.6, 1.1)
			}
			if rng.IntN(3) == 0 {
				w.TipPlates = gecp.TipPlates{Down: between(0, .2), Up: between(0, .3)}
			}
			c.Wings = append(c.Wings, w)
			x += w.Stations[0].Chord + between(.2, 2)
		}
		c.Weights = []gecp.Weight{{Name: "structure", Mass: between(20, 120), X: between(0, x), Z: between(0, .5)}}
		if rng.IntN(6) > 0 {
			from := between(0, x)
			c.Pilot = &gecp.Pilot{Mass: between(50, 110), XForward: from, XAft: from + between(0, 1), Z: between(.2, .8)}
		}
		if rng.IntN(6) > 0 {
			c.Tow = &gecp.Tow{X: between(-.5, 1), Z: between(-.3, .5), BoatHeight: between(0, 2), Line: between(8, 50), BoatLength: between(3, 8)}
		}
		if rng.IntN(6) > 0 {
			for range 1 + rng.IntN(4) {
				c.Floats = append(c.Floats, gecp.Float{X: between(0, x), Z: between(-.6, -.1)})
			}
		}
	}
	if rng.IntN(3) == 0 {
		for range 1 + rng.IntN(3) {
			bend(rng, c)
		}
	}
	return c
}

// bend sets one number of a craft, any of them, to one that nobody should give, or
// stretches it.
func bend(rng *rand.Rand, c *gecp.Craft) {
	var fields []reflect.Value
	floats(reflect.ValueOf(c).Elem(), func(v reflect.Value) {
		if v.CanSet() {
			fields = append(fields, v)
		}
	})
	v := fields[rng.IntN(len(fields))]
	odd := []float64{0, -1, 1e-9, 1e9, -v.Float(), 10 * v.Float(), .1 * v.Float(), math.NaN(), math.Inf(1), v.Float() + .3, 3 * v.Float()}
	v.SetFloat(odd[rng.IntN(len(odd))])
}

// spoil takes a part of a craft away, makes two of its wings alike, or adds wings.
func spoil(rng *rand.Rand, c *gecp.Craft) {
	w := &c.Wings[rng.IntN(len(c.Wings))]
	switch rng.IntN(9) {
	case 0:
		c.Weights = nil
	case 1:
		c.Pilot = nil
	case 2:
		c.Tow = nil
	case 3:
		if n := rng.IntN(len(c.Floats) + 1); n > 0 {
			c.Floats = c.Floats[:n]
		} else {
			c.Floats = nil
		}
	case 4:
		c.Wings[len(c.Wings)-1].Name = w.Name
	case 5: // another wing in the same place
		again := *w
		again.Name += " again"
		c.Wings = append(c.Wings, again)
	case 6: // a thin one
		for i := range w.Stations {
			w.Stations[i].Chord = .02
		}
	case 7:
		w.Stations = w.Stations[:rng.IntN(len(w.Stations))]
	case 8: // up to six
		for i := len(c.Wings); i < 6; i++ {
			more := c.Clone().Wings[rng.IntN(len(c.Wings))]
			more.Name = fmt.Sprintf("more %d", i)
			more.X += 4 * rng.Float64()
			more.Z += .8 * rng.Float64()
			c.Wings = append(c.Wings, more)
		}
	}
}

// floats calls a function for every number within a value.
func floats(v reflect.Value, f func(reflect.Value)) {
	switch v.Kind() {
	case reflect.Float64:
		f(v)
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			floats(v.Elem(), f)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			floats(v.Index(i), f)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				floats(v.Field(i), f)
			}
		}
	}
}

func assertFinite(t *testing.T, what string, answers ...any) {
	t.Helper()
	for _, a := range answers {
		floats(reflect.ValueOf(a), func(v reflect.Value) {
			if math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0) {
				assert.Failf(t, "not finite", "%s: %+v", what, a)
			}
		})
	}
}

var noSentence = regexp.MustCompile(`%!|runtime error|goroutine|nil pointer|interface conversion|index out of range|<nil>|float64|\*?(gecp|tow|vlm|lake|motion)\.[A-Z]`)

// noNumber is what no sentence says of finite questions.
var noNumber = regexp.MustCompile(`[+-]Inf\b|\bNaN\b`)

// refusedInASentence fails unless an error is one that a builder can read.
func refusedInASentence(t *testing.T, what string, err error) {
	t.Helper()
	text := err.Error()
	assert.NotRegexp(t, noSentence, text, what)
	assert.Contains(t, text, " ", what)
}

// closes fails unless a trim's forces are the map's and balance to a thousandth of the
// weight.
func closes(t *testing.T, what string, st tow.SteadyTow, b tow.Trim) {
	t.Helper()
	w, q := st.Weight(), st.Freestream().DynamicPressure()
	p, err := st.Map().At(b.Clearance, b.Pitch)
	require.NoError(t, err, what)
	assert.InDelta(t, p.Lift*q, b.Lift, 1e-3*w, "%s: lift", what)
	assert.InDelta(t, w, b.Lift+b.LineTension*math.Sin(b.LineAngle), 1e-3*w, "%s: up", what)
	assert.InDelta(t, b.Drag(), b.LineTension*math.Cos(b.LineAngle), 1e-3*w, "%s: aft", what)
	assert.GreaterOrEqual(t, b.LineTension, 0., "%s: a line does not push", what)
	assert.GreaterOrEqual(t, b.InducedDrag, -1.1e-3*w, "%s: induced drag", what)
}

// throughAllQuestions asks everything of a craft, and looks that each answer is finite
// and balanced, or a sentence.
func throughAllQuestions(t *testing.T, c *gecp.Craft, speed, clearance, pilotX float64) {
	ctx, cancel := context.WithTimeout(t.Context(), 4*time.Second) // a fuzz worker may take ten
	defer cancel()
	what := func(s string) string {
		text, _ := json.Marshal(c) // fails for what no file can hold
		return fmt.Sprintf("%s at %v m/s, %v m, pilot %v: %.1500s", s, speed, clearance, pilotX, text)
	}
	finite := false // until the craft has passed its check
	no := func(s string, err error) bool {
		t.Helper()
		if err != nil {
			refusedInASentence(t, what(s), err)
			if finite {
				assert.NotRegexp(t, noNumber, err.Error(), what(s))
			}
		}
		return err != nil
	}
	if no("check", c.Check()) {
		_, err := gecp.NewModel(c, gecp.Mesh{Rows: 2, Strips: 4})
		assert.Error(t, err, what("a model of a craft that does not pass its check"))
		return
	}
	finite = !math.IsNaN(clearance)
	var file bytes.Buffer
	require.NoError(t, c.Write(&file), what("write"))
	back, err := gecp.Read(&file)
	require.NoError(t, err, what("read"))
	require.Equal(t, c, back, what("there and back"))

	mo, err := gecp.NewModel(c, gecp.Mesh{Rows: 3, Strips: 5})
	if no("model", err) {
		return
	}
	ask := gecp.SweepQuestion{Speed: speed, Pitch: .05, Clearances: []float64{clearance, .2, 1}}
	rows, err := mo.Sweep(ctx, ask)
	was := runtime.GOMAXPROCS(1)
	again, err2 := mo.Sweep(ctx, ask)
	runtime.GOMAXPROCS(was)
	assert.Equal(t, err == nil, err2 == nil, what("one processor and many"))
	if !no("sweep", err) {
		assertFinite(t, what("sweep"), rows)
		assert.Equal(t, rows, again, what("one processor and many"))
		for _, r := range rows {
			assert.GreaterOrEqual(t, r.Drag(), 0., what("drag"))
		}
	}

	m, err := mo.BuildMap(ctx, gecp.MapOptions{Heights: 4, Pitches: 5})
	if no("map", err) {
		return
	}
	assertFinite(t, what("map"), m.Error())
	st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: speed})
	if no("tow", err) {
		return
	}
	if b, err := st.Trim(clearance); !no("trim", err) {
		assertFinite(t, what("trim"), b)
		closes(t, what("trim"), st, b)
		if i, err := st.ImbalanceOf(b, pilotX); !no("imbalance", err) {
			assertFinite(t, what("imbalance"), i)
			assert.NotRegexp(t, noSentence, i.Words(units.Metric))
		}
		if r, err := motion.MarginsAt(ctx, st, clearance, 0); !no("margins", err) {
			assertFinite(t, what("margins"), r)
			assert.NotRegexp(t, noSentence, r.Verdict(), what("margins"))
		}
		if d := st.Depression(b); true {
			assertFinite(t, what("depression"), d)
		}
		if modes, err := motion.ModesAt(st, clearance); !no("modes", err) {
			for _, o := range modes {
				assertFinite(t, what("modes"), o)
			}
		}
		if fl, err := motion.NewFlight(st, clearance, motion.StandardSpeedUp()); !no("flight", err) {
			for range 40 {
				if !fl.Step(.05, pilotX) {
					break
				}
				assertFinite(t, what("flight"), fl.State())
			}
		}
	}
	if k, err := st.TrimCurve(); !no("curve", err) {
		for _, b := range k.States {
			closes(t, what("curve"), st, b)
		}
		assertFinite(t, what("ceiling"), k.SelfHolding())
	}
	if r, err := st.Range(ctx, tow.Rules{}); !no("range", err) {
		assertFinite(t, what("range"), r.Limits, r.PilotForward, r.PilotAft, r.LineTension)
		text := r.Words(units.Metric) + r.Words(units.Customary) + r.Reason(units.Metric)
		assert.NotRegexp(t, noSentence, text)
		assert.NotContains(t, text, "NaN", what("range"))
		if r.OK {
			assert.LessOrEqual(t, r.Low.Clearance, r.High.Clearance, what("range"))
			assert.LessOrEqual(t, r.High.Clearance, tow.DefaultOwnLimit+1e-9, what("range"))
			assert.True(t, r.Low.HeightStable && r.High.HeightStable, what("range"))
			closes(t, what("low"), st, r.Low)
			closes(t, what("high"), st, r.High)
			for _, l := range r.Limits {
				if l.OK {
					assert.LessOrEqual(t, r.High.Clearance, l.At+1e-4, "%s: %v", what("range"), l.Kind)
				}
			}
		}
	}
	if l, err := tow.FindLiftOff(ctx, m, 0, pilotX); !no("lift-off", err) {
		assertFinite(t, what("lift-off"), l.Speed, l.Settle, l.SettleSpeed, l.Last)
		assert.NotRegexp(t, noSentence, l.Words(units.Metric), what("lift-off"))
	}
	if x, ok, err := tow.EvenLiftOff(ctx, m, 0); !no("even lift-off", err) && ok {
		assertFinite(t, what("even lift-off"), x)
	}
	if w, err := tow.FindWindow(ctx, m, 0, pilotX); !no("window", err) {
		assertFinite(t, what("window"), w.From, w.To, w.Width())
		assert.GreaterOrEqual(t, w.Width(), 0., what("window"))
		assert.NotRegexp(t, noSentence, w.Words(units.Customary))
	}
	if w, err := tow.FindWakeLines(c, speed); !no("wake", err) {
		assertFinite(t, what("wake"), w)
	}
	if card, err := lake.NewTowCard(ctx, m, lake.TowCardOptions{Top: 5}); !no("card", err) {
		var b strings.Builder
		require.NoError(t, card.WriteText(&b), what("card"))
		assert.NotRegexp(t, noSentence, b.String(), what("card"))
		assert.NotContains(t, b.String(), "NaN", what("card"))
	}

	if math.IsNaN(clearance) { // JSON has no such number
		return
	}
	d := new(Service)
	for _, kind := range []string{"heights", "nearby", "towing", "csv", "pose", "leap", "margin"} {
		text, err := json.Marshal(about(kind, c, map[string]any{"speed_mps": speed, "clearance_m": clearance, "pilot_x_m": pilotX}))
		require.NoError(t, err)
		out := d.Answer(ctx, text, nil)
		assert.True(t, json.Valid(out), what(kind))
		assert.NotContains(t, string(out), exchange.GaveUp, what(kind))
		assert.NotRegexp(t, `%!|runtime error`, string(out), what(kind))
	}
}

// anyQuestion draws a craft and a question from a seed and puts the one to the other.
func anyQuestion(t *testing.T, seed uint64) {
	rng := rand.New(rand.NewPCG(seed, 12))
	put(t, rng, anyCraft(rng))
}

// anySpoiltQuestion is anyQuestion for a craft that is spoilt.
func anySpoiltQuestion(t *testing.T, seed uint64) {
	rng := rand.New(rand.NewPCG(seed, 13))
	c := anyCraft(rng)
	spoil(rng, c)
	put(t, rng, c)
}

// put draws a question and puts a craft to it.
func put(t *testing.T, rng *rand.Rand, c *gecp.Craft) {
	// A file knows no zero below zero.
	floats(reflect.ValueOf(c).Elem(), func(v reflect.Value) {
		if v.Float() == 0 {
			v.SetFloat(0)
		}
	})
	speed := 3 + 25*rng.Float64()
	clearance := math.Pow(10, -2+2.3*rng.Float64())
	if rng.IntN(20) == 0 {
		clearance = []float64{0, 1e-9, .001, 2.9, 50, -1, math.NaN()}[rng.IntN(7)]
	}
	throughAllQuestions(t, c, speed, clearance, -1+6*rng.Float64())
}

// FuzzCraft puts random craft, sound ones and others, through all questions.
func FuzzCraft(f *testing.F) {
	seeds := uint64(5)
	if os.Getenv("CI") == "true" {
		seeds = 12
	}
	for seed := range seeds {
		f.Add(seed)
	}
	f.Fuzz(anyQuestion)
}

// FuzzSpoiltCraft does so with craft that lack a part, have one twice, or have many.
func FuzzSpoiltCraft(f *testing.F) {
	for seed := range uint64(3) {
		f.Add(seed)
	}
	f.Fuzz(anySpoiltQuestion)
}
