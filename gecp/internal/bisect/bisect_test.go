package bisect

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestEdge(t *testing.T) {
	for _, c := range []struct {
		name          string
		no, yes, edge float64
	}{
		{"rising", 0, 1, .3},
		{"falling", 1, 0, .3},
		{"negative", -5, 3, -1.25},
		{"at the end", 0, 1, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			no, yes, err := Edge(c.no, c.yes, 1e-9, func(x float64) (bool, error) {
				return (x >= c.edge) == (c.yes > c.no), nil
			})
			assert.NoError(t, err)
			assert.InDelta(t, c.edge, no, 1e-9)
			assert.InDelta(t, c.edge, yes, 1e-9)
			assert.LessOrEqual(t, math.Abs(yes-no), 1e-9)
		})
	}
}

func TestEdgeEndsWhereNoNumberLiesBetween(t *testing.T) {
	no, yes, err := Edge(1, 2, 0, func(x float64) (bool, error) { return x > 1.5, nil })
	assert.NoError(t, err)
	assert.Equal(t, math.Nextafter(no, 2), yes)
}

func TestEdgePassesTheErrorOn(t *testing.T) {
	bad := errors.New("no flow")
	_, _, err := Edge(0, 1, 1e-9, func(x float64) (bool, error) { return false, bad })
	assert.Equal(t, bad, err)
}
