package tow

import (
	"context"
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
)

// Effect is something that the calculation leaves out or knows only so well.
type Effect int

// The effects, with what stands for each.
const (
	EffectMesh      Effect = iota // the lattice has cells of a size; what a mesh half as fine again changes, to cells without a size, either way
	EffectMap                     // a map strays between its nodes; one from more nodes, either way
	EffectWake                    // the wakes' way; the other one, straight or free
	EffectThickness               // thick sections over the water; none, and half as much again
	EffectViscosity               // the boundary layer; a lift of 0.95 of the calculated one
	EffectRuns                    // what the runs that the craft is corrected by leave open: two standard errors
	EffectBoatAir                 // the air that the boat drags along; see BoatAir
	EffectLine                    // the weight of the line; none, and twice
	EffectDent                    // the water gives way; see MovingDepression
	numEffects
)

// String names the effect in a few words.
func (e Effect) String() string {
	return [numEffects]string{
		"the size of the lattice's cells", "the map between its nodes", "the wakes' way", "the wings' thickness", "viscosity", "what the runs leave open",
		"the air that the boat drags along", "the line's weight", "the dent in the water",
	}[e]
}

// Source says what the effect is taken as, and where that comes from.
func (e Effect) Source() string {
	return [numEffects]string{
		"computed: what a mesh half as fine again changes, taken on to cells without a size, the error being as their size, and as much the other way",
		"computed: a map from more nodes, and as much the other way",
		"computed: wakes straight along the stream against wakes that follow the flow",
		"computed: from thin wings to half as much again as their thickness does, by what thick wings over water miss against panels in the tests",
		"a lift of 0.95 to 1 of the calculated: slopes of smooth 12 % sections (NACA Report 824, from memory) over those of ideal flow",
		"two standard errors of lift factor and centre-of-pressure offset, from the craft file",
		"a far wake's laws (Schlichting; a disk's wake by Carmody 1964), from memory; a boat as wide as 0.4 of its length and as high as the line's end",
		"computed: a line without weight, and one of twice the weight",
		"a pressure that moves over deep water, linear theory (Lamb, Hydrodynamics, from memory)",
	}[e]
}

// Figures that stand for effects: the least lift over the calculated one, and the standard
// errors of a fit that count.
const (
	leastLift   = .95
	errorsCount = 2.
)

// thicknessBeyond is how much more than the lattice has it the thickness may do: held against
// thick panels over water, the centre of pressure of a tandem misses by less than half of
// what it does without thickness (vlm's checks of thick wings).
const thicknessBeyond = .5

// variant is the craft with something changed. The zero value is the craft itself; the sum of
// two variants is the craft with both.
type variant struct {
	effect     Effect
	changes    []gecp.MapDifference
	lift       float64 // added to the lift factor
	cp, growth float64 // added to the CP's offset, m, and to its growth, m per m
	line       float64 // added to the line's weight, in line weights
	slower     float64 // part of the speed lost
	dent       float64 // m by which the water under the wings lies lower, in MovingDepression's Down, negative in its Up
}

// with returns the craft with both changes.
func (v variant) with(o variant) variant {
	v.changes = append(append([]gecp.MapDifference{}, v.changes...), o.changes...)
	v.lift, v.cp, v.growth, v.line, v.dent = v.lift+o.lift, v.cp+o.cp, v.growth+o.growth, v.line+o.line, v.dent+o.dent
	v.slower = 1 - (1-v.slower)*(1-o.slower)
	return v
}

// onlyDent reports whether nothing but the level of the water is changed.
func (v variant) onlyDent() bool {
	return len(v.changes) == 0 && v.lift == 0 && v.cp == 0 && v.growth == 0 && v.line == 0 && v.slower == 0
}

// Variants are a craft and all that the calculation leaves out of it, ready to be asked
// how far to trust an answer. They are immutable and safe for use by several goroutines.
type Variants struct {
	m     *gecp.Map
	wings [][]variant // what depends on the wings alone; see groups
	// groups holds the effects; of the variants of a group one at most holds at a time.
	groups [][]variant
}

// NewVariants builds the maps that tell what is left out of a map's craft, with the map's own
// range: about four times as long as the map itself took. progress is told the part done, 0..1; it may be nil.
// It returns [gecp.Problems] if the craft file does not tell the tow or the weights, and the
// context's error if it is cancelled.
func NewVariants(ctx context.Context, m *gecp.Map, progress func(part float64)) (*Variants, error) {
	base := m.Model()
	craft := base.Craft()
	if err := craft.Require(gecp.BlockWeights, gecp.BlockTow); err != nil {
		return nil, err
	}
	straight := base.WithWake(gecp.WakeStraight)
	// The maps that are told apart have few nodes each, the same ones, so that what they stray
	// between them cancels.
	r := m.Range()
	few := gecp.MapOptions{ClearanceMin: r.ClearanceMin, ClearanceMax: r.ClearanceMax, PitchMin: r.PitchMin, PitchMax: r.PitchMax, Heights: fewHeights, Pitches: fewPitches, Tolerance: roughly}
	more := few
	more.Heights, more.Pitches, more.Tolerance = moreHeights, morePitches, 0
	finer, ratio := finerMesh(base.Mesh())
	type job struct {
		model func() (*gecp.Model, error)
		o     gecp.MapOptions
		cost  float64 // about, in solutions of the lattice
		made  *gecp.Map
	}
	same := func(m *gecp.Model) func() (*gecp.Model, error) {
		return func() (*gecp.Model, error) { return m, nil }
	}
	rough := &job{model: same(straight), o: few, cost: 1}
	close := &job{model: same(base), o: more, cost: 3}
	if base.Wake() == gecp.WakeFree {
		close.cost = 8
	}
	fine := &job{model: func() (*gecp.Model, error) {
		n, err := gecp.NewModel(craft, finer)
		if err != nil {
			return nil, err
		}
		return n.WithWake(gecp.WakeStraight), nil
	}, o: few, cost: math.Pow(ratio, 5)}
	jobs := []*job{rough, close, fine}
	var thin, other *job
	if craft.Thick() {
		thin = &job{model: straight.WithoutThickness, o: few, cost: 1}
		jobs = append(jobs, thin)
	}
	switch {
	case base.Wake() == gecp.WakeFree:
		other = &job{model: same(straight), cost: 2}
		other.o = few
		other.o.Heights, other.o.Pitches, other.o.Tolerance = 0, 0, 0
		jobs = append(jobs, other)
	case len(craft.Wings) > 1:
		other = &job{model: same(base.WithWake(gecp.WakeFree)), o: few, cost: 3}
		jobs = append(jobs, other)
	}
	var all, done float64
	for _, j := range jobs {
		all += j.cost
	}
	for _, j := range jobs {
		model, err := j.model()
		if err != nil {
			return nil, err
		}
		if progress != nil {
			before := done
			j.o.Progress = func(part float64) { progress(min(1, (before+part*j.cost)/all)) }
		}
		if j.made, err = model.BuildMap(ctx, j.o); err != nil {
			return nil, fmt.Errorf("what the calculation leaves out is not known: %w", err)
		}
		done += j.cost
	}
	if progress != nil {
		progress(1)
	}

	var wings [][]variant
	put := func(e Effect, alternatives ...gecp.MapDifference) {
		var g []variant
		for _, c := range alternatives {
			g = append(g, variant{effect: e, changes: []gecp.MapDifference{c}})
		}
		wings = append(wings, g)
	}
	// An error as the cells' size: from cells to smaller ones it falls by a part of 1 - 1/ratio.
	// Either way: what the mesh does to free wakes may go against what it does to the wings.
	cells := ratio / (ratio - 1)
	put(EffectMesh, gecp.MapDifference{From: rough.made, To: fine.made, Times: cells}, gecp.MapDifference{From: rough.made, To: fine.made, Times: -cells})
	if base.Wake() == gecp.WakeFree {
		put(EffectWake, gecp.MapDifference{From: m, To: other.made, Times: 1})
	} else if other != nil {
		put(EffectWake, gecp.MapDifference{From: rough.made, To: other.made, Times: 1})
	}
	// Either way: a map from more nodes strays, too, and less is all that is known of it.
	put(EffectMap, gecp.MapDifference{From: m, To: close.made, Times: 1}, gecp.MapDifference{From: m, To: close.made, Times: -1})
	if thin != nil {
		put(EffectThickness, gecp.MapDifference{From: rough.made, To: thin.made, Times: 1}, gecp.MapDifference{From: rough.made, To: thin.made, Times: -thicknessBeyond})
	}
	v := &Variants{m: m, wings: wings}
	return v, v.fill()
}

// The nodes of the maps that only tell a difference, with their tolerance, which is as much as
// a map may have; and those of the map that tells how far a map strays.
const (
	fewHeights, fewPitches   = 5, 10
	roughly                  = .05
	moreHeights, morePitches = 7, 14
)

// finerMesh returns a mesh half as fine again, and by how much finer it is, the lesser of
// rows and strips.
func finerMesh(m gecp.Mesh) (finer gecp.Mesh, ratio float64) {
	up := func(n int) int { return (3*n + 1) / 2 }
	finer = gecp.Mesh{Rows: up(m.Rows), Strips: up(m.Strips)}
	return finer, min(float64(finer.Rows)/float64(m.Rows), float64(finer.Strips)/float64(m.Strips))
}

// For returns the variants for a craft with the same wings and other weights, pilot, tow,
// floats or correction, at no cost. The errors are those of NewVariants and of [gecp.Map.For].
func (v *Variants) For(c *gecp.Craft) (*Variants, error) {
	if err := c.Require(gecp.BlockWeights, gecp.BlockTow); err != nil {
		return nil, err
	}
	m, err := v.m.For(c)
	if err != nil {
		return nil, err
	}
	n := &Variants{m: m, wings: v.wings}
	return n, n.fill()
}

// Map returns the map of the craft itself.
func (v *Variants) Map() *gecp.Map { return v.m }

// fill puts in what does not depend on the wings alone.
func (v *Variants) fill() error {
	craft := v.m.Model().Craft()
	air, err := FindBoatAir(craft)
	if err != nil {
		return err
	}
	v.groups = append(v.groups, v.wings...)
	if k := craft.Correction; k != nil && k.On {
		either := func(e float64, put func(n *variant, by float64)) {
			if e == 0 {
				return
			}
			var g []variant
			for _, by := range []float64{-errorsCount * e, errorsCount * e} {
				n := variant{effect: EffectRuns}
				put(&n, by)
				g = append(g, n)
			}
			v.groups = append(v.groups, g)
		}
		either(k.LiftFactorError, func(n *variant, by float64) { n.lift = by })
		either(k.CPOffsetError, func(n *variant, by float64) { n.cp = by })
		either(k.CPPerMError, func(n *variant, by float64) { n.growth = by })
	} else {
		v.groups = append(v.groups, []variant{{effect: EffectViscosity, lift: leastLift - 1}})
	}
	v.groups = append(v.groups, []variant{{effect: EffectBoatAir, slower: air.Mean}},
		[]variant{{effect: EffectLine, line: -1}, {effect: EffectLine, line: 1}},
		[]variant{{effect: EffectDent, dent: 1}, {effect: EffectDent, dent: -1}})
	return nil
}

// mapOf returns the map of a variant.
func (v *Variants) mapOf(n variant) (*gecp.Map, error) {
	m := v.m
	if len(n.changes) > 0 {
		var err error
		if m, err = m.WithDifferences(n.changes...); err != nil {
			return nil, err
		}
	}
	if n.lift == 0 && n.cp == 0 && n.growth == 0 && n.line == 0 {
		return m, nil
	}
	c := m.Model().Craft()
	k := gecp.Correction{LiftFactor: 1, Runs: 1}
	if c.Correction != nil && c.Correction.On {
		k = *c.Correction
	}
	k.On = true
	// Within what a craft file takes.
	k.LiftFactor = min(max(k.LiftFactor+n.lift, .5), 1.5)
	k.CPOffset = min(max(k.CPOffset+n.cp, -5), 5)
	k.CPPerM = min(max(k.CPPerM+n.growth, -5), 5)
	c.Correction = &k
	perM := min(c.Tow.LineWeight()/gecp.G*(1+n.line), 1)
	c.Tow.LineMass = &perM
	return m.For(c)
}
