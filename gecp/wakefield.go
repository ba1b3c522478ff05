package gecp

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/vlm"
)

// wakeField holds the free wakes of a craft over a range of heights and pitches: ways found
// at a few nodes, and polynomials fitted to them. A way depends smoothly on the datum's height
// and the pitch, whichever point of the craft is lowest, and changes more evenly with them than
// the loads do: the field needs no panels, and fewer nodes than a map.
type wakeField struct {
	from, to float64 // pitch, rad
	// The polynomials are in the pitch and in log(height - depth + shift), where depth is a
	// polynomial near that of the lowest point.
	depth  [wakeDepthTerms]float64 // Chebyshev's terms in the scaled pitch, m
	shift  float64                 // m
	lo, hi float64                 // range of the logarithm
	lag    float64                 // m, see wakeLag
	nh, np int                     // terms in height and in pitch
	terms  []*vlm.FreeWake         // nh x np
}

// wakeNodes returns how many nodes a field has in height and in pitch for a map of so many. There
// is one term less than nodes in height, for at some pitches the heights do not span the whole range.
func wakeNodes(heights, pitches int) (nh, np int) {
	return min(10, heights+2), min(10, max(7, pitches-1))
}

const wakeDepthTerms = 4

// newWakeField finds the ways, in parallel. The ranges are those of a map's options; low
// tells what a clearance is.
func (m *Model) newWakeField(ctx context.Context, low *LowestPoints, o MapOptions, progress *mapProgress) (*wakeField, error) {
	heights, pitches := wakeNodes(o.Heights, o.Pitches)
	f := &wakeField{from: o.PitchMin, to: o.PitchMax, lag: m.wakeLag(), shift: .15 * m.shape.MAC, nh: heights - 1, np: pitches}
	if err := f.fitDepth(low); err != nil {
		return nil, err
	}
	pitch := func(k int) float64 { return f.from + (chebyshevNode(k, pitches)+1)/2*(f.to-f.from) }
	// The logarithm at a clearance is least or largest at one of the ends and kinks: a fine
	// ladder of pitches finds it well enough.
	f.lo, f.hi = math.Inf(1), math.Inf(-1)
	for i := range 65 {
		p := f.from + (f.to-f.from)*float64(i)/64
		f.lo = math.Min(f.lo, f.log(low.HeightFor(o.ClearanceMin, p), p))
		f.hi = math.Max(f.hi, f.log(low.HeightFor(o.ClearanceMax, p), p))
	}
	wakes := make([]*vlm.FreeWake, heights*pitches)
	rows := mat.NewDense(len(wakes), f.nh*f.np, nil)
	progress.expect(len(wakes))
	err := parallel.EachOf(ctx, pitches, m.workers(), func(k int) error {
		p, err := m.lattice.AtPitch(ctx, pitch(k))
		if err != nil {
			return err
		}
		for j := range heights {
			lo, hi := f.log(low.HeightFor(o.ClearanceMin, p.Pitch()), p.Pitch()), f.log(low.HeightFor(o.ClearanceMax, p.Pitch()), p.Pitch())
			x := lo + (chebyshevNode(j, heights)+1)/2*(hi-lo)
			height := math.Exp(x) - f.shift + f.depthAt(p.Pitch())
			n := j*pitches + k
			if wakes[n], err = p.FreeWake(ctx, height); err != nil {
				return err
			}
			value, _, _ := f.polynomials(height, p.Pitch())
			rows.SetRow(n, value)
			progress.step()
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	// The terms that fit best are weighted sums of the ways.
	unit := mat.NewDense(len(wakes), len(wakes), nil)
	for i := range wakes {
		unit.Set(i, i, 1)
	}
	var qr mat.QR
	qr.Factorize(rows)
	var weights mat.Dense
	if err := qr.SolveTo(&weights, false, unit); err != nil {
		return nil, err
	}
	for i := range f.nh * f.np {
		f.terms = append(f.terms, vlm.CombineFreeWakes(weights.RawRowView(i), wakes))
	}
	return f, nil
}

// fitDepth fits the polynomial to the depth of the lowest point, and moves it to lie nowhere
// below.
func (f *wakeField) fitDepth(low *LowestPoints) error {
	const places = 33
	a, b := mat.NewDense(places, wakeDepthTerms, nil), mat.NewDense(places, 1, nil)
	pitch := func(i int) float64 { return f.from + (f.to-f.from)*float64(i)/(places-1) }
	for i := range places {
		chebyshev(f.scale(pitch(i)), a.RawRowView(i), nil)
		b.Set(i, 0, low.At(pitch(i)).Depth)
	}
	var qr mat.QR
	qr.Factorize(a)
	var x mat.Dense
	if err := qr.SolveTo(&x, false, b); err != nil {
		return err
	}
	for k := range f.depth {
		f.depth[k] = x.At(k, 0)
	}
	deeper := 0.0
	for i := range places {
		deeper = math.Max(deeper, f.depthAt(pitch(i))-b.At(i, 0))
	}
	f.depth[0] -= deeper
	return nil
}

func (f *wakeField) scale(pitch float64) float64 { return 2*(pitch-f.from)/(f.to-f.from) - 1 }

func (f *wakeField) depthAt(pitch float64) float64 {
	var v [wakeDepthTerms]float64
	chebyshev(f.scale(pitch), v[:], nil)
	d := 0.0
	for k, c := range f.depth {
		d += c * v[k]
	}
	return d
}

// log returns the logarithm in which the polynomials are.
func (f *wakeField) log(height, pitch float64) float64 {
	return math.Log(height - f.depthAt(pitch) + f.shift)
}

// polynomials returns the polynomials of all terms and their slopes with height, 1/m, and
// pitch, 1/rad.
func (f *wakeField) polynomials(height, pitch float64) (value, byHeight, byPitch []float64) {
	hv, hd := make([]float64, f.nh), make([]float64, f.nh)
	pv, pd := make([]float64, f.np), make([]float64, f.np)
	var depth, depthSlope [wakeDepthTerms]float64
	t, dt := f.scale(pitch), 2/(f.to-f.from)
	chebyshev(t, pv, pd)
	chebyshev(t, depth[:], depthSlope[:])
	sink := 0.0
	for k, c := range f.depth {
		sink += c * depthSlope[k] * dt
	}
	x := f.log(height, pitch)
	chebyshev(2*(x-f.lo)/(f.hi-f.lo)-1, hv, hd)
	dx := 2 / (f.hi - f.lo) / math.Exp(x)
	for j := range hv {
		for k := range pv {
			value = append(value, hv[j]*pv[k])
			byHeight = append(byHeight, hd[j]*dx*pv[k])
			byPitch = append(byPitch, hv[j]*pd[k]*dt-hd[j]*dx*sink*pv[k])
		}
	}
	return value, byHeight, byPitch
}

// at returns the wakes' way with the datum at a height, m, and at a pitch, rad, and its change.
func (f *wakeField) at(height, pitch float64) (*vlm.FreeWake, vlm.WakeMotion) {
	value, byHeight, byPitch := f.polynomials(height, pitch)
	return vlm.CombineFreeWakes(value, f.terms), vlm.WakeMotion{
		ByHeight: vlm.CombineFreeWakes(byHeight, f.terms), ByPitch: vlm.CombineFreeWakes(byPitch, f.terms), Lag: f.lag,
	}
}

// chebyshevNode returns node i of n of Chebyshev's polynomials, rising from -1 to 1.
func chebyshevNode(i, n int) float64 { return -math.Cos(math.Pi * (float64(i) + .5) / float64(n)) }
