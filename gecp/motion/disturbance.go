package motion

import (
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
)

// Disturbance is what upsets a flight. The zero value is still air, flat water and
// a steady boat.
type Disturbance struct {
	SpeedUp SpeedUp
	Gust    Gust
	Wave    Wave
}

// SpeedUp is a boat that changes its speed evenly.
type SpeedUp struct {
	Start float64 // s into the flight
	By    float64 // m/s; negative slows down
	Over  float64 // s, above 0 if By is not 0
}

// StandardSpeedUp returns the disturbance that reaction margins are measured with: the
// boat gains 1 m/s within 1 s. The choice is this project's own: a hand on the
// throttle at lift-off.
func StandardSpeedUp() Disturbance { return Disturbance{SpeedUp: SpeedUp{By: 1, Over: 1}} }

// Gust is a gust of the discrete shape of the airworthiness codes, one minus cosine:
// peak/2 (1 - cos(pi s/Gradient)) over the way s flown from its start, up to 2
// Gradient (14 CFR and CS 25.341(a), from memory; there Gradient runs from 30 to
// 350 ft). It meets the whole craft at once.
type Gust struct {
	Start    float64 // s into the flight
	Head     float64 // peak against the flight, m/s
	Up       float64 // peak upwards, m/s; next to the water there is little of it
	Gradient float64 // way from nothing to the peak, m, above 0 if there is a gust
}

// Wave is one crest of a long wave met head-on: flat water, and the air next to it,
// that moves up and down once as Height/2 (1 - cos). It comes at the boat's speed
// and its own, sqrt(g Length/2 pi) (Lamb, Hydrodynamics, art. 229: deep water).
type Wave struct {
	Start  float64 // s into the flight
	Height float64 // trough to crest, m
	Length float64 // crest to crest, m; at least waveLengths craft lengths
}

// waveLengths is how much longer than a craft a wave must be for the water under it
// to count as flat.
const waveLengths = 5

// The largest sizes taken: all of them far past what anybody should be towed in.
const (
	maxTime   = 3600 // s
	maxWind   = 50   // m/s
	maxWave   = 10   // m
	maxLength = 1e4  // m
)

func (d *Disturbance) check(craft *gecp.Craft) error {
	for _, v := range []struct {
		what, unit string
		size, most float64
	}{
		{"the boat changes its speed", "s after the start", d.SpeedUp.Start, maxTime},
		{"the boat changes its speed by", "m/s", d.SpeedUp.By, maxWind},
		{"the boat changes its speed over", "s", d.SpeedUp.Over, maxTime},
		{"the gust begins", "s after the start", d.Gust.Start, maxTime},
		{"the gust against the flight is", "m/s", d.Gust.Head, maxWind},
		{"the gust upwards is", "m/s", d.Gust.Up, maxWind},
		{"the gust grows over", "m", d.Gust.Gradient, maxLength},
		{"the wave begins", "s after the start", d.Wave.Start, maxTime},
		{"the height of the wave is", "m", d.Wave.Height, maxWave},
		{"the length of the wave is", "m", d.Wave.Length, maxLength},
	} {
		if !(math.Abs(v.size) <= v.most) {
			return fmt.Errorf("%s %v %s; give a size of at most %v", v.what, v.size, v.unit, v.most)
		}
	}
	if d.SpeedUp.By != 0 && !(d.SpeedUp.Over > 0) {
		return fmt.Errorf("the boat changes its speed by %v m/s within %v s; give a time above 0", d.SpeedUp.By, d.SpeedUp.Over)
	}
	if (d.Gust.Head != 0 || d.Gust.Up != 0) && !(d.Gust.Gradient > 0) {
		return fmt.Errorf("the gust grows over %v m; give a length above 0, 10 to 100 m are usual", d.Gust.Gradient)
	}
	if d.Wave.Height != 0 {
		lo, hi := math.Inf(1), math.Inf(-1)
		for i := range craft.Wings {
			for _, s := range craft.Wings[i].Sections() {
				lo, hi = math.Min(lo, s.LE.X), math.Max(hi, s.LE.X+s.Chord)
			}
		}
		if least := waveLengths * (hi - lo); !(d.Wave.Length >= least) {
			return fmt.Errorf("the wave is %v m long; under a craft of %.1f m the water counts as flat from %.0f m on", d.Wave.Length, hi-lo, least)
		}
	}
	return nil
}

// boat returns the boat's gain of speed, m/s, and its acceleration, m/s2.
func (s *SpeedUp) boat(t float64) (gain, accel float64) {
	switch {
	case s.By == 0 || t <= s.Start:
		return 0, 0
	case t >= s.Start+s.Over:
		return s.By, 0
	}
	return s.By * (t - s.Start) / s.Over, s.By / s.Over
}

// at returns the gust, m/s, for a craft that flies with a speed, m/s.
func (g *Gust) at(t, speed float64) (head, up float64) {
	if g.Gradient == 0 {
		return 0, 0
	}
	s := speed * (t - g.Start) / g.Gradient
	if !(s > 0 && s < 2) {
		return 0, 0
	}
	k := (1 - math.Cos(math.Pi*s)) / 2
	return k * g.Head, k * g.Up
}

// at returns the water's height, m, and upward speed, m/s.
func (w *Wave) at(t, speed float64) (height, climb float64) {
	if w.Height == 0 {
		return 0, 0
	}
	omega := 2 * math.Pi / w.Length * (speed + math.Sqrt(gecp.G*w.Length/(2*math.Pi)))
	phase := omega * (t - w.Start)
	if !(phase > 0 && phase < 2*math.Pi) {
		return 0, 0
	}
	sin, cos := math.Sincos(phase)
	return w.Height / 2 * (1 - cos), w.Height / 2 * omega * sin
}
