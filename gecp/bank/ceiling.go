package bank

import (
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/bisect"
	"example.org/groundeffect/gecp/units"
)

// RightingCeiling is the clearance up to which a dropped tip comes up again without slip: the
// cushion under the lower side outweighs a centre of gravity above the line.
type RightingCeiling struct {
	Clearance float64 // m, the last at which it does, to a millimetre
	OK        bool    // whether there is one between the clearances looked at
	Always    bool    // where there is none: whether it comes up to the highest looked at, not nowhere
	// Floor is the clearance from which on it comes up, m, to a millimetre: closer to the
	// water the flow under the lower side is all but stopped, and the lift there grows no
	// more. HasFloor is false where it comes up from the lowest clearance looked at.
	Floor    float64
	HasFloor bool
	From, To float64 // the clearances looked at, m
	// Slip is whether above, or where it does not come up, slip to the lowered side raises it
	// by dihedral and sweep.
	Slip bool
}

// FlightAt gives the flight at a clearance, m: AtPitch and InSteadyTow make one. Where there is
// no steady flight at a clearance it returns nil and no error.
type FlightAt func(ctx context.Context, clearance float64) (*Flight, error)

// AtPitch gives the craft of a model at one pitch, rad, as [At] does.
func AtPitch(m *gecp.Model, stream gecp.Freestream, pitch float64) FlightAt {
	return func(ctx context.Context, clearance float64) (*Flight, error) {
		return At(ctx, m, stream, clearance, pitch)
	}
}

// ceilingSteps is the number of clearances between which a ceiling is looked for.
const ceilingSteps = 12

// FindRightingCeiling looks for the ceiling between two clearances, m, both above 0; of
// several it finds the lowest. It returns the errors of at, and one if it has found no flight
// at all.
func FindRightingCeiling(ctx context.Context, from, to float64, at FlightAt) (RightingCeiling, error) {
	if !(from > 0 && to > from) {
		return RightingCeiling{}, fmt.Errorf("the clearances to look between are %v m and %v m; give two above 0, the lower one first", from, to)
	}
	c := RightingCeiling{From: from, To: to}
	// rights is false where nothing flies.
	rights := func(cl float64) (bool, error) {
		f, err := at(ctx, cl)
		if err != nil || f == nil {
			return false, err
		}
		c.Slip = f.DihedralEffect() > 0
		return f.Righting().Rights(), nil
	}
	fallen := func(cl float64) (bool, error) {
		r, err := rights(cl)
		return !r, err
	}
	flies, was, before := false, false, 0.
	for i := range ceilingSteps {
		cl := from * math.Pow(to/from, float64(i)/(ceilingSteps-1))
		f, err := at(ctx, cl)
		if err != nil {
			return RightingCeiling{}, err
		}
		flies = flies || f != nil
		is := f != nil && f.Righting().Rights()
		switch {
		case is && !was && i > 0:
			_, c.Floor, err = bisect.Edge(before, cl, 1e-3, rights)
			c.HasFloor = true
		case was && !is:
			c.Clearance, _, err = bisect.Edge(before, cl, 1e-3, fallen)
			if err != nil {
				return RightingCeiling{}, err
			}
			c.OK = true
			return c, nil
		case f != nil:
			c.Slip = f.DihedralEffect() > 0
		}
		if err != nil {
			return RightingCeiling{}, err
		}
		was, before = is, cl
	}
	if !flies {
		return RightingCeiling{}, errors.New("between the clearances looked at the craft flies nowhere")
	}
	c.Always = was
	return c, nil
}

// Words says the verdict in a sentence: "a dropped tip comes up again below 0.60 m; above,
// only slip and dihedral bring it up". Clearances are rounded towards safety.
func (c RightingCeiling) Words(u units.System) string {
	slip := "only slip and dihedral bring it up"
	if !c.Slip {
		slip = "nothing brings it up: slip to the lowered side lowers it further"
	}
	from := ""
	if c.HasFloor {
		from = "from " + u.TowAbove(c.Floor) + " "
	}
	switch {
	case c.OK && c.HasFloor:
		return fmt.Sprintf("a dropped tip comes up again between %s and %s; above, %s", u.TowAbove(c.Floor), u.LetGo(c.Clearance), slip)
	case c.OK:
		return fmt.Sprintf("a dropped tip comes up again below %s; above, %s", u.LetGo(c.Clearance), slip)
	case c.Always:
		return fmt.Sprintf("a dropped tip comes up again %sup to %s, the highest clearance looked at", from, u.LetGo(c.To))
	}
	return "a dropped tip does not come up again at any clearance looked at; " + slip
}
