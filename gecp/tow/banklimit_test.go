package tow

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// The plank: level, its tips lie half its span out, so that a tip touches where the sine of
// the bank is the clearance over that.
func TestRangeBankLimit(t *testing.T) {
	h := hill{top: .9, change: func(c *gecp.Craft) { c.Pilot.Y = .2 }}
	r, err := h.tow(t, hillSpeed).Range(t.Context(), Rules{})
	require.NoError(t, err)
	require.True(t, r.OK)
	points := r.Tow.Map().Model().LowestPoints()
	for _, c := range []struct {
		b    Trim
		bank float64
	}{{r.Low, r.Bank.AtLow}, {r.High, r.Bank.AtHigh}} {
		assert.Less(t, points.Banked(c.b.Pitch, c.bank).Depth, c.b.Height, "clear")
		assert.GreaterOrEqual(t, points.Banked(c.b.Pitch, c.bank+gecp.Radians(2e-4)).Depth, c.b.Height, "and a touch more is wet")
	}
	assert.Less(t, r.Bank.AtLow, r.Bank.AtHigh)
	assert.Equal(t, r.Bank.AtLow, r.Bank.Least())
	assert.Equal(t, .2, r.Bank.Sideways)
	assert.True(t, r.Bank.Stated)

	h.change = nil
	r, err = h.tow(t, hillSpeed).Range(t.Context(), Rules{OwnLimit: 1e-2})
	require.NoError(t, err)
	require.False(t, r.OK)
	assert.Zero(t, r.Bank, "without a range there is none")
}

func TestBankLimitWords(t *testing.T) {
	deg := gecp.Radians
	for _, c := range []struct {
		l          BankLimit
		bank, lean string
	}{
		{BankLimit{AtLow: deg(3.29), AtHigh: deg(9.21), Sideways: .209, Stated: true}, "A tip touches the water at 3.2° of bank at the lowest height, at 9.2° at the highest.", "The pilot leans 0.20 m to either side."},
		{BankLimit{AtLow: deg(3.3), AtHigh: MaxBank, Sideways: .15}, "A tip touches the water at 3.3° of bank at the lowest height, at none below 45° at the highest.", "The craft file does not tell how far the pilot leans to either side; 0.15 m is taken."},
		{BankLimit{AtLow: MaxBank, AtHigh: MaxBank}, "No tip touches the water below 45° of bank.", ""},
	} {
		assert.Equal(t, c.bank, c.l.Words())
		assert.Equal(t, c.lean, c.l.LeanWords(units.Metric))
	}
	assert.Equal(t, .1, BankLimit{AtLow: .2, AtHigh: .1}.Least())
	assert.InDelta(t, 45, gecp.Degrees(MaxBank), 1e-12)
	assert.False(t, math.Signbit(BankLimit{}.Least()))
}
