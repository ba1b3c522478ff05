package motion

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// The lateral modes of the Navion (Nelson, Flight Stability and Automatic Control, 2nd ed.,
// chapter 5: derivatives in feet, per unit mass and inertia; from memory). An aeroplane has
// no line: heading and offset stay as they are put.
func TestLateralModesOfAnAeroplane(t *testing.T) {
	const u, yBeta = 176., -45.72
	const lBeta, lp, lr = -16.02, -8.40, 2.19
	const nBeta, np, nr = 4.488, -.350, -.760
	// Slip is drift/u less heading.
	l := LateralModel{
		Speed: u, Mass: 1, Roll: 1, Yaw: 1,
		Side:          LateralDerivatives{Bank: 32.2, Heading: -yBeta, Drift: yBeta / u},
		StarboardDown: LateralDerivatives{RollRate: lp, Heading: -lBeta, YawRate: lr, Drift: lBeta / u},
		NoseStarboard: LateralDerivatives{RollRate: np, Heading: -nBeta, YawRate: nr, Drift: nBeta / u},
	}
	modes, err := l.Modes()
	require.NoError(t, err)
	worst, kinds := 0., map[LateralKind]int{}
	for _, m := range modes {
		kinds[m.Kind]++
		want, ok := map[LateralKind]complex128{RollSubsidence: -8.435, Spiral: -.00876, DutchRoll: -.487 + 2.335i}[m.Kind]
		if ok {
			worst = math.Max(worst, cmplx.Abs(m.Root-want)/cmplx.Abs(want))
			// The slow root is a small difference of products of the rounded derivatives.
			held := map[LateralKind]float64{RollSubsidence: 5e-3, DutchRoll: 5e-3, Spiral: .03}[m.Kind]
			assert.LessOrEqual(t, cmplx.Abs(m.Root-want), held*cmplx.Abs(want), "%v: %v, want %v", m.Kind, m.Root, want)
		}
	}
	assert.Equal(t, map[LateralKind]int{RollSubsidence: 1, Spiral: 1, DutchRoll: 1, Neutral: 2}, kinds)
	t.Logf("lateral modes of an aeroplane: largest difference %.1f %% of a root, of the slow one", 100*worst)
}

// A craft that cannot roll and whose air does nothing swings on its line as two pendulums in
// a row do: textbook mechanics.
func TestLateralPendulum(t *testing.T) {
	const mass, yaw, pull, arm, length = 150., 400., 120., 1.5, 30.
	// The tow point lies arm ahead: its offset is offset + arm heading.
	l := LateralModel{
		Speed: 14, Mass: mass, Roll: 1e9, Yaw: yaw,
		Side:          LateralDerivatives{Offset: -pull / length, Heading: -pull * arm / length},
		NoseStarboard: LateralDerivatives{Offset: -pull * arm / length, Heading: -pull*arm*arm/length - pull*arm},
	}
	modes, err := l.Modes()
	require.NoError(t, err)
	// (m s2 + a)(I s2 + c) = b2, for s2.
	a, b, c := pull/length, pull*arm/length, pull*arm*arm/length+pull*arm
	p, q := a/mass+c/yaw, (a*c-b*b)/(mass*yaw)
	want := []float64{math.Sqrt((p + math.Sqrt(p*p-4*q)) / 2), math.Sqrt((p - math.Sqrt(p*p-4*q)) / 2)}
	for _, w := range want {
		found := false
		for _, m := range modes {
			found = found || math.Abs(imag(m.Root)-w) < 1e-6*w && math.Abs(real(m.Root)) < 1e-6
		}
		assert.True(t, found, "a swing of %.4f rad/s in %v", w, modes)
	}
}

func TestKindOfMode(t *testing.T) {
	for _, c := range []struct {
		root          complex128
		rolling       bool
		heading, slip float64
		want          LateralKind
	}{
		{0, true, 0, 0, Neutral}, {1e-7i, true, 0, 0, Neutral}, {2e-6, true, 1, 0, Spiral}, {-3, true, 0, 0, Spiral},
		{1i, true, 0, 1, RollOscillation}, {1i, false, .5, .6, DutchRoll}, {1i, false, .6, .6, LinePendulum}, {1i, false, .6, .5, LinePendulum},
	} {
		assert.Equal(t, c.want, kindOfMode(c.root, c.rolling, c.heading, c.slip), "%+v", c)
	}
	for _, k := range []LateralKind{RollSubsidence, RollOscillation, Spiral, DutchRoll, LinePendulum, Neutral} {
		assert.NotEmpty(t, k.String())
	}
}

func TestLateralModesRefuse(t *testing.T) {
	good := LateralModel{Speed: 10, Mass: 1, Roll: 1, Yaw: 1}
	_, err := good.Modes()
	require.NoError(t, err)
	for name, change := range map[string]func(*LateralModel){
		"speed": func(l *LateralModel) { l.Speed = 0 }, "mass": func(l *LateralModel) { l.Mass = 0 }, "roll": func(l *LateralModel) { l.Roll = -1 },
		"yaw": func(l *LateralModel) { l.Yaw = math.NaN() }, "cross": func(l *LateralModel) { l.Cross = 1 },
		"derivative": func(l *LateralModel) { l.Side.Bank = math.NaN() },
	} {
		l := good
		change(&l)
		_, err := l.Modes()
		assert.Error(t, err, name)
	}
}

// A rod across the craft, and the demo craft by hand.
func TestLateralInertia(t *testing.T) {
	c := gecp.Demo()
	c.Pilot = nil
	c.Weights = []gecp.Weight{{Name: "wing", Mass: 12, X: .9, Z: 0, Radius: .5}}
	in := LateralInertiaOf(c, 0, 0)
	span := 2 * c.Wings[0].Stations[1].Y
	assert.InDelta(t, 12*span*span/12, in.Roll, 1e-9, "a rod about its middle")
	assert.InDelta(t, 12*(span*span/12+.25), in.Yaw, 1e-9)
	assert.Zero(t, in.Cross)

	c = gecp.Demo()
	at := LateralInertiaOf(c, 1.3, 0)
	x, z := c.CG(1.3)
	var roll, yaw, cross float64
	for _, w := range c.Weights {
		across := map[string]float64{"front wing": 2.6 * 2.6 / 3, "rear wing": 2.9 * 2.9 / 3}[w.Name]
		roll += w.Mass * ((w.Z-z)*(w.Z-z) + across)
		yaw += w.Mass * ((w.X-x)*(w.X-x) + across + w.Radius*w.Radius)
		cross -= w.Mass * (w.X - x) * (w.Z - z)
	}
	p := c.Pilot
	roll += p.Mass * ((p.Z-z)*(p.Z-z) + p.Radius*p.Radius)
	yaw += p.Mass * ((1.3-x)*(1.3-x) + p.Radius*p.Radius)
	cross -= p.Mass * (1.3 - x) * (p.Z - z)
	assert.InDelta(t, roll, at.Roll, 1e-9)
	assert.InDelta(t, yaw, at.Yaw, 1e-9)
	assert.InDelta(t, cross, at.Cross, 1e-9)
	// Pitching turns the axes: the sum of both stays.
	up := LateralInertiaOf(c, 1.3, .2)
	assert.InDelta(t, at.Roll+at.Yaw, up.Roll+up.Yaw, 1e-9)
	assert.NotEqual(t, at.Cross, up.Cross)
	assert.Contains(t, LateralGuesses(c), `"front wing", "rear wing" spread evenly over the wing's span, "frame and floats" on the centreline`)
	assert.Empty(t, LateralGuesses(&gecp.Craft{}))
}

// A flat rectangular wing far up: rho pi c^2/4 times span^3/12, less for the tips.
func TestAirRollInertia(t *testing.T) {
	c := gecp.Demo()
	c.Wings = c.Wings[:1]
	chord, half := c.Wings[0].Stations[0].Chord, c.Wings[0].Stations[1].Y
	aspect := 2 * half / chord
	want := gecp.AirDensity * math.Pi / 4 * chord * chord * 2 * half * half * half / 3 * aspect / (aspect + .64)
	assert.InEpsilon(t, want, AirRollInertia(c, 1e3, 0, 0), 1e-4)
	assert.Greater(t, AirRollInertia(c, .4, 0, 0), want, "more near the water")
}
