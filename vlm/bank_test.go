package vlm_test

import (
	"context"
	"math"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

func solveBanked(t testing.TB, l *vlm.Lattice, at vlm.BankedAttitude) *vlm.BankedSolution {
	t.Helper()
	s, err := l.SolveBanked(t.Context(), at)
	require.NoError(t, err)
	return s
}

// bankedDerivatives lists the derivatives by name, and whether each is odd: with a motion
// to one side, which the reflection turns round.
func bankedDerivatives(s *vlm.BankedSolution) map[string]struct {
	load vlm.Load
	odd  bool
} {
	d := s.Derivatives
	return map[string]struct {
		load vlm.Load
		odd  bool
	}{
		"height": {d.Height, false}, "pitch": {d.Pitch, false}, "heave rate": {d.HeaveRate, false}, "pitch rate": {d.PitchRate, false},
		"bank": {d.Bank, true}, "slip": {d.Slip, true}, "roll rate": {d.RollRate, true}, "yaw rate": {d.YawRate, true},
	}
}

// Level and without slip the whole craft has the loads of the symmetric one, and its
// derivatives; sideways nothing acts.
func TestLevelIsSymmetric(t *testing.T) {
	var w worst
	for _, c := range crafts() {
		l := lattice(t, vlm.Options{}, c.surfaces...)
		for _, p := range attitudes(t, l) {
			a, b := solve(t, l, p.Height, p.Pitch), solveBanked(t, l, vlm.BankedAttitude{Height: p.Height, Pitch: p.Pitch})
			sameLoads(t, a.Total, b.Total, 1e-10, "%s, %+v", c.name, p)
			w.add(r3.Norm(r3.Sub(a.Total.Force, b.Total.Force))/(1e-9+r3.Norm(a.Total.Force)), "%s", c.name)
			assert.InDelta(t, a.TrefftzDrag, b.TrefftzDrag, 1e-11, c.name)
			for name, d := range derivatives(a) {
				sameLoads(t, d, bankedDerivatives(b)[name].load, 1e-9, "%s, %+v, %s", c.name, p, name)
			}
			for i, n := 0, len(a.Strips); i < n; i++ {
				assert.InDelta(t, a.Strips[i].NormalForce, b.Strips[i].NormalForce, 1e-10, c.name)
			}
			for i := range a.Surfaces {
				sum := vlm.Load{Force: r3.Add(b.Surfaces[i].Force, b.Reflections[i].Force), Moment: r3.Add(b.Surfaces[i].Moment, b.Reflections[i].Moment)}
				sameLoads(t, a.Surfaces[i], sum, 1e-9, "%s, surface %d", c.name, i)
			}
		}
	}
	t.Logf("whole craft, level, against the symmetric one: largest difference %.1e of the force (%s)", w.size, w.at)
}

// Banked and slipping the other way the loads are reflected.
func TestBankedMirrored(t *testing.T) {
	for _, c := range crafts() {
		l := lattice(t, vlm.Options{}, c.surfaces...)
		for _, at := range []vlm.BankedAttitude{
			{Height: 1.2, Pitch: 4 * deg, Bank: 5 * deg}, {Height: 1.2, Pitch: 4 * deg, Slip: 6 * deg},
			{Height: 1.4, Pitch: 2 * deg, Bank: -7 * deg, Slip: 3 * deg}, {Height: freeAir, Pitch: 5 * deg, Bank: 20 * deg, Slip: 4 * deg},
		} {
			other := at
			other.Bank, other.Slip = -at.Bank, -at.Slip
			a, b := solveBanked(t, l, at), solveBanked(t, l, other)
			assert.NotZero(t, at.Rolling(a.Total), c.name)
			sameLoads(t, reflected(a.Total), b.Total, 1e-9, "%s, %+v", c.name, at)
			assert.InDelta(t, a.TrefftzDrag, b.TrefftzDrag, 1e-10, c.name)
			for i := range a.Surfaces {
				sameLoads(t, reflected(a.Surfaces[i]), b.Reflections[i], 1e-8, "%s, surface %d", c.name, i)
			}
			for name, d := range bankedDerivatives(a) {
				want := reflected(d.load)
				if d.odd {
					want = differenceTimes(vlm.Load{}, want, 1)
				}
				sameLoads(t, want, bankedDerivatives(b)[name].load, 1e-8, "%s, %+v, %s", c.name, at, name)
			}
		}
	}
}

// Far from the water a bank does nothing of itself: the loads turn with the craft. About a
// datum line that is pitched it lets the wind in from the lower side, and the rolling moment
// is what slip does.
func TestBankFarFromTheWater(t *testing.T) {
	var w worst
	for _, c := range crafts() {
		l := lattice(t, vlm.Options{}, c.surfaces...)
		level := vlm.BankedAttitude{Height: freeAir, Pitch: 4 * deg}
		for _, far := range []float64{freeAir, 600} {
			level.Height = far
			s := solveBanked(t, l, level)
			size := r3.Norm(s.Total.Force)
			byBank, bySlip := level.Rolling(s.Derivatives.Bank), math.Sin(level.Pitch)*level.Rolling(s.Derivatives.Slip)
			w.add((byBank-bySlip)/size, "%s at %v m", c.name, far)
			assert.NotZero(t, bySlip)
			assert.InDelta(t, bySlip, byBank, 1e-5*size, "%s: rolling moment with bank", c.name)
		}
		// Without pitch the bank is a rotation about the stream.
		a := solveBanked(t, l, vlm.BankedAttitude{Height: freeAir})
		b := solveBanked(t, l, vlm.BankedAttitude{Height: freeAir, Bank: 25 * deg})
		sin, cos := math.Sincos(25 * deg)
		turn := func(v r3.Vec) r3.Vec { return r3.Vec{X: v.X, Y: v.Y*cos + v.Z*sin, Z: v.Z*cos - v.Y*sin} }
		sameLoads(t, vlm.Load{Force: turn(a.Total.Force), Moment: turn(a.Total.Moment)}, b.Total, 1e-9, "%s", c.name)
	}
	t.Logf("rolling moment per radian of bank far from the water: against that with slip: largest difference %.1e m of the force (%s) (held: 1e-5)", w.size, w.at)
}

// A tip in the water is an error that names the wing and the side.
func TestBankedWetError(t *testing.T) {
	tandem := crafts()[2]
	l := lattice(t, vlm.Options{}, tandem.surfaces...)
	for _, c := range []struct {
		bank float64
		side vlm.Side
		says string
	}{
		{12 * deg, vlm.Starboard, `the starboard half of "front tip plate" is in the water: with the datum 0.600 m above it and the nose up 3.00 degrees, banked 12.00 degrees to starboard its lowest point lies `},
		{-12 * deg, vlm.Port, `the port half of "front tip plate" is in the water: with the datum 0.600 m above it and the nose up 3.00 degrees, banked 12.00 degrees to port its lowest point lies `},
	} {
		_, err := l.SolveBanked(t.Context(), vlm.BankedAttitude{Height: .6, Pitch: 3 * deg, Bank: c.bank})
		var wet *vlm.WetError
		require.ErrorAs(t, err, &wet)
		assert.Equal(t, c.side, wet.Side)
		assert.ErrorContains(t, err, c.says)
		// How deep it lies: the tip section of the plate, 2 m out and 0.3 m down.
		tip := tandem.surfaces[1].Stations[1]
		deepest := math.Inf(1)
		for k := range 33 {
			p := tip.Point(float64(k) / 32)
			sin, cos := math.Sincos(12 * deg)
			up := p.Z*cos - p.Y*sin
			deepest = math.Min(deepest, up*math.Cos(3*deg)-p.X*math.Sin(3*deg))
		}
		assert.InDelta(t, -.6-deepest, wet.Depth, 1e-9)
	}
	whole := lattice(t, vlm.Options{NoMirror: true}, tandem.surfaces[2])
	_, err := whole.SolveBanked(t.Context(), vlm.BankedAttitude{Height: -1})
	assert.ErrorContains(t, err, `"rear" is in the water`)
}

func TestBankedErrors(t *testing.T) {
	l := lattice(t, vlm.Options{}, crafts()[0].surfaces...)
	big := vlm.Surface{Name: "big", Rows: 30, Strips: 100, Stations: crafts()[0].surfaces[0].Stations}
	for _, c := range []struct {
		l    *vlm.Lattice
		at   vlm.BankedAttitude
		says string
	}{
		{l, vlm.BankedAttitude{Height: 1, Pitch: 46 * deg}, "a pitch of 46 degrees is outside"},
		{l, vlm.BankedAttitude{Height: 1, Bank: -46 * deg}, "a bank of -46 degrees is outside"},
		{l, vlm.BankedAttitude{Height: 1, Slip: math.NaN()}, "a slip of NaN degrees is outside"},
		{l, vlm.BankedAttitude{Height: math.NaN()}, "a height of NaN m has no meaning"},
		{lattice(t, vlm.Options{}, big), vlm.BankedAttitude{Height: 9}, "both halves of the lattice would have 6000 cells; it holds at most 4000"},
	} {
		_, err := c.l.SolveBanked(t.Context(), c.at)
		assert.ErrorContains(t, err, c.says)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := lattice(t, vlm.Options{}, vlm.Surface{Name: "w", Rows: 8, Strips: 30, Stations: crafts()[0].surfaces[0].Stations}).SolveBanked(ctx, vlm.BankedAttitude{Height: 1})
	assert.ErrorIs(t, err, context.Canceled)
}

// Several goroutines at once give what one gives.
func TestBankedConcurrentUse(t *testing.T) {
	c := crafts()[5]
	l := lattice(t, vlm.Options{}, c.surfaces...)
	b, err := lattice(t, vlm.Options{}, c.surfaces...).AtBank(t.Context(), 3*deg, 4*deg, 2*deg)
	require.NoError(t, err)
	heights := []float64{.9, 1, 1.2, 1.5, 2, freeAir}
	want := make([]*vlm.BankedSolution, len(heights))
	for i, h := range heights {
		want[i], err = b.Solve(t.Context(), h)
		require.NoError(t, err)
	}
	var wg sync.WaitGroup
	for i := range 2 * len(heights) {
		wg.Go(func() {
			h := heights[i%len(heights)]
			got, err := l.SolveBanked(context.Background(), vlm.BankedAttitude{Height: h, Pitch: 3 * deg, Bank: 4 * deg, Slip: 2 * deg})
			assert.NoError(t, err)
			assert.Equal(t, want[i%len(heights)], got)
		})
	}
	wg.Wait()
}

// The drag across the wake is the drag of the forces, also banked and slipping.
func TestBankedDragEqualsTrefftzDrag(t *testing.T) {
	var w worst
	for _, bank := range []float64{0, 4 * deg} {
		wing := vlm.Surface{Name: "wing", Rows: 8, Strips: 24, Stations: []vlm.Station{station(0, 0, 0, 1, 0, vlm.Camber{}), station(0, 3, 0, 1, 0, vlm.Camber{})}}
		l := lattice(t, vlm.Options{}, wing)
		s := solveBanked(t, l, vlm.BankedAttitude{Height: .8, Pitch: 4 * deg, Bank: bank})
		w.add((s.TrefftzDrag-s.Total.Drag())/s.TrefftzDrag, "bank %.2f", bank)
		assert.InEpsilon(t, s.TrefftzDrag, s.Total.Drag(), .01)
	}
	t.Logf("drag of a banked wing from the forces and across the wake: largest difference %.2f %% (held: 1 %%)", 100*w.size)
}
