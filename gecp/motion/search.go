package motion

import (
	"math"

	"example.org/groundeffect/gecp/internal/bisect"
)

// Delays are looked at every coarseDelay, s, and every fineDelay behind the last that
// saves: a margin ends at the first delay that fails, whether or not a longer one saves
// again.
const (
	coarseDelay = .05
	fineDelay   = .01
)

// lastBeforeFailure returns the last delay before the first that fails, s, of those looked
// at up to MaxDelay, 0 being known to save; beyond is true if none fails.
func lastBeforeFailure(saves func(delay float64) (bool, error)) (delay float64, beyond bool, err error) {
	// Delays as whole steps, so that their sums have no rounding.
	most := int(math.Round(MaxDelay / fineDelay))
	stride := int(math.Round(coarseDelay / fineDelay))
	for last := 0; last != most; {
		next := min(last+stride, most)
		ok, err := saves(float64(next) * fineDelay)
		if err != nil {
			return 0, false, err
		}
		if ok {
			last = next
			continue
		}
		for n := last + 1; n != next; n++ {
			ok, err := saves(float64(n) * fineDelay)
			if err != nil {
				return 0, false, err
			}
			if !ok {
				break
			}
			last = n
		}
		return float64(last) * fineDelay, false, nil
	}
	return MaxDelay, true, nil
}

// delaysUpTo returns a delay, s, and all shorter ones at steps of coarseDelay, the longest
// first, which is the first to fail.
func delaysUpTo(delay float64) []float64 {
	out := []float64{delay}
	for i := int(math.Ceil(delay/coarseDelay-1e-9)) - 1; i >= 0; i-- {
		out = append(out, float64(i)*coarseDelay)
	}
	return out
}

// leastThatSaves looks for the least value that saves, from a craft's own down, or up to
// the most where its own does not save; found to 0.01.
func leastThatSaves(own, most float64, saves func(v float64) (bool, error)) (Least, error) {
	const step = .8
	v := own
	for {
		ok, err := saves(v)
		if err != nil {
			return Least{}, err
		}
		if ok {
			break
		}
		if v /= step; v > most {
			return Least{Looked: true}, nil
		}
	}
	for v > fineDelay {
		ok, err := saves(v * step)
		if err != nil {
			return Least{}, err
		}
		if !ok {
			_, v, err = bisect.Edge(v*step, v, .01, saves)
			return Least{Looked: true, Value: v, OK: true}, err
		}
		v *= step
	}
	return Least{Looked: true, Value: v, OK: true}, nil
}
