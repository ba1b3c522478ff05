package gecp

import (
	"context"
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

// WakeWay is the way of the wakes that pass other wings.
type WakeWay int

const (
	// WakeStraight wakes run along the stream from the trailing edge.
	WakeStraight WakeWay = iota
	// WakeFree wakes follow the flow, under the wings and over the water, past the aftmost
	// wing; see [vlm.FreeWake]. A craft with one wing has none. A row of a sweep then takes
	// some 20 times as long, a map some 5 to 20 times.
	WakeFree
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

// WithWake returns the model with its wakes on a way; [NewModel] makes it with straight
// wakes. It returns an error if the mesh makes no lattice.
func (m *Model) WithWake(w WakeWay) (*Model, error) {
	n := *m
	n.wake = w
	if n.Wake() == WakeStraight {
		return &n, nil
	}
	surfaces := m.craft.Surfaces(m.mesh)
	for i := range surfaces {
		for j := range surfaces[i].Stations {
			surfaces[i].Stations[j].Thickness = 0
		}
	}
	var err error
	n.thin, err = vlm.New(surfaces, vlm.Options{})
	return &n, err
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
	s, _, err := m.flowAndWake(ctx, p, height)
	return s, err
}

func (m *Model) flowAndWake(ctx context.Context, p *vlm.PitchedLattice, height float64) (*vlm.Solution, *vlm.FreeWake, error) {
	if m.Wake() == WakeStraight {
		s, err := p.Solve(ctx, height)
		return s, nil, err
	}
	w, err := p.FreeWake(ctx, height)
	if err != nil {
		return nil, nil, err
	}
	s, err := p.SolveWith(ctx, height, w)
	return s, w, err
}

// wakeLoads returns what the wakes' own way adds to the loads at a pitch, rad, as a function
// of the clearance, m. Each way is begun with the last one asked for. Both loads are those
// of thin wings: the thickness changes the difference of the two by a few hundredths of it.
func (m *Model) wakeLoads(ctx context.Context, pitch float64) (func(clearance float64) (LoadsPerQ, error), error) {
	p, err := m.thin.AtPitch(ctx, pitch)
	if err != nil {
		return nil, err
	}
	var last *vlm.FreeWake
	return func(clearance float64) (LoadsPerQ, error) {
		height := m.low.HeightFor(clearance, pitch)
		a, err := p.Solve(ctx, height)
		if err != nil {
			return LoadsPerQ{}, err
		}
		var w *vlm.FreeWake
		if last == nil {
			w, err = p.FreeWake(ctx, height)
		} else {
			w, err = p.FreeWakeFrom(ctx, height, last)
		}
		if err != nil {
			return LoadsPerQ{}, err
		}
		last = w
		b, err := p.SolveWith(ctx, height, w)
		if err != nil {
			return LoadsPerQ{}, err
		}
		return loadsPerQ(b.Total).minus(loadsPerQ(a.Total)), nil
	}, nil
}

func (l LoadsPerQ) minus(o LoadsPerQ) LoadsPerQ {
	return LoadsPerQ{l.Lift - o.Lift, l.Drag - o.Drag, l.Moment - o.Moment}
}

// The steps, m and rad, over which the change of the wakes' way with height and pitch is
// taken: the way is known to a millimetre.
const (
	wakeHeightStep = .02
	wakePitchStep  = .005
)

// totalFlow is flow with the derivatives of the total change, the wakes following.
func (m *Model) totalFlow(ctx context.Context, p *vlm.PitchedLattice, height float64) (*vlm.Solution, error) {
	s, w, err := m.flowAndWake(ctx, p, height)
	if err != nil || w == nil {
		return s, err
	}
	// How the loads here change with the way that the wakes take at an attitude nearby.
	along := func(pitch [2]float64, height2 [2]float64, step float64) (vlm.Load, error) {
		var l [2]vlm.Load
		for i := range l {
			q := p
			if pitch[i] != p.Pitch() {
				var err error
				if q, err = m.lattice.AtPitch(ctx, pitch[i]); err != nil {
					return vlm.Load{}, err
				}
			}
			v, err := q.FreeWakeFrom(ctx, height2[i], w)
			if err != nil {
				return vlm.Load{}, err
			}
			t, err := p.SolveWith(ctx, height, v)
			if err != nil {
				return vlm.Load{}, err
			}
			l[i] = t.Total
		}
		return vlm.Load{
			Force:  r3.Scale(1/step, r3.Sub(l[1].Force, l[0].Force)),
			Moment: r3.Scale(1/step, r3.Sub(l[1].Moment, l[0].Moment)),
		}, nil
	}
	pitch := p.Pitch()
	// Downwards no further than half the clearance.
	dh := min(wakeHeightStep, m.low.ClearanceFor(height, pitch)/2)
	byHeight, err := along([2]float64{pitch, pitch}, [2]float64{height - dh, height + dh}, 2*dh)
	if err != nil {
		return nil, err
	}
	// The clearance is held while the pitch changes, so that nothing dips into the water.
	at := func(d float64) float64 { return m.low.HeightFor(m.low.ClearanceFor(height, pitch), pitch+d) }
	const dp = wakePitchStep
	atClearance, err := along([2]float64{pitch - dp, pitch + dp}, [2]float64{at(-dp), at(dp)}, 2*dp)
	if err != nil {
		return nil, err
	}
	sink := (at(dp) - at(-dp)) / (2 * dp)
	d := &s.Derivatives
	add := func(to *vlm.Load, f float64, l vlm.Load) {
		to.Force = r3.Add(to.Force, r3.Scale(f, l.Force))
		to.Moment = r3.Add(to.Moment, r3.Scale(f, l.Moment))
	}
	add(&d.Height, 1, byHeight)
	add(&d.Pitch, 1, atClearance)
	add(&d.Pitch, -sink, byHeight)
	return s, nil
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
