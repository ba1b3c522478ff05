package gecp

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/vlm"
)

// The mesh study of the README: lift and centre of pressure against cells, at a low
// and a middling clearance, and how far they are from converged. The converged
// values are extrapolated from the two finest meshes, whose error falls with the
// inverse square of the rows.
func TestMeshStudy(t *testing.T) {
	const pitch = 3 * math.Pi / 180
	clearances := []float64{.1, .5}
	meshes := []Mesh{{2, 4}, {3, 6}, {4, 6}, DefaultMesh(), {4, 10}, {6, 8}, {6, 12}, {8, 16}, {12, 24}}
	for name, c := range demoCrafts(t) {
		type result struct {
			cells    int
			lift, cp [2]float64
			took     time.Duration
		}
		at := func(m Mesh) (r result) {
			mo, err := NewModel(c, m)
			require.NoError(t, err)
			r.cells = mo.lattice.Cells()
			t0 := time.Now()
			var pose *vlm.PitchedLattice
			pose, err = mo.lattice.AtPitch(t.Context(), pitch)
			require.NoError(t, err)
			for i, cl := range clearances {
				s, err := pose.Solve(t.Context(), mo.low.HeightFor(cl, pitch))
				require.NoError(t, err)
				r.lift[i] = s.Total.Lift()
				r.cp[i] = RotationAt(pitch).CP(s.Total.Drag(), s.Total.Lift(), s.Total.Pitching()).X
			}
			r.took = time.Since(t0)
			return r
		}
		var results []result
		for _, m := range meshes {
			results = append(results, at(m))
		}
		fine, finer := results[len(results)-2], results[len(results)-1]
		var lift, cp [2]float64
		for i := range lift {
			// (12/8)^2 = 2.25
			lift[i] = finer.lift[i] + (finer.lift[i]-fine.lift[i])/1.25
			cp[i] = finer.cp[i] + (finer.cp[i]-fine.cp[i])/1.25
		}
		mac := c.Shape().MAC
		for k, m := range meshes {
			r := results[k]
			var dl, dc [2]float64
			for i := range dl {
				dl[i], dc[i] = 100*(r.lift[i]/lift[i]-1), 100*(r.cp[i]-cp[i])/mac
			}
			t.Logf("%-24s %2d x %2d %4d cells  clearance %.1f m: lift %+.2f %% CP %+.2f %%   %.1f m: lift %+.2f %% CP %+.2f %% of the mean chord   %v",
				name, m.Rows, m.Strips, r.cells, clearances[0], dl[0], dc[0], clearances[1], dl[1], dc[1], r.took.Round(100*time.Microsecond))
			if m == DefaultMesh() {
				const held = .5
				for i := range dl {
					assert.InDelta(t, 0, dl[i], held, "%s: lift at %v m, per cent", name, clearances[i])
					assert.InDelta(t, 0, dc[i], held, "%s: CP at %v m, per cent of the mean chord", name, clearances[i])
				}
			}
		}
	}
}

// With free wakes, too, the centre of pressure comes to rest as the strips grow in number. It
// would not if a leg left the trailing edge at an angle to the filaments that lead to it on the
// wing: the sheet would have vorticity across the stream there that it does not have ahead of the
// edge, and its effect at the edge would grow as the logarithm of the strips' number, by some
// millimetres each time that doubles.
func TestFreeWakeAndStrips(t *testing.T) {
	const clearance = .257
	pitch := Radians(-.5)
	change := map[WakeWay]float64{}
	for _, way := range []WakeWay{WakeStraight, WakeFree} {
		var cp []float64
		for _, strips := range []int{16, 32} {
			m, err := NewModel(demoCrafts(t)["teal-tandem.json"], Mesh{Rows: 4, Strips: strips})
			require.NoError(t, err)
			s, err := m.WithWake(way).solve(t.Context(), clearance, pitch)
			require.NoError(t, err)
			cp = append(cp, -s.Total.Pitching()/s.Total.Lift())
		}
		change[way] = abs(cp[1] - cp[0])
	}
	t.Logf("twice as many strips move the centre of pressure of Teal by %.1f mm with straight wakes, %.1f mm with free ones", 1000*change[WakeStraight], 1000*change[WakeFree])
	assert.Less(t, change[WakeStraight], .001)
	assert.Less(t, change[WakeFree], .001)
}
