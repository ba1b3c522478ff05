package changes

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/bank"
	"example.org/groundeffect/gecp/units"
)

const atSpeed, atClearance, atPitchDeg = 15., .4, 3.

func bankedBy(more map[string]any) map[string]any {
	q := map[string]any{"clearance_m": atClearance, "pitch_deg": atPitchDeg}
	for k, v := range more {
		q[k] = v
	}
	return q
}

// What the page shows of a bank is the library's.
func TestBankIsTheLibrarys(t *testing.T) {
	var a banked
	var told []float64
	require.Empty(t, put(t, t.Context(), new(Service), about("bank", atSpeed, bankedBy(nil)), func(p float64) { told = append(told, p) }, &a))
	assert.Len(t, told, len(solvedBanks), "the work tells how far it is")
	c, err := gecp.Read(strings.NewReader(small))
	require.NoError(t, err)
	m, err := gecp.NewModel(c, gecp.Mesh{Rows: 2, Strips: 4})
	require.NoError(t, err)
	f, err := bank.At(t.Context(), m, gecp.Freestream{Speed: atSpeed}, atClearance, gecp.Radians(atPitchDeg))
	require.NoError(t, err)
	touch, ok := f.TouchBank()
	require.True(t, ok)
	assert.Equal(t, "The lower tip touches the water at "+units.BankLimit(touch)+" of bank.", a.Touches)
	assert.LessOrEqual(t, a.Most, gecp.Degrees(touch))
	assert.InDelta(t, gecp.Degrees(touch), a.Most, bankStepDeg)
	assert.Equal(t, f.Level.Height, a.Height)
	require.Len(t, a.Tips, int(a.Most/bankStepDeg+.5)+1)
	assert.InDelta(t, atClearance, a.Tips[0].Clearance, 1e-9)
	last := a.Tips[len(a.Tips)-1]
	assert.GreaterOrEqual(t, last.Clearance, 0.)
	assert.Less(t, last.Clearance, .01, "all but in the water")
	assert.Equal(t, "0.00 m", last.Words, "rounded down")
	require.NotEmpty(t, a.Banks)
	assert.InDelta(t, 0, a.Banks[0].Moment, 1e-6)
	for _, h := range a.Banks[1:] {
		b, err := f.Bank(t.Context(), gecp.Radians(h.BankDeg))
		require.NoError(t, err)
		assert.InDelta(t, b.Righting.Total(), h.Moment, 1e-9)
		assert.InDelta(t, b.Shift.X, *h.Shift, 1e-9)
		assert.Equal(t, h.Moment > 0, *h.Shift > 0, "what comes up is held by leaning to the low side")
		require.Len(t, h.Strips, len(b.Span))
		for i, s := range h.Strips {
			assert.InDelta(t, f.Freestream().DynamicPressure()*b.Span[i].Force, s.Force, 1e-9)
			assert.Equal(t, b.Span[i].Y, s.Y)
		}
		// The ladder of the tip and the solution agree.
		assert.InDelta(t, b.TipClearance, a.Tips[int(h.BankDeg/bankStepDeg+.5)].Clearance, .01)
	}
	assert.Equal(t, f.Righting().Rights(), a.Rights)
	assert.Equal(t, gecp.DefaultSideways, a.Sideways)
	assert.Contains(t, a.Leaning, "The craft file does not tell how far the pilot leans; 0.15 m is taken.")

	var r rightingAnswer
	require.Empty(t, put(t, t.Context(), new(Service), about("righting", atSpeed, bankedBy(nil)), nil, &r))
	want, err := bank.FindRightingCeiling(t.Context(), gecp.CloseGap*m.LowestPoints().At(gecp.Radians(atPitchDeg)).Chord, highestRighting, bank.AtPitch(m, gecp.Freestream{Speed: atSpeed}, gecp.Radians(atPitchDeg)))
	require.NoError(t, err)
	assert.Equal(t, inBoth(want.Words), r.Words)
}

// A lean that is stated is taken, and what it does said in three ways.
func TestBankSaysWhatLeaningDoes(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range []struct{ clearance, up, lean float64 }{{.4, .5, .01}, {.2, .5, .6}, {1.5, 2, .3}} {
		craft := strings.Replace(small, `"z_m":0.5},
	"tow"`, fmt.Sprintf(`"z_m":%v,"y_m":%v},
	"tow"`, c.up, c.lean), 1)
		require.NotEqual(t, small, craft)
		var a banked
		require.Empty(t, put(t, t.Context(), new(Service), about("bank", atSpeed, bankedBy(map[string]any{"clearance_m": c.clearance, "craft": json.RawMessage(craft)})), nil, &a))
		assert.Equal(t, c.lean, a.Sideways)
		assert.NotContains(t, a.Leaning, "is taken")
		for _, w := range []string{"banks it ", "puts that tip into the water", "rolls it on"} {
			if strings.Contains(a.Leaning, w) {
				seen[w] = true
				assert.Equal(t, w == "rolls it on", !a.Rights)
			}
		}
	}
	assert.Len(t, seen, 3)
}

func TestBankRefuses(t *testing.T) {
	for path, more := range map[string]map[string]any{"clearance_m": {"clearance_m": 9}, "pitch_deg": {"pitch_deg": 40}} {
		ps := put(t, t.Context(), new(Service), about("bank", atSpeed, bankedBy(more)), nil, &banked{})
		require.Len(t, ps, 1)
		assert.Equal(t, path, ps[0].Path)
	}
	ps := put(t, t.Context(), new(Service), about("bank", atSpeed, bankedBy(map[string]any{"craft": json.RawMessage(strings.Replace(small, `"tow":{`, `"was":{`, 1))})), nil, &banked{})
	assert.NotEmpty(t, ps)
	ctx, cancel := context.WithCancel(t.Context())
	assert.NotEmpty(t, put(t, ctx, new(Service), about("righting", atSpeed, bankedBy(nil)), func(float64) { cancel() }, &rightingAnswer{}), "cancelled")
}
