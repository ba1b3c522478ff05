package units

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestRounding(t *testing.T) {
	cm := Unit{"m", 1, 2}
	for _, c := range []struct {
		v    float64
		r    Rounding
		want string
	}{
		{.3051, Nearest, "0.31"}, {.3049, Nearest, "0.30"},
		{.3099, Down, "0.30"}, {.3001, Up, "0.31"},
		{.3, Down, "0.30"}, {.3, Up, "0.30"},
		{.29999999999, Down, "0.30"}, {.30000000001, Up, "0.30"},
		{.299999, Down, "0.29"}, {.300001, Up, "0.31"},
		{-.301, Down, "-0.31"}, {-.309, Up, "-0.30"},
		{-.001, Nearest, "0.00"}, {-.001, Up, "0.00"},
		{math.NaN(), Nearest, "–"}, {math.Inf(1), Down, "–"},
	} {
		assert.Equal(t, c.want, cm.Number(c.v, c.r), "%v", c)
	}
}

// Every figure that someone acts on, in both systems: what is shown is on the safe
// side of what was computed, and less than one step of the last decimal away.
func TestRoundedTowardsSafety(t *testing.T) {
	for _, s := range []System{Metric, Customary} {
		for _, c := range []struct {
			name  string
			show  func(float64) string
			unit  Unit
			above bool
		}{
			{"let-go clearance", s.LetGo, s.Clearance(), false},
			{"stay below", s.StayBelow, s.FineSpeed(), false},
			{"fly above", s.FlyAbove, s.FineSpeed(), true},
			{"line", s.LineLength, s.Line(), true},
			{"gain", s.SpeedGain, s.Pace(), false},
			{"reaction", s.ReactionTime, Unit{"s", 1, 2}, false},
		} {
			for v := .0137; v < 30; v *= 1.37 {
				var shown float64
				var name string
				_, err := fmt.Sscan(c.show(v), &shown, &name)
				assert.NoError(t, err)
				off := shown*c.unit.Size - v
				step := c.unit.Size * math.Pow10(-c.unit.Decimals)
				if c.above {
					off = -off
				}
				assert.LessOrEqual(t, off, 1e-5*step, "%s of %v shows as %s", c.name, v, c.show(v))
				assert.Greater(t, off, -step*(1+1e-9), "%s of %v shows as %s", c.name, v, c.show(v))
			}
		}
	}
}

func TestSigned(t *testing.T) {
	cm := Unit{"m", 1, 2}
	for v, want := range map[float64]string{.3051: "+0.31", -.3051: "-0.31", .004: "0.00", -.004: "0.00", 0: "0.00"} {
		assert.Equal(t, want, cm.Signed(v), v)
	}
}

// Rounded is the figure that Number shows, in SI units.
func TestRounded(t *testing.T) {
	inch := Unit{"in", .0254, 1}
	assert.InDelta(t, 12.3*.0254, inch.Rounded(12.39*.0254, Down), 1e-15)
	assert.InDelta(t, 12.4*.0254, inch.Rounded(12.31*.0254, Up), 1e-15)
	assert.InDelta(t, 12.3*.0254, inch.Rounded(12.34*.0254, Nearest), 1e-15)
}

func TestExactFactors(t *testing.T) {
	assert.Equal(t, "62 mph", (Customary.Speed().Words(100*KMH, Nearest)))
	assert.Equal(t, "23.6 in", (Customary.LetGo(.6)))
	assert.Equal(t, "66 ft", (Customary.LineLength(20)))
	assert.Equal(t, "3.0 lb/100 ft", (Customary.LineMass().Words(.045, Nearest)))
	assert.Equal(t, "45 g/m", (Metric.LineMass().Words(.045, Nearest)))
	assert.Equal(t, "220 lb", (Customary.Mass().Words(100, Nearest)))
	assert.Equal(t, "225 lbf", (Customary.Force().Words(1000, Nearest)))
}

// A moment is a force times a length in either system.
func TestMoment(t *testing.T) {
	assert.Equal(t, "1.4 N m", Metric.Moment().Words(1.3558, Nearest))
	assert.Equal(t, "1.0 lbf ft", Customary.Moment().Words(1.3558, Nearest))
}
