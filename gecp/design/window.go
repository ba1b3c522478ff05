package design

import (
	"context"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// Where findWindow looks for folds: from the last speed of this ladder at or below the
// lift-off on, some of its steps at a time. The ladder is the one that tow.FindWindow
// looks at, so that the folds are the same.
const (
	windowLadder = .25 // m/s
	windowPart   = 2.  // m/s, a whole number of steps
)

// findWindow is tow.FindWindow of one position in some sixth of its time: it looks for
// the fold from the lift-off up and stops at the first one. Where the craft does not lift off
// and hold a height there is no window, and the fold is not looked for. It differs from
// tow.FindWindow only for a craft that loses its height at a speed below its lift-off, and finds one
// again.
func findWindow(ctx context.Context, m *gecp.Map, density, pilotX float64) (tow.Window, error) {
	l, err := tow.FindLiftOff(ctx, m, density, pilotX)
	if err != nil {
		return tow.Window{}, err
	}
	w := tow.Window{LiftOff: l}
	if !l.OK {
		return w, nil
	}
	w.From, w.To = l.Speed, l.Speed
	if !l.Holds {
		return w, nil
	}
	for from := max(1, math.Floor(l.Speed/windowLadder)*windowLadder); from < tow.MaxLiftOff; from += windowPart {
		to := math.Min(from+windowPart, tow.MaxLiftOff)
		folds, err := tow.NewFolds(ctx, m, density, tow.Speeds{From: from, To: to})
		if err != nil {
			return tow.Window{}, err
		}
		fold, ok, err := folds.For(pilotX)
		if err != nil {
			return tow.Window{}, err
		}
		if ok {
			w.Fold, w.Folds, w.To = fold, true, fold.Speed
			w.OK = w.From < w.To
			return w, nil
		}
	}
	return tow.FindWindow(ctx, m, density, pilotX) // no fold from there on: one further down may end it all
}
