package tow

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/internal/readymaps"
)

// anyMap returns the map of one of the ready craft.
func anyMap(rng *rand.Rand) *gecp.Map {
	all := crafts.All()
	return readymaps.All()[all[rng.IntN(len(all))].Key]
}

// handMap is a flat rectangular wing, chord 2 m, span 5 m, leading edge at the
// datum, with loads set by hand: lift/q = perRad pitch - perS s and moment/q =
// -x_a perRad pitch + x_h perS s, where s runs from -1 to 1 with the logarithm
// of the clearance. There is no induced drag.
func handMap(t *testing.T, c *gecp.Craft, perRad, perS, xa, xh float64) *gecp.Map {
	mo, err := gecp.NewModel(c, gecp.Mesh{Rows: 1, Strips: 2})
	require.NoError(t, err)
	const lo, hi = .1, 2.
	by := 2 / math.Log((hi+lo)/(2*lo))
	m, err := mo.FitMap(t.Context(), gecp.MapOptions{ClearanceMin: lo, ClearanceMax: hi, PitchMin: -.1, PitchMax: .3},
		func(clearance, pitch float64) (gecp.MapNode, error) {
			s, slope := math.Log((clearance+lo)/(2*lo))*by-1, by/(clearance+lo)
			byH := gecp.LoadsPerQ{Lift: -perS * slope, Moment: xh * perS * slope}
			// Held at its height, the craft comes closer to the water as the nose rises.
			closer := mo.LowestPoints().At(pitch).DepthByPitch
			return gecp.MapNode{
				LoadsPerQ: gecp.LoadsPerQ{Lift: perRad*pitch - perS*s, Moment: -xa*perRad*pitch + xh*perS*s},
				ByHeight:  byH,
				ByPitch:   gecp.LoadsPerQ{Lift: perRad - byH.Lift*closer, Moment: -xa*perRad - byH.Moment*closer},
			}, nil
		})
	require.NoError(t, err)
	return m
}

func handCraft() *gecp.Craft {
	return &gecp.Craft{
		Name:    "plank",
		Wings:   []gecp.Wing{{Name: "wing", Stations: []gecp.Station{{Chord: 2}, {Y: 2.5, Chord: 2}}}},
		Weights: []gecp.Weight{{Name: "all", Mass: 50, X: 1, Z: 0}},
		Pilot:   &gecp.Pilot{Mass: 50, XForward: .2, XAft: .8},
		Tow:     &gecp.Tow{X: 0, Z: 0, BoatHeight: 1, Line: 20, BoatLength: 5, LineMass: lineMass(0)},
	}
}

func lineMass(perM float64) *float64 { return &perM }
