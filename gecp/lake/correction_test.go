package lake

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
)

// A card that rests on a correction says so in every form; the range is that of the
// corrected craft.
func TestTowCardSaysThatItIsCorrected(t *testing.T) {
	base := cardOf("teal-tandem", units.Metric).Variants
	c := base.Map().Model().Craft()
	card := func(k *gecp.Correction) (*TowCard, string) {
		c.Correction = k
		v, err := base.For(c)
		require.NoError(t, err)
		t2, err := NewTowCard(t.Context(), v.Map(), TowCardOptions{Top: 12.5, Variants: v})
		require.NoError(t, err)
		var text, md, csv, html strings.Builder
		require.NoError(t, t2.WriteText(&text))
		require.NoError(t, t2.WriteMarkdown(&md))
		require.NoError(t, t2.WriteCSV(&csv))
		require.NoError(t, t2.WriteHTML(&html, ""))
		for _, form := range []string{text.String(), md.String(), csv.String(), html.String()} {
			assert.Equal(t, k != nil && k.On, strings.Contains(form, "corrected by 14 runs"), form)
		}
		return t2, text.String()
	}
	plain, words := card(nil)
	_, off := card(&gecp.Correction{LiftFactor: .8, Runs: 14})
	assert.Equal(t, words, off)
	with, _ := card(&gecp.Correction{LiftFactor: .92, CPOffset: .03, Runs: 14, On: true})
	last := len(plain.Rungs) - 1
	assert.Greater(t, with.Rungs[last].Range.Low.Pitch, plain.Rungs[last].Range.Low.Pitch, "less lift asks for more pitch")
}

// The trim of a corrected craft and what follows from its derivatives: the needed centre
// of gravity runs with height as its slope says, and the modes see the same loads.
func TestTrimAndMotionFollowTheCorrection(t *testing.T) {
	m := readymaps.Coarse()["teal-tandem"]
	c := m.Model().Craft()
	c.Correction = &gecp.Correction{LiftFactor: .9, CPOffset: .08, CPPerM: -.3, Runs: 14, On: true}
	cm, err := m.For(c)
	require.NoError(t, err)
	for _, speed := range []float64{14, 16} {
		st, err := tow.NewSteadyTow(cm, gecp.Freestream{Speed: speed})
		require.NoError(t, err)
		plain, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: speed})
		require.NoError(t, err)
		for _, cl := range []float64{.25, .4, .7} {
			const d = 1e-4
			a, err := st.Trim(cl - d)
			require.NoError(t, err)
			b, err := st.Trim(cl + d)
			require.NoError(t, err)
			at, err := st.Trim(cl)
			require.NoError(t, err)
			assert.InDelta(t, (b.CG-a.CG)/(b.Height-a.Height), at.RequiredCGSlope, 1e-3)
			p, err := m.At(cl, at.Pitch)
			require.NoError(t, err)
			assert.InDelta(t, p.CP().X+.08-.3*cl, at.CP, 1e-9)
			q := gecp.Freestream{Speed: speed, Density: gecp.AirDensity}.DynamicPressure()
			assert.InDelta(t, .9*q*p.Lift, at.Lift, 1e-6)
			before, err := plain.Trim(cl)
			require.NoError(t, err)
			assert.Greater(t, at.Pitch, before.Pitch)
		}
		if speed < 16 {
			continue // the pilot does not reach so far aft
		}
		one, err := motion.MarginsAt(t.Context(), st, .3, .6)
		require.NoError(t, err)
		two, err := motion.MarginsAt(t.Context(), plain, .3, .6)
		require.NoError(t, err)
		assert.NotEqual(t, two, one)
	}
}
