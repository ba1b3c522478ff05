package gecp

import (
	"fmt"
	"slices"
)

// G is the standard acceleration of free fall, m/s2 (3rd CGPM, 1901).
const G = 9.80665

// Craft mirrors the craft file: its fields are the file's keys, in the file's
// units. Weights, Pilot, Tow, Floats, ParasiteArea and Correction may be absent (zero); a
// question that needs one says so through [Craft.Require]. A Craft from [Read] has
// passed [Craft.Check]; one built in Go should be put to it.
type Craft struct {
	Name         string   `json:"name"`
	Wings        []Wing   `json:"wings"`
	Weights      []Weight `json:"weights,omitempty"`
	Pilot        *Pilot   `json:"pilot,omitempty"`
	Tow          *Tow     `json:"tow,omitempty"`
	Floats       []Float  `json:"floats,omitempty"`
	ParasiteArea float64  `json:"parasite_area_m2,omitzero"` // drag per dynamic pressure of all but the wings, m2
	// Correction is what a log of runs has told of the wings' loads; nil for nothing.
	Correction *Correction `json:"correction,omitempty"`
}

// Wing is a wing and its mirror image in y = 0.
type Wing struct {
	Name         string    `json:"name"`
	X            float64   `json:"x_m"`           // root leading edge, m aft of the datum
	Z            float64   `json:"z_m"`           // root leading edge, m above the datum
	IncidenceDeg float64   `json:"incidence_deg"` // nose-up; turns the whole wing about its root leading edge
	Stations     []Station `json:"stations"`      // from the centreline outwards, 2 or more
	Camber       Camber    `json:"camber,omitzero"`
	Thickness    float64   `json:"thickness,omitzero"` // largest, in chords
	TipPlates    TipPlates `json:"tip_plates,omitzero"`
}

// Station is one section of a wing. Between neighbouring stations the wing is
// ruled: points at equal fractions of the chord are joined by straight lines.
type Station struct {
	Y        float64 `json:"y_m"` // m from the centreline
	Chord    float64 `json:"chord_m"`
	LEX      float64 `json:"le_x_m,omitzero"`    // leading edge, m aft of the root's, before the incidence turns it
	LEZ      float64 `json:"le_z_m,omitzero"`    // leading edge, m above the root's, likewise
	TwistDeg float64 `json:"twist_deg,omitzero"` // nose-up, about this leading edge; adds to the incidence
}

// Camber is the NACA four-digit mean line; the zero value is flat.
type Camber struct {
	Height float64 `json:"height"` // largest ordinate, in chords; negative bends down
	At     float64 `json:"at"`     // its place, in chords from the leading edge
}

// TipPlates are upright plates of the tip section's shape at both tips.
type TipPlates struct {
	Down float64 `json:"down_m,omitzero"` // m below the tip section
	Up   float64 `json:"up_m,omitzero"`   // m above it
}

// Weight is a fixed mass.
type Weight struct {
	Name   string  `json:"name"`
	Mass   float64 `json:"mass_kg"`
	X      float64 `json:"x_m"`               // centre, m aft of the datum
	Z      float64 `json:"z_m"`               // centre, m above the datum
	Radius float64 `json:"radius_m,omitzero"` // of gyration in pitch about its own centre, m; zero is a point
}

// Pilot is the person, who trims by moving fore and aft.
type Pilot struct {
	Mass     float64 `json:"mass_kg"`
	XForward float64 `json:"x_forward_m"` // foremost place of the pilot's centre of gravity, m aft of the datum
	XAft     float64 `json:"x_aft_m"`     // aftmost place, XForward <= XAft
	Z        float64 `json:"z_m"`
	Radius   float64 `json:"radius_m,omitzero"`      // of gyration in pitch about the pilot's own centre, m
	MaxShift float64 `json:"max_shift_mps,omitzero"` // top speed of a shift along the craft, m/s; zero: not stated
	Y        float64 `json:"y_m,omitzero"`           // how far the pilot's centre of gravity gets to either side, m; zero: not stated
}

// Middle returns the middle of the pilot's travel, m aft of the datum.
func (p *Pilot) Middle() float64 { return (p.XForward + p.XAft) / 2 }

// DefaultSideways is how far the centre of gravity of a pilot gets to either side whose file
// does not tell, m: that of someone who leans over without leaving the seat; a guess.
const DefaultSideways = .15

// Sideways returns how far the pilot's centre of gravity gets to either side, m, and whether
// the file states it; DefaultSideways stands for one that does not.
func (p *Pilot) Sideways() (travel float64, stated bool) {
	if p.Y == 0 {
		return DefaultSideways, false
	}
	return p.Y, true
}

// Tow is the tow point, the line and the boat.
type Tow struct {
	X             float64 `json:"x_m"`                       // tow point on the craft
	Z             float64 `json:"z_m"`                       //
	BoatHeight    float64 `json:"boat_height_m"`             // of the line's end on the boat above the water
	Line          float64 `json:"line_m"`                    // length of the line
	BoatLength    float64 `json:"boat_length_m"`             // on the waterline
	LineStiffness float64 `json:"line_stiffness_n,omitzero"` // EA, newtons per unit strain; zero: not stated
	// LineMass is the line's mass, kg per m of its length; nil stands for DefaultLineMass,
	// 0 for a line without weight, which runs straight. See [Tow.LineWeight].
	LineMass *float64 `json:"line_mass_kg_per_m,omitempty"`
}

// DefaultLineMass is the mass of a tow line whose file tells none, kg per m: that of a
// laid polypropylene rope of 10 mm, 45 g/m (ISO 1346, from memory). Lines of this use are
// between about 20 and 100 g/m.
const DefaultLineMass = .045

// LineWeight returns the weight of the line, N per m, that of DefaultLineMass where the
// file tells none.
func (t *Tow) LineWeight() float64 {
	if t.LineMass == nil {
		return DefaultLineMass * G
	}
	return *t.LineMass * G
}

// Float is a place where the craft touches the water at rest.
type Float struct {
	X float64 `json:"x_m"`
	Z float64 `json:"z_m"`
}

// Clone returns a copy that shares nothing with c.
func (c *Craft) Clone() *Craft {
	n := *c
	n.Wings = slices.Clone(c.Wings)
	for i := range n.Wings {
		n.Wings[i].Stations = slices.Clone(n.Wings[i].Stations)
	}
	n.Weights, n.Floats = slices.Clone(c.Weights), slices.Clone(c.Floats)
	if c.Pilot != nil {
		p := *c.Pilot
		n.Pilot = &p
	}
	if c.Tow != nil {
		t := *c.Tow
		if t.LineMass != nil {
			m := *t.LineMass
			t.LineMass = &m
		}
		n.Tow = &t
	}
	if c.Correction != nil {
		k := *c.Correction
		n.Correction = &k
	}
	return &n
}

// EmptyMass returns the mass of the craft without its pilot, kg.
func (c *Craft) EmptyMass() float64 {
	var m float64
	for _, w := range c.Weights {
		m += w.Mass
	}
	return m
}

// Mass returns the mass of the craft with its pilot, if it has one, kg.
func (c *Craft) Mass() float64 {
	m := c.EmptyMass()
	if c.Pilot != nil {
		m += c.Pilot.Mass
	}
	return m
}

// CG returns the centre of gravity, metres aft of and above the datum, with
// the pilot's at pilotX metres aft of the datum. pilotX is not held to the
// pilot's travel, and not looked at where the craft has no pilot. A craft
// without any mass has no centre of gravity: (0, 0) stands for it, and
// [Craft.Require] of [BlockWeights] tells.
func (c *Craft) CG(pilotX float64) (x, z float64) {
	var m float64
	add := func(mass, atX, atZ float64) {
		m += mass
		x += mass * atX
		z += mass * atZ
	}
	for _, w := range c.Weights {
		add(w.Mass, w.X, w.Z)
	}
	if p := c.Pilot; p != nil {
		add(p.Mass, pilotX, p.Z)
	}
	if !(m > 0) {
		return 0, 0
	}
	return x / m, z / m
}

// Block is a section of the craft file that may be absent.
type Block int

// The parts that a question may need.
const (
	BlockPilot Block = iota
	BlockTow
	BlockFloats
	BlockWeights
	BlockParasiteArea
)

// Require returns nil where the craft has all the parts, and otherwise [Problems]
// that name each missing section of the file and show what an entry looks like.
func (c *Craft) Require(parts ...Block) error {
	var missing Problems
	need := func(present bool, key, what, entry string) {
		if !present {
			missing = append(missing, Problem{key, fmt.Sprintf("the craft file does not tell %s; add an entry like %q: %s", what, key, entry)})
		}
	}
	for _, p := range parts {
		switch p {
		case BlockPilot:
			need(c.Pilot != nil, "pilot", "where the pilot can be", `{"mass_kg": 80, "x_forward_m": 0.9, "x_aft_m": 1.5, "z_m": 0.5}`)
		case BlockTow:
			need(c.Tow != nil, "tow", "how the craft is towed", `{"x_m": 0.1, "z_m": 0.1, "boat_height_m": 1, "line_m": 30, "boat_length_m": 6}`)
		case BlockFloats:
			need(len(c.Floats) > 0, "floats", "where the craft floats", `[{"x_m": 0.3, "z_m": -0.35}, {"x_m": 4.2, "z_m": -0.3}]`)
		case BlockWeights:
			need(len(c.Weights) > 0, "weights", "what the craft weighs", `[{"name": "structure", "mass_kg": 75, "x_m": 1.7, "z_m": 0.2}]`)
		case BlockParasiteArea:
			need(c.ParasiteArea > 0, "parasite_area_m2", "the drag of pilot, floats and frame", "0.35")
		}
	}
	if missing == nil {
		return nil
	}
	return missing
}
