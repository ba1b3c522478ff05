package bank

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp"
)

// Settled is the steady state, to the first order, in which a craft follows the boat with all
// forces and moments sideways in balance: banked, its nose off its way, and off the boat's
// track.
type Settled struct {
	Bank      float64 // rad, starboard down
	Heading   float64 // rad, nose to starboard of the way
	Offset    float64 // m, of the centre of gravity to starboard of the boat's track
	LineAngle float64 // rad, of the line: the boat to starboard of the craft's tow point
	Shift     float64 // m, of the pilot's centre of gravity to starboard
}

// ErrNoSettled says that the balance sideways has no single solution.
var ErrNoSettled = errors.New("no bank, heading and place behind the boat balance the craft sideways")

// balance solves for the three unknown parts of a small state, and of the pilot's shift, in
// which what acts on the craft sums to -r.
func balance(r reaction, unknown [3]reaction) (x [3]float64, err error) {
	a, b := mat.NewDense(3, 3, nil), mat.NewVecDense(3, []float64{-r.side, -r.x, -r.z})
	for i, u := range unknown {
		a.Set(0, i, u.side)
		a.Set(1, i, u.x)
		a.Set(2, i, u.z)
	}
	var v mat.VecDense
	if err := v.SolveVec(a, b); err != nil {
		return x, ErrNoSettled
	}
	for i := range x {
		if x[i] = v.AtVec(i); math.IsNaN(x[i]) || math.IsInf(x[i], 0) {
			return x, ErrNoSettled
		}
	}
	return x, nil
}

// shifted is what a pilot a metre to starboard adds.
func (f *Flight) shifted() reaction {
	if f.craft.Pilot == nil {
		return reaction{}
	}
	return reaction{x: -f.craft.Pilot.Mass * gecp.G}
}

func (r reaction) times(k float64) reaction { return reaction{k * r.side, k * r.x, k * r.z} }

// Lean returns the state in which the craft settles, if it does, with the pilot's centre of
// gravity to starboard by a shift, m. Whether it does say the modes: all of them die away. It
// returns ErrNoSettled if there is no such state.
func (f *Flight) Lean(shift float64) (Settled, error) {
	x, err := balance(f.shifted().times(shift), [3]reaction{f.sideways(small{bank: 1}), f.sideways(small{heading: 1}), f.sideways(small{offset: 1})})
	if err != nil {
		return Settled{}, err
	}
	return f.settled(x[0], x[1], x[2], shift), nil
}

// Hold returns the state with a bank, rad, and the shift of the pilot that holds it once the
// craft has settled. It returns ErrNoSettled if there is no such state, as without a pilot.
func (f *Flight) Hold(bank float64) (Settled, error) {
	x, err := balance(f.sideways(small{bank: bank}), [3]reaction{f.sideways(small{heading: 1}), f.sideways(small{offset: 1}), f.shifted()})
	if err != nil {
		return Settled{}, err
	}
	return f.settled(bank, x[0], x[1], x[2]), nil
}

// settled describes a state; the bank is about the level axis, as in linear.go.
func (f *Flight) settled(bank, heading, offset, shift float64) Settled {
	sp, cp := math.Sincos(f.Level.Pitch)
	by, _ := f.towPoint().moved(small{bank: bank, heading: heading, offset: offset})
	return Settled{Bank: bank / cp, Heading: heading + bank*sp/cp, Offset: offset, LineAngle: -by / f.span, Shift: shift}
}
