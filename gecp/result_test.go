package gecp

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

func TestResultsThatCannotBe(t *testing.T) {
	m, err := NewModel(Demo(), Mesh{Rows: 1, Strips: 2})
	require.NoError(t, err)
	carry := m.shape.Area * 1.2 // both wings are 12 % thick
	for _, c := range []struct {
		name       string
		lift, drag float64
		want       string
	}{
		{"sound", carry, .1, ""},
		{"just possible", 9.99 * carry, 1, ""},
		{"absurd", 10.01 * carry, 1, "10 times what the wings' sections can carry"},
		{"absurd downwards", -10.01 * carry, 1, "10 times"},
		{"no drag", carry, 0, ""},
		{"a trace below zero", carry, -.0009 * carry, ""},
		{"drag below zero", carry, -.0011 * carry, "drag comes out below zero"},
	} {
		s := &vlm.Solution{Total: vlm.Load{Force: r3.Vec{X: c.drag, Z: c.lift}}}
		err := m.checkResult(s, .3)
		if c.want == "" {
			assert.NoError(t, err, c.name)
			continue
		}
		assert.ErrorContains(t, err, c.want, c.name)
		assert.ErrorContains(t, err, "0.3 m", c.name)
	}
}

func TestSliverIsRefused(t *testing.T) {
	c := &Craft{Name: "sliver", Wings: []Wing{{Name: "w", Stations: []Station{{Chord: 5}, {Y: .05, Chord: 5}}}}}
	assert.ErrorContains(t, c.Check(), "aspect ratio")
	// Exactly the least is let in, a little less is not.
	square := func(half, chord float64) error {
		c.Wings[0].Stations = []Station{{Chord: chord}, {Y: half, Chord: chord}}
		return c.Check()
	}
	assert.NoError(t, square(.5, 5))
	assert.Error(t, square(.5, 5.01))
}
