package vlm_test

import (
	"fmt"
	"testing"

	"example.org/groundeffect/vlm"
	"github.com/stretchr/testify/assert"
)

// thickRows are the rows of the lattice in the checks of thick sections.
const thickRows = 16

// thickPlate is a section in plane flow, as plate.
func thickPlate(t *testing.T, s section) plate {
	wing := rectangle(2000, s.camber, thickRows, 2)
	for i := range wing.Stations {
		wing.Stations[i].Thickness = s.thickness
	}
	return plate{lattice(t, vlm.Options{}, wing)}
}

// The panels of this package's tests against those that the table is from.
//
// Source: testdata/published/thick_sections_over_ground.csv.
func TestPublishedThickSectionPanels(t *testing.T) {
	t.Parallel()
	var lift, cp, freeLift, freeCP, drag worst
	for _, r := range published(t, "thick_sections_over_ground.csv") {
		s := section{vlm.Camber{Height: r.num(t, "camber"), At: r.num(t, "camber_at")}, r.num(t, "thickness")}
		h, angle := r.num(t, "h_over_c"), r.num(t, "angle_deg")
		at := fmt.Sprintf("%s, %v degrees, h/c %v", r["section"], angle, h)
		free, got := s.converged(t, freeAir, angle*deg), s.converged(t, h, angle*deg)
		lift.add(percent(got.lift/free.lift, r.num(t, "lift_ratio")), "%s", at)
		cp.add(got.cp-free.cp-r.num(t, "cp_shift"), "%s", at)
		freeLift.add(percent(free.lift, r.num(t, "free_cl")), "%s", at)
		freeCP.add(free.cp-r.num(t, "free_cp"), "%s", at)
		drag.add(got.drag/got.lift, "%s", at)
	}
	t.Logf("check 24 thick sections, panels: largest difference %.2f %% in the lift ratio (%s), %.4f chord in the CP's shift (%s), %.2f %% and %.4f in free air (held: 0.5 %%, 0.001, 0.5 %%, 0.001)", lift.size, lift.at, cp.size, cp.at, freeLift.size, freeCP.size)
	assert.LessOrEqual(t, lift.size, .5, lift.at)
	assert.LessOrEqual(t, cp.size, .001, cp.at)
	assert.LessOrEqual(t, freeLift.size, .5, freeLift.at)
	assert.LessOrEqual(t, freeCP.size, .001, freeCP.at)
	assert.LessOrEqual(t, drag.size, 1e-3, "plane flow has no drag, %s", drag.at)
}

// The lattice with thickness against the table, and where the table has no angle, against
// the panels. Both are compared with themselves in free air, where the lattice is thin on
// purpose.
//
// Source: testdata/published/thick_sections_over_ground.csv.
func TestPublishedThickSectionLattice(t *testing.T) {
	t.Parallel()
	type bounds struct{ lift, cp worst }
	var cambered, symmetric, thin bounds
	var drag worst
	add := func(b *bounds, s section, name string, h, angle, lift, shift float64) {
		p := thickPlate(t, s)
		free, _, freeCP := p.at(t, freeAir, angle*deg)
		cl, cd, cp := p.at(t, h, angle*deg)
		at := fmt.Sprintf("%s, %v degrees, h/c %v", name, angle, h)
		b.lift.add(cl/free-lift, "%s", at)
		b.cp.add(cp-freeCP-shift, "%s", at)
		if s.thickness > 0 {
			drag.add(cd/cl, "%s", at)
		}
	}
	sections := map[string]section{}
	for _, r := range published(t, "thick_sections_over_ground.csv") {
		s := section{vlm.Camber{Height: r.num(t, "camber"), At: r.num(t, "camber_at")}, r.num(t, "thickness")}
		h, angle := r.num(t, "h_over_c"), r.num(t, "angle_deg")
		lift, shift := r.num(t, "lift_ratio"), r.num(t, "cp_shift")
		name := r["section"]
		if s.camber.Height > 0 {
			sections[name] = s
			add(&cambered, s, name, h, angle, lift, shift)
		} else if h >= .15 {
			add(&symmetric, s, name, h, angle, lift, shift)
		}
		s.thickness = 0
		add(&thin, s, name, h, angle, lift, shift)
	}
	for name, s := range sections {
		for _, angle := range []float64{3, 5, 8} {
			free := s.converged(t, freeAir, angle*deg)
			for _, h := range []float64{.1, .15, .2, .3, .5, 1} {
				f := s.converged(t, h, angle*deg)
				add(&cambered, s, name, h, angle, f.lift/free.lift, f.cp-free.cp)
			}
		}
	}
	t.Logf("check 24 thick cambered sections at 3 to 8 degrees, h/c from .1: largest difference %.3f in the lift ratio (%s), %.4f chord in the CP's shift (%s) (held: .04, .004: the thickness is of the first order)", cambered.lift.size, cambered.lift.at, cambered.cp.size, cambered.cp.at)
	t.Logf("check 24 thick symmetric section at 4 and 6 degrees, h/c from .15: largest difference %.3f in the lift ratio (%s), %.4f chord in the CP's shift (%s) (held: .04, .004)", symmetric.lift.size, symmetric.lift.at, symmetric.cp.size, symmetric.cp.at)
	t.Logf("check 24 the same without thickness: largest difference %.3f in the lift ratio (%s), %.4f chord in the CP's shift (%s)", thin.lift.size, thin.lift.at, thin.cp.size, thin.cp.at)
	for _, b := range [...]bounds{cambered, symmetric} {
		assert.LessOrEqual(t, b.lift.size, .04, b.lift.at)
		assert.LessOrEqual(t, b.cp.size, .004, b.cp.at)
	}
	assert.Less(t, drag.size, 1e-3, "plane flow has no drag, %s", drag.at)
}

// The lattice is as good as MaxGapFill says as long as a section fills no more of its gap
// than that, and no longer so where it fills more. Lift coefficient and moment coefficient
// about the leading edge are compared, since near a lift of zero ratios mean nothing; the
// panels' are made thin in free air as the lattice is.
func TestMaxGapFill(t *testing.T) {
	t.Parallel()
	const held = .04
	var lift, moment, beyond worst
	for _, m := range []float64{0, .02, .04} {
		for _, thickness := range []float64{.09, .15} {
			s := section{vlm.Camber{Height: m, At: .4}, thickness}
			p := thickPlate(t, s)
			for _, angle := range []float64{0, 3, 8} {
				if m == 0 && angle == 0 {
					continue
				}
				free := s.converged(t, freeAir, angle*deg)
				cl0, _, cp0 := p.at(t, freeAir, angle*deg)
				for _, h := range []float64{.05, .07, .1, .2, .4} {
					fill := p.GapFill(vlm.Attitude{Height: h, Pitch: angle * deg})[0]
					if fill >= 1 {
						continue
					}
					f := s.converged(t, h, angle*deg)
					cl, _, cp := p.at(t, h, angle*deg)
					wantLift := f.lift / free.lift * cl0
					wantMoment := wantLift * (f.cp - free.cp + cp0)
					at := fmt.Sprintf("camber %v, thickness %v, %v degrees, h/c %v", m, thickness, angle, h)
					if fill > vlm.MaxGapFill {
						beyond.add(cl-wantLift, "%s, fill %.2f", at, fill)
						continue
					}
					lift.add(cl-wantLift, "%s, fill %.2f", at, fill)
					moment.add(cl*cp-wantMoment, "%s, fill %.2f", at, fill)
				}
			}
		}
	}
	t.Logf("thick sections that fill up to %v of their gap, lattice against panels: largest difference %.3f in the lift coefficient (%s), %.3f in the moment coefficient (%s) (held: %v); beyond that fill %.2f (%s)", vlm.MaxGapFill, lift.size, lift.at, moment.size, moment.at, held, beyond.size, beyond.at)
	assert.LessOrEqual(t, lift.size, held, lift.at)
	assert.LessOrEqual(t, moment.size, held, moment.at)
	assert.Greater(t, beyond.size, 2*held, "the limit means something")
}
