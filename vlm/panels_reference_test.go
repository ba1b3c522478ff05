package vlm_test

import (
	"math"
	"math/cmplx"
	"testing"

	"example.org/groundeffect/vlm"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// The flow about a thick section in a plane, by another method: vortex panels on its
// contour, their strength linear between the corners, with their image in the ground, no
// flow through the middles of the panels, and no load at the trailing edge (Kuethe and
// Chow, Foundations of Aerodynamics, section on vortex panels; Katz and Plotkin, ch. 11).

// section is a NACA four-digit section of chord 1, its trailing edge closed.
type section struct {
	camber    vlm.Camber
	thickness float64
}

// contour returns the corners of n panels a side, in complex numbers, from the trailing
// edge forward along the lower side and back along the upper one, with the trailing edge at
// the height over the ground and the nose up by the pitch about it.
func (s section) contour(n int, height, pitch float64) []complex128 {
	half := func(x float64) float64 { // of the thickness
		return 5 * s.thickness * (.2969*math.Sqrt(x) - .1260*x - .3516*x*x + .2843*x*x*x - .1036*x*x*x*x)
	}
	var z []complex128
	for i := -n; i <= n; i++ {
		x := (1 - math.Cos(math.Pi*float64(i)/float64(n))) / 2
		side := 1.0
		if i < 0 {
			side = -1
		}
		t := 0.0
		if i != n && i != -n && i != 0 {
			t = side * half(x)
		}
		// Square to the mean line.
		sin, cos := math.Sincos(math.Atan(s.camber.Slope(x)))
		p := complex(x-t*sin-1, s.camber.Ordinate(x)+t*cos)
		z = append(z, p*cmplx.Exp(complex(0, -pitch))+complex(0, height))
	}
	return z
}

// panelFlow is what the panels find, per dynamic pressure and chord.
type panelFlow struct {
	lift, drag, cp float64
	under          float64 // mean pressure coefficient along the lower side
}

// flow solves for n panels a side.
func (s section) flow(t testing.TB, n int, height, pitch float64) panelFlow {
	ground := !math.IsInf(height, 1)
	base := height
	if !ground {
		base = 0
	}
	z := s.contour(n, base, pitch)
	panels := len(z) - 1
	// conj(velocity) at p of panel j, for strengths 1 and 0 and for 0 and 1 at its corners.
	panel := func(p complex128, j int) (a, b complex128) {
		d := z[j+1] - z[j]
		length := complex(cmplx.Abs(d), 0)
		e := d / length
		local := (p - z[j]) / e
		i0 := cmplx.Log(local / (local - length))
		i1 := (local*i0 - length) / length
		f := 1 / (2i * math.Pi * e)
		return f * (i0 - i1), f * i1
	}
	a, b := mat.NewDense(panels+1, panels+1, nil), mat.NewVecDense(panels+1, nil)
	for i := range panels {
		d := z[i+1] - z[i]
		normal := -1i * d / complex(cmplx.Abs(d), 0) // out of the section or into it, all alike
		mid := (z[i] + z[i+1]) / 2
		for j := range panels {
			v, w := panel(mid, j)
			if ground { // the image turns the other way
				x, y := panel(cmplx.Conj(mid), j)
				v, w = v+cmplx.Conj(x), w+cmplx.Conj(y)
			}
			a.Set(i, j, a.At(i, j)+real(v*normal))
			a.Set(i, j+1, a.At(i, j+1)+real(w*normal))
		}
		b.SetVec(i, -real(normal))
	}
	a.Set(panels, 0, 1)
	a.Set(panels, panels, 1)
	var x mat.VecDense
	require.NoError(t, x.SolveVec(a, b))
	// Inside the fluid is at rest, so that the speed outside is the strength.
	var force complex128
	moment := 0.0 // about the trailing edge, nose-up
	under := 0.0
	for i := range panels {
		v := (x.AtVec(i) + x.AtVec(i+1)) / 2
		// The fluid lies to the left going forward along the lower side: the pressure pushes
		// to the right.
		f := complex(1-v*v, 0) * (-1i) * (z[i+1] - z[i])
		force += f
		if i < n {
			along := (z[i] - z[i+1]) * cmplx.Exp(complex(0, pitch)) // the chord is 1
			under += (1 - v*v) * real(along)
		}
		arm := (z[i]+z[i+1])/2 - complex(0, base)
		moment += imag(arm)*real(f) - real(arm)*imag(f)
	}
	sin, cos := math.Sincos(pitch)
	lift, drag := imag(force), real(force)
	return panelFlow{lift: lift, drag: drag, cp: 1 - moment/(cos*lift+sin*drag), under: under}
}

// converged is the flow from 60 and 120 panels a side, whose error of second order cancels.
func (s section) converged(t testing.TB, height, pitch float64) panelFlow {
	a, b := s.flow(t, 60, height, pitch), s.flow(t, 120, height, pitch)
	limit := func(a, b float64) float64 { return b + (b-a)/3 }
	return panelFlow{limit(a.lift, b.lift), limit(a.drag, b.drag), limit(a.cp, b.cp), limit(a.under, b.under)}
}
