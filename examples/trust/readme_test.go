package main

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/testdata/readme"
)

// README shows the tables of the demo, by equilibrium, since nobody can react on it in time,
// and of Teal beside each other.
func TestReadmeShowsTheBands(t *testing.T) {
	if os.Getenv("CI") != "true" {
		t.Skip("fits a dozen maps: CI=true go test does")
	}
	shown := readme.Table(t, "left out |")
	text := strings.Join(strings.Fields(readme.Text(t)), " ")
	want := map[string][]string{}
	var order []string
	for _, c := range []struct {
		key   string
		speed float64
		rules tow.Rules
	}{{"reedling-tandem", 16, tow.Rules{}}, {"teal-tandem", 17, tow.Rules{Reaction: motion.InTime}}} {
		for _, r := range crafts.All() {
			if r.Key != c.key {
				continue
			}
			s := studyOf(t, r.Craft, c.speed, c.rules)
			for _, words := range []string{s.trust.LetGo.LetGoWords(s.u), s.trust.Lowest.LowestWords(s.u), s.u.TowAbove(s.trust.PilotAt), s.trust.Pilot.PilotWords(s.u), s.liftOff.LiftOffWords(s.u)} {
				assert.Contains(t, text, words, c.key)
			}
			for _, r := range s.trust.Rows(s.liftOff, s.u) {
				if want[r.Name] == nil {
					order = append(order, r.Name)
				}
				want[r.Name] = append(want[r.Name], r.LetGo, r.Lowest, r.Pilot, r.LiftOff)
			}
		}
	}
	same := true
	minus := strings.NewReplacer("-", "−")
	for name, cells := range want {
		for i := range cells {
			cells[i] = minus.Replace(cells[i])
		}
		same = assert.Equal(t, cells, shown[name], name) && same
	}
	assert.Len(t, shown, len(want))
	if !same {
		for _, name := range order {
			t.Logf("| %s | %s |", name, strings.Join(want[name], " | "))
		}
	}
}

func studyOf(t *testing.T, craft *gecp.Craft, speed float64, rules tow.Rules) study {
	m, err := craft.BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	v, err := tow.NewVariants(t.Context(), m, nil)
	require.NoError(t, err)
	st, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: speed})
	require.NoError(t, err)
	r, err := st.Range(t.Context(), rules)
	require.NoError(t, err)
	trust, err := v.Trust(t.Context(), r)
	require.NoError(t, err)
	s := study{craft: craft, trust: trust, u: units.Metric}
	s.off, s.liftOff, err = v.LiftOff(t.Context(), 0, craft.Pilot.Middle())
	require.NoError(t, err)
	return s
}
