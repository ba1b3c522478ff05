package motion

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp"
)

// LateralDerivatives are the changes of a force, N, or of a moment, Nm, with a craft's
// sideways motion about its steady state, each with the others held.
type LateralDerivatives struct {
	Bank     float64 // per rad, starboard down, about the level axis along the way
	RollRate float64 // per rad/s of it
	Heading  float64 // per rad of the nose to starboard, about the upright axis
	YawRate  float64 // per rad/s of it
	Offset   float64 // per m of the centre of gravity to starboard
	Drift    float64 // per m/s of it
}

// LateralModel is the sideways motion of a craft close to a steady state:
//
//	| Roll   Cross |  d  | roll rate |     | StarboardDown |            d
//	| Cross  Yaw   | -- | yaw rate  |  =  | NoseStarboard |,   Mass -- drift = Side
//	                 dt                                              dt
//
// All is for the centre of gravity and axes that stay with the water, x along the way of the
// boat: drift is the speed across that way, and the air then meets the craft with a slip of
// drift/speed - heading. Any set of derivatives may be put in, those of an aeroplane too.
type LateralModel struct {
	Speed            float64 // along the way, m/s
	Mass             float64 // kg
	Roll, Yaw, Cross float64 // kg m2; Cross as in LateralInertia
	// Side is the force to starboard, StarboardDown the moment that lowers the starboard
	// side, NoseStarboard the one that turns the nose to starboard.
	Side, StarboardDown, NoseStarboard LateralDerivatives
}

// lateral states, in the order of the matrix.
const (
	bankState = iota
	rollRateState
	headingState
	yawRateState
	offsetState
	driftState
	lateralStates
)

func (d LateralDerivatives) row() [lateralStates]float64 {
	return [lateralStates]float64{d.Bank, d.RollRate, d.Heading, d.YawRate, d.Offset, d.Drift}
}

// LateralKind names a lateral mode as the field does.
type LateralKind int

// The kinds of lateral mode.
const (
	RollSubsidence  LateralKind = iota // the fastest without swinging: rolling, which is damped or runs away
	RollOscillation                    // a swing that is rolling for the most part
	Spiral                             // slower, without swinging: bank, heading and drift together
	DutchRoll                          // a swing with more slip than heading: it slides to and fro as it banks
	LinePendulum                       // a swing with little slip: the nose follows the way, as the craft yaws on the line about its tow point
	Neutral                            // a displacement that stays, as that of a craft without a line
)

// String names the mode.
func (k LateralKind) String() string {
	return [...]string{"roll subsidence", "roll oscillation", "spiral mode", "Dutch roll", "yaw on the line", "neutral displacement"}[k]
}

// LateralMode is one way in which a craft moves sideways by itself after a small upset.
type LateralMode struct {
	Mode
	Kind LateralKind
	// Heading and slip, rad, and offset of the centre of gravity, m, that go with a radian
	// of bank; 1e4 at most, for a mode without bank.
	Heading, Slip, Offset float64
}

// Modes returns the modes, the fastest growing first. It returns an error if the mass
// or an inertia is not above 0 or a value is no number.
func (l LateralModel) Modes() ([]LateralMode, error) {
	det := l.Roll*l.Yaw - l.Cross*l.Cross
	if !(l.Speed > 0 && l.Mass > 0 && l.Roll > 0 && l.Yaw > 0 && det > 0) {
		return nil, fmt.Errorf("a sideways motion at %v m/s with a mass of %v kg and inertias of %v and %v kg m2, %v kg m2 between them: give values above 0 of a real body", l.Speed, l.Mass, l.Roll, l.Yaw, l.Cross)
	}
	a := mat.NewDense(lateralStates, lateralStates, nil)
	a.Set(bankState, rollRateState, 1)
	a.Set(headingState, yawRateState, 1)
	a.Set(offsetState, driftState, 1)
	side, down, nose := l.Side.row(), l.StarboardDown.row(), l.NoseStarboard.row()
	for i := range side {
		a.Set(rollRateState, i, (l.Yaw*down[i]-l.Cross*nose[i])/det)
		a.Set(yawRateState, i, (l.Roll*nose[i]-l.Cross*down[i])/det)
		a.Set(driftState, i, side[i]/l.Mass)
	}
	roots, shape, err := eigen(a, "sideways motion")
	if err != nil {
		return nil, err
	}
	var modes []LateralMode
	for i, root := range roots {
		if imag(root) < 0 {
			continue
		}
		m := LateralMode{Mode: Mode{Root: root}}
		bank := cmplx.Abs(shape.At(bankState, i))
		over := func(v complex128) float64 {
			size := cmplx.Abs(v)
			if size <= 1e-12 {
				return 0
			}
			return math.Min(size/bank, gecp.FarAway)
		}
		m.Heading, m.Offset = over(shape.At(headingState, i)), over(shape.At(offsetState, i))
		m.Slip = over(shape.At(driftState, i)/complex(l.Speed, 0) - shape.At(headingState, i))
		energy := func(inertia float64, state int) float64 {
			v := cmplx.Abs(shape.At(state, i))
			return inertia * v * v
		}
		rolling := energy(l.Roll, rollRateState)
		m.Kind = kindOfMode(root, rolling > energy(l.Yaw, yawRateState)+energy(l.Mass, driftState), m.Heading, m.Slip)
		modes = append(modes, m)
	}
	// Of the roots without swinging the fastest is the subsidence.
	fastest := -1
	for i, m := range modes {
		if m.Kind == Spiral && (fastest < 0 || math.Abs(real(m.Root)) > math.Abs(real(modes[fastest].Root))) {
			fastest = i
		}
	}
	if fastest >= 0 {
		modes[fastest].Kind = RollSubsidence
	}
	slices.SortStableFunc(modes, func(a, b LateralMode) int {
		switch {
		case real(a.Root) > real(b.Root):
			return -1
		case real(a.Root) < real(b.Root):
			return 1
		}
		return 0
	})
	return modes, nil
}

// kindOfMode names a mode from its root, from whether rolling takes more than half of the
// energy of the motion, and from heading and slip; Spiral stands for all without swinging.
func kindOfMode(root complex128, rolling bool, heading, slip float64) LateralKind {
	switch {
	case cmplx.Abs(root) <= neutralRoot:
		return Neutral
	case imag(root) == 0:
		return Spiral
	case rolling:
		return RollOscillation
	case slip > heading:
		return DutchRoll
	}
	return LinePendulum
}
