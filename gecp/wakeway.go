package gecp

import (
	"context"
	"fmt"

	"example.org/groundeffect/vlm"
)

// WakeWay is the way of the wakes that pass other wings.
type WakeWay int

const (
	// WakeFree wakes follow the flow, under the wings and over the water, past the aftmost
	// wing; see [vlm.FreeWake]. A craft with one wing has none.
	WakeFree WakeWay = iota
	// WakeStraight wakes run along the stream from the trailing edge. A map then takes less than
	// half of the time, but the height at which the craft no longer holds itself is found
	// too high by a few centimetres to decimetres: see the README.
	WakeStraight
)

// ParseWakeWay reads "straight" or "free"; anything else is an error.
func ParseWakeWay(s string) (WakeWay, error) {
	switch s {
	case "straight":
		return WakeStraight, nil
	case "free":
		return WakeFree, nil
	}
	return 0, fmt.Errorf("%q is no way that wakes take; give straight or free", s)
}

// WithWake returns the model with its wakes on a way; [NewModel] makes it with free ones.
func (m *Model) WithWake(w WakeWay) *Model {
	n := *m
	n.wake = w
	return &n
}

// Wake returns the way of the model's wakes: WakeStraight if none passes another wing.
func (m *Model) Wake() WakeWay {
	if len(m.craft.Wings) < 2 {
		return WakeStraight
	}
	return m.wake
}

// flow solves at a pitch of the lattice and a height of the datum, m. With free wakes the
// derivatives with height and pitch hold the wakes' way.
func (m *Model) flow(ctx context.Context, p *vlm.PitchedLattice, height float64) (*vlm.Solution, error) {
	if m.Wake() == WakeStraight {
		return p.Solve(ctx, height)
	}
	w, err := p.FreeWake(ctx, height)
	if err != nil {
		return nil, err
	}
	return p.SolveWith(ctx, height, w)
}

// The steps over which the change of the wakes' way with height and pitch is taken, in mean
// chords and rad.
const (
	wakeHeightStep = 1e-5
	wakePitchStep  = 1e-5
)

// totalFlow is flow with the derivatives of the total change, the wakes following.
func (m *Model) totalFlow(ctx context.Context, p *vlm.PitchedLattice, height float64) (*vlm.Solution, error) {
	if m.Wake() == WakeStraight {
		return p.Solve(ctx, height)
	}
	w, err := p.FreeWake(ctx, height)
	if err != nil {
		return nil, err
	}
	dh := wakeHeightStep * m.shape.MAC
	higher, err := p.FreeWake(ctx, height+dh)
	if err != nil {
		return nil, err
	}
	steeper, err := m.lattice.FreeWake(ctx, vlm.Attitude{Height: height, Pitch: p.Pitch() + wakePitchStep})
	if err != nil {
		return nil, err
	}
	change := func(to *vlm.FreeWake, step float64) *vlm.FreeWake {
		return vlm.CombineFreeWakes([]float64{-1 / step, 1 / step}, []*vlm.FreeWake{w, to})
	}
	return p.SolveFollowing(ctx, height, w, vlm.WakeMotion{ByHeight: change(higher, dh), ByPitch: change(steeper, wakePitchStep), Lag: m.wakeLag()})
}

// wakeLag is how far a wake is carried before a change of its way reaches the wing behind,
// m: from the trailing edge of the foremost wing's mean chord to a quarter of the aftmost
// wing's. A change of height or pitch acts through it by that many metres of way later,
// which to first order in the rates is a load against the rates.
func (m *Model) wakeLag() float64 {
	first, last := m.shape.Wings[0], m.shape.Wings[0]
	for _, w := range m.shape.Wings {
		if w.MACX+w.MAC < first.MACX+first.MAC {
			first = w
		}
		if w.MACX > last.MACX {
			last = w
		}
	}
	return max(0, last.MACX+last.MAC/4-first.MACX-first.MAC)
}
