package gecp

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	changeMesh  = Mesh{Rows: 2, Strips: 4}
	changeRange = MapRange{ClearanceMin: .04, ClearanceMax: 1.5, PitchMin: -.04, PitchMax: .14}
)

// wingChanges are dimensions of the demo's wings and how each is changed by a part of a builder's step; the last
// makes another lattice of it, and is only made as a whole.
var wingChanges = map[string]func(c *Craft, part float64){
	"incidence":  func(c *Craft, part float64) { c.Wings[1].IncidenceDeg += .5 * part },
	"position":   func(c *Craft, part float64) { c.Wings[1].X += .01 * part },
	"height":     func(c *Craft, part float64) { c.Wings[0].Z += .01 * part },
	"camber":     func(c *Craft, part float64) { c.Wings[0].Camber.Height += .005 * part },
	"thickness":  func(c *Craft, part float64) { c.Wings[1].Thickness += .01 * part },
	"first tips": func(c *Craft, part float64) { c.Wings[1].TipPlates.Down += .05 * part },
}

func loadChange(t *testing.T, m *Map, change func(c *Craft, part float64)) (l LoadChange, ok bool) {
	t.Helper()
	const part = 1e-6
	w := WingChange{Slight: m.model.Craft(), Part: part, Whole: m.model.Craft()}
	change(w.Slight, part)
	change(w.Whole, 1)
	if w.Slight.Check() != nil {
		w.Slight = nil
	}
	of, known, err := m.LoadChanges(t.Context(), changeRange, []WingChange{w})
	require.NoError(t, err)
	return of[0], known[0]
}

func changedModel(t *testing.T, m *Map, change func(c *Craft, part float64), part float64) *Model {
	t.Helper()
	c := m.model.Craft()
	change(c, part)
	model, err := NewModel(c, changeMesh)
	require.NoError(t, err)
	return model
}

// What a builder's step does to the loads where craft fly, up and down, with straight wakes, against the lattice of the changed craft: with its own
// kinks and lowest points.
func TestChangedAgainstTheLattice(t *testing.T) {
	model, err := NewModel(Demo(), changeMesh)
	require.NoError(t, err)
	model = model.WithWake(WakeStraight)
	o := MapOptions{ClearanceMin: changeRange.ClearanceMin}
	m, err := model.BuildMap(t.Context(), o)
	require.NoError(t, err)
	worst := 0.
	for name, change := range wingChanges {
		l, ok := loadChange(t, m, change)
		require.True(t, ok, name)
		for _, part := range []float64{-1, 1} {
			if name == "first tips" && part < 0 {
				continue
			}
			changed := changedModel(t, m, change, part).WithWake(WakeStraight)
			got, err := m.Changed(changed, &l, part)
			require.NoError(t, err)
			assert.Same(t, changed, got.Model())
			want, err := changed.BuildMap(t.Context(), o)
			require.NoError(t, err)
			assert.Equal(t, want.Kinks(), got.Kinks(), name)
			for _, at := range [][2]float64{{.06, 1}, {.1, 3}, {.2, 5}, {.5, 3}, {1, 6}} {
				pitch := Radians(at[1])
				a, err := got.At(at[0], pitch)
				require.NoError(t, err)
				b, err := want.At(at[0], pitch)
				require.NoError(t, err)
				was, err := m.At(at[0], pitch)
				require.NoError(t, err)
				off := math.Max(math.Abs(a.Lift-b.Lift)/b.Lift, math.Abs(a.Moment-b.Moment)/math.Abs(b.Moment))
				worst = math.Max(worst, off)
				assert.Less(t, off, .003, "%s by %v at %v: lift %v, lattice %v, unchanged %v", name, part, at, a.Lift, b.Lift, was.Lift)
				assert.InDelta(t, b.ByHeight.Lift, a.ByHeight.Lift, .01*b.Lift/at[0], name)
				sa, ok, err := got.CriticalStrip(at[0], pitch)
				require.True(t, ok && err == nil)
				sb, _, err := want.CriticalStrip(at[0], pitch)
				require.NoError(t, err)
				assert.InDelta(t, sb.LiftCoefficient, sa.LiftCoefficient, .02, name)
			}
		}
	}
	t.Logf("largest difference of a changed map %.1e of lift or moment", worst)
}

// What free wakes add stays that of the craft itself.
func TestChangedHoldsTheWakes(t *testing.T) {
	straight, err := NewModel(Demo(), changeMesh)
	require.NoError(t, err)
	o := MapOptions{ClearanceMin: changeRange.ClearanceMin, Heights: 4, Pitches: 4, Tolerance: hopeless}
	a, err := straight.BuildMap(t.Context(), o)
	require.NoError(t, err)
	b := *a // as if wakes added so much
	b.terms.still = append([][withDerivatives]float64{}, a.terms.still...)
	const more = 1.5
	b.terms.still[0][qLift] += more
	change := wingChanges["camber"]
	changed := changedModel(t, a, change, 1)
	var lift [2]float64
	for i, m := range []*Map{a, &b} {
		l, ok := loadChange(t, m, change)
		require.True(t, ok)
		got, err := m.Changed(changed, &l, 1)
		require.NoError(t, err)
		p, err := got.At(.2, .05)
		require.NoError(t, err)
		lift[i] = p.Lift
	}
	assert.InDelta(t, more, lift[1]-lift[0], 1e-9)
}

func TestLoadChangesRefuse(t *testing.T) {
	model, err := NewModel(Demo(), changeMesh)
	require.NoError(t, err)
	m := formulaMap(t, model, 0)
	// A wider wing in steps has another number of strips; of nothing nothing is known.
	c := Demo()
	c.Wings[0].Stations[1].Y += 1.5
	of, ok, err := m.LoadChanges(t.Context(), changeRange, []WingChange{{Slight: c, Part: 1e-6, Whole: c}, {}})
	require.NoError(t, err)
	assert.Equal(t, []bool{false, false}, ok)
	assert.Equal(t, make([]LoadChange, 2), of)

	_, _, err = m.LoadChanges(t.Context(), changeRange, []WingChange{{Slight: Demo()}})
	assert.ErrorContains(t, err, "by 0")
	c = Demo()
	c.Wings[0].Stations[1].Chord = -1
	_, _, err = m.LoadChanges(t.Context(), changeRange, []WingChange{{Whole: c}})
	var problems Problems
	assert.ErrorAs(t, err, &problems)
	ctx, stop := context.WithCancel(t.Context())
	stop()
	_, _, err = m.LoadChanges(ctx, changeRange, []WingChange{{Whole: Demo()}})
	assert.ErrorIs(t, err, context.Canceled)

	l, ok1 := loadChange(t, m, wingChanges["camber"])
	require.True(t, ok1)
	o := combineNodes
	o.ClearanceMin = .1
	other, err := model.FitMap(t.Context(), o, func(_, _ float64) (MapNode, error) { return MapNode{LoadsPerQ: LoadsPerQ{Lift: 1}}, nil })
	require.NoError(t, err)
	_, err = other.Changed(model, &l, 1)
	assert.ErrorIs(t, err, errOtherScale)
}

// The range of a model is that of its map.
func TestModelMapRange(t *testing.T) {
	for _, mesh := range []Mesh{{}, changeMesh} {
		model, err := NewModel(Demo(), mesh)
		require.NoError(t, err)
		m, err := model.FitMap(t.Context(), MapOptions{}, func(_, _ float64) (MapNode, error) { return MapNode{LoadsPerQ: LoadsPerQ{Lift: 1}}, nil })
		require.NoError(t, err)
		assert.Equal(t, m.Range(), model.MapRange())
	}
}
