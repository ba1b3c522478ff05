package motion

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// Published delays of a person in a compensatory control task, s, by what the
// control sets: its position, rate or acceleration (McRuer, Graham, Krendel and
// Reisener, AFFDL-TR-65-15, 1965; from memory). Shifting one's weight sets the
// acceleration of the pitch.
const (
	DelayPosition     = .33
	DelayRate         = .36
	DelayAcceleration = tow.SlowestReaction
)

// HumanDivergence is the fastest divergence that a person can hold in a laboratory,
// 1/s (Jex, McDonnell and Phatak, NASA CR-616, 1966: about 5 to 6; from memory).
const HumanDivergence = 5.5

// Controller decides where the pilot makes for.
type Controller interface {
	// Position returns the position wanted now, m aft of the datum.
	Position(f *Flight) float64
}

// FixedPilot is a pilot who stays where they began.
type FixedPilot struct{}

// Position returns the position that the flight began with.
func (FixedPilot) Position(f *Flight) float64 { return f.start.Pilot.X }

// Schedule is a pilot who follows a list of times (rising) and positions, straight
// between them, and stays at the ends of it. An empty one is a FixedPilot.
type Schedule []struct {
	Time     float64 // s into the flight
	Position float64 // m aft of the datum
}

// Position returns the recorded position of the moment.
func (r Schedule) Position(f *Flight) float64 {
	if len(r) == 0 {
		return FixedPilot{}.Position(f)
	}
	for i, b := range r {
		if f.t >= b.Time {
			continue
		}
		if i == 0 {
			return b.Position
		}
		a := r[i-1]
		return a.Position + (b.Position-a.Position)*(f.t-a.Time)/(b.Time-a.Time)
	}
	return r[len(r)-1].Position
}

// Observation is what a pilot goes by: the state of the centre of gravity without the
// kick of their own shift, which they expect.
type Observation struct {
	Time      float64 // s
	Height    float64 // m
	ClimbRate float64 // m/s
	Pitch     float64 // rad
	PitchRate float64 // rad/s
	Boat      float64 // the boat's speed, m/s
}

// MaxDelay is the longest delay that a flight remembers its states for, s, if it
// is stepped by no less than 4 ms.
const MaxDelay = 2

const seenRing = 512

func (f *Flight) observe() Observation {
	gain, _ := f.dist.SpeedUp.boat(f.t)
	return Observation{f.t, f.y[0], f.y[1], f.y[2], f.y[3], f.speed + gain}
}

// StateBefore returns the state a delay, s, ago, straight between the pieces flown;
// before the start it is the start.
func (f *Flight) StateBefore(delay float64) Observation {
	t := f.t - delay
	b := f.seen[f.newest]
	if !(t < b.Time) {
		return b
	}
	for i := 1; i < min(f.sights, seenRing); i++ {
		a := f.seen[(f.newest-i+seenRing)%seenRing]
		if a.Time <= t {
			k := (t - a.Time) / (b.Time - a.Time)
			mix := func(a, b float64) float64 { return a + k*(b-a) }
			return Observation{t, mix(a.Height, b.Height), mix(a.ClimbRate, b.ClimbRate), mix(a.Pitch, b.Pitch), mix(a.PitchRate, b.PitchRate), mix(a.Boat, b.Boat)}
		}
		b = a
	}
	return b // the start, or as far back as is remembered
}

// PilotLaw is a pilot who moves in proportion to what was off a delay ago in height,
// pitch and their rates. One who also knows where to sit at each speed of the boat
// to hold the clearance, and sees that speed, measures from there; one with
// SeesMotionOnly measures from where they sat at the start.
type PilotLaw struct {
	SeesMotionOnly                             bool
	Delay                                      float64 // s
	Speed                                      float64 // of the steady state, m/s
	PilotX, Height, Pitch                      float64 // there: the pilot's position, m aft; m (centre of gravity); rad
	PilotXBySpeed, HeightBySpeed, PitchBySpeed float64 // their change with speed at the same clearance
	ByHeight                                   float64 // m aft per m
	ByClimbRate                                float64 // m aft per m/s
	ByPitch                                    float64 // m aft per rad
	ByPitchRate                                float64 // m aft per rad/s
}

// Position returns the position wanted.
func (l PilotLaw) Position(f *Flight) float64 {
	s := f.StateBefore(l.Delay)
	du := s.Boat - l.Speed
	if l.SeesMotionOnly {
		du = 0
	}
	return l.PilotX + l.PilotXBySpeed*du +
		l.ByHeight*(s.Height-l.Height-l.HeightBySpeed*du) + l.ByClimbRate*s.ClimbRate +
		l.ByPitch*(s.Pitch-l.Pitch-l.PitchBySpeed*du) + l.ByPitchRate*s.PitchRate
}

// What a PilotLaw weighs against each other: an error of LawHeight m or of LawPitch
// rad is as bad as half the pilot's travel used (Bryson and Ho, Applied Optimal
// Control, 1975, ch. 5: each weight is one over the square of the largest value
// wanted). The sizes are this project's choice: a soft hand, which a delay harms least.
const (
	LawHeight = .6
	LawPitch  = 10 * math.Pi / 180
)

// by returns the law with its answers to errors so many times as strong.
func (l PilotLaw) by(strength float64) PilotLaw {
	l.ByHeight *= strength
	l.ByClimbRate *= strength
	l.ByPitch *= strength
	l.ByPitchRate *= strength
	return l
}

// DesignPilotLaw designs the law for the steady state at a clearance, m: the linear-quadratic
// regulator of its heave and pitch with the pilot's position as the control, weighed by
// LawHeight, LawPitch and half the travel, without delay, which is left at 0. Such a
// regulator keeps 60 degrees of phase in hand (Anderson and Moore, Optimal Control,
// 1990, ch. 5), so that its margin speaks of the craft more than of the gains. It
// is an error if there is no steady state there, or neither a little faster nor a little
// slower, or if the pilot cannot move.
func DesignPilotLaw(t tow.SteadyTow, clearance float64) (PilotLaw, error) {
	c := t.Craft()
	if err := c.Require(gecp.BlockPilot); err != nil {
		return PilotLaw{}, err
	}
	speed := t.Freestream().Speed
	travel := c.Pilot.XAft - c.Pilot.XForward
	if !(travel > 0) {
		return PilotLaw{}, fmt.Errorf("the pilot has no travel: x_forward_m and x_aft_m are both %v", c.Pilot.XAft)
	}
	b, err := t.Trim(clearance)
	if err != nil {
		return PilotLaw{}, err
	}
	f := undisturbed(t, b)
	f.elastic = false
	l := PilotLaw{Speed: speed, PilotX: b.Pilot.X, Height: f.y[0], Pitch: b.Pitch}

	const dv = .25 // m/s
	var side [2]tow.Trim
	var sideHeight [2]float64
	from, to := speed-dv, speed+dv
	for i, v := range []*float64{&from, &to} {
		n, err := t.At(*v)
		if err != nil {
			return PilotLaw{}, err
		}
		if side[i], err = n.Trim(clearance); err != nil {
			// At the end of the speeds at which it flies: from there to the speed itself.
			if i == 1 && from == speed {
				return PilotLaw{}, fmt.Errorf("at %.2f m/s: %w", *v, err)
			}
			n, *v, side[i] = t, speed, b
		}
		sideHeight[i] = undisturbed(n, side[i]).y[0]
	}
	l.PilotXBySpeed = (side[1].Pilot.X - side[0].Pilot.X) / (to - from)
	l.PitchBySpeed = (side[1].Pitch - side[0].Pitch) / (to - from)
	l.HeightBySpeed = (sideHeight[1] - sideHeight[0]) / (to - from)

	const n = 4
	a := f.linear().matrix()
	position := mat.NewVecDense(n, nil)
	const dp = 1e-4 // m
	var up, dn state
	f.position = b.Pilot.X + dp
	f.rates(0, &f.y, &up)
	f.position = b.Pilot.X - dp
	f.rates(0, &f.y, &dn)
	for i := range n {
		position.SetVec(i, (up[i]-dn[i])/(2*dp))
	}
	q := mat.NewDiagDense(n, []float64{1 / (LawHeight * LawHeight), 0, 1 / (LawPitch * LawPitch), 0})
	k, err := regulator(a, position, q, 4/(travel*travel))
	if err != nil {
		return PilotLaw{}, fmt.Errorf("no law could be found at a clearance of %.2f m and %.1f m/s: %w", clearance, speed, err)
	}
	l.ByHeight, l.ByClimbRate, l.ByPitch, l.ByPitchRate = -k[0], -k[1], -k[2], -k[3]
	return l, nil
}

// regulator returns the gains k of u = -k x that make the integral of x'qx + r u^2
// least for x' = a x + b u, from the stable half of the Hamiltonian matrix, found
// by its sign (Roberts, Int. J. Control 32, 1980; scaled as by Byers, Lin. Alg.
// Appl. 85, 1987). It returns an error if the control cannot steady the motion.
func regulator(a mat.Matrix, b mat.Vector, q mat.Matrix, r float64) ([]float64, error) {
	n := b.Len()
	h := mat.NewDense(2*n, 2*n, nil)
	h.Slice(0, n, 0, n).(*mat.Dense).Copy(a)
	h.Slice(0, n, n, 2*n).(*mat.Dense).Outer(-1/r, b, b)
	h.Slice(n, 2*n, 0, n).(*mat.Dense).Scale(-1, q)
	h.Slice(n, 2*n, n, 2*n).(*mat.Dense).Scale(-1, a.T())
	var inv, next mat.Dense
	for range 100 {
		if err := inv.Inverse(h); err != nil {
			return nil, fmt.Errorf("the motion cannot be steadied by the pilot's position: %w", err)
		}
		logDet, _ := mat.LogDet(h)
		c := math.Exp(-logDet / float64(2*n))
		next.Scale(c/2, h)
		inv.Scale(1/(2*c), &inv)
		next.Add(&next, &inv)
		inv.Sub(&next, h)
		h.Copy(&next)
		if mat.Norm(&inv, 1) < 1e-12*mat.Norm(h, 1) {
			break
		}
	}
	// [s12; s22+1] x = -[s11+1; s21]
	lhs, rhs := mat.NewDense(2*n, n, nil), mat.NewDense(2*n, n, nil)
	lhs.Copy(h.Slice(0, 2*n, n, 2*n))
	rhs.Copy(h.Slice(0, 2*n, 0, n))
	for i := range n {
		lhs.Set(n+i, i, lhs.At(n+i, i)+1)
		rhs.Set(i, i, rhs.At(i, i)+1)
	}
	rhs.Scale(-1, rhs)
	var x mat.Dense
	if err := x.Solve(lhs, rhs); err != nil {
		return nil, fmt.Errorf("the motion cannot be steadied by the pilot's position: %w", err)
	}
	k := make([]float64, n)
	for j := range n {
		for i := range n {
			k[j] += b.AtVec(i) * x.At(i, j) / r
		}
	}
	return k, nil
}
