package motion

import (
	"fmt"
	"math"
	"strings"

	"example.org/groundeffect/gecp"
)

// PilotRadius is the radius of gyration in pitch of a pilot whose file gives none,
// m: about that of a seated grown person about the axis across the body (Santschi,
// DuBois and Omoto, AMRL-TDR-63-36, 1963: about 7.5 kg m2 for 75 kg; from memory).
// One who lies has about 0.4 m.
const PilotRadius = 0.32

// Inertia is a craft's mass and how it resists turning in pitch.
type Inertia struct {
	Mass  float64 // kg
	X, Z  float64 // centre of gravity, m aft of and above the datum
	Pitch float64 // moment of inertia about the axis across the craft through it, kg m2
}

// Radius returns the radius of gyration in pitch, m; 0 for a craft without mass.
func (i Inertia) Radius() float64 {
	if !(i.Mass > 0) {
		return 0
	}
	return math.Sqrt(i.Pitch / i.Mass)
}

// InertiaOf returns the craft's inertia with the pilot's centre at pilotX, m aft of
// the datum: each weight about its own centre by its radius of gyration, and moved
// to the common centre (Steiner). A weight without a radius is a point; a pilot
// without one has PilotRadius. pilotX is not held to the pilot's travel, and not
// looked at where the craft has no pilot.
func InertiaOf(c *gecp.Craft, pilotX float64) Inertia {
	in := Inertia{Mass: c.Mass()}
	in.X, in.Z = c.CG(pilotX)
	add := func(mass, x, z, radius float64) {
		dx, dz := x-in.X, z-in.Z
		in.Pitch += mass * (dx*dx + dz*dz + radius*radius)
	}
	for _, w := range c.Weights {
		add(w.Mass, w.X, w.Z, w.Radius)
	}
	if p := c.Pilot; p != nil {
		add(p.Mass, pilotX, p.Z, pilotRadius(p))
	}
	return in
}

// GuessedRadii says in a sentence which masses of a craft file stand without a radius
// of gyration, and what was taken for them; it is empty where the file tells all. A
// weight taken as a point makes the craft turn more readily than it does.
func GuessedRadii(c *gecp.Craft) string {
	var points []string
	for _, w := range c.Weights {
		if w.Radius == 0 {
			points = append(points, fmt.Sprintf("%q", w.Name))
		}
	}
	var guess []string
	if len(points) > 0 {
		guess = append(guess, strings.Join(points, ", ")+" as a point, which turns more readily than the real thing")
	}
	if p := c.Pilot; p != nil && p.Radius == 0 {
		guess = append(guess, fmt.Sprintf("the pilot with %.2f m, as seated", PilotRadius))
	}
	if guess == nil {
		return ""
	}
	return "The craft file gives no radius of gyration for some masses; the reaction margins count " + strings.Join(guess, ", and ") + "."
}

func pilotRadius(p *gecp.Pilot) float64 {
	if p.Radius > 0 {
		return p.Radius
	}
	return PilotRadius
}

// sliding is the inertia of a craft whose pilot moves along it. The pilot and the
// rest are two bodies: about their common centre they have the moment of inertia
//
//	I = own + mu ((p-restX)^2 + dz^2), mu = the product of their masses over the sum,
//
// and a pilot who moves aft with p' adds mu dz p' of nose-up turning momentum, so
// that one above the rest who starts aft kicks the nose down.
type sliding struct {
	mass  float64 // of both, kg
	own   float64 // kg m2, with mu dz^2
	mu    float64 // kg; 0 without a pilot
	restX float64 // of the rest's centre, m aft of the datum
	kick  float64 // mu dz, kg m
}

func newSliding(c *gecp.Craft) sliding {
	if c.Pilot == nil {
		in := InertiaOf(c, 0)
		return sliding{mass: in.Mass, own: in.Pitch, restX: in.X}
	}
	rest := *c
	rest.Pilot = nil
	in, p := InertiaOf(&rest, 0), c.Pilot
	mu := in.Mass * p.Mass / (in.Mass + p.Mass)
	dz := p.Z - in.Z
	return sliding{
		mass: in.Mass + p.Mass, mu: mu, restX: in.X, kick: mu * dz,
		own: in.Pitch + p.Mass*pilotRadius(p)*pilotRadius(p) + mu*dz*dz,
	}
}

// pitch returns the moment of inertia with the pilot at x, kg m2, and its
// derivative with x.
func (s *sliding) pitch(x float64) (inertia, byX float64) {
	d := x - s.restX
	return s.own + s.mu*d*d, 2 * s.mu * d
}

// slab is a piece of a wing, both halves, as it drags air along: the apparent mass
// of a flat plate far from the water, rho pi c^2/4 a metre of span (Theodorsen,
// NACA Report 496, 1935; Munk, NACA Report 184, 1923), acting at half chord.
type slab struct {
	x, z  float64 // half chord, craft axes, m
	chord float64 // m
	mass  float64 // kg
	own   float64 // apparent inertia about its half chord: rho pi c^4/128 a metre, kg m2
}

// newSlabs returns the craft's pieces, one a bay between stations; plates, which
// stand along the motion, have none.
func newSlabs(c *gecp.Craft, density float64) []slab {
	var out []slab
	shape := c.Shape()
	for i := range c.Wings {
		w := &c.Wings[i]
		s := shape.Wings[i]
		finite := finiteSpan(s.AspectRatio)
		sec := w.Sections()
		for j := 1; j < len(sec); j++ {
			a, b := sec[j-1], sec[j]
			ma, mb := a.Point(.5), b.Point(.5)
			width := 2 * (b.LE.Y - a.LE.Y) * finite
			c1 := (a.Chord + b.Chord) / 2
			c2 := (a.Chord*a.Chord + a.Chord*b.Chord + b.Chord*b.Chord) / 3
			out = append(out, slab{
				x: (ma.X + mb.X) / 2, z: (ma.Z + mb.Z) / 2, chord: c1,
				mass: density * math.Pi / 4 * c2 * width,
				own:  density * math.Pi / 128 * c2 * c2 * width,
			})
		}
	}
	return out
}

// finiteSpan returns the apparent mass of a rectangular plate over that of a strip
// of an endless one: .579 .757 .830 .872 .897 at aspect ratios 1 2 3 4 5 (DNV-RP-C205,
// appendix D, and Blevins, Formulas for Natural Frequency and Mode Shape, 1979;
// from memory). The formula is a fit, within 6 % at 1 and 2 % from 1.5 up.
func finiteSpan(aspect float64) float64 { return aspect / (aspect + .64) }

// nearSurface returns the apparent mass of a plate at a gap, in chords, over a flat
// surface over that in free air. High up the image adds (c/gap)^2/32 (a doublet's
// field); close down the air under the plate, squeezed out in a channel, weighs
// rho c^3/(12 gap). The formula has both limits and stays within 2 % of the
// potential flow between.
func nearSurface(gap float64) float64 {
	s := 1 / math.Max(gap, .01)
	k := 3 * math.Pi / 32 * s
	return 1 + s*s/32/math.Sqrt(1+k*k)
}

// ApparentMass returns the mass of the air that the wings drag along in heave with
// the datum at a height, m, and the craft at a pitch, rad, in air of a density,
// kg/m3 (0 is gecp.AirDensity): kg. It is an estimate by strips of flat plate: rho pi c^2/4
// a metre of span, less for the tips, more near the water.
func ApparentMass(c *gecp.Craft, height, pitch, density float64) float64 {
	if density == 0 {
		density = gecp.AirDensity
	}
	var sum float64
	for _, s := range newSlabs(c, density) {
		_, up := gecp.ToWaterAxes(s.x, s.z, height, pitch)
		sum += s.mass * nearSurface(up/s.chord)
	}
	return sum
}

// AirInertia returns the moment of inertia in pitch of the air that the wings drag along,
// about an axis across the craft at x, m aft of the datum, far from the water, in air of
// a density, kg/m3 (0 is gecp.AirDensity): kg m2. It is an estimate as that of
// ApparentMass.
func AirInertia(c *gecp.Craft, x, density float64) float64 {
	if density == 0 {
		density = gecp.AirDensity
	}
	var sum float64
	for _, s := range newSlabs(c, density) {
		sum += s.mass*(s.x-x)*(s.x-x) + s.own
	}
	return sum
}
