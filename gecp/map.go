package gecp

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/vlm"
)

// MapOptions choose the range and fineness of a Map. Zero values stand for the
// defaults named.
type MapOptions struct {
	// m, 0.05; for a craft that rests lower on its floats nine tenths of its clearance
	// there, but 0.01 at least. It is raised to LeastGap of the chord.
	ClearanceMin float64
	ClearanceMax float64 // m, 3
	// rad, -6 degrees, or lower for wings whose mean incidence is higher than 6 degrees, down to
	// where they lie along the stream; and 20 degrees above that, where wings have long stalled,
	// or more for a craft that rests steeper on its floats.
	PitchMin, PitchMax float64
	// Clearances and pitches to solve for, 4 to 14 each: 5 and 13 to begin with. A map from 4 and 6 takes a third of the time; its lift differs
	// by some tenths of a per cent.
	Heights, Pitches int
	// How far the map may differ between its nodes, as MapError counts, before it is made anew
	// from more: 0.005. A map that differs by more than 0.05 with 14 by 14 nodes is an error.
	Tolerance float64
	// Progress is told the part done, 0..1, after each node, from one goroutine at a
	// time; it may be nil.
	Progress func(part float64)
}

func (o *MapOptions) fill(m *Model) {
	o.Heights = cmp.Or(o.Heights, 5)
	o.Pitches = cmp.Or(o.Pitches, 13)
	o.Tolerance = cmp.Or(o.Tolerance, .005)
	least := .05
	if rest, ok := m.craft.Rest(); ok {
		least = math.Min(least, math.Max(.01, .9*m.low.ClearanceFor(rest.Height, rest.Pitch)))
	}
	if o.PitchMin == 0 && o.PitchMax == 0 {
		o.PitchMin = -min(max(Radians(6), m.shape.meanIncidence(m.craft)), maxMapPitch)
		o.PitchMax = o.PitchMin + Radians(20)
		if rest, ok := m.craft.Rest(); ok {
			o.PitchMax = min(max(o.PitchMax, rest.Pitch+Radians(2)), maxMapPitch)
		}
	}
	if o.PitchMin < o.PitchMax && math.Abs(o.PitchMin) <= maxMapPitch && math.Abs(o.PitchMax) <= maxMapPitch {
		floor := m.low.leastClearance(o.PitchMin, o.PitchMax)
		o.ClearanceMin = math.Max(cmp.Or(o.ClearanceMin, least), floor)
	}
	o.ClearanceMax = cmp.Or(o.ClearanceMax, 3)
}

// With fewer places than these the values and slopes there do not fix the terms; with
// more there are terms past maxCoef.
const minNodes, maxNodes = 4, 14

// maxMapPitch is the pitch that no map goes beyond, rad.
const maxMapPitch = math.Pi / 6

func (o *MapOptions) check() error {
	if !(o.ClearanceMin > 0 && o.ClearanceMax > o.ClearanceMin && o.ClearanceMax <= 100) {
		return fmt.Errorf("the map's clearances run from %v to %v m; they must rise, from above 0 to 100 m at most", o.ClearanceMin, o.ClearanceMax)
	}
	if !(o.PitchMin < o.PitchMax && o.PitchMin >= -maxMapPitch && o.PitchMax <= maxMapPitch) {
		return fmt.Errorf("the map's pitch runs from %.3g to %.3g degrees; it must rise, within ±30 degrees", Degrees(o.PitchMin), Degrees(o.PitchMax))
	}
	if !(o.Tolerance > 0 && o.Tolerance <= hopeless) {
		return fmt.Errorf("the map's tolerance is %v; give one above 0 and up to %v", o.Tolerance, hopeless)
	}
	if o.Heights < minNodes || o.Heights > maxNodes || o.Pitches < minNodes || o.Pitches > maxNodes {
		return fmt.Errorf("the map is to be made from %d clearances and %d pitches; give %d to %d of each", o.Heights, o.Pitches, minNodes, maxNodes)
	}
	return nil
}

// The quantities that a map holds, all per dynamic pressure.
const (
	qLift = iota
	qMoment
	qDrag
	withDerivatives            // those before have exact derivatives at the nodes
	qLiftHeave      = iota - 1 // by heave rate over speed
	qMomentHeave
	qDragHeave
	qLiftTurn // by pitch rate over speed
	qMomentTurn
	qDragTurn
	quantities
)

// Map holds a craft's loads as a smooth function of clearance and pitch. It is
// fitted once to solutions of the lattice at a few nodes, using their exact
// derivatives, and then answers without the lattice. It knows shapes only:
// weights, speed, pilot and tow play no part. A correction that is on in the craft file
// is put on what the map was fitted to when the map is asked, exactly, so that [Map.For]
// serves a craft with another correction, too. A Map is immutable and safe for use
// by several goroutines.
//
// Each quantity is a polynomial in the coordinates of a mapPlane, which are smooth in the datum's
// height and the pitch, as the loads are. At a clearance held they have a corner where the
// lowest point jumps; see [Map.Kinks].
type Map struct {
	model      *Model
	opt        MapOptions
	clearances logScale
	plane      mapPlane
	terms      mapTerms
	kinks      []float64 // of the model's craft, rad
	solves     int
	err        MapError
}

// mapTerms are the coefficients of products of Chebyshev's polynomials in s and t.
type mapTerms struct {
	nh, np int // terms in s and in t
	rh, rp int // the same of what has no slopes
	// nh x np and rh x rp: all quantities of a term side by side, so that their sums do not wait
	// for each other.
	still [][withDerivatives]float64
	rates [][quantities - withDerivatives]float64
	// The section lift of every strip, as many terms as rates; nil where none is known.
	strips [][]float64
}

// logScale maps clearances, m, to -1..1 by their logarithm, after a length of one
// least clearance is added.
type logScale struct {
	min, max, shift float64
	by, less        float64 // scaled = log(clearance + shift) by - less
}

func newLogScale(lo, hi float64) logScale {
	l := logScale{min: lo, max: hi, shift: lo}
	from, to := math.Log(lo+l.shift), math.Log(hi+l.shift)
	l.by = 2 / (to - from)
	l.less = from*l.by + 1
	return l
}

// from returns the clearance, m, of a scaled one.
func (l *logScale) from(s float64) float64 {
	return math.Min(l.max, math.Max(l.min, math.Exp((s+l.less)/l.by)-l.shift))
}

// MapNode is what a map is fitted to at one clearance and pitch.
type MapNode struct {
	LoadsPerQ
	ByHeight    LoadsPerQ // per m of the datum's height, pitch held
	ByPitch     LoadsPerQ // per rad about the datum, its height held
	ByHeaveRate LoadsPerQ // per (datum's upward speed / U)
	ByPitchRate LoadsPerQ // per 1/m: (nose-up pitch rate about the datum) / U
	// StripLift holds the section lift coefficients of the wings' strips, in the order of
	// the lattice; nil leaves the map without.
	StripLift []float64
}

// BuildMap is [Model.BuildMap] with the default mesh. It also returns [Problems] if
// the craft fails Check.
func (c *Craft) BuildMap(ctx context.Context, o MapOptions) (*Map, error) {
	m, err := NewModel(c, Mesh{})
	if err != nil {
		return nil, err
	}
	return m.BuildMap(ctx, o)
}

// BuildMap solves the lattice at the nodes, in parallel, and fits the map. It
// returns an error if an option is out of range or the context is cancelled.
func (m *Model) BuildMap(ctx context.Context, o MapOptions) (*Map, error) {
	return m.buildMapAs(ctx, m, o)
}

// buildMapAs is BuildMap of the model's wings for another model's craft, whose lowest points
// tell what a clearance is.
func (m *Model) buildMapAs(ctx context.Context, other *Model, o MapOptions) (*Map, error) {
	o.fill(other)
	if err := o.check(); err != nil {
		return nil, err
	}
	progress := newMapProgress(o.Progress)
	plane, err := newMapPlane(other.low, &o, planeShift*other.shape.MAC)
	if err != nil {
		return nil, err
	}
	at := m.straightFlow(ctx, other.low)
	if m.Wake() == WakeFree {
		wakes, err := m.newWakeField(ctx, plane, other.low, o, progress)
		if err != nil {
			return nil, err
		}
		at = m.freeFlow(ctx, other.low, wakes)
	}
	return other.fitMap(ctx, o, plane, at, progress)
}

// straightFlow is the lattice with straight wakes as a source; low tells what a clearance is.
func (m *Model) straightFlow(ctx context.Context, low *LowestPoints) source {
	return m.flowSource(ctx, func(p *vlm.PitchedLattice, clearance float64) (*vlm.Solution, error) {
		return p.Solve(ctx, low.HeightFor(clearance, p.Pitch()))
	})
}

// freeFlow is the lattice with free wakes as a source.
func (m *Model) freeFlow(ctx context.Context, low *LowestPoints, wakes *wakeField) source {
	return m.flowSource(ctx, func(p *vlm.PitchedLattice, clearance float64) (*vlm.Solution, error) {
		height := low.HeightFor(clearance, p.Pitch())
		w, motion := wakes.at(height, p.Pitch())
		return p.SolveFollowing(ctx, height, w, motion)
	})
}

func (m *Model) flowSource(ctx context.Context, solve func(p *vlm.PitchedLattice, clearance float64) (*vlm.Solution, error)) source {
	return func(pitch float64) (func(float64) (MapNode, error), error) {
		pitched, err := m.lattice.AtPitch(ctx, pitch)
		if err != nil {
			return nil, err
		}
		return func(clearance float64) (MapNode, error) {
			s, err := solve(pitched, clearance)
			if err != nil {
				return MapNode{}, err
			}
			return m.node(s), nil
		}, nil
	}
}

func loadsPerQ(l vlm.Load) LoadsPerQ {
	return LoadsPerQ{Lift: l.Lift(), Drag: l.Drag(), Moment: l.Pitching()}
}

func (m *Model) node(s *vlm.Solution) MapNode {
	d := &s.Derivatives
	return MapNode{
		LoadsPerQ: loadsPerQ(s.Total), ByHeight: loadsPerQ(d.Height), ByPitch: loadsPerQ(d.Pitch),
		ByHeaveRate: loadsPerQ(d.HeaveRate), ByPitchRate: loadsPerQ(d.PitchRate),
		StripLift: m.stripLift(s),
	}
}

// FitMap fits a map to loads that come from elsewhere than the lattice: a formula, a
// measurement. They are smooth in clearance and pitch. A correction in the craft file is put on them as on the lattice's. loads is
// asked at the nodes, one at a time a goroutine; its error ends the work and is returned.
func (m *Model) FitMap(ctx context.Context, o MapOptions, loads func(clearance, pitch float64) (MapNode, error)) (*Map, error) {
	o.fill(m)
	if err := o.check(); err != nil {
		return nil, err
	}
	return m.fitMap(ctx, o, newExactPlane(m.low, &o), func(pitch float64) (func(float64) (MapNode, error), error) {
		return func(clearance float64) (MapNode, error) { return loads(clearance, pitch) }, nil
	}, newMapProgress(o.Progress))
}

// source returns the loads at one pitch, as a function of the clearance.
type source func(pitch float64) (func(clearance float64) (MapNode, error), error)

// fitMap fits a map to the nodes that the source returns, finds how far it differs from
// the source between them, and makes it anew from more nodes until that is within the tolerance.
func (mo *Model) fitMap(ctx context.Context, o MapOptions, plane mapPlane, at source, progress *mapProgress) (*Map, error) {
	m := mo.newMap(o, plane)
	for heights, pitches := o.Heights, o.Pitches; ; heights, pitches = min(maxNodes, heights+2), min(maxNodes, pitches+2) {
		if err := m.fit(ctx, heights, pitches, at, progress); err != nil {
			return nil, err
		}
		if err := m.compare(ctx, at); err != nil {
			return nil, err
		}
		last := heights == maxNodes && pitches == maxNodes
		switch {
		case m.err.within(o.Tolerance) || last && m.err.within(hopeless):
			return m, nil
		case last:
			return nil, fmt.Errorf("the loads cannot be put on a map: from %d by %d nodes it still differs by %.1f %% of the lift at a clearance of %.2f m and %.1f degrees of pitch; ask for a narrower range of clearances or pitches",
				maxNodes, maxNodes, 100*m.err.Lift, m.err.Clearance, Degrees(m.err.Pitch))
		}
	}
}

// newMap returns a map without its terms.
func (mo *Model) newMap(o MapOptions, plane mapPlane) *Map {
	return &Map{model: mo, opt: o, clearances: newLogScale(o.ClearanceMin, o.ClearanceMax), plane: plane, kinks: mo.low.kinks(o.PitchMin, o.PitchMax)}
}

// hopeless is how far a map may differ at most, as MapError counts.
const hopeless = .05

// moreHeightTerms and morePitchTerms are how many terms a map has more than nodes in either
// direction, for the slopes are known, too: with these the ceilings of tandems come nearest to
// those of the lattice itself. It never has more than twice as many.
const moreHeightTerms, morePitchTerms = 4, 6

// place returns the clearance, m, and the pitch, rad, at x and t from -1 to 1: x goes from the map's
// least to its greatest clearance there evenly in s.
func (m *Map) place(x, t float64) (clearance, pitch float64) {
	pitch = m.plane.pitch(t)
	low := m.model.low.At(pitch).Depth
	clearance = m.plane.between(low+m.opt.ClearanceMin, low+m.opt.ClearanceMax, x, pitch) - low
	return min(max(clearance, m.opt.ClearanceMin), m.opt.ClearanceMax), pitch
}

// fit fits the map to so many nodes.
func (m *Map) fit(ctx context.Context, heights, pitches int, at source, progress *mapProgress) error {
	m.solves += heights * pitches
	rows := make([]fitRow, heights*pitches)
	err := eachNode(ctx, heights, pitches, m.model.workers(), progress,
		func(t float64) (func(clearance float64) (MapNode, error), error) { return at(m.plane.pitch(t)) },
		func(i int, x, t float64, load func(clearance float64) (MapNode, error)) error {
			clearance, pitch := m.place(x, t)
			node, err := load(clearance)
			if err == nil {
				rows[i] = m.newFitRow(clearance, pitch, &node)
			}
			return err
		})
	if err != nil {
		return err
	}
	m.terms = mapTerms{nh: heights + min(moreHeightTerms, heights), np: pitches + min(morePitchTerms, pitches), rh: heights, rp: pitches}
	return m.terms.fit(rows)
}

// eachNode calls node in parallel, by so many workers at a time, for each of heights x pitches nodes
// of Chebyshev's polynomials, x along the heights and t along the pitches: with the node's number and
// with what column makes of its t, once for all its heights. progress is told each.
func eachNode[C any](ctx context.Context, heights, pitches, workers int, progress *mapProgress, column func(t float64) (C, error), node func(i int, x, t float64, c C) error) error {
	progress.expect(heights * pitches)
	columns := make([]func() (C, error), pitches)
	for k := range columns {
		columns[k] = sync.OnceValues(func() (C, error) { return column(chebyshevNode(k, pitches)) })
	}
	return parallel.EachOf(ctx, heights*pitches, workers, func(i int) error {
		k := i / heights
		c, err := columns[k]()
		if err != nil {
			return err
		}
		if err := node(i, chebyshevNode(i%heights, heights), chebyshevNode(k, pitches), c); err != nil {
			return err
		}
		progress.step()
		return nil
	})
}

// For returns the map for a craft with the same wings and other weights, pilot, tow,
// floats or correction, at no cost. It returns [Problems] if the craft fails Check, and an
// error that wraps ErrOtherWings if its wings differ.
func (m *Map) For(c *Craft) (*Map, error) {
	mo, err := m.model.For(c)
	if err != nil {
		return nil, err
	}
	n := *m
	n.model = mo
	return &n, nil
}

// fitRow is one node as the fit sees it: its place in the plane, values and slopes there.
type fitRow struct {
	s, t   float64
	value  [withDerivatives]float64
	ds, dt [withDerivatives]float64
	rate   [quantities - withDerivatives]float64
	strips []float64
}

func (m *Map) newFitRow(clearance, pitch float64, n *MapNode) fitRow {
	depth, slope := m.plane.depthAt(pitch)
	s, ds := m.plane.log(m.model.low.HeightFor(clearance, pitch), depth)
	r := fitRow{s: s, t: m.plane.scale(pitch), strips: n.StripLift}
	set := func(q int, v, byH, byP float64) {
		r.value[q] = v
		r.ds[q] = byH / ds
		// Along the pitch at an s held the height changes with the depth.
		r.dt[q] = (byP + byH*slope) / m.plane.byPitch()
	}
	h, p := n.ByHeight, n.ByPitch
	set(qLift, n.Lift, h.Lift, p.Lift)
	set(qMoment, n.Moment, h.Moment, p.Moment)
	set(qDrag, n.Drag, h.Drag, p.Drag)
	for q, l := range map[int]LoadsPerQ{qLiftHeave: n.ByHeaveRate, qLiftTurn: n.ByPitchRate} {
		q -= withDerivatives
		r.rate[q], r.rate[q+1], r.rate[q+2] = l.Lift, l.Moment, l.Drag
	}
	return r
}

// fit finds the coefficients by least squares. Quantities with slopes use them
// and so carry more coefficients than there are nodes; the others have as many as there
// are nodes.
func (p *mapTerms) fit(rows []fitRow) error {
	still, err := p.leastSquares(rows, p.nh, p.np, withDerivatives,
		func(r *fitRow) []float64 { return r.value[:] },
		func(r *fitRow) (ds, dt []float64) { return r.ds[:], r.dt[:] })
	if err != nil {
		return err
	}
	rates, err := p.leastSquares(rows, p.rh, p.rp, quantities-withDerivatives,
		func(r *fitRow) []float64 { return r.rate[:] }, nil)
	if err != nil {
		return err
	}
	p.still = make([][withDerivatives]float64, len(still))
	for i := range still {
		copy(p.still[i][:], still[i])
	}
	p.rates = make([][quantities - withDerivatives]float64, len(rates))
	for i := range rates {
		copy(p.rates[i][:], rates[i])
	}
	if n := len(rows[0].strips); n > 0 {
		p.strips, err = p.leastSquares(rows, p.rh, p.rp, n, func(r *fitRow) []float64 { return r.strips }, nil)
	}
	return err
}

// leastSquares returns the coefficients of n quantities, a row a term, from their
// values at the nodes and, where slopes is not nil, from their slopes.
func (p *mapTerms) leastSquares(rows []fitRow, nh, np, n int, values func(*fitRow) []float64, slopes func(*fitRow) (ds, dt []float64)) ([][]float64, error) {
	eq := len(rows)
	if slopes != nil {
		eq *= 3
	}
	// The product of the two polynomials that vanish at the nodes has no value and
	// no slope at any node: terms high in both height and pitch cannot be found.
	var terms [][2]int
	for j := range nh {
		for k := range np {
			if slopes == nil || j < p.rh || k < p.rp {
				terms = append(terms, [2]int{j, k})
			}
		}
	}
	a := mat.NewDense(eq, len(terms), nil)
	b := mat.NewDense(eq, n, nil)
	tv, td := make([]float64, np), make([]float64, np)
	sv, sd := make([]float64, nh), make([]float64, nh)
	for i := range rows {
		r := &rows[i]
		chebyshev(r.s, sv, sd)
		chebyshev(r.t, tv, td)
		put := func(row int, s, t, v []float64, w float64) {
			for i, jk := range terms {
				a.Set(row, i, w*s[jk[0]]*t[jk[1]])
			}
			for q, x := range v {
				b.Set(row, q, w*x)
			}
		}
		put(i, sv, tv, values(r), 1)
		if slopes != nil {
			// A slope of a polynomial of degree n is up to n^2 times its value: weighed
			// down, the slopes help without drowning the values.
			ds, dt := slopes(r)
			put(len(rows)+i, sd, tv, ds, 1/float64(nh))
			put(2*len(rows)+i, sv, td, dt, 1/float64(np))
		}
	}
	var qr mat.QR
	qr.Factorize(a)
	var x mat.Dense
	if err := qr.SolveTo(&x, false, b); err != nil {
		return nil, fmt.Errorf("the map could not be fitted: %w", err)
	}
	out := make([][]float64, nh*np)
	for i := range out {
		out[i] = make([]float64, n)
	}
	for i, jk := range terms {
		copy(out[jk[0]*np+jk[1]], x.RawRowView(i))
	}
	return out, nil
}
