package vlm_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.org/groundeffect/vlm"
)

// Elliptic wings in free air by the lifting line (Prandtl; Glauert, The Elements of Aerofoil
// and Airscrew Theory, 1926, whose series is solved here for an elliptic chord and a section
// slope of 2 pi): with the angle e(theta) along the wing, y = -b/2 cos theta, only the term
// sin 2 theta rolls, and
//
//	roll rate p:  C_l/(p b/2U) = -(pi/4) A/(A + 4),
//	dihedral D:   C_l/(slip D) = -(4/3) A/(A + 4).
//
// The lifting line is the limit of long wings: the lattice tends to it as A grows, from below,
// as the lift slope does.
func TestPublishedEllipticWingInRoll(t *testing.T) {
	const held, heldLong = 12, 3 // per cent, of the shortest and the longest
	var damping, dihedral worst
	trend := ""
	lastRoll, lastDihedral := math.Inf(1), math.Inf(1)
	for _, a := range [...]float64{8, 16, 32, 64} {
		span := math.Pi / 4 * a // of an ellipse with root chord 1
		area := math.Pi / 4 * span
		l := lattice(t, vlm.Options{}, ellipse(span, 3, 20))
		level := vlm.BankedAttitude{Height: freeAir, Pitch: small}
		// Per rate/U: C_l q S b per (p b/2U) is C_l S b^2/2 per p/U.
		got := level.Rolling(solveBanked(t, l, level).Derivatives.RollRate) / (area * span * span / 2)
		want := math.Pi / 4 * a / (a + 4)
		roll := percent(got, want)

		const up = 1e-3 // dihedral, rad
		wing := ellipse(span, 3, 20)
		for i := range wing.Stations {
			wing.Stations[i].LE.Z += up * wing.Stations[i].LE.Y
		}
		got = level.Rolling(solveBanked(t, lattice(t, vlm.Options{}, wing), level).Derivatives.Slip)
		flat := level.Rolling(solveBanked(t, l, level).Derivatives.Slip)
		dih := percent((got-flat)/(area*span*up), 4./3*a/(a+4))
		trend += fmt.Sprintf(" %v: %.2f %.2f,", a, roll, dih)
		assert.Less(t, math.Abs(roll), lastRoll, "A = %v", a)
		assert.Less(t, math.Abs(dih), lastDihedral, "A = %v", a)
		lastRoll, lastDihedral = math.Abs(roll), math.Abs(dih)
		damping.add(roll, "A = %v", a)
		dihedral.add(dih, "A = %v", a)
	}
	t.Logf("A: roll damping and dihedral effect less the lifting line's, %%:%s", trend)
	t.Logf("check 28 elliptic wing rolling, A = 8 to 64: largest difference %.1f %% in roll damping (%s), %.1f %% at A = 64 (held: %v %%, %v %%)", damping.size, damping.at, lastRoll, held, heldLong)
	t.Logf("check 29 elliptic wing with dihedral slipping, A = 8 to 64: largest difference %.1f %% in the rolling moment (%s), %.1f %% at A = 64 (held: %v %%, %v %%)", dihedral.size, dihedral.at, lastDihedral, held, heldLong)
	for _, size := range []float64{damping.size, dihedral.size} {
		assert.LessOrEqual(t, size, float64(held))
	}
	assert.LessOrEqual(t, lastRoll, float64(heldLong))
	assert.LessOrEqual(t, lastDihedral, float64(heldLong))
}

// A long flat wing banked over the water, strip by strip: each strip has the lift of plane
// flow at its own gap, and the bank phi changes the gap at y by -phi y, so that the rolling
// moment per bank is -dl/dh times the sum of y^2 dy over the strips, with the lift l(h) of a
// strip a metre wide.
//
// Source: testdata/published/plate_small_angle.csv, its slope by the polynomial through five
// neighbours in ln(h/c). The wing's own tips take a part that falls as 1/A.
func TestPublishedStripTheoryInBank(t *testing.T) {
	const held = .6 // per cent
	var x, y []float64
	for _, r := range published(t, "plate_small_angle.csv") {
		x, y = append(x, math.Log(r.num(t, "h_over_c"))), append(y, math.Log(r.num(t, "lift_ratio")))
	}
	slope := func(h float64, from int) float64 { // of the lift ratio with h/c
		v := 0.0
		at := math.Log(h)
		for i := from; i < from+5; i++ {
			for k := from; k < from+5; k++ {
				if k == i {
					continue
				}
				p := y[i] / (x[i] - x[k])
				for j := from; j < from+5; j++ {
					if j != i && j != k {
						p *= (at - x[j]) / (x[i] - x[j])
					}
				}
				v += p
			}
		}
		ratio := math.Exp(y[floats.NearestIdx(x, at)])
		return v * ratio / h
	}
	var w worst
	trend := ""
	for _, c := range []struct {
		h    float64
		from int
	}{{.1, 0}, {.2, 0}, {.3, 1}} {
		var got [3]float64
		for i, a := range [...]float64{100, 200, 400} {
			l := lattice(t, vlm.Options{}, rectangle(a, vlm.Camber{}, 8, 12))
			at := vlm.BankedAttitude{Height: c.h, Pitch: small}
			s, second := solveBanked(t, l, at), 0.
			for _, st := range s.Strips {
				second += st.Width * (st.Y*st.Y + st.Width*st.Width/12)
			}
			got[i] = at.Rolling(s.Derivatives.Bank) / (2 * math.Pi * small * second)
		}
		long := extrapolated(got[0], got[1], got[2])
		want := -slope(c.h, c.from)
		trend += fmt.Sprintf(" %v: %.4f %.4f %.4f -> %.4f, strips %.4f;", c.h, got[0], got[1], got[2], long, want)
		w.add(percent(long, want), "h/c %v", c.h)
		require.Greater(t, long, 0.)
	}
	t.Logf("h/c: rolling moment per bank at A = 100, 200, 400:%s", trend)
	t.Logf("check 30 long wing banked over the water: largest difference %.1f %% of the rolling moment of strips of plane flow (%s) (held: %v %%)", w.size, w.at, held)
	assert.LessOrEqual(t, w.size, held, w.at)
}

// Signs of what is known of wings in bank, slip and turning, over several heights and angles:
//   - over the water a bank makes a moment that rights the wing, the larger the closer the
//     water (Rozhdestvensky, Aerodynamics of a Lifting System in Extreme Ground Effect, 2000;
//     from memory), up to an angle, in rad, of the gap in chords: there the flow under the wing
//     is all but stopped, and the lift grows no more;
//   - a swept wing that lifts raises its windward half in slip, the more the more it lifts
//     (Toll and Queijo, NACA TN 1581, 1948; from memory);
//   - a wing that lifts and rolls turns its nose towards the rising half, and one that turns
//     lowers its inner half (Etkin and Reid, Dynamics of Flight, 3rd ed.; from memory).
func TestPublishedSignsInBank(t *testing.T) {
	cases := 0
	for _, aspect := range []float64{2, 4, 6} {
		for _, angle := range []float64{2, 4, 6, 8} {
			wing := about(.25, rectangle(aspect, vlm.Camber{}, 4, 8))[0]
			last, lastGap := math.Inf(1), 0.
			for _, h := range []float64{.1, .15, .2, .3, .5, .8} {
				at := vlm.BankedAttitude{Height: h + .75*math.Sin(angle*deg), Pitch: angle * deg}
				s := solveBanked(t, lattice(t, vlm.Options{}, wing), at)
				righting := at.Rolling(s.Derivatives.Bank)
				assert.Positive(t, righting, "A = %v, %v degrees, h/c %v", aspect, angle, h)
				if last < math.Inf(1) && angle*deg/lastGap <= 1 {
					assert.Less(t, righting, last, "A = %v, %v degrees, h/c %v", aspect, angle, h)
				}
				last, lastGap = righting, h
				assert.Positive(t, at.Rolling(s.Derivatives.RollRate), "damping, A = %v, %v degrees, h/c %v", aspect, angle, h)
				assert.Negative(t, at.Rolling(s.Derivatives.YawRate), "A = %v, %v degrees, h/c %v", aspect, angle, h)
				cases++
			}
			free := vlm.BankedAttitude{Height: freeAir, Pitch: angle * deg}
			s := solveBanked(t, lattice(t, vlm.Options{}, wing), free)
			assert.Negative(t, s.Derivatives.RollRate.Yawing(), "A = %v, %v degrees", aspect, angle)
			swept := about(.25, rectangle(aspect, vlm.Camber{}, 4, 8))[0]
			swept.Stations[1].LE.X += aspect / 2 * math.Tan(30*deg)
			raised := free.Rolling(solveBanked(t, lattice(t, vlm.Options{}, swept), free).Derivatives.Slip) - free.Rolling(s.Derivatives.Slip)
			assert.Positive(t, raised, "A = %v, %v degrees", aspect, angle)
			free.Pitch /= 2
			s = solveBanked(t, lattice(t, vlm.Options{}, wing), free)
			less := free.Rolling(solveBanked(t, lattice(t, vlm.Options{}, swept), free).Derivatives.Slip) - free.Rolling(s.Derivatives.Slip)
			assert.Less(t, less, raised, "A = %v, %v degrees", aspect, angle)
			cases += 2
		}
	}
	if !t.Failed() {
		t.Logf("check 31 signs in bank, slip and turning: as known in all %d cases", cases)
	}
}
