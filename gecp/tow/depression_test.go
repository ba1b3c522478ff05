package tow

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// The plank: 980.665 N of lift on 10 m2 is a head of 10 mm of fresh water.
func TestDepressionByHand(t *testing.T) {
	m := handMap(t, handCraft(), 40, 0, .5, .5)
	r, err := NewSteadyTow(m, gecp.Freestream{Speed: 20, Density: 1.25})
	require.NoError(t, err)
	r.friction = gecp.Drag{}
	b, err := r.Trim(.2)
	require.NoError(t, err)
	d := r.Depression(b)
	assert.InDelta(t, .01, d.Depth, 1e-9)
	assert.InDelta(t, .05, d.Share, 1e-8)
	assert.Equal(t, "The craft's weight presses the water down by about 10 mm, 5 % of the clearance: flat water is a fair picture.", d.String())
	assert.Equal(t, "The craft's weight presses the water down by about 0.4 in, 20 % of the clearance: the flat water of the calculation is a rough picture here.",
		Depression{Depth: .01, Share: .2}.Words(units.Customary))
}
