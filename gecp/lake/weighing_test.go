package lake

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/units"
)

// truth is a craft as it is, and where it stands on scales.
type truth struct {
	mass, x, z, radius, air float64
	at                      []Scale // places
}

// read returns the readings of the scales with the craft turned nose-up by an angle: the
// first and last of them share what the middle ones do not carry.
func (w truth) read(angle float64) []Scale {
	sin, cos := math.Sincos(angle)
	level := func(x, z float64) float64 { return x*cos + z*sin }
	out := append([]Scale{}, w.at...)
	rest, moment := w.mass, w.mass*level(w.x, w.z)
	for i := 1; i < len(out)-1; i++ {
		out[i].Mass = w.mass / 10
		rest -= out[i].Mass
		moment -= out[i].Mass * level(out[i].X, out[i].Z)
	}
	first, last := &out[0], &out[len(out)-1]
	a, b := level(first.X, first.Z), level(last.X, last.Z)
	last.Mass = (moment - rest*a) / (b - a)
	first.Mass = rest - last.Mass
	return out
}

// swing returns the time of ten swings about an axis.
func (w truth) swing(pivot float64) Swing {
	d := pivot - w.z
	return Swing{10 * 2 * math.Pi * math.Sqrt((w.mass*(w.radius*w.radius+d*d)+w.air)/(w.mass*gecp.G*d)), pivot}
}

func someTruth(rng *rand.Rand, c *gecp.Craft) truth {
	w := truth{mass: 30 + 100*rng.Float64(), x: 1 + 2*rng.Float64(), z: rng.Float64() - .3, radius: .6 + rng.Float64()}
	w.at = []Scale{{X: .2, Z: -.4 + .1*rng.Float64()}, {X: 4.4, Z: -.4}}
	if rng.IntN(2) == 0 {
		w.at = []Scale{w.at[0], {X: 2, Z: -.3}, w.at[1]}
	}
	w.air = motion.AirInertia(c, w.x, 0)
	return w
}

func TestWeighingGivesBackTheCraft(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	c := gecp.Demo()
	for range 200 {
		w := someTruth(rng, c)
		angle := .1 + .5*rng.Float64()
		got, err := Weigh(c, Weighing{Level: w.read(0), Raised: w.read(angle), Angle: angle, Swing: w.swing(w.z + .8 + 2*rng.Float64())})
		require.NoError(t, err)
		assert.InDelta(t, w.mass, got.Mass.Value, 1e-9)
		assert.InDelta(t, w.x, got.X.Value, 1e-9)
		assert.InDelta(t, w.z, got.Z.Value, 1e-8)
		assert.InDelta(t, w.radius, got.Radius.Value, 1e-7)
		assert.InDelta(t, w.air, got.Air, 1e-9)

		less, err := Weigh(c, Weighing{Level: w.read(0)})
		require.NoError(t, err)
		assert.InDelta(t, w.x, less.X.Value, 1e-9)
		assert.False(t, less.Z.OK || less.Radius.OK)
	}
}

// The uncertainties are the spread of many weighings with readings off by chance.
func TestWeighingUncertainty(t *testing.T) {
	c := gecp.Demo()
	rng := rand.New(rand.NewPCG(7, 1))
	w := someTruth(rng, c)
	const angle, trials = .35, 4000
	a := WeighingAccuracy{Scale: .15, Tape: .004, Angle: .004, Clock: .15}
	swing := w.swing(w.z + 1.5)
	exact, err := Weigh(c, Weighing{Level: w.read(0), Raised: w.read(angle), Angle: angle, Swing: swing, Accuracy: a})
	require.NoError(t, err)
	var sum [4]float64
	n := 0.
	for range trials {
		off := func(list []Scale) []Scale {
			for i := range list {
				list[i].Mass += a.Scale * rng.NormFloat64()
				list[i].X += a.Tape * rng.NormFloat64()
				list[i].Z += a.Tape * rng.NormFloat64()
			}
			return list
		}
		got, err := Weigh(c, Weighing{
			Level: off(w.read(a.Angle * rng.NormFloat64())), Raised: off(w.read(angle)), Angle: angle + a.Angle*rng.NormFloat64(),
			Swing: Swing{swing.TenSwings + a.Clock*rng.NormFloat64(), swing.Pivot + a.Tape*rng.NormFloat64()}, Accuracy: a,
		})
		if err != nil { // one in hundreds reads more than the accuracy allows between both weighings
			assert.ErrorContains(t, err, "weigh again")
			continue
		}
		n++
		for i, d := range []float64{got.Mass.Value - w.mass, got.X.Value - w.x, got.Z.Value - w.z, got.Radius.Value - w.radius} {
			sum[i] += d * d
		}
	}
	assert.Greater(t, n, .99*trials)
	for i := range sum {
		sum[i] /= n
	}
	for i, u := range []Uncertain{exact.Mass, exact.X, exact.Z, exact.Radius} {
		assert.InEpsilon(t, math.Sqrt(sum[i]), u.Error, .05, i)
	}
	t.Logf("check weighing: mass %.1f ± %.2f kg, aft %.3f ± %.4f m, above %.3f ± %.4f m, radius %.3f ± %.4f m; spread of %d weighings %.2f kg, %.4f, %.4f, %.4f m",
		exact.Mass.Value, exact.Mass.Error, exact.X.Value, exact.X.Error, exact.Z.Value, exact.Z.Error, exact.Radius.Value, exact.Radius.Error, trials, math.Sqrt(sum[0]), math.Sqrt(sum[1]), math.Sqrt(sum[2]), math.Sqrt(sum[3]))
}

// A uniform rod of length L that swings about its end has the period 2 pi sqrt(2L/(3g)),
// and about a point a quarter of its length from the end 2 pi sqrt(7L/(12g)) (the physical
// pendulum of Halliday, Resnick and Walker, Fundamentals of Physics; from memory); its
// radius of gyration is L/sqrt(12).
func TestPublishedPendulum(t *testing.T) {
	worst := 0.
	for _, length := range []float64{1, 2.4} {
		for _, c := range []struct{ above, square float64 }{{.5, 2. / 3}, {.25, 7. / 12}} {
			w := Weighing{Level: []Scale{{-length / 2, 0, 1}, {length / 2, 0, 1}}, Swing: Swing{20 * math.Pi * math.Sqrt(c.square*length/gecp.G), c.above * length}}
			got := tilted{w, 0}.solve(assumed{})
			worst = max(worst, math.Abs(got.radius/(length/math.Sqrt(12))-1))
		}
	}
	t.Logf("check pendulum: uniform rod, largest difference of the radius of gyration %.2g", worst)
	assert.Less(t, worst, 1e-12)
}

func TestWeighingRefuses(t *testing.T) {
	c := gecp.Demo()
	w := someTruth(rand.New(rand.NewPCG(1, 1)), c)
	good := func() Weighing {
		return Weighing{Level: w.read(0), Raised: w.read(.3), Angle: .3, Swing: w.swing(2.5)}
	}
	_, err := Weigh(c, good())
	require.NoError(t, err)
	for says, change := range map[string]func(w *Weighing){
		"the level craft stands on 1 scales; give 2 to 12":           func(w *Weighing) { w.Level = w.Level[:1] },
		"the raised craft stands on 1 scales":                        func(w *Weighing) { w.Raised = w.Raised[:1] },
		"scale 1 of the level craft reads -1 kg":                     func(w *Weighing) { w.Level[0].Mass = -1 },
		"scale 1 of the level craft reads NaN kg":                    func(w *Weighing) { w.Level[0].Mass = math.NaN() },
		"scale 2 of the level craft stands at +Inf m":                func(w *Weighing) { w.Level[1].X = math.Inf(1) },
		"scale 1 of the raised craft carries it at a height of 11 m": func(w *Weighing) { w.Raised[0].Z = 11 },
		"stand within 50 mm; put them 0.1 m apart":                   func(w *Weighing) { w.Level = []Scale{{1, 0, 20}, {1.05, 0, 20}} },
		"read nothing": func(w *Weighing) { w.Level = []Scale{{1, 0, 0}, {2, 0, 0}} },
		"the nose is raised by 2.9 degrees; give an angle between 3 and 45":   func(w *Weighing) { w.Angle = gecp.Radians(2.9) },
		"the nose is raised by NaN":                                           func(w *Weighing) { w.Angle = math.NaN() },
		"weigh again":                                                         func(w *Weighing) { w.Raised[0].Mass += 1 },
		"weigh the craft with its nose raised too":                            func(w *Weighing) { w.Raised = nil },
		"ten swings took 2 s; give a time between 3 and 300 s":                func(w *Weighing) { w.Swing.TenSwings = 2 },
		"the axis of the swinging is -2 m above the datum; give a height abo": func(w *Weighing) { w.Swing.Pivot = -2 },
		"ten swings in 9.0 s are too quick for an axis":                       func(w *Weighing) { w.Swing.TenSwings = 9 },
		"the accuracy of the scales is -1 kg; give one above 0 and up to 50":  func(w *Weighing) { w.Accuracy.Scale = -1 },
		"the accuracy of the watch is NaN s":                                  func(w *Weighing) { w.Accuracy.Clock = math.NaN() },
	} {
		bad := good()
		change(&bad)
		_, err := Weigh(c, bad)
		assert.ErrorContains(t, err, says)
	}
}

func TestWeighedCraft(t *testing.T) {
	c := gecp.Demo()
	w := someTruth(rand.New(rand.NewPCG(2, 9)), c)
	got, err := Weigh(c, Weighing{Level: w.read(0), Raised: w.read(.3), Angle: .3, Swing: w.swing(2.5)})
	require.NoError(t, err)
	n, err := got.Apply(c)
	require.NoError(t, err)
	sum, ok := Sum(n)
	require.True(t, ok)
	assert.InDelta(t, w.mass, sum.Mass, 1e-9)
	assert.InDelta(t, w.x, sum.X, 1e-9)
	assert.InDelta(t, w.z, sum.Z, 1e-8)
	assert.InDelta(t, w.radius, sum.Radius(), 1e-7)
	assert.True(t, strings.HasPrefix(n.Weights[0].Name, "as weighed: "), n.Weights[0].Name)
	n.Weights = c.Weights
	assert.Equal(t, c, n, "nothing else changes")

	less, err := Weigh(c, Weighing{Level: w.read(0)})
	require.NoError(t, err)
	n, err = less.Apply(c)
	require.NoError(t, err)
	file, _ := Sum(c)
	sum, _ = Sum(n)
	assert.InDelta(t, file.Z, sum.Z, 1e-12, "what was not measured stays")
	assert.InDelta(t, file.Radius(), sum.Radius(), 1e-12)
	assert.NotEqual(t, file.X, sum.X)
}

func TestWeighingWords(t *testing.T) {
	c := gecp.Demo()
	sum, _ := Sum(c)
	p := c.Pilot
	same := Weighed{Mass: Uncertain{sum.Mass, .1, true}, X: Uncertain{sum.X, .002, true}}
	rows := same.Rows(c, units.Metric)
	assert.Equal(t, "0.2 kg", rows[0].Within)
	assert.Equal(t, "–", rows[2].Weighed)
	said := strings.Join(same.Sentences(c, units.Metric), " ")
	assert.Contains(t, said, "agree with what was weighed")
	assert.Contains(t, said, "sits 0.000 m further")
	assert.Contains(t, said, "keeps that of the file's weights")

	for _, by := range []float64{.0041, -.0041} {
		off := same
		off.X.Value += by
		rows = off.Rows(c, units.Metric)
		assert.False(t, rows[1].Agrees, "left of twice the uncertainty and right of it")
		said = strings.Join(off.Sentences(c, units.Metric), " ")
		way := "forward" // the craft is heavy aft
		if by < 0 {
			way = "aft"
		}
		assert.Contains(t, said, fmt.Sprintf("sits %.3f m further %s", .0041*sum.Mass/p.Mass, way))
		assert.Contains(t, said, "do not add up")
	}
	off := same
	off.X.Value += .0039
	assert.True(t, off.Rows(c, units.Metric)[1].Agrees)
	assert.Contains(t, off.Rows(c, units.Customary)[0].Weighed, "lb")
	assert.Len(t, WeighingSteps(), 5)
}

func TestParseScales(t *testing.T) {
	c := gecp.Demo()
	got, err := ParseScales("0.40:38.5, 4.40 :31.5:-0.2", c, units.Metric)
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.Equal(t, Scale{4.4, -.2, 31.5}, got[1])
	assert.Equal(t, 38.5, got[0].Mass)
	fore, aft := c.Floats[0], c.Floats[len(c.Floats)-1]
	onFloat, err := ParseScales(fmt.Sprintf("%v:1,%v:2", fore.X, aft.X), c, units.Metric)
	require.NoError(t, err)
	assert.InDelta(t, fore.Z, onFloat[0].Z, 1e-12)
	assert.InDelta(t, aft.Z, onFloat[1].Z, 1e-12)
	us, err := ParseScales("10:20:-3", c, units.Customary)
	require.NoError(t, err)
	assert.InDelta(t, .254, us[0].X, 1e-12)
	assert.InDelta(t, 20*units.Pound, us[0].Mass, 1e-12)
	assert.InDelta(t, -.0762, us[0].Z, 1e-12)
	c.Floats = nil
	got, err = ParseScales("1:2,3:4", c, units.Metric)
	require.NoError(t, err)
	assert.Zero(t, got[0].Z)
	for text, says := range map[string]string{
		"":                          `scale 1 is ""`,
		"0.4":                       `scale 1 is "0.4"; give place and reading as in 0.40:38.5`,
		"0.4:38,":                   `scale 2 is ""`,
		"0.4:38.5:1:2":              "scale 1 is",
		"0,4:38":                    `scale 1 is "0"`,
		"0.4:heavy":                 `"heavy" of scale 1 is not a number`,
		"0.4:NaN":                   "is not a number",
		"0.4:1e999":                 "is not a number",
		strings.Repeat("1:1,", 300): "give at most 1000",
	} {
		_, err := ParseScales(text, c, units.Metric)
		assert.ErrorContains(t, err, says, text)
	}
}

func FuzzParseScales(f *testing.F) {
	for _, s := range []string{"0.40:38.5,4.40:31.5", "1:2:3,4:5:6", "", ":", "1:1e308,2:1e308", "-1:0,1:0"} {
		f.Add(s, s, .3, 25., 2.)
	}
	c := gecp.Demo()
	f.Fuzz(func(t *testing.T, level, raised string, angle, ten, pivot float64) {
		a, err := ParseScales(level, c, units.Metric)
		if err != nil {
			return
		}
		b, err := ParseScales(raised, c, units.Metric)
		if err != nil {
			b = nil
		}
		w, err := Weigh(c, Weighing{Level: a, Raised: b, Angle: angle, Swing: Swing{ten, pivot}})
		if err != nil {
			return
		}
		for _, u := range []Uncertain{w.Mass, w.X, w.Z, w.Radius} {
			for _, v := range []float64{u.Value, u.Error} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%+v of %q, %q, %v, %v, %v", w, level, raised, angle, ten, pivot)
				}
			}
		}
		w.Rows(c, units.Metric)
		w.Sentences(c, units.Customary)
		if n, err := w.Apply(c); err == nil && n.Check() != nil {
			t.Fatal("a craft that does not pass its check")
		}
	})
}
