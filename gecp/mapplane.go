package gecp

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// mapPlane holds the coordinates in which loads and the wakes' ways are polynomials: t, the
// pitch, and s, the logarithm of the datum's height over a depth below it, each scaled to -1..1.
//
// Loads and ways are smooth functions of the datum's height and the pitch. The clearance is
// not: it has a corner where its lowest point jumps from one wing to another or from a trailing to a
// leading edge. So the depth is a polynomial in the pitch that lies near that of the lowest
// point and mostly above it, and a length is added before the logarithm is taken, since the water is
// felt the more the nearer it is.
type mapPlane struct {
	from, to float64             // pitch, rad
	depth    [depthTerms]float64 // terms of the depth in t, m
	exact    *LowestPoints       // if not nil the depth is that of these
	shift    float64             // m
	lo, hi   float64             // range of the logarithm
	least    float64             // m, that the logarithm is taken of at least: a tenth of what it is at lo
}

const depthTerms = 4

// planeShift is the length of a plane over the mean chord: chosen, half or twice of it serves
// as well.
const planeShift = .15

// newMapPlane returns the plane for the ranges of a map's options.
func newMapPlane(low *LowestPoints, o *MapOptions, shift float64) (p mapPlane, err error) {
	p = mapPlane{from: o.PitchMin, to: o.PitchMax, shift: shift}
	const places = 65
	a, b := mat.NewDense(places, depthTerms, nil), mat.NewDense(places, 1, nil)
	pitch := func(i int) float64 { return p.from + (p.to-p.from)*float64(i)/(places-1) }
	for i := range places {
		chebyshev(p.scale(pitch(i)), a.RawRowView(i), nil)
		b.Set(i, 0, low.At(pitch(i)).Depth)
	}
	var qr mat.QR
	qr.Factorize(a)
	var x mat.Dense
	if err := qr.SolveTo(&x, false, b); err != nil {
		return p, err
	}
	for k := range p.depth {
		p.depth[k] = x.At(k, 0)
	}
	// The polynomial is moved up by what the lowest point mostly keeps within: by a root of squares,
	// which goes smoothly with the craft, for maps of craft a little different to be combined; but
	// never so little that the logarithm might end.
	var squares, under float64
	for i := range places {
		d, _ := p.depthAt(pitch(i))
		squares += (b.At(i, 0) - d) * (b.At(i, 0) - d)
		under = math.Max(under, d-b.At(i, 0))
	}
	off := math.Max(2*math.Sqrt(squares/places), under-shift/2)
	p.depth[0] -= off
	p.span(o.ClearanceMin+shift, o.ClearanceMax+2*off+shift)
	return p, nil
}

// newExactPlane returns the plane whose depth is that of the lowest point itself: s goes with the
// clearance. It serves loads that are smooth in clearance and pitch.
func newExactPlane(low *LowestPoints, o *MapOptions) mapPlane {
	p := mapPlane{from: o.PitchMin, to: o.PitchMax, exact: low, shift: o.ClearanceMin}
	p.span(2*o.ClearanceMin, o.ClearanceMax+o.ClearanceMin)
	return p
}

// span sets between which lengths, m, the logarithm is taken.
func (p *mapPlane) span(from, to float64) {
	p.lo, p.hi, p.least = math.Log(from), math.Log(to), from/10
}

// scale returns t.
func (p *mapPlane) scale(pitch float64) float64 { return 2*(pitch-p.from)/(p.to-p.from) - 1 }

// pitch returns the pitch at t, rad.
func (p *mapPlane) pitch(t float64) float64 { return p.from + (t+1)/2*(p.to-p.from) }

// byPitch is the slope of t with the pitch, 1/rad.
func (p *mapPlane) byPitch() float64 { return 2 / (p.to - p.from) }

// depthAt returns the depth at a pitch, m, and its slope, m/rad.
func (p *mapPlane) depthAt(pitch float64) (depth, slope float64) {
	if p.exact != nil {
		low := p.exact.At(pitch)
		return low.Depth, low.DepthByPitch
	}
	var v, d [depthTerms]float64
	chebyshev(p.scale(pitch), v[:], d[:])
	for k, c := range p.depth {
		depth += c * v[k]
		slope += c * d[k]
	}
	return depth, slope * p.byPitch()
}

// log returns s of a height of the datum, m, over a depth, m, and its slope with the height, 1/m. It is
// finite however low: a map that was moved to another craft may be asked below its own heights.
func (p *mapPlane) log(height, depth float64) (s, slope float64) {
	over, by := math.Max(height-depth+p.shift, p.least), 2/(p.hi-p.lo)
	return (math.Log(over)-p.lo)*by - 1, by / over
}

// heightAt returns the height of the datum at s over a depth, m.
func (p *mapPlane) heightAt(s, depth float64) float64 {
	return math.Exp(p.lo+(s+1)/2*(p.hi-p.lo)) - p.shift + depth
}

// between returns the height of the datum at x, from -1 to 1, which goes evenly in s from one height
// to another at a pitch, m and rad.
func (p *mapPlane) between(from, to, x, pitch float64) float64 {
	depth, _ := p.depthAt(pitch)
	a, _ := p.log(from, depth)
	b, _ := p.log(to, depth)
	return p.heightAt(a+(x+1)/2*(b-a), depth)
}

// chebyshev fills v with the Chebyshev polynomials at x and, if it is not nil, d with
// their slopes.
func chebyshev(x float64, v, d []float64) {
	v[0], v[1] = 1, x
	for i := 2; i < len(v); i++ {
		v[i] = 2*x*v[i-1] - v[i-2]
	}
	if d == nil {
		return
	}
	d[0], d[1] = 0, 1
	for i := 2; i < len(d); i++ {
		d[i] = 2*v[i-1] + 2*x*d[i-1] - d[i-2]
	}
}

// chebyshevNode returns node i of n of Chebyshev's polynomials, rising from -1 to 1.
func chebyshevNode(i, n int) float64 { return -math.Cos(math.Pi * (float64(i) + .5) / float64(n)) }
