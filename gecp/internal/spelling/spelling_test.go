package spelling

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"abc", "", 3}, {"", "ab", 2}, {"chrod", "chord", 2}, {"kitten", "sitting", 3}, {"x_m", "x_m", 0}} {
		assert.Equal(t, c.want, Distance(c.a, c.b), c)
		assert.Equal(t, c.want, Distance(c.b, c.a), c)
	}
}
