package gecp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/vlm"
)

// Level flight is a row of the sweep; what acts sideways is nothing.
func TestBankedLevelIsTheSweep(t *testing.T) {
	for _, c := range []*Craft{Demo(), withDihedral(), corrected(tenthLess)} {
		m, err := NewModel(c, Mesh{Rows: 3, Strips: 6})
		require.NoError(t, err)
		rows, err := m.Sweep(t.Context(), SweepQuestion{Speed: 10, Pitch: .05, Clearances: []float64{.3, 1}})
		require.NoError(t, err)
		q := Freestream{Speed: 10, Density: AirDensity}.DynamicPressure()
		for _, r := range rows {
			p, err := m.Banked(t.Context(), BankedAttitude{Clearance: r.Clearance, Pitch: .05})
			require.NoError(t, err)
			assert.InEpsilon(t, r.Lift, q*p.Lift, 1e-9)
			assert.InEpsilon(t, r.InducedDrag, q*p.Drag, 1e-8)
			assert.InEpsilon(t, r.Moment, q*p.Moment, 1e-9)
			assert.InDelta(t, 0, p.Side, 1e-9)
			assert.InDelta(t, 0, p.Roll, 1e-9)
			assert.InDelta(t, 0, p.Yaw, 1e-9)
			assert.InDelta(t, r.Clearance, p.TipClearance, 1e-9)
			assert.Equal(t, r.Close, p.Close())
			assert.InDelta(t, r.GapFill.Share, p.GapFill.Share, 1e-12)
		}
	}
}

var tenthLess = Correction{LiftFactor: .9, CPOffset: .05, CPPerM: .1, Runs: 3, On: true}

// The derivatives are the slopes of whole solutions, also about the datum line and corrected.
func TestBankedDerivatives(t *testing.T) {
	m, err := NewModel(corrected(tenthLess), Mesh{Rows: 3, Strips: 6})
	require.NoError(t, err)
	at := BankedAttitude{Clearance: .5, Pitch: .06}
	p, err := m.Banked(t.Context(), at)
	require.NoError(t, err)
	solve := func(bank, slip float64) BankedPoint {
		a := at
		a.Bank, a.Slip = bank, slip
		q, err := m.Banked(t.Context(), a)
		require.NoError(t, err)
		return q
	}
	const h = 1e-4
	for _, c := range []struct {
		up, down BankedPoint
		by       SidewaysPerQ
	}{{solve(h, 0), solve(-h, 0), p.ByBank}, {solve(0, h), solve(0, -h), p.BySlip}} {
		assert.InDelta(t, (c.up.Side-c.down.Side)/(2*h), c.by.Side, 1e-5*p.Lift)
		assert.InDelta(t, (c.up.Roll-c.down.Roll)/(2*h), c.by.Roll, 1e-5*p.Lift)
		assert.InDelta(t, (c.up.Yaw-c.down.Yaw)/(2*h), c.by.Yaw, 1e-5*p.Lift)
		assert.InDelta(t, (c.up.RollAboutDatumLine()-c.down.RollAboutDatumLine())/(2*h), c.by.AboutDatumLine(at.Pitch), 1e-5*p.Lift)
	}
	// Uncorrected loads are larger by the factor.
	plain, err := NewModel(Demo(), Mesh{Rows: 3, Strips: 6})
	require.NoError(t, err)
	u, err := plain.Banked(t.Context(), at)
	require.NoError(t, err)
	assert.InEpsilon(t, .9*u.ByBank.Roll, p.ByBank.Roll, 1e-12)
	assert.InEpsilon(t, .9*u.ByRollRate.Roll, p.ByRollRate.Roll, 1e-12)
	assert.InEpsilon(t, .9*u.ByYawRate.Roll, p.ByYawRate.Roll, 1e-12)
	assert.InEpsilon(t, .9*u.BySlip.Side, p.BySlip.Side, 1e-12)
}

// With straight wakes there is a difference, and the level craft is that of the sweep, too.
func TestBankedStraightWake(t *testing.T) {
	free, err := NewModel(Demo(), Mesh{Rows: 2, Strips: 4})
	require.NoError(t, err)
	m := free.WithWake(WakeStraight)
	rows, err := m.Sweep(t.Context(), SweepQuestion{Speed: 10, Pitch: .05, Clearances: []float64{.5}})
	require.NoError(t, err)
	q := Freestream{Speed: 10, Density: AirDensity}.DynamicPressure()
	p, err := m.Banked(t.Context(), BankedAttitude{Clearance: .5, Pitch: .05})
	require.NoError(t, err)
	assert.InEpsilon(t, rows[0].Lift, q*p.Lift, 1e-9)
	f, err := free.Banked(t.Context(), BankedAttitude{Clearance: .5, Pitch: .05})
	require.NoError(t, err)
	assert.NotEqual(t, p.Lift, f.Lift)
	assert.NotEqual(t, p.ByBank, f.ByBank)
}

func TestBankedRefuses(t *testing.T) {
	m, err := NewModel(Demo(), Mesh{Rows: 2, Strips: 4})
	require.NoError(t, err)
	for _, c := range []struct {
		at   BankedAttitude
		says string
	}{
		{BankedAttitude{Clearance: 0}, "the clearance is 0 m"},
		{BankedAttitude{Clearance: math.NaN()}, "the clearance is NaN m"},
		{BankedAttitude{Clearance: 1, Bank: 1}, "a bank of 57.3 degrees is outside"},
		{BankedAttitude{Clearance: 1, Slip: -1}, "a slip of -57.3 degrees is outside"},
		{BankedAttitude{Clearance: 1, Pitch: 1}, "a pitch of 57.3 degrees is outside"},
		{BankedAttitude{Clearance: .01}, `banked 0.00 degrees, wing "front" would be 0.01 m above the water, less than 0.02 of its chord there of 1.8 m`},
		{BankedAttitude{Clearance: .2, Bank: Radians(6)}, `banked 6.00 degrees, the starboard half of wing "front" would be 0.0`},
		{BankedAttitude{Clearance: .2, Bank: Radians(-6)}, `the port half of wing "front" would be 0.0`},
	} {
		_, err := m.Banked(t.Context(), c.at)
		assert.ErrorContains(t, err, c.says)
	}
	var tip *TipError
	_, err = m.Banked(t.Context(), BankedAttitude{Clearance: .2, Bank: Radians(6)})
	require.ErrorAs(t, err, &tip)
	assert.Equal(t, vlm.Starboard, tip.Side)
	assert.Negative(t, tip.Clearance)
	assert.ErrorContains(t, err, "deep in the water")
}

func TestSideways(t *testing.T) {
	travel, stated := (&Pilot{}).Sideways()
	assert.Equal(t, DefaultSideways, travel)
	assert.False(t, stated)
	travel, stated = (&Pilot{Y: .3}).Sideways()
	assert.Equal(t, .3, travel)
	assert.True(t, stated)
}
