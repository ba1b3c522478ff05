package tow

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp/units"
)

func TestBandWords(t *testing.T) {
	for _, c := range []struct {
		b    Band
		want string
	}{
		{Band{Plain: .309, Low: .2299, High: .3201}, "0.30 m; between 0.22 and 0.33 m"},
		{Band{Plain: .30, Low: .30, High: .30}, "0.30 m"},
		{Band{Plain: .309, Low: .301, High: .309}, "0.30 m; between 0.30 and 0.31 m"},
		{Band{Plain: .30, Low: .29, High: .30}, "0.30 m; between 0.29 and 0.30 m"},
		{Band{Plain: .30, Low: .30, High: .30, NoLow: true}, "0.30 m; between none and 0.30 m"},
		{Band{Plain: .30, Low: .21, High: .319, NoLow: true}, "0.30 m; between none and 0.32 m"},
	} {
		assert.Equal(t, c.want, c.b.LetGoWords(units.Metric), "%+v", c.b)
	}
	assert.Equal(t, "11.8 in; between 8.6 and 13.0 in", Band{Plain: .30, Low: .22, High: .33}.LetGoWords(units.Customary))
	assert.Equal(t, "50.1 km/h; between 48.0 and 57.3 km/h", Band{Plain: 50.04 / 3.6, Low: 48.09 / 3.6, High: 57.21 / 3.6}.LiftOffWords(units.Metric))
	assert.Equal(t, "50.0 km/h; from 48.0 km/h to no lift-off at all", Band{Plain: 50 / 3.6, Low: 48.09 / 3.6, High: 57.21 / 3.6, NoHigh: true}.LiftOffWords(units.Metric))
	assert.Equal(t, "1.41 m; between 1.17 and 1.66 m", Band{Plain: 1.405, Low: 1.177, High: 1.65001}.PilotWords(units.Metric))
	assert.Equal(t, "1.41 m; between 1.17 and 1.66 m, or out of what can fly there", Band{Plain: 1.405, Low: 1.177, High: 1.65001, NoLow: true, NoHigh: true}.PilotWords(units.Metric))
}

func TestBandShift(t *testing.T) {
	u := units.Metric.Small()
	for _, c := range []struct {
		b    Band
		want string
	}{
		{Band{Plain: .3, Low: .2891, High: .3102}, "-11 to +11"},
		{Band{Plain: .3, Low: .3, High: .3}, "0"},
		{Band{Plain: .3, Low: .3, High: .3, NoLow: true}, "none to 0"},
		{Band{Plain: .3, Low: .2, High: .3, NoHigh: true}, "-100 to none"},
		{Band{Plain: .3, Low: .3, High: .3, NoLow: true, NoHigh: true}, "none"},
	} {
		assert.Equal(t, c.want, c.b.Shift(u), "%+v", c.b)
	}
}

// What each thing left out does to each figure alone, and all of it at once in the end.
func TestTrustRows(t *testing.T) {
	f := Trusted{Band: Band{Plain: .3, Low: .2, High: .3301}, Effects: []EffectBand{
		{EffectMesh, Band{Plain: .3, Low: .2891, High: .3102}},
		{EffectMap, Band{Plain: .3, Low: .3, High: .3}},
		{EffectWake, Band{Plain: .3, Low: .3, High: .3, NoLow: true}},
		{EffectDent, Band{Plain: .3, Low: .2, High: .3, NoHigh: true}},
	}}
	x := Trust{LetGo: f, Lowest: f, Pilot: f, HasPilot: true}
	want := []string{"-11 to +11", "0", "none to 0", "-100 to none", "-100 to +31"}
	rows := x.Rows(Trusted{}, units.Metric)
	require.Len(t, rows, len(want))
	for i, r := range rows {
		name, source := "all at once", "in the way that lowers each figure, and in the way that raises it"
		if i < len(f.Effects) {
			name, source = f.Effects[i].Effect.String(), f.Effects[i].Effect.Source()
		}
		assert.Equal(t, TrustRow{name, want[i], want[i], want[i], "–", source}, r)
	}
	x.HasPilot, x.Pilot = false, Trusted{}
	fast := Trusted{Band: Band{Plain: 10, Low: 9, High: 12}, Effects: slices.Repeat([]EffectBand{{Band: Band{Plain: 10, Low: 9.5, High: 10}}}, 4)}
	rows = x.Rows(fast, units.Metric)
	require.Len(t, rows, len(want))
	assert.Equal(t, "–", rows[0].Pilot)
	assert.Equal(t, "-1.8 to 0.0", rows[0].LiftOff)
	assert.Equal(t, "-3.6 to +7.2", rows[4].LiftOff)
	assert.Empty(t, Trust{}.Rows(fast, units.Metric), "a craft that does not fly")
}

func TestTrustWords(t *testing.T) {
	band := func(low float64, none bool) Band { return Band{Plain: .3, Low: low, High: .31, NoLow: none} }
	x := Trust{Range: Range{OK: true}, LetGo: Trusted{Band: band(.2, true), Effects: []EffectBand{
		{EffectMesh, band(.2999999999, false)}, {EffectMap, band(.289, false)}, {EffectWake, band(.25, false)},
		{EffectThickness, band(.27, true)}, {EffectViscosity, band(.2799, false)}, {EffectLine, band(.3, false)},
	}}}
	assert.Equal(t, "Height to let go: 0.30 m; between none and 0.31 m. At most, each alone: the wings' thickness takes it away; the wakes' way takes 0.05 m; viscosity takes 0.03 m.", x.String())
	x.HasPilot, x.PilotAt, x.Pilot.Band = true, .179, Band{Plain: 1.4, Low: 1.3, High: 1.5}
	assert.Contains(t, x.String(), " Pilot at 0.18 m: 1.40 m; between 1.30 and 1.50 m.")
	x.Range.OK = false
	assert.Equal(t, "Pilot at 0.18 m: 1.40 m; between 1.30 and 1.50 m.", x.String())
	x.HasPilot = false
	assert.Empty(t, x.String())
	x.Range.OK, x.Lowest = true, Trusted{Band: Band{Plain: .155, Low: .155, High: .371}, Effects: []EffectBand{
		{EffectMap, Band{Plain: .155, Low: .155, High: .155}}, {EffectViscosity, Band{Plain: .155, Low: .14, High: .161}}, {EffectThickness, Band{Plain: .155, Low: .155, High: .351}},
	}}
	assert.Contains(t, x.String(), " Lowest height to tow it at: 0.16 m; between 0.15 and 0.38 m. At most, each alone: the wings' thickness adds 0.20 m; viscosity adds 0.01 m.")
	assert.Equal(t, "By the calculation alone the height to let go is 0.30 m; between none and 0.31 m. The lowest to tow it at is 0.16 m; between 0.15 and 0.38 m.", x.AloneWords(units.Metric))
	x.Lowest.NoHigh = true
	x.Lowest.Effects[0].Band.NoHigh = true
	assert.Contains(t, x.String(), " Lowest height to tow it at: 0.16 m; from 0.15 m to no height at all. At most, each alone: the map between its nodes takes it away; the wings' thickness adds")
	calm := Trust{Range: Range{OK: true}, LetGo: Trusted{Band: Band{Plain: .3, Low: .3, High: .3}, Effects: []EffectBand{{EffectLine, band(.3, false)}}}}
	assert.Equal(t, "Height to let go: 0.30 m.", calm.String())
	assert.Equal(t, "By the calculation alone the height to let go is 0.30 m.", calm.AloneWords(units.Metric))
	for e := range numEffects {
		assert.NotEmpty(t, e.String())
		assert.NotEmpty(t, e.Source())
	}
}
