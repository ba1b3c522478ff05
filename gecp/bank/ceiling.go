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
	Always    bool    // where there is none: whether it comes up everywhere there, not nowhere
	From, To  float64 // the clearances looked at, m
	// Slip is whether above, or where it does not come up, slip to the lowered side raises it
	// by dihedral and sweep.
	Slip bool
}

// ceilingSteps is the number of clearances between which a ceiling is looked for.
const ceilingSteps = 12

// FindRightingCeiling looks for the ceiling between two clearances, m, both above 0, with the
// flight at each as `at` gives it: [At] at one pitch, or [InTrim]. Where `at` finds no steady
// flight at a clearance it returns (nil, nil), and the clearance is left out. It returns the
// errors of at, and one if it has found no flight at all.
func FindRightingCeiling(ctx context.Context, from, to float64, at func(ctx context.Context, clearance float64) (*Flight, error)) (RightingCeiling, error) {
	if !(from > 0 && to > from) {
		return RightingCeiling{}, fmt.Errorf("the clearances to look between are %v m and %v m; give two above 0, the lower one first", from, to)
	}
	c := RightingCeiling{From: from, To: to}
	var before *Flight
	found := false
	for i := range ceilingSteps {
		cl := from * math.Pow(to/from, float64(i)/(ceilingSteps-1))
		f, err := at(ctx, cl)
		if err != nil {
			return RightingCeiling{}, err
		}
		if f == nil {
			continue
		}
		found = true
		rights := f.Righting().Rights()
		if before != nil && before.Righting().Rights() && !rights {
			last := f
			low, _, err := bisect.Edge(before.Level.Clearance, cl, 1e-3, func(cl float64) (bool, error) {
				f, err := at(ctx, cl)
				if err != nil || f == nil {
					return true, err
				}
				if f.Righting().Rights() {
					return false, nil
				}
				last = f
				return true, nil
			})
			if err != nil {
				return RightingCeiling{}, err
			}
			c.Clearance, c.OK, c.Slip = low, true, last.DihedralEffect() > 0
			return c, nil
		}
		c.Always, c.Slip = rights, f.DihedralEffect() > 0
		before = f
	}
	if !found {
		return RightingCeiling{}, errors.New("between the clearances looked at the craft flies nowhere")
	}
	return c, nil
}

// Words says the verdict in a sentence: "a dropped tip comes up again below 0.60 m; above,
// only slip and dihedral bring it up", the clearance rounded down.
func (c RightingCeiling) Words(u units.System) string {
	slip := "only slip and dihedral bring it up"
	if !c.Slip {
		slip = "nothing brings it up: slip to the lowered side lowers it further"
	}
	switch {
	case c.OK:
		return fmt.Sprintf("a dropped tip comes up again below %s; above, %s", u.LetGo(c.Clearance), slip)
	case c.Always:
		return fmt.Sprintf("a dropped tip comes up again up to %s, the highest clearance looked at", u.LetGo(c.To))
	}
	return "a dropped tip does not come up again at any clearance looked at; " + slip
}

// AtPitch returns what FindRightingCeiling asks for: the craft of a model at one pitch, rad.
func AtPitch(m *gecp.Model, stream gecp.Freestream, pitch float64) func(ctx context.Context, clearance float64) (*Flight, error) {
	return func(ctx context.Context, clearance float64) (*Flight, error) {
		return At(ctx, m, stream, clearance, pitch)
	}
}
