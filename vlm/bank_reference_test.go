package vlm

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// inHeading returns a load of the plain method in the axes of the heading.
func inHeading(l Load, slip float64) Load {
	sin, cos := math.Sincos(slip)
	turn := func(v r3.Vec) r3.Vec { return r3.Vec{X: v.X*cos + v.Y*sin, Y: v.Y*cos - v.X*sin, Z: v.Z} }
	return Load{turn(l.Force), turn(l.Moment)}
}

// Banked flight against the method written again plainly, on the lattices of both halves.
func TestSolveBankedEqualsPlainMethod(t *testing.T) {
	t.Parallel()
	attitudes := []BankedAttitude{
		{Height: .75, Pitch: .03, Bank: .09, Slip: -.06},
		{Height: 1.6, Pitch: -.07, Bank: -.2, Slip: .1},
		{Height: math.Inf(1), Pitch: .05, Bank: .3, Slip: .2},
	}
	for name, l := range refCraft(t) {
		for i := range 2 * len(attitudes) {
			at, free := attitudes[i/2], i%2 == 1
			t.Run(fmt.Sprintf("%s at %.2f m, free wake %v", name, at.Height, free), func(t *testing.T) {
				t.Parallel()
				b, err := l.AtBank(t.Context(), at.Pitch, at.Bank, at.Slip)
				require.NoError(t, err)
				whole := b.p.l
				w := &FreeWake{lattice: whole, paths: make([][]path, len(whole.grids))}
				if free {
					w, err = b.FreeWake(t.Context(), at.Height)
					require.NoError(t, err)
					if !w.Bent() {
						return
					}
				}
				got, err := b.SolveWith(t.Context(), at.Height, w)
				require.NoError(t, err)
				assert.Equal(t, at, got.BankedAttitude)
				// The images' rows are chosen by the gaps, here as there; differences are taken
				// with the choice held.
				refine := refinementsOf(b.p, at.Height)
				plain := newPlainBanked(whole, at, w.paths)
				want := plain.solve(0, 0, refine)
				const tol = 1e-9
				near(t, want.Gamma, got.Gamma, tol, "circulation")
				near(t, want.Pressure, got.Pressure, tol, "pressure")
				near(t, numbers(inHeading(want.Total, at.Slip)), numbers(got.Total), tol, "total")
				surfaces := append(append([]Load{}, got.Surfaces...), got.Reflections...)
				for i := range want.Surfaces {
					near(t, numbers(inHeading(want.Surfaces[i], at.Slip)), numbers(surfaces[i]), tol, "surface")
				}
				for i := range want.Strips {
					near(t, numbers(inHeading(want.Strips[i].Load, at.Slip)), numbers(got.Strips[i].Load), tol, "strip")
				}
				assert.InEpsilon(t, want.TrefftzDrag, got.TrefftzDrag, tol, "far drag")

				// Loads are quadratic in the rates, so that these differences are exact.
				rate := func(rise float64, turn r3.Vec) []float64 {
					turn = plain.pitched(turn)
					d := plain.solveMoving(rise, turn, refine).Total.minus(plain.solveMoving(-rise, r3.Scale(-1, turn), refine).Total, .5/(rise+r3.Norm(turn)))
					return numbers(inHeading(d, at.Slip))
				}
				near(t, rate(.1, r3.Vec{}), numbers(got.Derivatives.HeaveRate), tol, "heave rate")
				near(t, rate(0, r3.Vec{X: -.05}), numbers(got.Derivatives.RollRate), tol, "roll rate")
				near(t, rate(0, r3.Vec{Y: .05}), numbers(got.Derivatives.PitchRate), tol, "pitch rate")
				near(t, rate(0, r3.Vec{Z: -.05}), numbers(got.Derivatives.YawRate), tol, "yaw rate")

				if os.Getenv("CI") != "true" && (at != attitudes[0] || free && !strings.HasPrefix(name, "tandem")) {
					return // these take minutes
				}
				// Sixth order, as in TestSolveEqualsPlainMethod.
				slope := func(what string, derivative Load, at func(d float64) BankedAttitude) {
					const h = 1e-3
					d := func(k float64) Load {
						a, b := at(k*h), at(-k*h)
						return inHeading(newPlainBanked(whole, a, w.paths).solve(0, 0, refine).Total, a.Slip).minus(inHeading(newPlainBanked(whole, b, w.paths).solve(0, 0, refine).Total, b.Slip), 1)
					}
					d1, d2, d3 := numbers(d(1)), numbers(d(2)), numbers(d(3))
					for i := range d1 {
						d1[i] = (45*d1[i] - 9*d2[i] + d3[i]) / (60 * h)
					}
					near(t, d1, numbers(derivative), 2e-8, what)
				}
				slope("pitch", got.Derivatives.Pitch, func(d float64) BankedAttitude { a := at; a.Pitch += d; return a })
				slope("bank", got.Derivatives.Bank, func(d float64) BankedAttitude { a := at; a.Bank += d; return a })
				slope("slip", got.Derivatives.Slip, func(d float64) BankedAttitude { a := at; a.Slip += d; return a })
				if math.IsInf(at.Height, 1) {
					assert.Zero(t, got.Derivatives.Height)
					return
				}
				slope("height", got.Derivatives.Height, func(d float64) BankedAttitude { a := at; a.Height += d; return a })
			})
		}
	}
}
