package tow

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/units"
)

// randomLine returns a line with a pull and a rise of its boat's end.
func randomLine(rng *rand.Rand) (l Line, pull, rise float64) {
	l = Line{Length: 5 + 60*rng.Float64(), Weight: 3 * rng.Float64() * rng.Float64()}
	return l, 5 + 400*rng.Float64(), l.Length * (1.6*rng.Float64() - .8)
}

// The textbook's catenary z = a cosh((x-x0)/a), a = pull/weight, followed in small steps
// from the craft with the angle and the span told, has the length and the rise put in.
func TestLineIsACatenary(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	for range 200 {
		l, pull, rise := randomLine(rng)
		up, _, _ := l.Up(pull, rise)
		a := pull / l.Weight
		from := a * math.Asinh(up/pull) // of the craft's end from the lowest point, level
		to := from + l.Span(pull, rise)
		assert.InDelta(t, l.Length, a*(math.Sinh(to/a)-math.Sinh(from/a)), 1e-7*l.Length, "length")
		assert.InDelta(t, rise, a*(math.Cosh(to/a)-math.Cosh(from/a)), 1e-6*l.Length, "rise")
		s := l.state(pull, .4, .4+rise)
		assert.InDelta(t, pull*math.Cosh(to/a), s.BoatTension, 1e-6*s.BoatTension)
		lowest := .4 + math.Min(0, rise)
		if from < 0 && to > 0 {
			lowest = .4 + a*(1-math.Cosh(from/a))
		}
		assert.InDelta(t, lowest, s.Lowest, 1e-6)
	}
}

// A flat line between ends of one height sags by w L^2 / 8 T (any textbook of statics: the
// parabola that a flat catenary comes near to), and its ends slope by w L / 2 T.
func TestFlatLineSags(t *testing.T) {
	for _, l := range []Line{{30, .45}, {10, 1}, {50, .2}} {
		const pull = 600.
		s := l.state(pull, 1, 1)
		assert.InEpsilon(t, l.Weight*l.Length*l.Length/(8*pull), 1-s.Lowest, 1e-3)
		up, _, _ := l.Up(pull, 0)
		assert.InEpsilon(t, -l.Weight*l.Length/2, up, 1e-12)
		assert.InEpsilon(t, l.Weight*l.Length/(2*pull), math.Tan(s.BoatAngle), 1e-12)
	}
}

// Without weight the line is straight, and one of next to no weight is so nearly.
func TestLineWithoutWeightIsStraight(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 9))
	for range 500 {
		l, pull, rise := randomLine(rng)
		for _, w := range []float64{0, 1e-13} {
			l.Weight = w
			sin := rise / l.Length
			cos := math.Sqrt(1 - sin*sin)
			up, byPull, byRise := l.Up(pull, rise)
			assert.InDelta(t, pull*sin/cos, up, 1e-12*pull/cos)
			assert.InDelta(t, sin/cos, byPull, 1e-12/cos)
			assert.InDelta(t, pull/(l.Length*cos*cos*cos), byRise, 1e-12*pull/(cos*cos*cos))
			assert.InDelta(t, l.Length*cos, l.Span(pull, rise), 1e-12*l.Length)
			s := l.state(pull, .3, .3+rise)
			assert.InDelta(t, pull/cos, s.BoatTension, 1e-11*pull/cos)
			assert.InDelta(t, .3+math.Min(0, rise), s.Lowest, 1e-12)
		}
	}
	up, byPull, byRise := Line{Length: 10}.Up(0, 1)
	assert.Equal(t, []float64{0, .1 / math.Sqrt(.99), 0}, []float64{up, byPull, byRise}, "nothing pulls")
	up, _, _ = Line{Length: 10, Weight: 2}.Up(0, 0)
	assert.Equal(t, -10., up, "without pull each end carries half")
	assert.Zero(t, Line{Length: 10, Weight: 2}.Span(0, 0))
}

func TestLineDerivatives(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	for range 500 {
		l, pull, rise := randomLine(rng)
		_, byPull, byRise := l.Up(pull, rise)
		const d = 1e-4
		a, _, _ := l.Up(pull+d, rise)
		b, _, _ := l.Up(pull-d, rise)
		assert.InDelta(t, (a-b)/(2*d), byPull, 1e-6)
		a, _, _ = l.Up(pull, rise+d)
		b, _, _ = l.Up(pull, rise-d)
		assert.InDelta(t, (a-b)/(2*d), byRise, 1e-6*(1+math.Abs(byRise)))
	}
}

// With a weight of 0 every figure of a trim is that of a straight line, whatever the rest
// of the craft; with its weight the line draws the tow point down.
func TestTrimOnAStraightLine(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 9))
	for range 100 {
		r, b := randomBalance(t, rng)
		on := func(w float64) Trim {
			s := r
			s.line.Weight = w
			got, err := s.Trim(b.Clearance)
			require.NoError(t, err)
			return got
		}
		straight := on(0)
		assert.InDelta(t, straight.Drag()/math.Cos(straight.LineAngle), straight.LineTension, 1e-12*straight.LineTension)
		assert.Greater(t, straight.LineAngle, on(.5).LineAngle)
		assert.Greater(t, on(.5).Lift, straight.Lift, "the wings carry a part of the line")
	}
}

// The file's mass per metre decides, its absence stands for the default, and 0 for none.
func TestLineOfTheFile(t *testing.T) {
	m := readymaps.All()["teal-tandem"]
	for _, c := range []struct {
		mass *float64
		want float64
	}{{nil, gecp.DefaultLineMass * gecp.G}, {lineMass(0), 0}, {lineMass(.1), .1 * gecp.G}} {
		k := m.Model().Craft()
		k.Tow.LineMass = c.mass
		n, err := m.For(k)
		require.NoError(t, err)
		r, err := NewSteadyTow(n, gecp.Freestream{Speed: 15})
		require.NoError(t, err)
		assert.Equal(t, Line{k.Tow.Line, c.want}, r.Line())
	}
}

// A heavy line with little pull hangs into the water, a light one with much does not.
func TestLineInWater(t *testing.T) {
	assert.False(t, Line{30, .4}.state(300, .3, 1).InWater())
	s := Line{30, .4}.state(40, .3, 1)
	assert.True(t, s.InWater())
	assert.False(t, LineState{Lowest: 0}.InWater(), "it touches only")
	assert.Less(t, s.Lowest, -.2)
}

func TestLineInWords(t *testing.T) {
	m := readymaps.All()["teal-tandem"]
	at := func(mass *float64) (SteadyTow, Trim) {
		c := m.Model().Craft()
		c.Tow.LineMass = mass
		n, err := m.For(c)
		require.NoError(t, err)
		r, err := NewSteadyTow(n, gecp.Freestream{Speed: 15})
		require.NoError(t, err)
		b, err := r.Trim(.3)
		require.NoError(t, err)
		return r, b
	}
	for _, c := range []struct {
		mass *float64
		has  []string
	}{
		{nil, []string{"The line, 30 m of 45 g/m (that of a laid polypropylene rope of 10 mm; the craft file tells none), pulls the craft with ", "and the boat with ", " down from straight aft"}},
		{lineMass(.02), []string{"The line, 30 m of 20 g/m, pulls", "down from straight ahead", "Its lowest point is 0."}},
		{lineMass(0), []string{"The line, 30 m taken without weight, pulls"}},
		{lineMass(.5), []string{"down from straight ahead", "It hangs down into the water between craft and boat and is dragged through it, which is not calculated"}},
	} {
		r, b := at(c.mass)
		for _, has := range c.has {
			assert.Contains(t, r.LineWords(b, units.Metric), has)
		}
	}
	r, b := at(nil)
	assert.Contains(t, r.LineWords(b, units.Customary), "98 ft of 3.0 lb/100 ft")
	assert.Equal(t, "straight ahead", ahead(1e-4, "ahead"))
	assert.Equal(t, "1.1° up from straight aft", ahead(.02, "aft"))
}

// The series is as exact as the function, on both sides of where it takes over.
func TestHang(t *testing.T) {
	for _, k := range []float64{1e-9, 1e-3, .01, .03, .0499, .05, .0501, .2, 3} {
		assert.InEpsilon(t, math.Asinh(k)/k, Hang(k), 1e-14, "%v", k)
	}
	assert.Equal(t, 1., Hang(0))
	assert.Zero(t, Hang(math.Inf(1)))
}
