package gecp

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// corrected is the demo craft with a correction.
func corrected(k Correction) *Craft {
	c := Demo()
	c.Correction = &k
	return c
}

var someCorrection = Correction{LiftFactor: .93, CPOffset: .06, CPPerM: -.11, LiftFactorError: .01, CPOffsetError: .005, CPPerMError: .02, Runs: 14, On: true}

func TestCorrectionInTheFile(t *testing.T) {
	with := func(block string) string {
		return strings.Replace(small, `"parasite_area_m2": 0.35`, `"parasite_area_m2": 0.35, "correction": `+block, 1)
	}
	c, err := Read(strings.NewReader(with(`{"lift_factor": .95, "cp_offset_m": .04, "cp_offset_per_m": 0, "runs": 14, "on": true}`)))
	require.Error(t, err, "JSON numbers begin with a digit")
	require.Nil(t, c)
	c, err = Read(strings.NewReader(with(`{"lift_factor": 0.95, "cp_offset_m": 0.04, "cp_offset_per_m": 0, "runs": 14, "on": true}`)))
	require.NoError(t, err)
	assert.Equal(t, &Correction{LiftFactor: .95, CPOffset: .04, Runs: 14, On: true}, c.Correction)

	for _, f := range []*Craft{c, corrected(someCorrection), Demo()} {
		var b bytes.Buffer
		require.NoError(t, f.Write(&b))
		assert.Equal(t, f.Correction != nil, strings.Contains(b.String(), "correction"))
		again, err := Read(bytes.NewReader(b.Bytes()))
		require.NoError(t, err)
		assert.Equal(t, f, again)
		n := f.Clone()
		assert.Equal(t, f, n)
		if n.Correction != nil {
			n.Correction.Runs++
			assert.NotEqual(t, f, n, "a clone shares nothing")
		}
	}

	for _, r := range []struct{ block, path, says string }{
		{`{"lift_factor": 0.3, "cp_offset_m": 0, "runs": 14, "on": true}`, "correction.lift_factor", "correction: lift_factor is 0.3; give a factor of the lift between 0.5 and 1.5"},
		{`{"lift_factor": 0, "cp_offset_m": 0, "runs": 14, "on": true}`, "correction.lift_factor", "lift_factor is 0"},
		{`{"lift_factor": 1, "cp_offset_m": 40, "runs": 14, "on": true}`, "correction.cp_offset_m", "cp_offset_m is 40"},
		{`{"lift_factor": 1, "cp_offset_m": 0, "cp_offset_per_m": -9, "runs": 14, "on": true}`, "correction.cp_offset_per_m", "cp_offset_per_m is -9"},
		{`{"lift_factor": 1, "cp_offset_m": 0, "cp_offset_error_m": -1, "runs": 14, "on": true}`, "correction.cp_offset_error_m", "cp_offset_error_m is -1"},
		{`{"lift_factor": 1, "cp_offset_m": 0, "runs": 0, "on": true}`, "correction.runs", "runs is 0"},
		{`{"lift_factor": 1, "cp_offset_m": 0, "runs": 1.5, "on": true}`, "correction.runs", "1.5 is not a count"},
		{`{"lift_factor": 1, "cp_offset_m": 0, "runs": 1e40, "on": true}`, "correction.runs", "1e40 is not a count"},
		{`{"lift_factor": 1, "cp_offset_m": 0, "runs": true, "on": true}`, "correction.runs", "is true; give a whole number"},
		{`{"lift_factor": 1, "cp_offset_m": 0, "runs": 14}`, "correction.on", `the key "on" is missing`},
		{`{"lift_factor": 1, "cp_offset_m": 0, "runs": 14, "on": "yes"}`, "correction.on", `is the text "yes"; give true or false`},
		{`{"lift_factor": 1, "cp_offset_m": 0, "runs": 14, "on": null}`, "correction.on", "is null; give true or false"},
		{`{"lift": 1, "cp_offset_m": 0, "runs": 14, "on": true}`, "correction.lift", `did you mean "lift_factor"?`},
		{`[]`, "correction", "give an object in braces"},
	} {
		p := problemsOf(t, with(r.block))
		assert.Equal(t, r.path, p[0].Path, r.block)
		assert.Contains(t, p[0].Text, r.says, r.block)
	}
	c.Correction.LiftFactor = math.NaN()
	assert.ErrorContains(t, c.Check(), "lift_factor is not a number")
}

func TestCorrectionWords(t *testing.T) {
	for _, c := range []struct {
		k     *Correction
		words string
		ok    bool
	}{
		{nil, "", false},
		{&Correction{Runs: 14}, "", false},
		{&Correction{Runs: 14, On: true}, "corrected by 14 runs", true},
		{&Correction{Runs: 1, On: true}, "corrected by 1 run", true},
	} {
		words, ok := (&Craft{Correction: c.k}).CorrectionWords()
		assert.Equal(t, c.words, words)
		assert.Equal(t, c.ok, ok)
	}
	assert.Nil(t, corrected(someCorrection).Uncorrected().Correction)
}

// Corrected lift is the factor times the lift, corrected CP the CP plus offset and
// growth, in the sweep and in the map; one that is off changes nothing.
func TestCorrectionOfLiftAndCP(t *testing.T) {
	off := someCorrection
	off.On = false
	q := SweepQuestion{Speed: 14, Pitch: Radians(4), Clearances: []float64{.12, .3, .9}, MomentX: 1.2, MomentZ: .3}
	sweep := func(c *Craft) []SweepRow {
		rows, err := c.Sweep(t.Context(), q)
		require.NoError(t, err)
		return rows
	}
	plain, with := sweep(Demo()), sweep(corrected(someCorrection))
	assert.Equal(t, plain, sweep(corrected(off)))
	m, err := Demo().BuildMap(t.Context(), MapOptions{})
	require.NoError(t, err)
	cm, err := m.For(corrected(someCorrection))
	require.NoError(t, err)
	om, err := cm.For(corrected(off))
	require.NoError(t, err)
	for i, a := range plain {
		b := with[i]
		shift := .06 - .11*a.Clearance
		assert.InDelta(t, .93*a.Lift, b.Lift, 1e-9)
		assert.InDelta(t, .93*a.InducedDrag, b.InducedDrag, 1e-9)
		assert.InDelta(t, a.CP.X+shift, b.CP.X, 1e-9)
		assert.Equal(t, a.LiftShares, b.LiftShares)
		assert.Equal(t, a.FrictionDrag, b.FrictionDrag)
		assert.InDelta(t, .93*a.CriticalStrip.LiftCoefficient, b.CriticalStrip.LiftCoefficient, 1e-12)
		// The moment asked for is that of the corrected resultant.
		r := RotationAt(q.Pitch)
		x, z := r.Level(q.MomentX, q.MomentZ)
		cx, cz := r.Level(b.CP.X, 0)
		assert.InDelta(t, (cz-z)*b.InducedDrag-(cx-x)*b.Lift, b.Moment, 1e-8)

		p, err := m.At(a.Clearance, q.Pitch)
		require.NoError(t, err)
		k, err := cm.At(a.Clearance, q.Pitch)
		require.NoError(t, err)
		assert.InDelta(t, .93*p.Lift, k.Lift, 1e-12)
		assert.InDelta(t, p.CP().X+shift, k.CP().X, 1e-12)
		assert.InDelta(t, b.PitchNeutral.X, k.PitchNeutralPoint().X, .02, "map and sweep")
		assert.InDelta(t, b.HeightNeutral.X, k.HeightNeutralPoint().X, .025, "map and sweep")
		o, err := om.At(a.Clearance, q.Pitch)
		require.NoError(t, err)
		assert.Equal(t, p, o)
		s, _, err := m.CriticalStrip(a.Clearance, q.Pitch)
		require.NoError(t, err)
		ks, _, err := cm.CriticalStrip(a.Clearance, q.Pitch)
		require.NoError(t, err)
		assert.InDelta(t, .93*s.LiftCoefficient, ks.LiftCoefficient, 1e-12)
	}
	wings, err := m.Model().Pressures(t.Context(), .3, q.Pitch)
	require.NoError(t, err)
	cw, err := cm.Model().Pressures(t.Context(), .3, q.Pitch)
	require.NoError(t, err)
	assert.InDelta(t, .93*wings[0].Cells[3].Coefficient, cw[0].Cells[3].Coefficient, 1e-12)
	assert.InDelta(t, .93*wings[0].Spans[2].LiftCoefficient, cw[0].Spans[2].LiftCoefficient, 1e-12)
}

// The map strays as much from its nodes whatever is corrected.
func TestCorrectionLeavesTheMap(t *testing.T) {
	on := func(c *Craft) (*Map, error) {
		mo, err := NewModel(c, Mesh{Rows: 2, Strips: 4})
		require.NoError(t, err)
		return mo.BuildMap(t.Context(), MapOptions{Heights: 4, Pitches: 5, Tolerance: .05})
	}
	m, err := on(Demo())
	require.NoError(t, err)
	c, err := on(corrected(someCorrection))
	require.NoError(t, err)
	assert.Equal(t, m.Error(), c.Error())
	o, err := m.For(corrected(someCorrection))
	require.NoError(t, err)
	a, err := c.At(.4, .1)
	require.NoError(t, err)
	b, err := o.At(.4, .1)
	require.NoError(t, err)
	assert.Equal(t, a, b)
}

// The corrected derivatives are those of the corrected loads, by central differences at
// the height or the pitch of the datum held.
func TestCorrectionDerivatives(t *testing.T) {
	base, err := coarse(t).WithWake(WakeStraight).BuildMap(t.Context(), MapOptions{})
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(3, 4))
	worst := 0.
	for range 200 {
		k := Correction{LiftFactor: .8 + .4*rng.Float64(), CPOffset: .4*rng.Float64() - .2, CPPerM: rng.Float64() - .5, Runs: 5, On: true}
		m, err := base.For(corrected(k))
		require.NoError(t, err)
		cl, pitch := .12+rng.Float64(), Radians(-2+10*rng.Float64())
		p, err := m.At(cl, pitch)
		require.NoError(t, err)
		const h = 1e-6
		near := false
		for _, kink := range m.Kinks() {
			near = near || math.Abs(kink-pitch) < 2*h
		}
		if near {
			continue
		}
		at := func(dh, dp float64) LoadsPerQ {
			q, err := m.AtHeight(p.Height+dh, pitch+dp)
			require.NoError(t, err)
			return q.LoadsPerQ
		}
		for _, c := range []struct {
			lo, hi, by LoadsPerQ
		}{{at(-h, 0), at(h, 0), p.ByHeight}, {at(0, -h), at(0, h), p.ByPitch}} {
			for _, v := range [][2]float64{{(c.hi.Lift - c.lo.Lift) / (2 * h), c.by.Lift}, {(c.hi.Drag - c.lo.Drag) / (2 * h), c.by.Drag}, {(c.hi.Moment - c.lo.Moment) / (2 * h), c.by.Moment}} {
				worst = math.Max(worst, math.Abs(v[0]-v[1])/(1+math.Abs(v[1])))
			}
		}
		u, o := m.UnsteadyAt(m.model.low.HeightFor(cl, pitch), pitch), base.UnsteadyAt(m.model.low.HeightFor(cl, pitch), pitch)
		assert.InDelta(t, p.Lift, u.Steady.Lift, 1e-9)
		assert.InDelta(t, p.Moment, u.Steady.Moment, 1e-9)
		// A heave at a rate r adds rate loads; the resultant with them lies further aft by the
		// same shift.
		const rate = .03
		sum := func(u UnsteadyLoads) Position {
			return RotationAt(pitch).CP(u.Steady.Drag+rate*u.ByHeaveRate.Drag, u.Steady.Lift+rate*u.ByHeaveRate.Lift, u.Steady.Moment+rate*u.ByHeaveRate.Moment)
		}
		if a, b := sum(o), sum(u); a.OK && math.Abs(a.X) < 10 {
			assert.InDelta(t, a.X+k.CPOffset+k.CPPerM*cl, b.X, 1e-9)
		}
	}
	t.Logf("corrected derivatives: largest difference from central differences %.1e of (1 + derivative)", worst)
	assert.Less(t, worst, 1e-6)
}
