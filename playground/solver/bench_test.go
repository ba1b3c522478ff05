package solver

import (
	"context"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkAnswer is what the page asks while a hand moves: the sweep and the pose, with
// one thing changed each time and the wings known, or the wings changed too.
func BenchmarkAnswer(b *testing.B) {
	text, err := json.Marshal(ready().Crafts[0].Craft)
	require.NoError(b, err)
	for _, kind := range []string{"heights", "pose"} {
		for _, c := range []struct {
			what, fidelity string
			change         func(n int, craft map[string]any) (speed float64)
		}{
			{"speed", "fine", func(n int, _ map[string]any) float64 { return 11 + .01*float64(n%100) }},
			{"weight", "fine", func(n int, craft map[string]any) float64 {
				craft["weights"].([]any)[0].(map[string]any)["mass_kg"] = 30 + .1*float64(n%100)
				return 11
			}},
			{"wing", "coarse", func(n int, craft map[string]any) float64 {
				craft["wings"].([]any)[0].(map[string]any)["incidence_deg"] = 3 + .01*float64(n%100)
				return 11
			}},
		} {
			if kind == "pose" {
				c.fidelity = "coarse"
			}
			b.Run(kind+"/"+c.what, func(b *testing.B) {
				var craft map[string]any
				require.NoError(b, json.Unmarshal(text, &craft))
				var d Service
				questions := make([][]byte, 100)
				for n := range questions {
					speed := c.change(n, craft)
					q, err := json.Marshal(map[string]any{"id": n, "ask": kind, "craft": craft, "speed_mps": speed, "limit_m": .6, "top_m": 1, "clearance_m": .3, "fidelity": c.fidelity, "units": "metric"})
					require.NoError(b, err)
					questions[n] = q
				}
				d.Answer(context.Background(), questions[99], nil)
				b.ReportAllocs()
				n := 0
				for b.Loop() {
					a := d.Answer(context.Background(), questions[n%100], nil)
					n++
					if len(a) < 1000 {
						b.Fatal(string(a))
					}
				}
			})
		}
	}
}
