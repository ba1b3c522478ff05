package tow

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
)

func TestIsUnproven(t *testing.T) {
	for _, c := range []struct {
		gap, deg float64
		want     bool
	}{
		{.299, 4.99, true}, {.301, 4.99, false}, {.299, 5.01, false}, {.1, -3, true}, {.301, 5.01, false},
	} {
		assert.Equal(t, c.want, isUnproven(c.gap, gecp.Radians(c.deg)), "%+v", c)
	}
}

// Of each ready craft, at trims low and high: the wing that the rule names by hand.
func TestUnprovenByHand(t *testing.T) {
	named, none := 0, 0
	for key, m := range readymaps.All() {
		for _, speed := range []float64{14, 18, 24} {
			st, err := NewSteadyTow(m, gecp.Freestream{Speed: speed})
			require.NoError(t, err)
			c, err := st.TrimCurve()
			if err != nil {
				continue
			}
			craft := m.Model().Craft()
			for _, b := range c.States {
				nearest, want := math.Inf(1), ""
				for _, w := range craft.Wings {
					one := gecp.Craft{Wings: []gecp.Wing{w}}
					low := one.LowestPoints().At(b.Pitch)
					gap := (b.Height - low.Depth) / low.Chord
					flat := false
					for _, s := range w.Stations {
						flat = flat || b.Pitch*180/math.Pi+w.IncidenceDeg+s.TwistDeg < 5
					}
					if flat && gap < .3 && gap < nearest {
						nearest, want = gap, w.Name
					}
				}
				got, ok := st.Unproven(b)
				require.Equal(t, want != "", ok, "%s at %v m/s, %.2f m", key, speed, b.Clearance)
				if !ok {
					none++
					continue
				}
				named++
				assert.Equal(t, want, got.Wing)
				assert.InDelta(t, nearest, got.Gap, 1e-9)
				assert.Contains(t, got.Words(), "Height-holding unproven: wing \""+want+"\" flies within 0.")
			}
		}
	}
	t.Logf("%d trims have such a wing, %d have none", named, none)
	assert.Positive(t, named)
	assert.Positive(t, none)
}

func TestRangeSaysWhatIsUnproven(t *testing.T) {
	r := Range{OK: true, Low: Trim{Clearance: .1}, High: Trim{Clearance: .3}, End: Limit{Kind: LimitOwn}}
	assert.NotContains(t, r.String(), "unproven")
	r.Unproven, r.HasUnproven = Unproven{"front", .21, gecp.Radians(4.04)}, true
	assert.Contains(t, r.String(), `Height-holding unproven: wing "front" flies within 0.3 chords of the water at 4.0 degrees to it`)
	said := 0
	for _, m := range readymaps.All() {
		for speed := 12.; speed < 26; speed += 2 {
			st, err := NewSteadyTow(m, gecp.Freestream{Speed: speed})
			require.NoError(t, err)
			r, err := st.Range(t.Context(), Rules{})
			require.NoError(t, err)
			if !r.OK {
				continue
			}
			_, low := st.Unproven(r.Low)
			_, high := st.Unproven(r.High)
			assert.Equal(t, low || high, r.HasUnproven)
			if r.HasUnproven {
				said++
			}
		}
	}
	t.Logf("%d ranges of the ready craft have such a wing", said)
}

// Of two such wings the one nearer to the water in its own chords is named, whichever
// stands first.
func TestUnprovenNamesTheNearer(t *testing.T) {
	for _, front := range []float64{.2, .5} { // m above the datum; the rear wing at .35 m
		c := gecp.Demo()
		c.Floats = nil
		for i := range c.Wings {
			c.Wings[i].IncidenceDeg = 2
			for j := range c.Wings[i].Stations {
				c.Wings[i].Stations[j].Chord = 1.5
			}
		}
		c.Wings[0].Z, c.Wings[1].Z = front, .35
		model, err := gecp.NewModel(c, gecp.Mesh{Rows: 1, Strips: 2})
		require.NoError(t, err)
		m, err := model.FitMap(t.Context(), gecp.MapOptions{}, func(_, _ float64) (gecp.MapNode, error) {
			return gecp.MapNode{LoadsPerQ: gecp.LoadsPerQ{Lift: 10, Drag: 1, Moment: -20}}, nil
		})
		require.NoError(t, err)
		st, err := NewSteadyTow(m, gecp.Freestream{Speed: 14})
		require.NoError(t, err)
		got, ok := st.Unproven(Trim{Height: -.05})
		require.True(t, ok)
		assert.Equal(t, map[float64]string{.2: "front", .5: "rear"}[front], got.Wing)
	}
}

// A section that fills too much of its gap is told of in the range's words, the worse of
// its two ends.
func TestRangeTellsOfAFilledGap(t *testing.T) {
	told, silent := 0, 0
	thick := readymaps.All()["teal-tandem"].Model().Craft()
	thick.Wings[0].Thickness = .12
	thickMap, err := thick.BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	for _, m := range []*gecp.Map{readymaps.All()["teal-tandem"], thickMap} {
		for speed := 13.; speed < 24; speed += 1.5 {
			st, err := NewSteadyTow(m, gecp.Freestream{Speed: speed})
			require.NoError(t, err)
			r, err := st.Range(t.Context(), Rules{})
			require.NoError(t, err)
			if !r.OK {
				continue
			}
			want := 0.
			for _, b := range []Trim{r.Low, r.High} {
				want = max(want, m.Model().LowestPoints().GapFill(b.Clearance, b.Pitch).Share)
			}
			assert.Equal(t, want, r.GapFill.Share)
			if want > .4 {
				told++
				assert.Contains(t, r.String(), r.GapFill.Words())
			} else {
				silent++
				assert.NotContains(t, r.String(), "of its gap to the water")
			}
		}
	}
	assert.Positive(t, told)
	assert.Positive(t, silent)
}
