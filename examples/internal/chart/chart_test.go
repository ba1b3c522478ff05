package chart

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/gecp"
)

func TestWrap(t *testing.T) {
	assert.Equal(t, []string{"a bc", "def g"}, Wrap("a bc def g", 5))
	for _, l := range Wrap(gecp.Cautions, 60) {
		assert.LessOrEqual(t, len(l), 60)
	}
}
