package lake

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
)

// Scale is what one scale under the craft reads, and where the craft stands on it.
type Scale struct {
	X    float64 // m aft of the datum, along the craft
	Z    float64 // m above the datum; counts only where the nose is raised
	Mass float64 // kg
}

// Swing is the craft swinging in pitch, hung level from an axis across it straight above
// its centre of gravity, as a pendulum.
type Swing struct {
	TenSwings float64 // time of ten full swings, there and back, s
	Pivot     float64 // height of the axis, m above the datum
}

// WeighingAccuracy is how far off a reading may be, one standard deviation each. Zero
// stands for the default named.
type WeighingAccuracy struct {
	Scale float64 // kg; 0.1, of a bathroom scale
	Tape  float64 // m; 0.003
	Angle float64 // rad; 0.2 degrees, of a digital level; for the level craft too
	Clock float64 // s, of the ten swings; 0.2, of a hand on a watch
}

// DefaultWeighingAccuracy returns the accuracies that are taken where none is given:
// choices of this project.
func DefaultWeighingAccuracy() WeighingAccuracy {
	return WeighingAccuracy{Scale: .1, Tape: .003, Angle: gecp.Radians(.2), Clock: .2}
}

// Weighing is what scales, tape, level and watch said of a craft without its pilot.
type Weighing struct {
	Level    []Scale // two or more, the craft level
	Raised   []Scale // the same with the nose raised; empty if that was not done
	Angle    float64 // that the nose was raised by, rad
	Swing    Swing   // zero if that was not done; it needs Raised
	Density  float64 // of the air in which it swings, kg/m3; 0 is gecp.AirDensity
	Accuracy WeighingAccuracy
}

// Uncertain is a value with its standard uncertainty; OK is false where it was not
// measured.
type Uncertain struct {
	Value, Error float64
	OK           bool
}

// Weighed is what a weighing says of a craft without its pilot.
type Weighed struct {
	Mass   Uncertain // kg
	X, Z   Uncertain // centre of gravity, m aft of and above the datum
	Radius Uncertain // of gyration in pitch about it, m
	// Air is the moment of inertia of the air that swings along with the wings, kg m2; it is
	// taken off what the swinging tells, as the calculation of the motion adds it.
	Air float64
}

// Limits of a weighing.
const (
	maxScales  = 12
	leastAngle = 3.  // deg; below, the height of the centre of gravity is a guess
	mostAngle  = 45. // deg
	leastSwing = 3.  // s, of ten swings
	mostSwing  = 300.
)

// Weigh returns what a weighing says of a craft. The uncertainties follow from the
// accuracies to first order, all readings independent of each other (JCGM 100:2008, 5.1).
// An error says which reading cannot be and what is meant.
func Weigh(c *gecp.Craft, w Weighing) (Weighed, error) {
	if err := w.check(); err != nil {
		return Weighed{}, err
	}
	r := w.readings()
	var file assumed
	if sum, ok := Sum(c); ok {
		file.z = sum.Z
	}
	file.air = motion.AirInertia(c, w.with(r).solve(file).x, w.Density)
	at := w.with(r).solve(file)
	out := Weighed{Mass: Uncertain{Value: at.mass, OK: true}, X: Uncertain{Value: at.x, OK: true}}
	if len(w.Raised) > 0 {
		out.Z = Uncertain{Value: at.z, OK: true}
	}
	if w.Swing.TenSwings > 0 {
		if !(at.radius > 0) {
			return Weighed{}, fmt.Errorf("ten swings in %.1f s are too quick for an axis %.2f m above the centre of gravity; look at the time of ten full swings, there and back, and at the axis's height", w.Swing.TenSwings, w.Swing.Pivot-at.z)
		}
		out.Radius = Uncertain{Value: at.radius, OK: true}
		out.Air = file.air
	}
	for i := range r {
		d := r[i].off
		up, down := r[i], r[i]
		up.value, down.value = up.value+d, down.value-d
		a, b := w.with(replace(r, i, up)).solve(file), w.with(replace(r, i, down)).solve(file)
		for _, q := range []struct {
			to   *Uncertain
			half float64
		}{{&out.Mass, a.mass - b.mass}, {&out.X, a.x - b.x}, {&out.Z, a.z - b.z}, {&out.Radius, a.radius - b.radius}} {
			if q.to.OK {
				q.to.Error = math.Hypot(q.to.Error, q.half/2)
			}
		}
	}
	return out, nil
}

func (w *Weighing) check() error {
	d := DefaultWeighingAccuracy()
	a := &w.Accuracy
	a.Scale, a.Tape, a.Angle, a.Clock = cmp.Or(a.Scale, d.Scale), cmp.Or(a.Tape, d.Tape), cmp.Or(a.Angle, d.Angle), cmp.Or(a.Clock, d.Clock)
	for _, r := range []struct {
		what   string
		v, max float64
		unit   string
	}{{"scales", a.Scale, 50, "kg"}, {"tape", a.Tape, .5, "m"}, {"level", gecp.Degrees(a.Angle), 5, "degrees"}, {"watch", a.Clock, 10, "s"}} {
		if !(r.v > 0 && r.v <= r.max) {
			return fmt.Errorf("the accuracy of the %s is %v %s; give one above 0 and up to %v %s", r.what, r.v, r.unit, r.max, r.unit)
		}
	}
	if w.Density != 0 && !(w.Density >= .1 && w.Density <= 10) {
		return fmt.Errorf("the air's density is %v kg/m3; give one between 0.1 and 10 kg/m3", w.Density)
	}
	if err := checkScales("level", w.Level); err != nil {
		return err
	}
	if len(w.Raised) == 0 {
		if w.Swing.TenSwings != 0 {
			return errors.New("the swinging tells the radius of gyration only where the height of the centre of gravity is known; weigh the craft with its nose raised too")
		}
		return nil
	}
	if err := checkScales("raised", w.Raised); err != nil {
		return err
	}
	if deg := gecp.Degrees(w.Angle); !(deg >= leastAngle && deg <= mostAngle) {
		return fmt.Errorf("the nose is raised by %.4g degrees; give an angle between %v and %v degrees, nose up", deg, leastAngle, mostAngle)
	}
	level, raised := total(w.Level), total(w.Raised)
	if most := 3 * a.Scale * math.Sqrt(float64(len(w.Level)+len(w.Raised))); math.Abs(level-raised) > most {
		return fmt.Errorf("the scales read %.1f kg with the craft level and %.1f kg with the nose raised; they may differ by %.1f kg for scales that are good to %.2g kg: weigh again", level, raised, most, a.Scale)
	}
	if s := w.Swing; s.TenSwings != 0 {
		if !(s.TenSwings >= leastSwing && s.TenSwings <= mostSwing) {
			return fmt.Errorf("ten swings took %v s; give a time between %v and %v s", s.TenSwings, leastSwing, mostSwing)
		}
		if z := w.with(w.readings()).solve(assumed{}).z; !(s.Pivot > z && s.Pivot <= z+20) {
			return fmt.Errorf("the axis of the swinging is %v m above the datum; give a height above that of the centre of gravity, %.2f m, and up to 20 m higher", s.Pivot, z)
		}
	}
	return nil
}

func checkScales(which string, list []Scale) error {
	if len(list) < 2 || len(list) > maxScales {
		return fmt.Errorf("the %s craft stands on %d scales; give 2 to %d", which, len(list), maxScales)
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i, s := range list {
		switch {
		case !(math.Abs(s.X) <= 50):
			return fmt.Errorf("scale %d of the %s craft stands at %v m; give a place within 50 m of the datum", i+1, which, s.X)
		case !(math.Abs(s.Z) <= 10):
			return fmt.Errorf("scale %d of the %s craft carries it at a height of %v m; give one within 10 m of the datum", i+1, which, s.Z)
		case !(s.Mass >= 0 && s.Mass <= 5000):
			return fmt.Errorf("scale %d of the %s craft reads %v kg; give a mass from 0 to 5000 kg", i+1, which, s.Mass)
		}
		low, high = min(low, s.X), max(high, s.X)
	}
	if high-low < .1 {
		return fmt.Errorf("the scales of the %s craft stand within %.0f mm; put them 0.1 m apart or more, the further the better", which, 1e3*(high-low))
	}
	if !(total(list) > 0) {
		return fmt.Errorf("the scales of the %s craft read nothing; give their readings in kg", which)
	}
	return nil
}

func total(list []Scale) (m float64) {
	for _, s := range list {
		m += s.Mass
	}
	return m
}

// reading is one figure that was read, and how far off it may be.
type reading struct{ value, off float64 }

func replace(r []reading, i int, with reading) []reading {
	out := append([]reading{}, r...)
	out[i] = with
	return out
}

// readings lists all that was read, in the order in which with takes it.
func (w Weighing) readings() []reading {
	a := w.Accuracy
	var r []reading
	for _, s := range append(append([]Scale{}, w.Level...), w.Raised...) {
		r = append(r, reading{s.Mass, a.Scale}, reading{s.X, a.Tape}, reading{s.Z, a.Tape})
	}
	return append(r, reading{0, a.Angle}, reading{w.Angle, a.Angle}, reading{w.Swing.TenSwings, a.Clock}, reading{w.Swing.Pivot, a.Tape})
}

// tilted is a weighing, and the angle by which the level craft was not level, rad.
type tilted struct {
	Weighing
	tilt float64
}

func (w Weighing) with(r []reading) tilted {
	take := func(list []Scale) []Scale {
		out := make([]Scale, len(list))
		for i := range out {
			out[i] = Scale{Mass: r[0].value, X: r[1].value, Z: r[2].value}
			r = r[3:]
		}
		return out
	}
	w.Level, w.Raised = take(w.Level), take(w.Raised)
	w.Angle, w.Swing.TenSwings, w.Swing.Pivot = r[1].value, r[2].value, r[3].value
	return tilted{w, r[0].value}
}

// balance is what readings lead to.
type balance struct{ mass, x, z, radius float64 }

// assumed is what no reading tells: the air's part of the inertia, kg m2, and the height
// of the centre of gravity where the nose was not raised, m.
type assumed struct{ air, z float64 }

// solve takes moments about the datum. Turned nose-up by an angle, a point of the craft
// stands x cos + z sin aft of the datum; the scales carry the craft where its centre of
// gravity does. As a pendulum with an axis d above the centre it has
//
//	T = 2 pi sqrt((I + m d^2)/(m g d)),
//
// I with the air that swings along (the compound pendulum of any mechanics textbook).
func (w tilted) solve(a assumed) (s balance) {
	lever := func(list []Scale, angle float64) float64 {
		sin, cos := math.Sincos(angle)
		var sum float64
		for _, k := range list {
			sum += k.Mass * (k.X*cos + k.Z*sin)
		}
		return sum / total(list)
	}
	// A craft that stands tilted by a little carries its height above the scales into the
	// place.
	var base float64
	for _, k := range w.Level {
		base += k.Z / float64(len(w.Level))
	}
	s.mass, s.x, s.z = total(w.Level), lever(w.Level, 0), a.z
	if len(w.Raised) > 0 {
		// Both weighings count for the mass, the less the more scales they took.
		n, m := float64(len(w.Level)), float64(len(w.Raised))
		s.mass = (m*total(w.Level) + n*total(w.Raised)) / (n + m)
		sin, cos := math.Sincos(w.Angle)
		s.z = (lever(w.Raised, w.Angle) - (s.x+base*w.tilt)*cos) / (sin - w.tilt*cos)
	}
	s.x -= (s.z - base) * w.tilt
	if t := w.Swing.TenSwings / 10; t > 0 {
		d := w.Swing.Pivot - s.z
		k := t / (2 * math.Pi)
		square := gecp.G*d*k*k - d*d - a.air/s.mass
		s.radius = math.Sqrt(math.Max(0, square))
	}
	return s
}

// Sum returns mass, centre of gravity and radius of gyration of a craft's weights,
// without its pilot; ok is false for a craft without weights.
func Sum(c *gecp.Craft) (in motion.Inertia, ok bool) {
	empty := *c
	empty.Pilot = nil
	if !(empty.Mass() > 0) {
		return motion.Inertia{}, false
	}
	return motion.InertiaOf(&empty, 0), true
}

// Apply returns a copy of the craft whose weights are one, as weighed: what was not
// measured stays that of the file's sum. The error is that of the craft's check.
func (w Weighed) Apply(c *gecp.Craft) (*gecp.Craft, error) {
	one := gecp.Weight{Name: "as weighed", Mass: w.Mass.Value, X: w.X.Value, Z: w.Z.Value, Radius: w.Radius.Value}
	if sum, ok := Sum(c); ok {
		if !w.Z.OK {
			one.Z = sum.Z
		}
		if !w.Radius.OK {
			one.Radius = sum.Radius()
		}
		var names []string
		for _, p := range c.Weights {
			names = append(names, p.Name)
		}
		one.Name = "as weighed: " + strings.Join(names, ", ")
		if r := []rune(one.Name); len(r) > 60 {
			one.Name = string(r[:59]) + "…"
		}
	}
	n := c.Clone()
	n.Weights = []gecp.Weight{one}
	return n, n.Check()
}
