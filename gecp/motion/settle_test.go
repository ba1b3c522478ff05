package motion

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp/tow"
)

func TestStillAndDyingAway(t *testing.T) {
	half := .5 * math.Pi / 180
	for _, c := range []struct {
		s     swing
		still bool
	}{
		{swing{.0499, .99 * half}, true}, {swing{.0501, 0}, false}, {swing{0, 1.01 * half}, false}, {swing{.0501, 1.01 * half}, false}, {swing{}, true},
	} {
		assert.Equal(t, c.still, c.s.still(), "%+v", c.s)
	}
	for _, c := range []struct {
		last, before swing
		dies         bool
	}{
		{swing{.199, 3.99 * half}, swing{.21, 4.1 * half}, true},
		{swing{.201, 3.99 * half}, swing{.21, 4.1 * half}, false},
		{swing{.199, 4.01 * half}, swing{.21, 4.1 * half}, false},
		{swing{.1, half}, swing{.099, 2 * half}, false},
		{swing{.1, half}, swing{.2, .99 * half}, false},
		{swing{.1, half}, swing{.101, 1.01 * half}, true},
	} {
		assert.Equal(t, c.dies, c.last.diesAway(c.before), "%+v", c)
	}
	assert.InDelta(t, .3, over([]span{{.1, .2}, {-.1, 0}, {0, .05}}), 1e-12)
}

// settleByHand is Settle from the records of a flight, as its comment has it.
func settleByHand(f *Flight, c Controller, limit float64) Outcome {
	o := Outcome{Top: math.Inf(-1), Nose: math.Inf(-1)}
	var height, pitch []float64
	within := func(seconds, before float64) swing {
		n, m := int(math.Round(seconds/Tick)), int(math.Round(before/Tick))
		low, high := math.Inf(1), math.Inf(-1)
		down, up := low, high
		for i := len(height) - m - n; i < len(height)-m; i++ {
			low, high = min(low, height[i]), max(high, height[i])
			down, up = min(down, pitch[i]), max(up, pitch[i])
		}
		return swing{high - low, up - down}
	}
	for tick := 1; f.end.Cause == CauseNone; tick++ {
		f.Step(Tick, c.Position(f))
		s := f.State()
		height, pitch = append(height, s.Clearance), append(pitch, s.Pitch)
		o.Top, o.Nose = max(o.Top, s.Clearance), max(o.Nose, s.Pitch)
		if s.Clearance > limit {
			o.Above = true
			break
		}
		if f.end.Cause == CauseNone && tick%25 == 0 && tick >= 250 {
			if w := within(3, 0); w.height < .05 && w.pitch < math.Pi/360 {
				o.Settled, o.Afloat = f.wet == 0, f.wet != 0
				break
			}
			if tick == 1200 {
				a, b := within(6, 6), within(6, 0)
				o.Swings = true
				o.Settled = b.height < .2 && b.pitch < math.Pi/90 && b.height < a.height && b.pitch < a.pitch
				break
			}
		}
	}
	o.End, o.Time, o.Touch = f.end, f.t, f.touch
	return o
}

func TestSettleByHand(t *testing.T) {
	settled, swings, ended, above, late := 0, 0, 0, 0, 0
	for _, speed := range []float64{13.5, 15} {
		for _, r := range []tow.SteadyTow{stiffRun(t, speed), elasticRun(t, speed)} {
			for _, clearance := range []float64{.14, .2, .3, .4} {
				law, err := DesignPilotLaw(r, clearance)
				if err != nil {
					continue
				}
				for _, by := range []float64{.05, .3, 1} {
					d := Disturbance{SpeedUp: SpeedUp{By: by, Over: 1}}
					if _, err := NewFlight(r, clearance, d); err != nil {
						continue
					}
					for _, c := range []Controller{FixedPilot{}, law, law.by(.5)} {
						for _, limit := range []float64{.6, 3} {
							want := settleByHand(start(t, r, clearance, d), c, limit)
							got := start(t, r, clearance, d).Settle(c, limit)
							require.Equal(t, want, got, "%v m/s, %v m, by %v, %T below %v m", speed, clearance, by, c, limit)
							switch {
							case got.Swings:
								swings++
							case got.Settled:
								settled++
							case got.Above:
								above++
							default:
								ended++
							}
							if got.Settled && got.Time > 5.1 {
								late++
							}
						}
					}
				}
			}
		}
	}
	t.Logf("%d settle, %d of them after 5 s, %d swing, %d end, %d rise over the limit", settled, late, swings, ended, above)
	for _, n := range []int{settled, swings, ended, above, late} {
		assert.GreaterOrEqual(t, n, 5)
	}
}
