package gecp

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestSectionLimit(t *testing.T) {
	for thickness, want := range map[float64]float64{0: .9, .03: .9, .06: .9, .09: 1.05, .12: 1.2, .2: 1.2} {
		assert.InDelta(t, want, SectionLimit(thickness), 1e-12, thickness)
	}
	for _, c := range []struct {
		lift, limit, share float64
		over               bool
	}{{.6, 1.2, .5, false}, {-.6, 1.2, .5, false}, {1.2, 1.2, 1, false}, {1.201, 1.2, 1.201 / 1.2, true}, {-1.8, 1.2, 1.5, true}, {1.199, 1.2, 1.199 / 1.2, false}} {
		s := CriticalStrip{LiftCoefficient: c.lift, Limit: c.limit}
		assert.InDelta(t, c.share, s.ShareOfLimit(), 1e-12)
		assert.Equal(t, c.over, s.Over(), "%+v", c)
	}
}
