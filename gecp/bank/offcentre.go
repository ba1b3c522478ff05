package bank

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// OffCentre is what a tow line does that runs to one side: the boat ahead and to starboard
// of the craft, which still flies along its own way. To the first order in the angle.
type OffCentre struct {
	Angle      float64 // rad, of the line to starboard
	SideForce  float64 // at the tow point, to starboard, N
	RollMoment float64 // about the level axis through the centre of gravity, Nm, positive where it raises starboard
	YawMoment  float64 // about the upright axis there, Nm, nose to starboard positive
	// Bank and Heading, rad, are where roll and yaw then balance with the pilot still: the
	// craft banks and turns, and NetForce is the force to starboard, N, that is left and takes
	// it along. OK is false if they balance nowhere.
	Bank, Heading, NetForce float64
	OK                      bool
}

// Follows reports whether the force that is left takes the craft to the boat's side.
func (o OffCentre) Follows() bool { return o.OK && o.NetForce*o.Angle > 0 }

// LineOffCentre returns what a line at an angle to starboard, rad, does.
func (f *Flight) LineOffCentre(angle float64) OffCentre {
	o := OffCentre{Angle: angle, SideForce: f.pull * angle}
	t := f.towPoint()
	var pull reaction
	pull.add(t, 0, 0, o.SideForce, 0)
	o.RollMoment, o.YawMoment = pull.x, -pull.z
	b, h := f.sideways(small{bank: 1}), f.sideways(small{heading: 1})
	var x mat.VecDense
	if err := x.SolveVec(mat.NewDense(2, 2, []float64{b.x, h.x, b.z, h.z}), mat.NewVecDense(2, []float64{-pull.x, -pull.z})); err != nil {
		return o
	}
	bank, heading := x.AtVec(0), x.AtVec(1)
	net := o.SideForce + b.side*bank + h.side*heading
	if math.IsNaN(net) || math.IsInf(net, 0) {
		return o
	}
	sp, cp := math.Sincos(f.Level.Pitch)
	o.Bank, o.Heading, o.NetForce, o.OK = bank/cp, heading+bank*sp/cp, net, true
	return o
}
