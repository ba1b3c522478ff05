package vlm

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// demoTandem has the proportions of a craft.
func demoTandem(rows, strips int, thickness float64) []Surface {
	wing := func(name string, x, z, incidence, chord, half, camber float64) Surface {
		root := Station{Chord: chord, Incidence: incidence * math.Pi / 180, Camber: Camber{camber, .5}, Thickness: thickness}
		root.LE.X, root.LE.Z = x, z
		tip := root
		tip.LE.Y = half
		return Surface{Name: name, Stations: []Station{root, tip}, Rows: rows, Strips: strips}
	}
	return []Surface{wing("front", 0, 0, 5, 1.8, 2.6, .03), wing("rear", 3.6, .7, 2, 1.5, 2.9, .02)}
}

// With the wakes on a way held, the derivatives are those of the loads.
func TestFreeWakeHeldDerivatives(t *testing.T) {
	for _, thickness := range []float64{0, .12} {
		surfaces := append(demoTandem(3, 4, thickness), Surface{})
		surfaces[2] = Surface{Name: "plate", Rows: 3, Strips: 2, Stations: []Station{surfaces[0].Stations[1], surfaces[0].Stations[1]}}
		for i := range surfaces[2].Stations {
			surfaces[2].Stations[i].Thickness = 0
		}
		surfaces[2].Stations[1].LE.Z = -.12
		l, err := New(surfaces, Options{})
		require.NoError(t, err)
		const h, pitch, step = .65, .05, 1e-5
		w, err := l.FreeWake(t.Context(), Attitude{h, pitch})
		require.NoError(t, err)
		require.True(t, w.Bent())
		at := func(h, pitch float64) *Solution {
			p, err := l.AtPitch(t.Context(), pitch)
			require.NoError(t, err)
			s, err := p.SolveWith(t.Context(), h, w)
			require.NoError(t, err)
			return s
		}
		s := at(h, pitch)
		for name, c := range map[string]struct {
			a, b *Solution
			got  Load
		}{
			"height": {at(h-step, pitch), at(h+step, pitch), s.Derivatives.Height},
			"pitch":  {at(h, pitch-step), at(h, pitch+step), s.Derivatives.Pitch},
		} {
			for what, f := range map[string]func(Load) float64{"lift": Load.Lift, "drag": Load.Drag, "moment": Load.Pitching} {
				want := (f(c.b.Total) - f(c.a.Total)) / (2 * step)
				assert.InDelta(t, want, f(c.got), 1e-5*math.Max(1, math.Abs(want)), "%s by %s, thickness %v", what, name, thickness)
			}
		}
	}
}

// Where the wakes' way changes with the attitude, the derivatives are those of the loads on
// the way at each attitude, and the rates feel the way of a while ago.
func TestFollowingDerivatives(t *testing.T) {
	for _, thickness := range []float64{0, .12} {
		l, err := New(demoTandem(3, 4, thickness), Options{})
		require.NoError(t, err)
		const h, pitch, step, lag = .65, .05, 1e-5, 1.7
		w, err := l.FreeWake(t.Context(), Attitude{h, pitch})
		require.NoError(t, err)
		v, err := l.FreeWake(t.Context(), Attitude{h + .1, pitch})
		require.NoError(t, err)
		u, err := l.FreeWake(t.Context(), Attitude{h, pitch + .02})
		require.NoError(t, err)
		wakes := []*FreeWake{w, v, u}
		m := WakeMotion{CombineFreeWakes([]float64{-10, 10, 0}, wakes), CombineFreeWakes([]float64{-50, 0, 50}, wakes), lag}
		at := func(dh, dp float64) *Solution {
			p, err := l.AtPitch(t.Context(), pitch+dp)
			require.NoError(t, err)
			way := CombineFreeWakes([]float64{1 - 10*dh - 50*dp, 10 * dh, 50 * dp}, wakes)
			s, err := p.SolveWith(t.Context(), h+dh, way)
			require.NoError(t, err)
			return s
		}
		p, err := l.AtPitch(t.Context(), pitch)
		require.NoError(t, err)
		s, err := p.SolveFollowing(t.Context(), h, w, m)
		require.NoError(t, err)
		held := at(0, 0)
		assert.Equal(t, held.Total, s.Total)
		for name, c := range map[string]struct {
			a, b                      *Solution
			got, held, rate, heldRate Load
		}{
			"height": {at(-step, 0), at(step, 0), s.Derivatives.Height, held.Derivatives.Height, s.Derivatives.HeaveRate, held.Derivatives.HeaveRate},
			"pitch":  {at(0, -step), at(0, step), s.Derivatives.Pitch, held.Derivatives.Pitch, s.Derivatives.PitchRate, held.Derivatives.PitchRate},
		} {
			counts := 0.0
			for what, f := range map[string]func(Load) float64{"lift": Load.Lift, "drag": Load.Drag, "moment": Load.Pitching} {
				want := (f(c.b.Total) - f(c.a.Total)) / (2 * step)
				assert.InDelta(t, want, f(c.got), 1e-5*math.Max(1, math.Abs(want)), "%s by %s, thickness %v", what, name, thickness)
				counts = max(counts, math.Abs(f(c.got)/f(c.held)-1))
				assert.InDelta(t, f(c.heldRate)-lag*(f(c.got)-f(c.held)), f(c.rate), 1e-9*math.Max(1, math.Abs(want)), "%s by %s rate, thickness %v", what, name, thickness)
			}
			assert.Greater(t, counts, .001, "the way counts")
		}
	}
}

// plainFreeWake finds the wakes' way as plainly as possible: many equal pieces, laid one
// after the other along the velocity of every filament of every ring and image, with the
// circulations of thick wings found anew each time, until nothing moves any more.
func plainFreeWake(t *testing.T, l *Lattice, at Attitude, pieces int) (paths [][]path) {
	p, err := l.AtPitch(t.Context(), at.Pitch)
	require.NoError(t, err)
	paths = p.straightPaths()
	for i := range paths {
		for j, leg := range paths[i] {
			straight := make(path, pieces+1)
			for k := range straight {
				straight[k].x = leg[len(leg)-1].x * float64(k) / float64(pieces)
			}
			paths[i][j] = straight
		}
	}
	refine := refinementsAt(t, l, at)
	for range 100 {
		r := newPlainBent(l, at, paths)
		gamma := r.solve(0, 0, refine).Gamma
		var all []filament
		for i, ring := range r.rings {
			for _, f := range ring {
				f.g *= gamma[i]
				legs := f.core4 > 0
				f.core4 *= wakeCore4
				f.body = 0
				if !legs {
					f.body = -1
				}
				all = append(all, f)
				if !math.IsInf(at.Height, 1) {
					f = f.reflected(true, at.Height)
					if legs {
						f.body = 0
					}
					all = append(all, f)
				}
			}
		}
		change := 0.
		next := make([][]path, len(paths))
		for i, g := range l.grids {
			for j, leg := range paths[i] {
				from := r.pitched(l.node.at(g.node + g.rows*(g.strips+1) + j))
				laid := make(path, pieces+1)
				for k := range pieces {
					mid := r3.Add(from, r3.Scale(.5, r3.Add(leg[k].r3(), leg[k+1].r3())))
					v := r3.Vec{X: 1}
					for _, f := range all {
						v = r3.Add(v, f.at(mid, 1))
					}
					step := (leg[k+1].x - leg[k].x) / v.X
					laid[k+1] = vec{leg[k+1].x, laid[k].y + step*v.Y, laid[k].z + step*v.Z}
					if l.mirror && from.Y == 0 {
						laid[k+1].y = 0
					}
					if k == 0 {
						laid[1].y, laid[1].z = 0, 0
					}
					change = math.Max(change, math.Hypot(laid[k+1].y-leg[k+1].y, laid[k+1].z-leg[k+1].z))
				}
				next[i] = append(next[i], laid)
			}
		}
		paths = next
		if change < 1e-4 {
			return paths
		}

	}
	require.Fail(t, "the plain free wake does not come to rest")
	return nil
}

// The wakes' way against the slow and plain one.
func TestFreeWakeAgainstPlain(t *testing.T) {
	t.Parallel()
	var lift, cp, moved float64
	for _, surfaces := range [][]Surface{demoTandem(3, 4, .12), tandem(3, 4)} {
		l, err := New(surfaces, Options{})
		require.NoError(t, err)
		for _, at := range []Attitude{{.6, .05}, {1, .02}} {
			if at.Height == 1 && !testing.Verbose() && os.Getenv("CI") != "true" {
				continue
			}
			p, err := l.AtPitch(t.Context(), at.Pitch)
			require.NoError(t, err)
			w, err := p.FreeWake(t.Context(), at.Height)
			require.NoError(t, err)
			plain := &FreeWake{lattice: l, paths: plainFreeWake(t, l, at, 14)}
			load := func(w *FreeWake) (lift, cp float64) {
				s, err := p.SolveWith(t.Context(), at.Height, w)
				require.NoError(t, err)
				return s.Total.Lift(), -s.Total.Pitching() / s.Total.Lift()
			}
			_, straightCP := load(&FreeWake{lattice: l, paths: make([][]path, len(l.grids))})
			wantLift, wantCP := load(plain)
			gotLift, gotCP := load(w)
			lift, cp = math.Max(lift, math.Abs(gotLift/wantLift-1)), math.Max(cp, math.Abs(gotCP-wantCP))
			moved = math.Max(moved, math.Abs(wantCP-straightCP))

		}
	}
	t.Logf("free wake against a slow and plain one: largest difference %.2f %% of lift, %.1f mm of the centre of pressure, which moves by up to %.0f mm from straight wakes (held: 0.2 %%, 3 mm)", 100*lift, 1000*cp, 1000*moved)
	assert.Less(t, lift, .002)
	assert.Less(t, cp, .003)
	assert.Greater(t, moved, .01)
}

// After the fixed number of passes the loads are those of many, begun elsewhere.
func TestFreeWakeAgainstManyPasses(t *testing.T) {
	l, err := New(demoTandem(4, 8, .12), Options{})
	require.NoError(t, err)
	var cp, change float64
	for _, at := range []Attitude{{.35, 0}, {.4, .05}, {.75, .05}, {.75, .1}, {1.5, .1}, FreeAir(.1)} {
		p, err := l.AtPitch(t.Context(), at.Pitch)
		require.NoError(t, err)
		w, err := p.FreeWake(t.Context(), at.Height)
		require.NoError(t, err)
		change = max(change, w.Change)
		guess := p.straightPaths()
		for i := range guess {
			for j := range guess[i] {
				for k := range guess[i][j] {
					guess[i][j][k].z = -.05 * float64(k)
					guess[i][j][k].y = .03 * float64(k)
				}
			}
		}
		v, err := p.freeWake(t.Context(), at.Height, guess, []int{4, 4, 4, 4, 4})
		require.NoError(t, err)
		require.Less(t, v.Change, 2e-3, "%+v", at)
		a, err := p.SolveWith(t.Context(), at.Height, w)
		require.NoError(t, err)
		b, err := p.SolveWith(t.Context(), at.Height, v)
		require.NoError(t, err)
		cp = max(cp, math.Abs(a.Total.Pitching()/a.Total.Lift()-b.Total.Pitching()/b.Total.Lift()))
	}
	t.Logf("five passes against twenty from elsewhere: largest difference %.1f mm of the centre of pressure; the last pass moved a corner by %.0f mm at most (held: 2 mm)", 1000*cp, 1000*change)
	assert.Less(t, cp, 2e-3)
}

// A wing on its own and the aftmost of several keep straight wakes.
func TestWakesThatStayStraight(t *testing.T) {
	l, err := New(demoTandem(2, 3, 0)[:1], Options{})
	require.NoError(t, err)
	w, err := l.FreeWake(t.Context(), Attitude{1, .05})
	require.NoError(t, err)
	assert.False(t, w.Bent())
	assert.Zero(t, w.Change)
	assert.Nil(t, w.Leg(0, 0))
	p, err := l.AtPitch(t.Context(), .05)
	require.NoError(t, err)
	a, err := p.Solve(t.Context(), 1)
	require.NoError(t, err)
	b, err := p.SolveWith(t.Context(), 1, w)
	require.NoError(t, err)
	assert.Equal(t, a, b)

	l, err = New(demoTandem(2, 3, 0), Options{})
	require.NoError(t, err)
	v, err := l.FreeWake(t.Context(), Attitude{1, .05})
	require.NoError(t, err)
	assert.True(t, v.Bent())
	assert.Nil(t, v.Leg(1, 0))
	assert.Len(t, v.Leg(0, 0), wakePieces+1)
	assert.Zero(t, v.Leg(0, 0)[3].Y, "in the plane of symmetry")
	assert.Panics(t, func() { _, _ = p.SolveWith(t.Context(), 1, v) })
	_, err = l.FreeWake(t.Context(), Attitude{.1, .05})
	var wet *WetError
	assert.ErrorAs(t, err, &wet)
	_, err = l.FreeWake(t.Context(), Attitude{math.NaN(), .05})
	assert.Error(t, err)
}
