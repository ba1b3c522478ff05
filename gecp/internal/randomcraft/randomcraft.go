// Package randomcraft draws craft for tests: ten of them, always the same.
package randomcraft

import (
	"math/rand/v2"
	"slices"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
)

// The draws of craft that have a speed window of more than half a metre a second: of some hundred of
// tandem one has.
var soundTandems, soundNearTeal = [...]uint64{576, 1090, 1590, 1689, 1967}, [...]uint64{0, 1, 2, 4, 5}

// Sound returns ten craft that have a speed window, of both kinds in turn.
func Sound() []*gecp.Craft {
	var all []*gecp.Craft
	for i := range soundTandems {
		all = append(all, tandem(soundTandems[i]), nearTeal(soundNearTeal[i]))
	}
	return all
}

// tandem is a craft of two wings that an amateur might draw.
func tandem(draw uint64) *gecp.Craft {
	rng := rand.New(rand.NewPCG(13, draw))
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	c := gecp.Demo()
	for i := range c.Wings {
		w := &c.Wings[i]
		w.IncidenceDeg = []float64{u(5, 8), u(4, 7)}[i]
		w.Stations = []gecp.Station{{Chord: u(1.5, 2)}, {Y: u(2.4, 3.1), Chord: u(1.2, 1.8), LEX: u(0, .3), LEZ: u(0, .1), TwistDeg: u(-2, 0)}}
		w.Camber = gecp.Camber{Height: u(.01, .03), At: u(.4, .5)}
	}
	c.Wings[1].X, c.Wings[1].Z = u(3.6, 4.5), u(.45, .75)
	for j := range c.Weights {
		c.Weights[j].Mass *= u(.9, 1.2)
	}
	c.Floats[1].X = c.Wings[1].X + .8
	return c
}

// nearTeal is a craft like Teal, a tandem with a wide window.
func nearTeal(draw uint64) *gecp.Craft {
	rng := rand.New(rand.NewPCG(17, draw))
	by := func(most float64) float64 { return most * (2*rng.Float64() - 1) }
	all := crafts.All()
	c := all[slices.IndexFunc(all, func(r crafts.Ready) bool { return r.Key == "teal-tandem" })].Craft
	for i := range c.Wings {
		w := &c.Wings[i]
		w.IncidenceDeg += by(.4)
		w.X, w.Z = w.X+by(.05), w.Z+by(.03)
		w.Camber.Height *= 1 + by(.2)
		w.Thickness += by(.01)
		for j := range w.Stations {
			w.Stations[j].Chord *= 1 + by(.04)
			w.Stations[j].Y *= 1 + by(.04)
		}
	}
	for j := range c.Weights {
		c.Weights[j].Mass *= 1 + by(.05)
	}
	return c
}
