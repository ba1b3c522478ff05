package lake

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// A card that rests on a correction says so in every form; the range is that of the
// corrected craft.
func TestTowCardSaysThatItIsCorrected(t *testing.T) {
	m := readyMaps()["teal-tandem"]
	c := m.Model().Craft()
	card := func(k *gecp.Correction) (*TowCard, string) {
		c.Correction = k
		cm, err := m.For(c)
		require.NoError(t, err)
		t2, err := NewTowCard(t.Context(), cm, TowCardOptions{Top: 15})
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
