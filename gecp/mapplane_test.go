package gecp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Over the whole range of a map s and t lie about within -1 to 1, and their slopes are those of their
// values.
func TestMapPlane(t *testing.T) {
	all := demoCrafts(t)
	far := Demo() // whose lowest point jumps by metres
	far.Wings[1].X, far.Wings[1].Z = 9, far.Wings[0].Z
	all["far"] = far
	for name, c := range all {
		low := c.LowestPoints()
		o := MapOptions{ClearanceMin: .05, ClearanceMax: 3, PitchMin: -.1, PitchMax: .25}
		smooth, err := newMapPlane(low, &o, .15)
		require.NoError(t, err)
		for _, p := range []mapPlane{smooth, newExactPlane(low, &o)} {
			assert.Equal(t, [2]float64{-1, 1}, [2]float64{p.scale(o.PitchMin), p.scale(o.PitchMax)})
			least, most := 1., -1.
			for i := range 200 {
				pitch := o.PitchMin + (o.PitchMax-o.PitchMin)*float64(i)/199
				assert.InDelta(t, pitch, p.pitch(p.scale(pitch)), 1e-12)
				depth, slope := p.depthAt(pitch)
				assert.LessOrEqual(t, depth, low.At(pitch).Depth+p.shift/2+.01, "%s: the logarithm ends", name)
				from, to := low.HeightFor(o.ClearanceMin, pitch), low.HeightFor(o.ClearanceMax, pitch)
				a, _ := p.log(from, depth)
				b, _ := p.log(to, depth)
				least, most = math.Min(least, a), math.Max(most, b)
				assert.InDelta(t, from, p.between(from, to, -1, pitch), 1e-9)
				assert.InDelta(t, to, p.between(from, to, 1, pitch), 1e-9)
				mid, ds := p.log(p.between(from, to, 0, pitch), depth)
				assert.InDelta(t, (a+b)/2, mid, 1e-9)
				const d = 1e-6
				up, _ := p.log(p.between(from, to, 0, pitch)+d, depth)
				assert.InEpsilon(t, (up-mid)/d, ds, 1e-4)
				if p.exact == nil {
					deeper, _ := p.depthAt(pitch + d)
					assert.InDelta(t, (deeper-depth)/d, slope, 1e-4)
				}
			}
			s, ds := p.log(-100, 0)
			assert.False(t, math.IsNaN(s+ds) || math.IsInf(s+ds, 0), "under water")
			assert.Less(t, s, -1.)
			assert.InDelta(t, -1, least, .3, name)
			assert.InDelta(t, 1, most, .1, name)
		}
	}
}

// Where the lowest point jumps, lift and moment at a height held go on without a step, and at a
// clearance held they do not.
func TestMapsAreSmoothOverKinks(t *testing.T) {
	m, err := coarse(t).BuildMap(t.Context(), MapOptions{})
	require.NoError(t, err)
	require.NotEmpty(t, m.Kinks())
	for _, k := range m.Kinks() {
		const d = 1e-7
		h := m.model.low.HeightFor(.3, k)
		a, err := m.AtHeight(h, k-d)
		require.NoError(t, err)
		b, err := m.AtHeight(h, k+d)
		require.NoError(t, err)
		assert.NotEqual(t, a.LowestPoint.X, b.LowestPoint.X)
		for _, v := range [][2]float64{{a.Lift, b.Lift}, {a.Moment, b.Moment}, {a.ByPitch.Lift, b.ByPitch.Lift}, {a.ByHeight.Moment, b.ByHeight.Moment}} {
			assert.InDelta(t, v[0], v[1], 1e-4*math.Abs(v[0]))
		}
	}
}
