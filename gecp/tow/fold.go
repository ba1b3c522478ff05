package tow

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/bisect"
)

// Fold is where, for one position of the pilot, a stable and an unstable height meet
// as the speed changes: beyond it the craft finds no height to hold and runs away.
type Fold struct {
	Speed     float64 // m/s; at it the craft still holds a height
	Clearance float64 // m
	Pilot     float64 // m aft of the datum
}

// Speeds is a range of speeds, m/s.
type Speeds struct{ From, To float64 }

// Folds finds folds of a craft for any position of the pilot over a range of speeds.
// It is safe for use by several goroutines.
type Folds struct {
	crests []crest // rising speeds, at most foldStep apart
}

// crest is where, at a speed, the stable heights of a craft end: the position
// furthest aft that the pilot can hold. It does not depend on where the pilot is.
type crest struct {
	tow   SteadyTow
	curve TrimCurve // empty where the craft cannot fly
	trim  Trim
	ok    bool
}

const foldStep = .25 // m/s

// NewFolds prepares the folds of a map's craft in air of a density, kg/m3 (0 is
// gecp.AirDensity), over a range of speeds. It returns an error if the speeds do not
// rise or are out of range, if the craft file lacks pilot, weights or tow, or if the
// context is cancelled.
func NewFolds(ctx context.Context, m *gecp.Map, density float64, s Speeds) (*Folds, error) {
	c := m.Model().Craft()
	if err := c.Require(gecp.BlockPilot); err != nil {
		return nil, err
	}
	if !(s.From <= s.To) {
		return nil, fmt.Errorf("the speeds run from %v to %v m/s; they must rise", s.From, s.To)
	}
	first, err := newSteadyTow(m, c, gecp.Freestream{Speed: s.From, Density: density})
	if err != nil {
		return nil, err
	}
	if _, err := first.At(s.To); err != nil {
		return nil, err
	}
	n := int(math.Ceil((s.To - s.From) / foldStep))
	f := &Folds{}
	for i := range n + 1 {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		k, err := first.crestAt(s.From + (s.To-s.From)*float64(i)/float64(max(n, 1)))
		if err != nil {
			return nil, err
		}
		f.crests = append(f.crests, k)
	}
	return f, nil
}

// crestAt returns the crest at a speed, not ok where the craft cannot fly there.
func (t SteadyTow) crestAt(speed float64) (crest, error) {
	v, err := t.At(speed)
	if err != nil {
		return crest{}, err
	}
	c := crest{tow: v}
	k, err := v.TrimCurve()
	if cannotFly(err) {
		return c, nil
	}
	if err != nil {
		return c, fmt.Errorf("at %.2f m/s: %w", speed, err)
	}
	c.curve = k
	aft := func(b Trim) bool { return b.RequiredCGSlope > 0 }
	for i := 0; i+1 < len(k.States); i++ {
		if aft(k.States[i]) && !aft(k.States[i+1]) {
			c.trim, _ = k.edge(i, aft)
			c.ok = true
			break
		}
	}
	return c, nil
}

// For returns the fold for a position of the pilot, m aft of the datum: where the
// crest, which moves forward as the speed rises, passes it. ok is false if that does
// not happen at these speeds.
func (f *Folds) For(pilotX float64) (fold Fold, ok bool, err error) {
	for i := 1; i < len(f.crests); i++ {
		a, b := f.crests[i-1], f.crests[i]
		if !a.ok || !b.ok || !(a.trim.Pilot.X > pilotX) || b.trim.Pilot.X > pilotX {
			continue
		}
		last := a
		_, _, err := bisect.Edge(a.speed(), b.speed(), foldSharp, func(v float64) (bool, error) {
			k, err := a.tow.crestAt(v)
			if err == nil && !k.ok {
				err = errNoCrest
			}
			if err != nil {
				return false, err
			}
			if k.trim.Pilot.X > pilotX {
				last = k
				return false, nil
			}
			return true, nil
		})
		if err != nil && !errors.Is(err, errNoCrest) {
			return Fold{}, false, err
		}
		return Fold{Speed: last.speed(), Clearance: last.trim.Clearance, Pilot: pilotX}, true, nil
	}
	return Fold{}, false, nil
}

// errNoCrest ends a search between two speeds that have a crest where the map has
// none: the fold is then known to the lower of the two.
var errNoCrest = errors.New("no crest")

// foldSharp is how closely the speed of a fold is found, m/s.
const foldSharp = 1e-4

func (c *crest) speed() float64 { return c.tow.stream.Speed }

// maxGain is the largest gain of speed that SpeedGain looks for, m/s.
const maxGain = 5

// SpeedGain returns by how much the boat may gain speed, m/s, slowly enough for the
// craft to follow, before a craft that holds the trim b with the pilot still finds no
// height to hold: 0 where b is not height-stable. ok is false if it holds a height up
// to a gain of 5 m/s, which is then returned. It returns an error if the context is
// cancelled or the calculation fails.
func (t SteadyTow) SpeedGain(ctx context.Context, b Trim) (gain float64, ok bool, err error) {
	if err := ctx.Err(); err != nil {
		return 0, false, err
	}
	if !b.HeightStable || !b.Pilot.OK {
		return 0, true, nil
	}
	lost := func(v float64) (bool, error) {
		if err := ctx.Err(); err != nil {
			return false, err
		}
		k, err := t.crestAt(v)
		if err != nil {
			return false, err
		}
		if k.ok {
			return k.trim.Pilot.X <= b.Pilot.X, nil
		}
		c, err := k.tow.TrimCurve()
		if cannotFly(err) {
			return true, nil
		}
		if err != nil {
			return false, err
		}
		held, err := c.Equilibria(b.Pilot.X)
		for _, e := range held {
			if e.HeightStable {
				return false, err
			}
		}
		return true, err
	}
	v0 := t.stream.Speed
	top := math.Min(v0+maxGain, gecp.MaxSpeed)
	for v := v0; v < top; v += foldStep {
		hi := math.Min(v+foldStep, top)
		is, err := lost(hi)
		if err != nil {
			return 0, false, err
		}
		if is {
			v, _, err = bisect.Edge(v, hi, foldSharp, lost)
			if err != nil {
				return 0, false, err
			}
			return v - v0, true, nil
		}
	}
	return top - v0, false, nil
}
