package vlm_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/vlm"
)

// Signs of tunnel work on thick sections close to a moving ground: which way the lift goes as
// the trailing edge comes near it. Each is looked at with the lattice without thickness and
// with it, in plane flow, and with thick panels; gaps are in chords.

// sectionFlows are the three ways to the lift coefficient of a section, at a gap and an
// angle in degrees.
type sectionFlows struct {
	thin, thick plate
	section     section
}

func newSectionFlows(t *testing.T, s section) sectionFlows {
	return sectionFlows{thin: thickPlate(t, section{camber: s.camber}), thick: thickPlate(t, s), section: s}
}

// each calls f with each way's name and how its lift at the gap differs from that at one
// chord.
func (f sectionFlows) each(t *testing.T, gap, angle float64, g func(way string, change float64)) {
	at := fmt.Sprintf("%v degrees, gap %v chords", angle, gap)
	require.Less(t, f.thick.GapFill(vlm.Attitude{Height: gap, Pitch: angle * deg})[0], vlm.MaxGapFill, at)
	for _, w := range [...]struct {
		way string
		p   plate
	}{{"thin lattice", f.thin}, {"thick lattice", f.thick}} {
		low, _, _ := w.p.at(t, gap, angle*deg)
		high, _, _ := w.p.at(t, 1, angle*deg)
		g(w.way, low-high)
	}
	g("thick panels", f.section.converged(t, gap, angle*deg).lift-f.section.converged(t, 1, angle*deg).lift)
}

// The lift of a NACA 4412 falls as the ground comes near up to 4 degrees and rises above;
// at 0 degrees there is strong suction under it.
//
// Without thickness the lift rises at every angle. With it the lift falls at 0 degrees from
// half a chord down. At .05 chords the panels have strong suction under the section; there
// it fills too much of its gap for the lattice, which says so. But from a degree up the lift
// rises, with the lattice and with the panels alike, so that this is what ideal flow says. What
// falls beyond that in the tunnel, at a Reynolds number of 3e5, is not in it: the likely cause
// is the boundary layers, which fill part of the gap and take camber from the section. The
// product marks a wing so low and so flat.
//
// Source: Ahmed, Takasaki and Kohama, AIAA J. 45 (2007) (abstract).
func TestPublishedSigns4412(t *testing.T) {
	t.Parallel()
	f := newSectionFlows(t, section{vlm.Camber{Height: .04, At: .4}, .12})
	const low = .15 // the lowest at which the section fills little enough of its gap at all angles
	for _, angle := range [...]float64{0, 1, 2, 3, 4, 6, 8, 10} {
		f.each(t, low, angle, func(way string, change float64) {
			at := fmt.Sprintf("%s, %v degrees", way, angle)
			switch {
			case angle == 0 && way != "thin lattice":
				assert.Negative(t, change, at)
			case angle <= 4:
				assert.Positive(t, change, "not as measured: %s", at)
			default:
				assert.Positive(t, change, at)
			}
		})
	}
	// Where the sign turns.
	turns := map[string]float64{}
	for _, way := range [...]string{"thick lattice", "thick panels"} {
		from, to := 0., 2.
		for to-from > 1e-3 {
			middle := (from + to) / 2
			f.each(t, low, middle, func(w string, change float64) {
				switch {
				case w != way:
				case change < 0:
					from = middle
				default:
					to = middle
				}
			})
		}
		turns[way] = to
	}
	assert.InDelta(t, turns["thick panels"], turns["thick lattice"], .2, "lattice and panels agree where")
	// At 0 degrees, gap by gap.
	lastThick, lastPanels := 1., 1.
	for _, gap := range [...]float64{.5, .3, .2, .15} {
		l, _, _ := f.thick.at(t, gap, 0)
		p := f.section.converged(t, gap, 0).lift
		assert.Less(t, l, lastThick, "thick lattice at 0 degrees, gap %v", gap)
		assert.Less(t, p, lastPanels, "thick panels at 0 degrees, gap %v", gap)
		lastThick, lastPanels = l, p
	}
	var under [3]float64
	for i, gap := range [...]float64{1, .1, .05} {
		under[i] = f.section.converged(t, gap, 0).under
	}
	assert.Less(t, under[1], under[0])
	assert.Less(t, under[2], -.4, "strong suction under the section")
	assert.Positive(t, under[1], "not yet")
	// Of finite span the lift rises at first, as the trailing vortices' images come near,
	// and then falls.
	for _, aspect := range [...]float64{1, 2, 4} {
		wing := rectangle(aspect, f.section.camber, 8, 8)
		thin, thick := lattice(t, vlm.Options{}, wing), lattice(t, vlm.Options{}, withThickness([]vlm.Surface{wing}, f.section.thickness)...)
		for _, gaps := range [...][2]float64{{.3, .2}, {.2, .15}} {
			at := fmt.Sprintf("A = %v at 0 degrees, gap %v chords", aspect, gaps)
			lift := func(l *vlm.Lattice, gap float64) float64 { return near(t, l, 1, 0, gap, 0).Total.Lift() }
			assert.Less(t, lift(thick, gaps[1]), lift(thick, gaps[0]), at)
			assert.Greater(t, lift(thin, gaps[1]), lift(thin, gaps[0]), at)
		}
	}
	t.Logf("check 25 signs of measured work, NACA 4412, lift at %v chords against that at 1: at 0 degrees it falls as measured, thin it rises; the sign turns at %.1f degrees (lattice) and %.1f (panels), not at 4; above it rises as measured. Pressure coefficient under the section at 0 degrees %.2f, %.2f, %.2f at gaps of 1, .1, .05 chords",
		low, turns["thick lattice"], turns["thick panels"], under[0], under[1], under[2])
}

// The lift of a NACA 0015 drops at low angles at some clearances, and rises at higher ones.
//
// Source: Ahmed and Sharma, Exp. Thermal Fluid Sci. 29 (2005) (abstract).
func TestPublishedSigns0015(t *testing.T) {
	t.Parallel()
	f := newSectionFlows(t, section{vlm.Camber{}, .15})
	gaps := [...]float64{.5, .3, .2}
	const dropsTo = 4 // degrees
	for _, angle := range [...]float64{1, 2, 3, 4, 5, 6, 8, 10} {
		change := map[string][]float64{"thin lattice": {0}, "thick lattice": {0}, "thick panels": {0}} // from 1 chord down
		for _, gap := range gaps {
			f.each(t, gap, angle, func(way string, c float64) { change[way] = append(change[way], c) })
		}
		for way, c := range change {
			drops := 0
			for i := 1; i < len(c); i++ {
				drops += count(c[i] < c[i-1])
			}
			if way != "thin lattice" && angle <= dropsTo {
				assert.Positive(t, drops, "%s, %v degrees", way, angle)
			} else {
				assert.Zero(t, drops, "%s, %v degrees", way, angle)
			}
		}
	}
	t.Logf("check 26 signs of measured work, NACA 0015, gaps of 1 to .2 chords: as measured the lift drops at some gaps up to %d degrees and rises at all from %d up; thin it rises at all angles", dropsTo, dropsTo+1)
}
