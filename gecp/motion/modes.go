package motion

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// StabilityDerivatives are the changes of a force, N, or of a moment, Nm, with a craft's motion
// about its steady state, each with the others held.
type StabilityDerivatives struct {
	Height    float64 // per m of the centre of gravity upwards
	ClimbRate float64 // per m/s of its upward speed
	Pitch     float64 // per rad nose-up about it
	PitchRate float64 // per rad/s nose-up
	Gap       float64 // per m of distance to the boat
	Speed     float64 // per m/s of its forward speed
}

// LongitudinalModel is the motion of a craft close to a steady state:
//
//	| Mass   Cross   |  d  | climb |     | Up     |
//	| Cross  Inertia | -- | turn  |  =  | NoseUp | . (height climb pitch turn gap speed)
//	                  dt
//
// and, if Surge is set, Forward likewise for the speed, with Mass less the
// apparent part, SurgeMass; the gap grows as the speed falls. All is for the
// centre of gravity and axes that stay with the water. Any set of derivatives may
// be put in, those of an aeroplane too: with a climb V, a pitch and a forward
// speed U its angle of attack is pitch - V/U.
type LongitudinalModel struct {
	Mass, Cross, Inertia float64 // with the apparent mass of the air, kg, kg m, kg m2
	SurgeMass            float64 // kg; used with Surge only
	Up, NoseUp, Forward  StabilityDerivatives
	Surge                bool
}

// linear returns the motion about the start of the flight, by differences of the
// whole force but that of floats in the water, of which the balance knows nothing.
func (f *Flight) linear() LongitudinalModel {
	f.spring, f.damping = 0, 0
	y, position := f.begin, f.start.Pilot.X
	p := f.loads(0, &y, position, 0)
	l := LongitudinalModel{Mass: p.heave, Cross: p.cross, Inertia: p.rot, SurgeMass: f.body.mass, Surge: f.elastic}
	step := [6]float64{1e-5, 1e-4, 1e-5, 1e-4, 1e-4, 1e-4}
	by := func(i int) (up, moment, forward float64) {
		lo, hi := y, y
		lo[i] -= step[i]
		hi[i] += step[i]
		a, b := f.loads(0, &lo, position, 0), f.loads(0, &hi, position, 0)
		d := 2 * step[i]
		return (b.up - a.up) / d, (b.moment - a.moment) / d, (b.forward - b.aft - a.forward + a.aft) / d
	}
	for i, s := range []struct{ up, moment, forward *float64 }{
		{&l.Up.Height, &l.NoseUp.Height, &l.Forward.Height},
		{&l.Up.ClimbRate, &l.NoseUp.ClimbRate, &l.Forward.ClimbRate},
		{&l.Up.Pitch, &l.NoseUp.Pitch, &l.Forward.Pitch},
		{&l.Up.PitchRate, &l.NoseUp.PitchRate, &l.Forward.PitchRate},
		{&l.Up.Gap, &l.NoseUp.Gap, &l.Forward.Gap},
		{&l.Up.Speed, &l.NoseUp.Speed, &l.Forward.Speed},
	} {
		*s.up, *s.moment, *s.forward = by(i)
	}
	return l
}

// matrix returns the system matrix for height, climb, pitch, turn and, with surge,
// gap and speed.
func (l LongitudinalModel) matrix() *mat.Dense {
	n := 4
	if l.Surge {
		n = 6
	}
	a := mat.NewDense(n, n, nil)
	a.Set(0, 1, 1)
	a.Set(2, 3, 1)
	det := l.Mass*l.Inertia - l.Cross*l.Cross
	set := func(col int, up, moment, forward float64) {
		if col >= n {
			return
		}
		a.Set(1, col, (l.Inertia*up-l.Cross*moment)/det)
		a.Set(3, col, (l.Mass*moment-l.Cross*up)/det)
		if l.Surge {
			a.Set(5, col, forward/l.SurgeMass)
		}
	}
	u, m, f := l.Up, l.NoseUp, l.Forward
	set(0, u.Height, m.Height, f.Height)
	set(1, u.ClimbRate, m.ClimbRate, f.ClimbRate)
	set(2, u.Pitch, m.Pitch, f.Pitch)
	set(3, u.PitchRate, m.PitchRate, f.PitchRate)
	set(4, u.Gap, m.Gap, f.Gap)
	set(5, u.Speed, m.Speed, f.Speed)
	if l.Surge {
		a.Set(4, 5, -1)
	}
	return a
}

// Linearize returns the motion close to the steady state at a clearance, m, the
// pilot held in place: the map's derivatives carried over from the datum to the
// centre of gravity, friction, line and apparent mass included, with surge where
// the craft file gives the line a stiffness. The errors are those of tow.SteadyTow.Trim.
func Linearize(t tow.SteadyTow, clearance float64) (LongitudinalModel, error) {
	b, err := t.Trim(clearance)
	if err != nil {
		return LongitudinalModel{}, err
	}
	return undisturbed(t, b).linear(), nil
}

// Mode is one way in which a craft moves by itself after a small upset.
type Mode struct {
	Root complex128 // 1/s; of a pair the one with a positive imaginary part
	// Heave of the centre of gravity, m, and change of speed, m/s, that go with a
	// degree of pitch; 1e4 at most, for a mode without pitch.
	Heave, Surge float64
}

// Period returns the time of one swing, s; +Inf for a mode that does not swing.
func (m Mode) Period() float64 {
	if imag(m.Root) == 0 {
		return math.Inf(1)
	}
	return 2 * math.Pi / math.Abs(imag(m.Root))
}

// Double returns the time in which the mode grows twofold, s: negative if it dies
// away, being then the time in which it halves; infinite if neutral.
func (m Mode) Double() float64 { return math.Ln2 / real(m.Root) }

// neutralRoot is the size of a root, 1/s, that counts as none.
const neutralRoot = 1e-6

// String says it in words.
func (m Mode) String() string {
	d := math.Abs(m.Double())
	grow := real(m.Root) > neutralRoot
	even := math.Abs(real(m.Root)) <= neutralRoot
	if imag(m.Root) == 0 {
		switch {
		case even:
			return "neutral: stays as it is put"
		case grow:
			return fmt.Sprintf("runs away, doubling in %s", seconds(d))
		}
		return fmt.Sprintf("dies away, halving in %s", seconds(d))
	}
	swing := "swings with a period of " + seconds(m.Period())
	switch {
	case even:
		return swing + ", neither growing nor dying away"
	case grow:
		return fmt.Sprintf("%s, growing twofold in %s", swing, seconds(d))
	}
	return fmt.Sprintf("%s, halving in %s", swing, seconds(d))
}

func seconds(s float64) string {
	switch {
	case s > 100:
		return "more than 100 s"
	case s < 1:
		return fmt.Sprintf("%.2f s", s)
	}
	return fmt.Sprintf("%.1f s", s)
}

// eigen returns the roots of a motion and the shapes of its modes, a column each; motion is what the
// errors call it.
func eigen(a *mat.Dense, motion string) (roots []complex128, shape *mat.CDense, err error) {
	for _, v := range a.RawMatrix().Data {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, nil, fmt.Errorf("a derivative of the %s is %v; give numbers", motion, v)
		}
	}
	var e mat.Eigen
	if !e.Factorize(a, mat.EigenRight) {
		return nil, nil, fmt.Errorf("the roots of the %s could not be found", motion)
	}
	shape = new(mat.CDense)
	e.VectorsTo(shape)
	return e.Values(nil), shape, nil
}

// Modes returns the modes, the fastest growing first. It returns an error if the mass
// or inertia is not above 0 or a value is no number.
func (l LongitudinalModel) Modes() ([]Mode, error) {
	if !(l.Mass > 0 && l.Inertia > 0 && l.Mass*l.Inertia > l.Cross*l.Cross) || l.Surge && !(l.SurgeMass > 0) {
		return nil, fmt.Errorf("a motion with a mass of %v kg, an inertia of %v kg m2 and %v kg m between them: give masses above 0", l.Mass, l.Inertia, l.Cross)
	}
	roots, shape, err := eigen(l.matrix(), "motion")
	if err != nil {
		return nil, err
	}
	var modes []Mode
	for i, root := range roots {
		if imag(root) < 0 {
			continue
		}
		m := Mode{Root: root}
		pitch := gecp.Degrees(cmplx.Abs(shape.At(2, i)))
		over := func(row int) float64 {
			v := cmplx.Abs(shape.At(row, i))
			if v <= 1e-12 {
				return 0
			}
			return math.Min(v/pitch, gecp.FarAway)
		}
		m.Heave = over(0)
		if l.Surge {
			m.Surge = over(5)
		}
		// insert, the fastest growing first
		at := len(modes)
		for at > 0 && real(modes[at-1].Root) < real(root) {
			at--
		}
		modes = append(modes, Mode{})
		copy(modes[at+1:], modes[at:])
		modes[at] = m
	}
	return modes, nil
}

// ModesAt returns the modes of the steady state at a clearance, m, the fastest
// growing first. The errors are those of tow.SteadyTow.Trim.
func ModesAt(t tow.SteadyTow, clearance float64) ([]Mode, error) {
	l, err := Linearize(t, clearance)
	if err != nil {
		return nil, err
	}
	return l.Modes()
}

// RootsAt is the modes at one clearance, m.
type RootsAt struct {
	Clearance float64
	Modes     []Mode
}

// Roots returns the modes at each of the clearances, m, for a plot of how they
// wander as the craft rises; clearances without a steady state are left out.
func RootsAlong(t tow.SteadyTow, clearances []float64) []RootsAt {
	var out []RootsAt
	for _, c := range clearances {
		if m, err := ModesAt(t, c); err == nil {
			out = append(out, RootsAt{c, m})
		}
	}
	return out
}
