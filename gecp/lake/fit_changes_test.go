package lake

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// Where the order is said to change the craft held its height and no longer does; just
// outside of it, it does neither. A CP that runs forward as the craft rises takes its
// hold away, one that runs aft gives it none that it lacked.
func TestOrderChanges(t *testing.T) {
	m := readymaps.Coarse()["teal-tandem"]
	with := func(k gecp.Correction) *gecp.Map {
		c := m.Model().Craft()
		k.Runs, k.On = 9, true
		c.Correction = &k
		cm, err := m.For(c)
		require.NoError(t, err)
		return cm
	}
	speeds := []float64{3, 14, 15, 16}
	worse := with(gecp.Correction{LiftFactor: .95, CPPerM: -.5})
	changes, err := OrderChanges(t.Context(), m, worse, 0, speeds)
	require.NoError(t, err)
	require.NotEmpty(t, changes)
	for _, c := range changes {
		assert.NotEqual(t, 3., c.Speed, "it does not fly there")
		assert.Contains(t, c.Words(units.Metric), "of clearance")
		for _, cl := range []float64{c.From, c.To} {
			for _, x := range []struct {
				m    *gecp.Map
				held bool
			}{{m, true}, {worse, false}} {
				st, err := tow.NewSteadyTow(x.m, gecp.Freestream{Speed: c.Speed})
				require.NoError(t, err)
				b, err := st.Trim(cl)
				require.NoError(t, err)
				assert.Equal(t, x.held, b.HeightStable)
			}
		}
	}
	for _, k := range []*gecp.Map{m, with(gecp.Correction{LiftFactor: 1}), with(gecp.Correction{LiftFactor: 1, CPPerM: .3})} {
		changes, err = OrderChanges(t.Context(), m, k, 0, speeds)
		require.NoError(t, err)
		assert.Empty(t, changes)
	}
	_, err = OrderChanges(t.Context(), m, worse, 0, []float64{-1})
	assert.Error(t, err)
	stopped, stop := context.WithCancel(t.Context())
	stop()
	_, err = OrderChanges(stopped, m, worse, 0, speeds)
	assert.ErrorIs(t, err, context.Canceled)
}

func TestCardChanges(t *testing.T) {
	at := func(low, high, pilot float64) TowRung {
		var r TowRung
		r.Speed = 50 * units.KMH
		r.Range = tow.Range{OK: true}
		r.Range.Low.Clearance, r.Range.High.Clearance, r.Range.Low.Pilot = low, high, gecp.PositionAt(pilot)
		return r
	}
	none := TowRung{Speed: 50 * units.KMH, Range: tow.Range{None: tow.NoneSection}}
	for _, c := range []struct {
		before, after []TowRung
		want          []string
	}{
		{[]TowRung{at(.1, .304, 1)}, []TowRung{at(.1, .271, 1)}, []string{"let-go height at 50 km/h: 0.27 m in place of 0.30"}},
		{[]TowRung{at(.1, .304, 1)}, []TowRung{at(.1, .3099, 1.001)}, nil},
		{[]TowRung{at(.1, .3, 1)}, []TowRung{at(.1, .3, 1.04)}, []string{"pilot at the lowest clearance at 50 km/h: 1.04 m in place of 1.00"}},
		{[]TowRung{at(.1, .3, 1)}, []TowRung{none}, []string{"do not fly at 50 km/h: wherever it holds a height by itself the flow may leave a wing; without the correction the card had a let-go height of 0.30 m"}},
		{[]TowRung{at(.1, .3, 1)}, nil, []string{"do not fly at 50 km/h: the card ends before; without the correction it had a let-go height of 0.30 m"}},
		{[]TowRung{none}, []TowRung{at(.1, .3, 1)}, []string{"let-go height at 50 km/h: 0.30 m; without the correction the card said not to fly: wherever"}},
		{nil, []TowRung{at(.1, .3, 1)}, []string{"let-go height at 50 km/h: 0.30 m; without the correction the card said not to fly: the card ended before"}},
		{[]TowRung{none}, []TowRung{none}, nil},
	} {
		got := CardChanges(&TowCard{Rungs: c.before}, &TowCard{Rungs: c.after})
		require.Len(t, got, len(c.want), "%v", got)
		for i, w := range c.want {
			assert.True(t, strings.HasPrefix(got[i], w), got[i])
		}
	}
}

func TestFitWords(t *testing.T) {
	f := &Fit{Used: 14, Readings: 28, DegreesOfFreedom: 26, Spread: 1.04}
	f.Estimates = [parameters]Estimate{
		{Value: .95, Low: .93, High: .97, Fitted: true},
		{Value: .0304, Low: -.01, High: .07, Fitted: true},
		{Why: "cannot be told"},
	}
	f.Correlation[CPOffset][LiftFactor] = -.3
	f.Correcting = FTest{F: 12, P: 1e-5, OK: true, Asked: true}
	f.Growth = FTest{F: 1, P: .3254, OK: true}
	assert.Equal(t, "lift factor: 0.950, 95 % interval 0.930 to 0.970", f.Words(LiftFactor, units.Metric))
	assert.Equal(t, "offset of the centre of pressure: 0.030 m, 95 % interval -0.010 to 0.070 m (aft positive)", f.Words(CPOffset, units.Metric))
	assert.Contains(t, f.Words(CPOffset, units.Customary), "1.20 in, 95 %")
	assert.Equal(t, "growth of that offset with clearance: cannot be told", f.Words(CPPerM, units.Metric))
	s := strings.Join(f.Sentences(), " ")
	for _, says := range []string{"14 runs with 28 readings", "26 degrees of freedom", "1.0 times", "Correlation of lift factor and offset of the centre of pressure: -0.30.", "P below 0.001", "P = 0.325; it does not join"} {
		assert.Contains(t, s, says)
	}
	f.Correcting = FTest{F: 1, P: .4, OK: true}
	assert.Contains(t, strings.Join(f.Sentences(), " "), "do not ask for a correction")
}
