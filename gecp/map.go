package gecp

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"reflect"
	"sync/atomic"

	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/vlm"
)

// MapOptions choose the range and fineness of a Map. Zero values stand for the
// defaults named.
type MapOptions struct {
	Mesh Mesh // DefaultMesh
	// m, 0.05; for a craft that rests lower on its floats nine tenths of its clearance
	// there, but 0.01 at least
	ClearanceMin float64
	ClearanceMax float64 // m, 2
	PitchMin     float64 // rad, -4 degrees
	PitchMax     float64 // rad, 12 degrees
	// Places to solve for along the clearance and along the pitch, 4 to 12: 5 and 7. A map
	// from 4 and 4 takes half the time; its lift strays by some tenth of a per cent.
	Heights, Pitches int
	// Progress is told the part done, 0..1, after each node, from one goroutine at a
	// time; it may be nil.
	Progress func(part float64)
}

func (o *MapOptions) fill(m *Model) {
	if o.Mesh == (Mesh{}) {
		o.Mesh = DefaultMesh
	}
	o.Heights = cmp.Or(o.Heights, 5)
	o.Pitches = cmp.Or(o.Pitches, 7)
	least := .05
	if len(m.craft.Floats) > 0 {
		pitch, height := m.craft.restPitch()
		least = math.Min(least, math.Max(.01, .9*m.under.ClearanceFor(height, pitch)))
	}
	o.ClearanceMin = cmp.Or(o.ClearanceMin, least)
	o.ClearanceMax = cmp.Or(o.ClearanceMax, 2)
	if o.PitchMin == 0 && o.PitchMax == 0 {
		o.PitchMin, o.PitchMax = -4*math.Pi/180, 12*math.Pi/180
	}
}

// With fewer places than these the values and slopes there do not fix the terms; with
// more there are terms past maxCoef.
const minNodes, maxNodes = 4, 12

func (o *MapOptions) check() error {
	if !(o.ClearanceMin > 0 && o.ClearanceMax > o.ClearanceMin && o.ClearanceMax <= 100) {
		return fmt.Errorf("the map's clearances run from %v to %v m; they must rise, from above 0 to 100 m at most", o.ClearanceMin, o.ClearanceMax)
	}
	if !(o.PitchMin < o.PitchMax && o.PitchMin >= -math.Pi/6 && o.PitchMax <= math.Pi/6) {
		return fmt.Errorf("the map's pitch runs from %.3g to %.3g degrees; it must rise, within ±30 degrees", deg(o.PitchMin), deg(o.PitchMax))
	}
	if o.Heights < minNodes || o.Heights > maxNodes || o.Pitches < minNodes || o.Pitches > maxNodes {
		return fmt.Errorf("the map is to be made from %d clearances and %d pitches; give %d to %d of each", o.Heights, o.Pitches, minNodes, maxNodes)
	}
	return nil
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }

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
// weights, speed, pilot and tow play no part. A Map is immutable and safe for use
// by several goroutines.
//
// The loads depend smoothly on the datum's height and the pitch, but the
// clearance has a kink where its lowest point jumps, from one wing to another or
// from a trailing to a leading edge. The map is therefore made of panels of pitch
// that meet at these kinks. Within a panel each quantity is a polynomial in the
// pitch and in log(clearance + a length), since the water is felt the more the
// nearer it is.
type Map struct {
	model  *Model
	opt    MapOptions
	panels []mapPanel
	solves int
}

type mapPanel struct {
	from, to float64 // rad
	nh, np   int     // terms in height and in pitch
	rh, rp   int     // the same of what has no slopes
	// Coefficients of Chebyshev's polynomials, nh x np and rh x rp: all quantities of a
	// term side by side, so that their sums do not wait for each other.
	still [][withDerivatives]float64
	rates [][quantities - withDerivatives]float64
}

// nearWater is the length a of log(clearance + a), in least clearances.
const nearWater = 1.0

func (o *MapOptions) scale(clearance float64) (s, ds float64) {
	a := nearWater * o.ClearanceMin
	lo, hi := math.Log(o.ClearanceMin+a), math.Log(o.ClearanceMax+a)
	return 2*(math.Log(clearance+a)-lo)/(hi-lo) - 1, 2 / (hi - lo) / (clearance + a)
}

func (o *MapOptions) unscale(s float64) float64 {
	a := nearWater * o.ClearanceMin
	lo, hi := math.Log(o.ClearanceMin+a), math.Log(o.ClearanceMax+a)
	c := math.Exp(lo+(s+1)/2*(hi-lo)) - a
	return math.Min(o.ClearanceMax, math.Max(o.ClearanceMin, c))
}

// BuildMap solves for the nodes, in parallel, and fits the map. It is an error if
// the craft does not pass Check, the options make no sense, or the context is
// cancelled.
func (c *Craft) BuildMap(ctx context.Context, o MapOptions) (*Map, error) {
	mo, err := NewModel(c, o.Mesh)
	if err != nil {
		return nil, err
	}
	o.fill(mo)
	if err := o.check(); err != nil {
		return nil, err
	}
	m := &Map{model: mo, opt: o}
	edges := append([]float64{o.PitchMin}, mo.under.kinks(o.PitchMin, o.PitchMax)...)
	edges = append(edges, o.PitchMax)

	type node struct {
		panel  int
		pitch  float64
		places []float64 // clearances
		sol    []*vlm.Solution
		slope  float64
	}
	var nodes []node
	for i := 1; i < len(edges); i++ {
		n := o.Pitches
		if share := (edges[i] - edges[i-1]) / (o.PitchMax - o.PitchMin); share < .5 {
			n = min(n, max(minNodes, int(math.Ceil(float64(n)*(.3+1.2*share)))))
		}
		m.panels = append(m.panels, mapPanel{from: edges[i-1], to: edges[i], nh: o.Heights + 4, np: n + 3, rh: o.Heights - 1, rp: n - 1})
		for k := range n {
			t := -math.Cos(math.Pi * (float64(k) + .5) / float64(n))
			nd := node{panel: i - 1, pitch: edges[i-1] + (t+1)/2*(edges[i]-edges[i-1])}
			for j := range o.Heights {
				nd.places = append(nd.places, o.unscale(-math.Cos(math.Pi*(float64(j)+.5)/float64(o.Heights))))
			}
			nd.sol = make([]*vlm.Solution, len(nd.places))
			nd.slope = mo.under.keel(nd.pitch).slope
			nodes = append(nodes, nd)
		}
	}
	total := len(nodes) * o.Heights
	var done atomic.Int64
	progress := make(chan struct{}, 1)
	progress <- struct{}{}
	err = each(ctx, len(nodes), func(i int) error {
		pose, err := mo.lattice.AtPitch(ctx, nodes[i].pitch)
		if err != nil {
			return err
		}
		for j, cl := range nodes[i].places {
			if err := ctx.Err(); err != nil {
				return err
			}
			if nodes[i].sol[j], err = pose.Solve(ctx, mo.under.HeightFor(cl, nodes[i].pitch)); err != nil {
				return err
			}
			if d := done.Add(1); o.Progress != nil {
				<-progress
				o.Progress(float64(d) / float64(total))
				progress <- struct{}{}
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	m.solves = total
	for p := range m.panels {
		pan := &m.panels[p]
		var rows []fitRow
		for _, nd := range nodes {
			if nd.panel != p {
				continue
			}
			for j, s := range nd.sol {
				rows = append(rows, newFitRow(&o, pan, nd.places[j], nd.pitch, nd.slope, s))
			}
		}
		if err := pan.fit(rows); err != nil {
			return nil, err
		}
	}
	return m, nil
}

// For returns the map for a craft with the same wings and other weights, pilot, tow
// or floats, at no cost. It is an error if the wings differ or the craft does not
// pass Check.
func (m *Map) For(c *Craft) (*Map, error) {
	if p := c.Check(); p != nil {
		return nil, p
	}
	if !reflect.DeepEqual(c.Wings, m.model.craft.Wings) {
		return nil, fmt.Errorf("the map was made for the wings of %q; those of %q differ and need a map of their own", m.model.craft.Name, c.Name)
	}
	mo, n := *m.model, *m
	mo.craft, n.model = c, &mo
	return &n, nil
}

// fitRow is one node as the fit sees it: place in the panel's square, values and
// slopes there.
type fitRow struct {
	s, t   float64
	value  [quantities]float64
	ds, dt [withDerivatives]float64
}

func newFitRow(o *MapOptions, pan *mapPanel, clearance, pitch, slope float64, sol *vlm.Solution) fitRow {
	var r fitRow
	s, ds := o.scale(clearance)
	r.s, r.t = s, pan.scale(pitch)
	half := (pan.to - pan.from) / 2
	set := func(q int, v, byH, byP float64) {
		r.value[q] = v
		r.ds[q] = byH / ds
		// Along the pitch at a fixed clearance the height changes with the lowest point.
		r.dt[q] = (byP + byH*slope) * half
	}
	h, p := sol.Derivatives.Height, sol.Derivatives.Pitch
	set(qLift, sol.Total.Lift(), h.Lift(), p.Lift())
	set(qMoment, sol.Total.Pitching(), h.Pitching(), p.Pitching())
	set(qDrag, sol.Total.Drag(), h.Drag(), p.Drag())
	for q, l := range map[int]vlm.Load{qLiftHeave: sol.Derivatives.HeaveRate, qLiftTurn: sol.Derivatives.PitchRate} {
		r.value[q], r.value[q+1], r.value[q+2] = l.Lift(), l.Pitching(), l.Drag()
	}
	return r
}

func (p *mapPanel) scale(pitch float64) float64 { return 2*(pitch-p.from)/(p.to-p.from) - 1 }

// chebyshev fills v with the Chebyshev polynomials at x and d with their slopes.
func chebyshev(x float64, v, d []float64) {
	v[0], d[0] = 1, 0
	if len(v) > 1 {
		v[1], d[1] = x, 1
	}
	for i := 2; i < len(v); i++ {
		v[i] = 2*x*v[i-1] - v[i-2]
		d[i] = 2*v[i-1] + 2*x*d[i-1] - d[i-2]
	}
}

// fit finds the coefficients by least squares. Quantities with slopes use them
// and so carry more coefficients than there are nodes; the others are fitted to
// their values by the lower ones alone.
func (p *mapPanel) fit(rows []fitRow) error {
	for _, part := range []struct {
		from, to, nh, np int
		slopes           bool
	}{
		{0, withDerivatives, p.nh, p.np, true},
		{withDerivatives, quantities, p.rh, p.rp, false},
	} {
		eq := len(rows)
		if part.slopes {
			eq *= 3
		}
		// The product of the two polynomials that vanish at the nodes has no value and
		// no slope at any node: terms high in both height and pitch cannot be found.
		var terms [][2]int
		for j := range part.nh {
			for k := range part.np {
				if j <= p.rh || k <= p.rp {
					terms = append(terms, [2]int{j, k})
				}
			}
		}
		a := mat.NewDense(eq, len(terms), nil)
		b := mat.NewDense(eq, part.to-part.from, nil)
		tv, td := make([]float64, part.np), make([]float64, part.np)
		sv, sd := make([]float64, part.nh), make([]float64, part.nh)
		for i, r := range rows {
			chebyshev(r.s, sv, sd)
			chebyshev(r.t, tv, td)
			put := func(row int, s, t []float64, w float64) {
				for i, jk := range terms {
					a.Set(row, i, w*s[jk[0]]*t[jk[1]])
				}
			}
			put(i, sv, tv, 1)
			for q := part.from; q < part.to; q++ {
				b.Set(i, q-part.from, r.value[q])
			}
			if !part.slopes {
				continue
			}
			// A slope of a polynomial of degree n is up to n^2 times its value: weighed
			// down, the slopes help without drowning the values.
			ws, wt := 1/float64(part.nh), 1/float64(part.np)
			put(len(rows)+i, sd, tv, ws)
			put(2*len(rows)+i, sv, td, wt)
			for q := part.from; q < part.to; q++ {
				b.Set(len(rows)+i, q-part.from, ws*r.ds[q])
				b.Set(2*len(rows)+i, q-part.from, wt*r.dt[q])
			}
		}
		var qr mat.QR
		qr.Factorize(a)
		var x mat.Dense
		if err := qr.SolveTo(&x, false, b); err != nil {
			return fmt.Errorf("the map could not be fitted between %.2f and %.2f degrees of pitch: %w", deg(p.from), deg(p.to), err)
		}
		if part.slopes {
			p.still = make([][withDerivatives]float64, part.nh*part.np)
		} else {
			p.rates = make([][quantities - withDerivatives]float64, part.nh*part.np)
		}
		for i, jk := range terms {
			to := jk[0]*part.np + jk[1]
			if part.slopes {
				copy(p.still[to][:], x.RawRowView(i))
			} else {
				copy(p.rates[to][:], x.RawRowView(i))
			}
		}
	}
	return nil
}
