package tow

import (
	"context"
	"fmt"
	"math"
	"slices"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/bisect"
	"example.org/groundeffect/gecp/internal/parallel"
	"example.org/groundeffect/gecp/units"
)

// Window is the speeds between which a craft flies with its pilot in one position and
// holds a height by itself: from lift-off to the fold, or to where the height that it
// finds is no longer stable.
type Window struct {
	LiftOff LiftOff
	// Fold bounds the window where Folds is true, unless it is Unstable from a lower speed
	// on; where both are false, the craft holds a height up to the highest speed looked at, To.
	Fold     Fold
	Folds    bool
	Unstable bool // above To it finds a height, but does not hold it by itself
	// OK tells whether there is a window: the craft lifts off and then holds a height.
	OK       bool
	From, To float64 // m/s
}

// windowSpeeds are those over which folds are looked for, m/s: the same for every
// position, so that the answer does not depend on who asks.
func windowSpeeds() Speeds { return Speeds{1, MaxLiftOff} }

// FindWindow returns the speed window for a position of the pilot, m aft of the datum,
// in air of a density, kg/m3 (0 is gecp.AirDensity). The errors are those of
// FindLiftOff and NewFolds.
func FindWindow(ctx context.Context, m *gecp.Map, density, pilotX float64) (Window, error) {
	w, err := FindWindows(ctx, m, density, pilotX)
	if err != nil {
		return Window{}, err
	}
	return w[0], nil
}

// FindWindows returns the speed windows of several positions of the pilot, in their
// order, for little more than that of one.
func FindWindows(ctx context.Context, m *gecp.Map, density float64, pilotX ...float64) ([]Window, error) {
	f, err := NewFolds(ctx, m, density, windowSpeeds())
	if err != nil {
		return nil, err
	}
	w := make([]Window, len(pilotX))
	err = parallel.Each(ctx, len(w), func(i int) error {
		l, err := FindLiftOff(ctx, m, density, pilotX[i])
		if err != nil {
			return err
		}
		w[i], err = f.window(l)
		return err
	})
	if err != nil {
		return nil, err
	}
	return w, nil
}

// firstWindowPart is the part of the speeds in which FindFirstWindow looks for a fold at a
// time, m/s: a whole number of foldStep.
const firstWindowPart = 8 * foldStep

// FindFirstWindow is FindWindow in some sixth of its time: it looks for the fold from the
// lift-off up and stops at the first one. Where the craft does not lift off and hold a
// height there is no window, and no fold is looked for. It differs from FindWindow only for
// a craft that loses its height at a speed below its lift-off and finds one again.
func FindFirstWindow(ctx context.Context, m *gecp.Map, density, pilotX float64) (Window, error) {
	l, err := FindLiftOff(ctx, m, density, pilotX)
	if err != nil {
		return Window{}, err
	}
	switch {
	case !l.OK:
		return Window{LiftOff: l}, nil
	case !l.Holds:
		return Window{LiftOff: l, From: l.Speed, To: l.Speed}, nil
	}
	// The speeds are those that FindWindow looks at, so that the folds are the same.
	all := windowSpeeds()
	for from := max(all.From, math.Floor(l.Speed/foldStep)*foldStep); from < all.To; from += firstWindowPart {
		f, err := NewFolds(ctx, m, density, Speeds{from, min(from+firstWindowPart, all.To)})
		if err != nil {
			return Window{}, err
		}
		w, err := f.window(l)
		if err != nil {
			return Window{}, err
		}
		if w.Folds || w.Unstable {
			return w, nil
		}
	}
	return FindWindow(ctx, m, density, pilotX) // no fold from there on: one further down may end it all
}

// window returns the speed window that begins with a lift-off.
func (f *Folds) window(l LiftOff) (w Window, err error) {
	w.LiftOff = l
	if !l.OK {
		return w, nil
	}
	if w.Fold, w.Folds, err = f.For(l.Pilot); err != nil {
		return w, err
	}
	w.From, w.To = l.Speed, f.crests[len(f.crests)-1].speed()
	if w.Folds {
		w.To = w.Fold.Speed
	}
	w.OK = l.Holds && w.From < w.To
	if !w.OK {
		return w, nil
	}
	last := w.From
	for _, c := range f.crests {
		if c.speed() <= w.From || c.speed() >= w.To {
			continue
		}
		holds, err := c.curve.holds(l.Pilot)
		if err != nil {
			return w, err
		}
		if !holds {
			w.Unstable = true
			w.To, _, err = bisect.Edge(last, c.speed(), foldSharp, func(v float64) (bool, error) {
				k, err := c.tow.crestAt(v)
				if err != nil {
					return false, err
				}
				holds, err := k.curve.holds(l.Pilot)
				return !holds, err
			})
			return w, err
		}
		last = c.speed()
	}
	return w, nil
}

// holds reports whether there is a height that the craft holds by itself with the pilot in a
// position, m aft of the datum.
func (c TrimCurve) holds(pilotX float64) (bool, error) {
	e, err := c.Equilibria(pilotX)
	if err != nil {
		return false, err
	}
	return slices.ContainsFunc(e, func(b Trim) bool { return b.HeightStable }), nil
}

// Width returns the width of the window, m/s, 0 where there is none.
func (w Window) Width() float64 {
	if !w.OK {
		return 0
	}
	return w.To - w.From
}

// String says the window in metric units.
func (w Window) String() string { return w.Words(units.Metric) }

// Words says the window: from a speed rounded up to one rounded down.
func (w Window) Words(u units.System) string {
	v := u.FineSpeed()
	shown := v.Rounded(w.To, units.Down) - v.Rounded(w.From, units.Up) // so that it fits the two
	switch {
	case w.LiftOff.OK && w.Folds && w.To > w.From && (!w.OK || shown <= 0):
		return fmt.Sprintf("with the pilot at %s it lifts off at %s and holds no height from %s on: a speed window too narrow to tow in",
			u.Position().Words(w.LiftOff.Pilot, units.Nearest), u.FlyAbove(w.From), v.Words(w.To, units.Up))
	case !w.OK && w.LiftOff.OK && w.Folds:
		return fmt.Sprintf("%s; it would have to be slower than %s to hold a height: there is no speed window", w.LiftOff.Words(u), u.StayBelow(w.To))
	case !w.OK:
		return w.LiftOff.Words(u)
	case !w.Folds && !w.Unstable:
		return fmt.Sprintf("with the pilot at %s it flies from %s on and holds a height up to %s at least",
			u.Position().Words(w.LiftOff.Pilot, units.Nearest), u.FlyAbove(w.From), u.StayBelow(w.To))
	}
	return fmt.Sprintf("with the pilot at %s it flies from %s to %s; a window of %s",
		u.Position().Words(w.LiftOff.Pilot, units.Nearest), u.FlyAbove(w.From), u.StayBelow(w.To), v.Words(shown, units.Nearest))
}
