package gecp

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func mustSweep(t *testing.T, c *Craft, q SweepQuestion) []SweepRow {
	t.Helper()
	rows, err := c.Sweep(context.Background(), q)
	require.NoError(t, err)
	return rows
}

// Speed enters as its square, density as itself, friction through the Reynolds number too.
func TestSweepScalesWithDynamicPressure(t *testing.T) {
	q := SweepQuestion{Speed: 7, Pitch: .04, Clearances: []float64{.1, .7}}
	slow := mustSweep(t, Demo(), q)
	q.Speed *= 2
	q.Density = AirDensity / 2
	fast := mustSweep(t, Demo(), q)
	for i := range slow {
		assert.InEpsilon(t, 2*slow[i].Lift, fast[i].Lift, 1e-12)
		assert.InEpsilon(t, 2*slow[i].InducedDrag, fast[i].InducedDrag, 1e-12)
		assert.InEpsilon(t, 2*slow[i].Moment, fast[i].Moment, 1e-12)
		assert.InDelta(t, slow[i].CP.X, fast[i].CP.X, 1e-12)
		assert.InEpsilon(t, 2*slow[i].FrictionDrag, fast[i].FrictionDrag, 1e-12, "the Reynolds number is the same")
	}
}

// All lengths times k: forces times k^2, moments times k^3, places times k.
func TestSweepScalesWithSize(t *testing.T) {
	const k = 1.7
	for name, c := range demoCrafts(t) {
		big := *c
		big.Wings = nil
		for _, w := range c.Wings {
			w.X *= k
			w.Z *= k
			w.TipPlates.Down *= k
			w.TipPlates.Up *= k
			st := append([]Station(nil), w.Stations...)
			for i := range st {
				st[i].Y *= k
				st[i].Chord *= k
				st[i].LEX *= k
				st[i].LEZ *= k
			}
			w.Stations = st
			big.Wings = append(big.Wings, w)
		}
		big.Floats = nil
		a := mustSweep(t, c, SweepQuestion{Speed: 10, Pitch: .05, Clearances: []float64{.1, .5}})
		b := mustSweep(t, &big, SweepQuestion{Speed: 10, Pitch: .05, Clearances: []float64{.1 * k, .5 * k}})
		for i := range a {
			assert.InEpsilon(t, k*k*a[i].Lift, b[i].Lift, 1e-9, name)
			assert.InEpsilon(t, k*k*a[i].InducedDrag, b[i].InducedDrag, 1e-9, name)
			assert.InEpsilon(t, k*k*k*a[i].Moment, b[i].Moment, 1e-9, name)
			assert.InEpsilon(t, k*a[i].CP.X, b[i].CP.X, 1e-9, name)
			assert.InEpsilon(t, k*a[i].PitchNeutral.X, b[i].PitchNeutral.X, 1e-9, name)
			assert.InEpsilon(t, k*a[i].HeightNeutral.X, b[i].HeightNeutral.X, 1e-8, name)
		}
	}
}

// Moving the point of reference moves the moment by the lever of the forces, and
// nothing else.
func TestSweepMomentPoint(t *testing.T) {
	q := SweepQuestion{Speed: 12, Pitch: .06, Clearances: []float64{.2}}
	a := mustSweep(t, Demo(), q)[0]
	q.MomentX, q.MomentZ = 1.9, -.4
	b := mustSweep(t, Demo(), q)[0]
	x, z := ToWaterAxes(q.MomentX, q.MomentZ, 0, q.Pitch)
	assert.InDelta(t, a.Moment+x*a.Lift-z*a.InducedDrag, b.Moment, 1e-9)
	assert.Equal(t, a.CP, b.CP)
	// About the centre of pressure on the datum line there is no moment.
	q.MomentX, q.MomentZ = a.CP.X, 0
	assert.InDelta(t, 0, mustSweep(t, Demo(), q)[0].Moment, 1e-9*math.Abs(a.Moment))
}

// Neutral points against central differences of lift and moment along the sweep.
func TestSweepNeutralPoints(t *testing.T) {
	c := Demo()
	const pitch, d = .05, 1e-4
	low := c.LowestPoints()
	h := low.HeightFor(.3, pitch)
	at := func(height, pitch float64) SweepRow {
		return mustSweep(t, c, SweepQuestion{Speed: 10, Pitch: pitch, Clearances: []float64{low.ClearanceFor(height, pitch)}})[0]
	}
	r := at(h, pitch)
	up, down := at(h+d, pitch), at(h-d, pitch)
	assert.InDelta(t, -(up.Moment-down.Moment)/(up.Lift-down.Lift), r.HeightNeutral.X, 1e-5)
	up, down = at(h, pitch+d), at(h, pitch-d)
	assert.InDelta(t, -(up.Moment-down.Moment)/(up.Lift-down.Lift), r.PitchNeutral.X, 1e-5)
	assert.InDelta(t, r.PitchNeutral.X-r.HeightNeutral.X, r.HeightStabilityMargin.X, 1e-12)
}

func TestSweepRows(t *testing.T) {
	for name, c := range demoCrafts(t) {
		ladder := []float64{.5, .1, 1.5}
		rows := mustSweep(t, c, SweepQuestion{Speed: 10, Pitch: .05, Clearances: ladder})
		low := c.LowestPoints()
		for i, r := range rows {
			assert.Equal(t, ladder[i], r.Clearance, "%s: rows keep the order asked for", name)
			assert.InDelta(t, r.Clearance, low.ClearanceFor(r.Height, r.Pitch), 1e-12)
			sum := 0.
			for _, s := range r.LiftShares {
				sum += s
			}
			assert.InDelta(t, 1, sum, 1e-9, name)
			assert.Greater(t, r.LiftOverDrag(), 0.)
			assert.NotEmpty(t, r.CriticalStrip.Wing)
		}
		assert.Greater(t, rows[1].Lift, rows[0].Lift, "%s: nearer the water there is more lift", name)
	}
}

// A craft without incidence or camber has no lift, so no centre of pressure.
func TestSweepWithoutLift(t *testing.T) {
	c := &Craft{Name: "plank", Wings: []Wing{{Name: "board", Stations: []Station{{Y: 0, Chord: 1}, {Y: 2, Chord: 1}}}}}
	r := mustSweep(t, c, SweepQuestion{Speed: 10, Clearances: []float64{.3}})[0]
	assert.Equal(t, Position{}, r.CP)
	assert.Equal(t, 0., r.LiftOverDrag())
	assert.True(t, r.PitchNeutral.OK)
}

func TestSweepErrors(t *testing.T) {
	ok := SweepQuestion{Speed: 10, Pitch: .05}
	for _, c := range []struct {
		change func(*SweepQuestion)
		says   string
	}{
		{func(q *SweepQuestion) { q.Speed = 0 }, "speed is 0 m/s"},
		{func(q *SweepQuestion) { q.Speed = math.NaN() }, "speed is NaN"},
		{func(q *SweepQuestion) { q.Speed = math.Inf(1) }, "speed is +Inf"},
		{func(q *SweepQuestion) { q.Density = -1 }, "density is -1"},
		{func(q *SweepQuestion) { q.Pitch = math.Pi / 2 }, "pitch of 90 degrees"},
		{func(q *SweepQuestion) { q.Pitch = math.NaN() }, "pitch of NaN"},
		{func(q *SweepQuestion) { q.Clearances = []float64{.1, 0} }, "clearance 2 of the ladder is 0 m"},
		{func(q *SweepQuestion) { q.Clearances = []float64{-.1} }, "clearance 1 of the ladder is -0.1 m"},
		{func(q *SweepQuestion) { q.Clearances = []float64{math.NaN()} }, "is NaN m"},
		{func(q *SweepQuestion) { q.Clearances = make([]float64, 20000) }, "20000 clearances"},
		{func(q *SweepQuestion) { q.MomentX = math.Inf(1) }, "point for moments"},
	} {
		q := ok
		c.change(&q)
		rows, err := Demo().Sweep(context.Background(), q)
		assert.ErrorContains(t, err, c.says)
		assert.Nil(t, rows)
	}
	_, err := NewModel(Demo(), Mesh{Rows: 1000, Strips: 1000})
	assert.ErrorContains(t, err, "at most 4000")
	_, err = NewModel(Demo(), Mesh{Rows: -1, Strips: 4})
	assert.ErrorContains(t, err, "at least 1 row")
	bad := Demo()
	bad.Wings[1].Stations[0].Chord = -1
	_, err = bad.Sweep(context.Background(), ok)
	var p Problems
	require.ErrorAs(t, err, &p)
	assert.Equal(t, "wings[1].stations[0].chord_m", p[0].Path)

	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = Demo().Sweep(ctx, ok)
	assert.ErrorIs(t, err, context.Canceled)
}
