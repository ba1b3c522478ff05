package gecp

import (
	"context"

	"example.org/groundeffect/gecp/internal/bisect"
)

// Crossing is the clearance at which, going up with the pitch held, the height neutral
// point passes from ahead of the pitch neutral point to behind it: above it the craft
// does not hold its height by itself.
type Crossing struct {
	Clearance float64 // m, to 1 mm, the last at which it is ahead
	OK        bool    // whether there is one between the close gap and crossingTop
	Always    bool    // where there is none: whether it is ahead everywhere there, not nowhere
}

// crossingTop is the clearance up to which a crossing is looked for, m, and
// crossingSteps the number of clearances between which it is.
const (
	crossingTop   = 3.
	crossingSteps = 16
)

// Crossing finds the crossing of the neutral points at a pitch, rad, from the close gap
// up to 3 m. The errors are those of Sweep.
func (m *Model) Crossing(ctx context.Context, pitch float64) (Crossing, error) {
	ahead := func(clearances ...float64) ([]bool, error) {
		rows, err := m.Sweep(ctx, SweepQuestion{Speed: 10, Pitch: pitch, Clearances: clearances})
		if err != nil {
			return nil, err
		}
		is := make([]bool, len(rows))
		for i, r := range rows {
			is[i] = r.HeightStabilityMargin.OK && r.HeightStabilityMargin.X > 0
		}
		return is, nil
	}
	if _, err := m.lattice.AtPitch(ctx, pitch); err != nil {
		return Crossing{}, err
	}
	ladder := make([]float64, crossingSteps)
	s := newLogScale(CloseGap*m.low.At(pitch).Chord, crossingTop)
	for i := range ladder {
		ladder[i] = s.from(2*float64(i)/(crossingSteps-1) - 1)
	}
	is, err := ahead(ladder...)
	if err != nil {
		return Crossing{}, err
	}
	for i := 1; i < len(is); i++ {
		if !is[i-1] || is[i] {
			continue
		}
		last, _, err := bisect.Edge(ladder[i-1], ladder[i], 1e-3, func(cl float64) (bool, error) {
			is, err := ahead(cl)
			if err != nil {
				return false, err
			}
			return !is[0], nil
		})
		if err != nil {
			return Crossing{}, err
		}
		return Crossing{Clearance: last, OK: true}, nil
	}
	return Crossing{Always: is[len(is)-1]}, nil
}
