package design

import (
	"context"
	"errors"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/vlm"
)

// shapeChange is one dimension of the wings, changed about the craft's own value.
type shapeChange struct {
	step  float64 // of the maps above and below, in the units of apply
	apply func(c *gecp.Craft, by float64)
}

// mapFamily gives the maps of a craft with small changes of its wings without the
// lattice: the loads at a height of the datum and a pitch, where they have no corners, are
// expanded about the craft in each of the changes by itself, to the second order. What two
// changes do together is left out beyond the sum of both. It is safe for use by several
// goroutines.
type mapFamily struct {
	mesh    gecp.Mesh
	options gecp.MapOptions // of base; the same range for all
	base    *gecp.Map
	changes []shapeChange
	maps    []*gecp.Map // base, and for each change above and below; nil where they cannot be combined
}

// newMapFamily solves the lattice for the craft and for each change up and down.
func newMapFamily(ctx context.Context, c *gecp.Craft, mesh gecp.Mesh, changes []shapeChange, progress func(part float64)) (*mapFamily, error) {
	f := &mapFamily{mesh: mesh, changes: changes}
	total := 1 + 2*len(changes)
	tell := func(n int) func(float64) {
		return func(part float64) { progress((float64(n) + part) / float64(total)) }
	}
	model, err := gecp.NewModel(c, mesh)
	if err != nil {
		return nil, err
	}
	if err := f.begin(ctx, model, tell(0)); err != nil {
		return nil, err
	}
	maps := []*gecp.Map{f.base}
	for _, ch := range changes {
		for _, by := range []float64{ch.step, -ch.step} {
			changed := c.Clone()
			ch.apply(changed, by)
			m, err := gecp.NewModel(changed, mesh)
			var unsound gecp.Problems
			if errors.As(err, &unsound) {
				return f, nil // the craft is at a limit of the file: each change gets a map of its own
			}
			if err != nil {
				return nil, err
			}
			o := f.options
			o.Progress = tell(len(maps))
			p, err := m.BuildMapAs(ctx, model, o)
			var wet *vlm.WetError
			if errors.As(err, &wet) {
				return f, nil // a wing that hangs lower would be in the water where the map begins: likewise
			}
			if err != nil {
				return nil, err
			}
			maps = append(maps, p)
		}
	}
	// Whether they can be combined: at the craft itself.
	weights := make([]float64, len(maps))
	weights[0] = 1
	if _, err := model.CombineMaps(weights, maps); errors.Is(err, gecp.ErrUnlikeMaps) {
		return f, nil
	} else if err != nil {
		return nil, err
	}
	f.maps = maps
	return f, nil
}

// begin solves the craft itself, on a range that leaves room for what the changes do: lower
// clearances, for a craft that rests lower on its floats.
func (f *mapFamily) begin(ctx context.Context, model *gecp.Model, progress func(part float64)) error {
	r := model.MapRange()
	o := gecp.MapOptions{ClearanceMin: r.ClearanceMin * roomBelow, ClearanceMax: r.ClearanceMax, PitchMin: r.PitchMin, PitchMax: r.PitchMax, Progress: progress}
	var err error
	if f.base, err = model.BuildMap(ctx, o); err != nil {
		return err
	}
	o.ClearanceMin, o.Progress = f.base.Range().ClearanceMin, nil
	f.options = o
	return nil
}

// at returns the map of a craft whose wings are those of the family changed by so much,
// by[i] of each change, and whether it was solved in full, because it could not be combined.
func (f *mapFamily) at(ctx context.Context, c *gecp.Craft, by []float64) (m *gecp.Map, solved bool, err error) {
	model, err := gecp.NewModel(c, f.mesh)
	if err != nil {
		return nil, false, err
	}
	if f.maps != nil {
		if m, err = f.combine(model, by); !errors.Is(err, gecp.ErrUnlikeMaps) {
			return m, false, err
		}
	}
	m, err = model.BuildMap(ctx, f.options)
	return m, true, err
}

// combine is at without the lattice.
func (f *mapFamily) combine(model *gecp.Model, by []float64) (*gecp.Map, error) {
	weights := make([]float64, len(f.maps))
	weights[0] = 1
	for i, ch := range f.changes {
		at0, plus, minus := gecp.QuadraticWeights(by[i] / ch.step)
		weights[0] += at0 - 1
		weights[1+2*i], weights[2+2*i] = plus, minus
	}
	m, err := f.base.Model().CombineMaps(weights, f.maps)
	if err != nil {
		return nil, err
	}
	return m.MoveTo(model)
}

// solve returns the map of a craft from the lattice.
func (f *mapFamily) solve(ctx context.Context, c *gecp.Craft) (*gecp.Map, error) {
	model, err := gecp.NewModel(c, f.mesh)
	if err != nil {
		return nil, err
	}
	return model.BuildMap(ctx, f.options)
}
