package gecp

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// demoCrafts returns the ready craft by file name.
func demoCrafts(t testing.TB) map[string]*Craft {
	const dir = "crafts"
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	crafts := map[string]*Craft{}
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".json") {
			continue
		}
		f, err := os.Open(dir + "/" + e.Name())
		require.NoError(t, err)
		c, err := Read(f)
		f.Close()
		require.NoError(t, err, e.Name())
		crafts[e.Name()] = c
	}
	require.GreaterOrEqual(t, len(crafts), 4)
	return crafts
}

// coarse is the demo craft on a coarse mesh.
func coarse(t testing.TB) *Model {
	m, err := NewModel(Demo(), Mesh{2, 4})
	require.NoError(t, err)
	return m
}

// The map against direct solutions at random places, a quarter of them close to
// the pitches where the lowest point jumps; with straight wakes, which are exact.
func TestMapAgainstDirectSolutions(t *testing.T) {
	for name, c := range demoCrafts(t) {
		t.Run(name, func(t *testing.T) {
			t0 := time.Now()
			mo, err := NewModel(c, Mesh{})
			require.NoError(t, err)
			m, err := mo.WithWake(WakeStraight).BuildMap(context.Background(), MapOptions{})
			require.NoError(t, err)
			took := time.Since(t0)
			rg := m.Range()
			c0, c1, p0, p1 := rg.ClearanceMin, rg.ClearanceMax, rg.PitchMin, rg.PitchMax
			kinks := m.model.low.kinks(p0, p1)
			rng := rand.New(rand.NewPCG(1, 2))
			middle, err := m.At((c0+c1)/2, (p0+p1)/2)
			require.NoError(t, err)
			var worstLift, worstCP, worstDrag, worstSlope, worstRate float64
			var wideLift, wideSlope, wideRate float64 // where craft do not fly, only flights go
			n := 80
			if os.Getenv("CI") == "true" {
				n = 200
			}
			for i := range n {
				cl := c0 * math.Pow(c1/c0, rng.Float64())
				p := p0 + (p1-p0)*rng.Float64()
				if len(kinks) > 0 && i < n/4 {
					p = math.Min(p1, kinks[i%len(kinks)]+(rng.Float64()-.5)*.02)
				}
				got, err := m.At(cl, p)
				require.NoError(t, err)
				rates := m.UnsteadyAt(m.model.low.HeightFor(cl, p), p)
				for _, v := range [][2]float64{{rates.Steady.Lift, got.Lift}, {rates.Steady.Drag, got.Drag}, {rates.Steady.Moment, got.Moment}} {
					assert.InDelta(t, v[1], v[0], 1e-9*(1+math.Abs(v[1])), "the two ways to ask a map")
				}
				pose, err := m.model.lattice.AtPitch(t.Context(), p)
				require.NoError(t, err)
				want, err := pose.Solve(t.Context(), m.model.low.HeightFor(cl, p))
				require.NoError(t, err)
				ref := math.Max(math.Abs(want.Total.Lift()), math.Abs(middle.Lift))
				if Degrees(p) < -4 || Degrees(p) > 12 || cl > 2 || got.Close() {
					wideLift = math.Max(wideLift, math.Abs(got.Lift-want.Total.Lift())/ref)
					wideSlope = math.Max(wideSlope, math.Abs(got.ByHeight.Lift-want.Derivatives.Height.Lift())*cl/ref)
					wideRate = math.Max(wideRate, math.Abs(rates.ByHeaveRate.Lift/want.Derivatives.HeaveRate.Lift()-1))
					continue
				}
				worstLift = math.Max(worstLift, math.Abs(got.Lift-want.Total.Lift())/ref)
				// Where the lift is near zero the moment is compared over the middle lift.
				dCP := (got.Moment - want.Total.Pitching() + (got.Lift-want.Total.Lift())*(-want.Total.Pitching()/ref)) / ref
				worstCP = math.Max(worstCP, math.Abs(dCP)/m.model.shape.MAC)
				worstDrag = math.Max(worstDrag, math.Abs(got.Drag-want.Total.Drag())/ref)
				d := want.Derivatives.Height.Lift()
				worstSlope = math.Max(worstSlope, math.Abs(got.ByHeight.Lift-d)*cl/ref)
				worstSlope = math.Max(worstSlope, math.Abs(got.ByPitch.Lift-want.Derivatives.Pitch.Lift())*.1/ref)
				worstRate = math.Max(worstRate, math.Abs(rates.ByHeaveRate.Lift-want.Derivatives.HeaveRate.Lift())/math.Abs(want.Derivatives.HeaveRate.Lift()))
				worstRate = math.Max(worstRate, math.Abs(rates.ByPitchRate.Moment-want.Derivatives.PitchRate.Pitching())/math.Abs(want.Derivatives.PitchRate.Pitching()))
			}
			t.Logf("map of %s from %d solutions, %v: largest difference at %d places %.3f %% of lift, %.3f %% of the mean chord in CP, drag %.4f %% of lift, slopes %.3f %%, rates %.3f %%",
				name, m.Solves(), took, n, 100*worstLift, 100*worstCP, 100*worstDrag, 100*worstSlope, 100*worstRate)
			t.Logf("map of %s outside -4 to 12 degrees or 2 m, or close to the water: largest difference %.3f %% of lift, slopes %.3f %%, rates %.3f %%", name, 100*wideLift, 100*wideSlope, 100*wideRate)
			assert.Less(t, wideLift, .004)
			assert.Less(t, wideSlope, .03)
			assert.Less(t, wideRate, .15)
			// What free wakes and cells of a size leave open is several times as much.
			assert.Less(t, worstLift, .0015)
			assert.Less(t, worstCP, .0025)
			assert.Less(t, worstDrag, .001)
			assert.Less(t, worstSlope, .02)
			assert.Less(t, worstRate, .05)
		})
	}
}

func TestMapRange(t *testing.T) {
	m, err := coarse(t).BuildMap(context.Background(), MapOptions{ClearanceMin: .05})
	require.NoError(t, err)
	rg := m.Range()
	c0, c1, p0, p1 := rg.ClearanceMin, rg.ClearanceMax, rg.PitchMin, rg.PitchMax
	for _, c := range []struct {
		clearance, pitch float64
		says             string
	}{
		{c0 / 2, .05, "a clearance of 0.025 m lies outside the map"},
		{c1 * 1.01, .05, "lies outside the map, which runs from 0.05 to 3 m"},
		{math.NaN(), .05, "clearance of NaN"},
		{.3, p0 - .01, "a pitch of"},
		{.3, p1 + .01, "a pitch of"},
		{.3, math.NaN(), "a pitch of NaN"},
	} {
		_, err := m.At(c.clearance, c.pitch)
		var r *RangeError
		require.ErrorAs(t, err, &r)
		assert.ErrorContains(t, err, c.says)
	}
	p, err := m.AtHeight(m.model.low.HeightFor(.4, .03), .03)
	require.NoError(t, err)
	assert.InDelta(t, .4, p.Clearance, 1e-12)
}

// What the map gives as derivatives is what its values do.
func TestMapDerivativesMatchItsValues(t *testing.T) {
	m, err := coarse(t).BuildMap(context.Background(), MapOptions{})
	require.NoError(t, err)
	const d = 1e-5
	for _, at := range [][2]float64{{.08, -.02}, {.3, .05}, {1.2, .12}} {
		p, err := m.At(at[0], at[1])
		require.NoError(t, err)
		get := func(h, pitch float64) LoadsPerQ {
			q, err := m.AtHeight(h, pitch)
			require.NoError(t, err)
			return q.LoadsPerQ
		}
		up, down := get(p.Height+d, p.Pitch), get(p.Height-d, p.Pitch)
		assert.InEpsilon(t, (up.Lift-down.Lift)/(2*d), p.ByHeight.Lift, 1e-6)
		assert.InEpsilon(t, (up.Moment-down.Moment)/(2*d), p.ByHeight.Moment, 1e-6)
		up, down = get(p.Height, p.Pitch+d), get(p.Height, p.Pitch-d)
		assert.InEpsilon(t, (up.Lift-down.Lift)/(2*d), p.ByPitch.Lift, 1e-6)
		assert.InEpsilon(t, (up.Moment-down.Moment)/(2*d), p.ByPitch.Moment, 1e-6)
		assert.InEpsilon(t, (up.Drag-down.Drag)/(2*d), p.ByPitch.Drag, 1e-5)
	}
}

func TestMapProgressAndCancel(t *testing.T) {
	last := 0.
	_, err := coarse(t).BuildMap(context.Background(), MapOptions{Progress: func(part float64) {
		assert.LessOrEqual(t, part, 1.)
		last = math.Max(last, part)
	}})
	require.NoError(t, err)
	assert.Equal(t, 1., last)

	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	_, err = Demo().BuildMap(ctx, MapOptions{Progress: func(float64) { calls++; cancel() }})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Less(t, calls, 10)
}

func TestMapFor(t *testing.T) {
	m, err := coarse(t).BuildMap(context.Background(), MapOptions{})
	require.NoError(t, err)
	heavy := Demo()
	heavy.Pilot.Mass += 10
	n, err := m.For(heavy)
	require.NoError(t, err)
	assert.Equal(t, heavy, n.Model().Craft())
	assert.Equal(t, Demo(), m.Model().Craft())
	heavy.Pilot.Mass = 1
	assert.Equal(t, Demo().Pilot.Mass+10, n.Model().Craft().Pilot.Mass, "the map keeps a copy of its own")
	heavy.Wings[0].X += .1
	_, err = m.For(heavy)
	assert.ErrorContains(t, err, "differ")
	assert.ErrorIs(t, err, ErrOtherWings)
	_, err = n.For(heavy)
	assert.ErrorIs(t, err, ErrOtherWings, "however the caller's craft was changed")
}

// A map from few solutions strays little.
func TestCoarseMap(t *testing.T) {
	fine, err := coarse(t).BuildMap(context.Background(), MapOptions{Heights: 11, Pitches: 12})
	require.NoError(t, err)
	for n, most := range map[[2]int]float64{{minNodes, minNodes}: .03, {4, 6}: .008, {6, 9}: .004, {maxNodes, maxNodes}: .004} {
		m, err := coarse(t).BuildMap(context.Background(), MapOptions{Heights: n[0], Pitches: n[1], Tolerance: hopeless})
		require.NoError(t, err)
		assert.Equal(t, n[0]*n[1]+len(checkPlaces), m.Solves())
		var worst float64
		for _, cl := range []float64{.06, .13, .31, .7, 1.6} {
			for _, p := range []float64{0, 2.5, 4.7, 9.1} {
				a, err := m.At(cl, p*math.Pi/180)
				require.NoError(t, err)
				b, err := fine.At(cl, p*math.Pi/180)
				require.NoError(t, err)
				worst = math.Max(worst, math.Abs(a.Lift/b.Lift-1))
			}
		}
		assert.Less(t, worst, most, "%v", n)
	}
}

func TestMapOptions(t *testing.T) {
	for _, o := range []MapOptions{
		{ClearanceMin: 3}, {Tolerance: -1}, {Tolerance: .06}, {Tolerance: math.NaN()}, {ClearanceMax: math.Inf(1)}, {ClearanceMin: math.NaN()},
		{Heights: 3}, {Heights: 15}, {Pitches: 3}, {Pitches: 15}, {Heights: -1},
		{PitchMin: .1, PitchMax: .05}, {PitchMin: -1, PitchMax: .1}, {PitchMin: math.NaN(), PitchMax: .1},
	} {
		_, err := Demo().BuildMap(context.Background(), o)
		assert.ErrorContains(t, err, "the map", "%+v", o)
	}
}

func plankCraft() *Craft {
	return &Craft{Name: "plank", Wings: []Wing{{Name: "wing", Stations: []Station{{Chord: 2}, {Y: 2.5, Chord: 2}}}}}
}

func plank(t *testing.T, c *Craft) *Model {
	m, err := NewModel(c, Mesh{Rows: 2, Strips: 4})
	require.NoError(t, err)
	return m
}

// A map that is told no least clearance reaches down to a craft at rest on its
// floats.
func TestMapReachesTheFloats(t *testing.T) {
	for _, c := range []struct{ rest, want float64 }{{.3, .05}, {.05, .045}, {.02, LeastGap * 2}} {
		craft := plankCraft()
		craft.Floats = []Float{{X: .2, Z: -c.rest}, {X: 1.8, Z: -c.rest}}
		m, err := plank(t, craft).BuildMap(context.Background(), MapOptions{})
		require.NoError(t, err)
		lo, _ := m.Range().ClearanceMin, m.Range().ClearanceMax
		assert.InDelta(t, c.want, lo, 1e-12, "resting at %v", c.rest)
		m, err = plank(t, craft).BuildMap(context.Background(), MapOptions{ClearanceMin: .2})
		require.NoError(t, err)
		lo = m.Range().ClearanceMin
		assert.Equal(t, .2, lo)
	}
	m, err := plank(t, plankCraft()).BuildMap(context.Background(), MapOptions{})
	require.NoError(t, err)
	lo, _ := m.Range().ClearanceMin, m.Range().ClearanceMax
	assert.Equal(t, .05, lo)
}
