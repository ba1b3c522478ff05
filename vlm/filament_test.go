package vlm

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// packedTol is the tolerance of a packed kernel against its plain form, relative to the
// terms of their sums.
const packedTol = 1e-13

// evaluationPoints are points relative to filaments, one of which runs from a to b.
var evaluationPoints = map[string]func(a, b r3.Vec, rng *rand.Rand) r3.Vec{
	"anywhere":               func(_, _ r3.Vec, rng *rand.Rand) r3.Vec { return randomPlace(rng) },
	"far away":               func(_, _ r3.Vec, rng *rand.Rand) r3.Vec { return r3.Scale(1e5, randomPlace(rng)) },
	"plane of symmetry":      func(_, _ r3.Vec, rng *rand.Rand) r3.Vec { p := randomPlace(rng); p.Y = 0; return p },
	"on a node":              func(a, _ r3.Vec, _ *rand.Rand) r3.Vec { return a },
	"on a node's reflection": func(a, _ r3.Vec, _ *rand.Rand) r3.Vec { a.Y = -a.Y; return a },
	"on a filament":          func(a, b r3.Vec, _ *rand.Rand) r3.Vec { return r3.Scale(.5, r3.Add(a, b)) },
	"on its axis":            func(a, b r3.Vec, _ *rand.Rand) r3.Vec { return r3.Add(a, r3.Scale(2.5, r3.Sub(b, a))) },
	"near a filament": func(a, b r3.Vec, _ *rand.Rand) r3.Vec {
		return r3.Add(a, r3.Add(r3.Scale(.3, r3.Sub(b, a)), r3.Vec{Z: 1e-3}))
	},
	"on a leg":           func(a, _ r3.Vec, _ *rand.Rand) r3.Vec { a.X += .7; return a },
	"ahead of a leg":     func(a, _ r3.Vec, _ *rand.Rand) r3.Vec { a.X -= .7; return a },
	"on a reflected leg": func(a, _ r3.Vec, _ *rand.Rand) r3.Vec { a.X += .7; a.Y = -a.Y; return a },
	"close beside a leg": func(a, _ r3.Vec, _ *rand.Rand) r3.Vec { a.X += .7; a.Z += 1e-4; return a },
}

func randomPlace(rng *rand.Rand) r3.Vec {
	return r3.Vec{X: 4*rng.Float64() - 1, Y: 3*rng.Float64() - 1, Z: rng.Float64() - .5}
}

// The kernels with both sides in one register compute the same as in plain Go.
func TestPackedKernelsEqualGo(t *testing.T) {
	t.Parallel()
	for name, point := range evaluationPoints {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(5, 17))
			for i := range 20 * 21 {
				// Rows of 0 to 20 segments from node 1 on; nothing else is to be touched.
				n, mirror := i%21, i/21%4 > 0
				f := field{node: makePoints(2 * (n + 2))}
				for j := range f.node.len() {
					f.node.set(j, randomPlace(rng))
				}
				j := 1 + rng.IntN(n+1)
				p := point(f.node.at(j), f.node.at(n+2+j), rng)
				ym := -p.Y
				if !mirror {
					ym = noMirror
				}
				what := fmt.Sprintf("%d segments, point %v, mirror %v", n, p, mirror)
				rows := [2][]nodeOffset{make([]nodeOffset, n+2), make([]nodeOffset, n+2)}
				for r, row := range rows {
					plain := slices.Clone(row)
					f.offsetsGo(plain[1:n+1], r*(n+2)+1, p.X, p.Y, p.Z, ym)
					f.offsets(row[1:n+1], r*(n+2)+1, p.X, p.Y, p.Z, ym)
					for j, s := range plain {
						got, want := row[j].list(), s.list()
						for i := range want {
							assert.InDelta(t, want[i], got[i], 1e-15*math.Abs(want[i]), "node %d, %s", j, what)
						}
					}
				}
				packedEqual(t, rows[0][1:n+1], rows[1][1:n+1], rng, what)
				if t.Failed() {
					return
				}
			}
		})
	}
}

// packedEqual asserts that the packed kernels compute the same as the plain ones, for a
// row's segments and for its legs.
func packedEqual(t *testing.T, from, to []nodeOffset, rng *rand.Rand, what string) {
	t.Helper()
	n := len(from)
	some := func() float64 { return rng.Float64() - .5 }
	w := aicKernel{nx: some(), ny: some(), nz: some(), tx: 4 * some(), tz: 4 * some()}
	j := gradientKernel{g: make([]float64, n+2), tx: w.tx, tz: w.tz}
	for i := range j.g {
		j.g[i] = some()
	}
	for _, sum := range j.sums() {
		*sum = vec{4, 5, 6} // so far
	}
	arm := 1 + math.Abs(w.tx) + math.Abs(w.tz)
	same := func(want, got, size vec, format string, args ...any) {
		t.Helper()
		for i, want := range want.list() {
			got, size := got.list()[i], size.list()[i]
			if math.IsNaN(want) && math.IsNaN(got) {
				continue // on a node, where the field has no derivative
			}
			// 1e-100: where the one divides by never, the other has 0.
			assert.LessOrEqual(t, math.Abs(got-want), packedTol*size+1e-100, "%s, %c: %v, want %v, %s", fmt.Sprintf(format, args...), "xyz"[i], got, want, what)
		}
	}
	for name, c := range map[string]struct {
		run  func(k kernel)
		size func(i int) (v, slope float64)
	}{
		"segment": {func(k kernel) { k.segments(1, from, to) }, func(i int) (v, slope float64) { return segmentSize(&from[i], &to[i]) }},
		"leg":     {func(k kernel) { k.legs(1, from, 0) }, func(i int) (v, slope float64) { return legSize(&from[i]) }},
	} {
		w, w2, j, j2 := w, w, j, j
		for _, v := range []*[]vec{&w.v, &w2.v, &j.v, &j2.v} {
			*v = slices.Repeat([]vec{{1, 2, 3}}, n+2)
		}
		c.run(&w)
		c.run((*packedAICKernel)(&w2))
		c.run(&j)
		c.run((*packedGradientKernel)(&j2))
		sum := 6.
		for i := range n + 2 {
			var v, slope float64
			if i > 0 && i <= n {
				v, slope = c.size(i - 1)
			}
			same(w.v[i], w2.v[i], vec{v, slope + v, arm * (slope + v)}, "influence coefficient of %s %d", name, i)
			same(j.v[i], j2.v[i], vec{v, v, v}, "velocity of %s %d", name, i)
			sum += math.Abs(j.g[i]) * (slope + v)
		}
		sums, size := j2.sums(), vec{arm * sum, arm * sum, arm * sum}
		for i, want := range j.sums() {
			same(*want, *sums[i], size, "sum %d of %ss", i, name)
		}
	}
}

// segmentSize returns the size of the terms whose sum is the velocity of a filament and
// its reflection, and of those of its derivatives with the point's position. The relative
// error of s is that of ab, hence the factor ab/s.
func segmentSize(p, q *nodeOffset) (v, slope float64) {
	d := math.Abs(q.x-p.x) + math.Abs(q.y-p.y) + math.Abs(q.z-p.z)
	for _, side := range [2][4]float64{{p.y * q.y, p.r, q.r}, {p.ym * q.ym, p.rm, q.rm}} {
		a, b := side[1], side[2]
		s := a*b + p.x*q.x + p.z*q.z + side[0]
		if s <= onAxis*a*b {
			continue
		}
		sum, worse := a+b, 1+a*b/s
		v += sum / s * worse
		slope += sum/s*worse*(1/sum+1/a+1/b+sum/s*worse) + sum/(a*b*s)*worse*d
	}
	return v, slope
}

// legSize returns the same of a leg.
func legSize(p *nodeOffset) (v, slope float64) {
	for _, side := range [2][2]float64{{p.y, p.inv}, {p.ym, p.invm}} {
		is2 := 1 / (side[0]*side[0] + p.z*p.z + axisGuard)
		v += 2 * math.Sqrt(is2)
		slope += 6*is2 + side[1]*side[1]
	}
	return v, slope * (1 + math.Abs(p.x) + math.Abs(p.z))
}

// Both sides decide as plain Go does whether a point lies on the filament: onAxis lies
// between the two angles.
func TestPackedKernelsOnTheAxis(t *testing.T) {
	for angle, on := range map[float64]bool{.9e-6: true, 1.1e-6: false} {
		for _, side := range [2]float64{1, -1} {
			// The point is half way along the filament, a little beside it.
			off := math.Sqrt2 * angle / 2
			f := field{node: makePoints(2)}
			f.node.set(0, r3.Vec{X: -1, Y: side, Z: -off})
			f.node.set(1, r3.Vec{X: 1, Y: side, Z: -off})
			row := make([]nodeOffset, 2)
			f.offsets(row, 0, 0, 1, 0, -1)
			w := aicKernel{v: make([]vec, 1), ny: 1}
			j := gradientKernel{v: make([]vec, 1), g: []float64{1}}
			(*packedAICKernel)(&w).segments(0, row[:1], row[1:])
			(*packedGradientKernel)(&j).segments(0, row[:1], row[1:])
			// An endless vortex's 2/off, in the reflection with the other sign.
			want := 0.0
			if !on {
				want = -2 / off * side
			}
			assert.InDelta(t, want, w.v[0].x, 1e3, "influence coefficient at %v, side %v", angle, side)
			assert.InDelta(t, want, j.v[0].y, 1e3, "velocity at %v, side %v", angle, side)
		}
	}
}

// Velocities and sums with both sides in one register are those of plain Go.
func TestVelocitiesInRegistersEqualGo(t *testing.T) {
	for name, point := range evaluationPoints {
		rng := rand.New(rand.NewPCG(19, 23))
		for i := range 20 * 21 {
			n, mirror, wing := i%21, i/21%4 > 0, []float64{0, .01}[i%2]
			f := field{node: makePoints(2 * (n + 1))}
			for j := range f.node.len() {
				f.node.set(j, randomPlace(rng))
			}
			j := rng.IntN(n + 1)
			p := point(f.node.at(j), f.node.at(n+1+j), rng)
			ym := -p.Y
			if !mirror {
				ym = noMirror
			}
			from, to := make([]nodeOffset, n), make([]nodeOffset, n)
			f.offsetsGo(from, 0, p.X, p.Y, p.Z, ym)
			f.offsetsGo(to, n+1, p.X, p.Y, p.Z, ym)
			got, want := velocityKernel{make([]vec, n+2)}, velocityKernel{make([]vec, n+2)}
			got.segments(1, from, to)
			want.segmentsGo(1, from, to)
			sum := sumKernel{g: make([]float64, n+2), wing: wing, v: vec{1, 2, 3}}
			for j := range sum.g {
				sum.g[j] = rng.Float64() - .5
			}
			plain, size := sum, 6.
			sum.segments(1, from, to)
			plain.segmentsGo(1, from, to)
			for j := range n + 2 {
				var v float64
				if j > 0 && j <= n {
					v, _ = segmentSize(&from[j-1], &to[j-1])
				}
				size += v
				for k, w := range want.v[j].list() {
					assert.LessOrEqual(t, math.Abs(got.v[j].list()[k]-w), packedTol*v+1e-100, "%s: %d of %d, point %v", name, j, n, p)
				}
			}
			for k, w := range plain.v.list() {
				assert.LessOrEqual(t, math.Abs(sum.v.list()[k]-w), packedTol*size, "%s: sum of %d, core %v, point %v", name, n, wing, p)
			}
			if t.Failed() {
				return
			}
		}
	}
}

// A packed kernel panics on slices that are too short before it touches any memory.
func TestPackedKernelsCheckTheirSlices(t *testing.T) {
	row, short := make([]nodeOffset, 3), make([]nodeOffset, 2)
	f := field{node: makePoints(3)}
	require.Panics(t, func() { f.offsets(row, 1, 0, 0, 0, 0) })
	for i, c := range []struct {
		from, to []nodeOffset
		v, g     int
	}{{row, short, 3, 3}, {row, row, 2, 3}, {row, row, 3, 2}} {
		k := gradientKernel{v: make([]vec, c.v), g: make([]float64, c.g)}
		require.Panics(t, func() { (*packedGradientKernel)(&k).segments(0, c.from, c.to) }, "case %d", i)
		if c.g == 3 {
			k := aicKernel{v: make([]vec, c.v)}
			require.Panics(t, func() { (*packedAICKernel)(&k).segments(0, c.from, c.to) }, "case %d", i)
		}
		if len(c.to) == 3 {
			require.Panics(t, func() { (*packedGradientKernel)(&k).legs(0, c.from, 0) }, "case %d", i)
		}
		if c.v == 2 {
			k := aicKernel{v: make([]vec, c.v)}
			require.Panics(t, func() { (*packedAICKernel)(&k).legs(0, c.from, 0) }, "case %d", i)
		}
	}
}

func (s nodeOffset) list() [8]float64 {
	return [8]float64{s.x, s.z, s.y, s.ym, s.r, s.rm, s.inv, s.invm}
}

func (v vec) list() [3]float64 { return [3]float64{v.x, v.y, v.z} }

func (k *gradientKernel) sums() [6]*vec {
	return [6]*vec{&k.gx, &k.gz, &k.arm, &k.leg, &k.legZ, &k.legT}
}

// Weighted sums of sources in pairs are those of plain Go.
func TestPackedWeightsEqualGo(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 17))
	some := func(n int) []float64 {
		s := make([]float64, n)
		for i := range s {
			s[i] = rng.Float64() - .5
		}
		return s
	}
	for i := range 200 {
		strips, cells, rows := i%7, i/7%6, 1+rng.IntN(5)
		fine := make([]sourceVelocity, strips*cells)
		for i := range fine {
			v := some(9)
			fine[i] = sourceVelocity{vec{v[0], v[1], v[2]}, vec{v[3], v[4], v[5]}, vec{v[6], v[7], v[8]}}
		}
		row := make([]sourceVelocity, strips+1) // the last of them not to be touched
		want := slices.Clone(row)
		section, weight := some(strips), some(max(0, cells-1)*rows+1)
		weighSourcesGo(want[:strips], fine, section, weight, rows)
		weighSources(row[:strips], fine, section, weight, rows)
		for j := range want {
			what := fmt.Sprintf("strip %d of %d, %d cells, %d rows", j, strips, cells, rows)
			for _, v := range [][2]vec{{want[j].v, row[j].v}, {want[j].vz, row[j].vz}, {want[j].vt, row[j].vt}} {
				require.InDelta(t, 0, r3.Norm(r3.Sub(v[0].r3(), v[1].r3())), 1e-13, what)
			}
		}
		if len(fine) > 0 {
			require.Panics(t, func() { weighSources(row[:strips], fine, section[:strips-1:strips-1], weight, rows) })
			require.Panics(t, func() {
				weighSources(row[:strips], fine, section, weight[:len(weight)-1:len(weight)-1], rows)
			})
		}
	}
}

// Sums of four rows two numbers at a time are those of plain Go, to the last digit, and no other
// number is touched.
func TestAddFourEqualsGo(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 18))
	for n := range 23 {
		var row [5][]float64
		for i := range row {
			for range n + 1 {
				row[i] = append(row[i], rng.NormFloat64())
			}
		}
		w := [4]float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
		want := slices.Clone(row[0])
		addFourGo(want[:n], row[1], row[2], row[3], row[4], &w)
		addFour(row[0][:n], row[1], row[2], row[3], row[4], &w)
		require.Equal(t, want, row[0])
		if n > 0 {
			require.Panics(t, func() { addFour(row[0][:n], row[1], row[2][:n-1:n-1], row[3], row[4], &w) })
		}
	}
}
