package gecp

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// demoCrafts returns the craft of testdata/crafts by file name.
func demoCrafts(t testing.TB) map[string]*Craft {
	const dir = "../testdata/crafts"
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

// The map against direct solutions at random places, a quarter of them close to
// the pitches where the lowest point jumps.
func TestMapAgainstDirectSolutions(t *testing.T) {
	for name, c := range demoCrafts(t) {
		t.Run(name, func(t *testing.T) {
			t0 := time.Now()
			m, err := c.BuildMap(context.Background(), MapOptions{})
			require.NoError(t, err)
			took := time.Since(t0)
			c0, c1, p0, p1 := m.Range()
			kinks := m.model.under.kinks(p0, p1)
			rng := rand.New(rand.NewPCG(1, 2))
			middle, err := m.At((c0+c1)/2, (p0+p1)/2)
			require.NoError(t, err)
			var worstLift, worstCP, worstDrag, worstSlope, worstRate float64
			const n = 200
			for i := range n {
				cl := c0 * math.Pow(c1/c0, rng.Float64())
				p := p0 + (p1-p0)*rng.Float64()
				if len(kinks) > 0 && i < n/4 {
					p = kinks[i%len(kinks)] + (rng.Float64()-.5)*.02
				}
				got, err := m.At(cl, p)
				require.NoError(t, err)
				pose, err := m.model.lattice.Pose(p)
				require.NoError(t, err)
				want, err := pose.Solve(m.model.under.HeightFor(cl, p))
				require.NoError(t, err)
				ref := math.Max(math.Abs(want.Total.Lift()), math.Abs(middle.Lift))
				worstLift = math.Max(worstLift, math.Abs(got.Lift-want.Total.Lift())/ref)
				// Where the lift is near zero the moment is compared over the middle lift.
				dCP := (got.Moment - want.Total.Pitching() + (got.Lift-want.Total.Lift())*(-want.Total.Pitching()/ref)) / ref
				worstCP = math.Max(worstCP, math.Abs(dCP)/m.model.shape.MAC)
				worstDrag = math.Max(worstDrag, math.Abs(got.Drag-want.Total.Drag())/ref)
				d := want.Derivatives.Height.Lift()
				worstSlope = math.Max(worstSlope, math.Abs(got.ByHeight.Lift-d)*cl/ref)
				worstSlope = math.Max(worstSlope, math.Abs(got.ByPitch.Lift-want.Derivatives.Pitch.Lift())*.1/ref)
				worstRate = math.Max(worstRate, math.Abs(got.ByHeaveRate.Lift-want.HeaveRate.Lift())/math.Abs(want.HeaveRate.Lift()))
				worstRate = math.Max(worstRate, math.Abs(got.ByPitchRate.Moment-want.PitchRate.Pitching())/math.Abs(want.PitchRate.Pitching()))
			}
			t.Logf("map of %s from %d solutions, %d panels, %v: largest difference at %d places %.3f %% of lift, %.3f %% of the mean chord in CP, drag %.4f %% of lift, slopes %.3f %%, rates %.3f %%",
				name, m.Solves(), len(m.panels), took, n, 100*worstLift, 100*worstCP, 100*worstDrag, 100*worstSlope, 100*worstRate)
		})
	}
}
