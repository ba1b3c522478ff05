package motion

import "math"

// state is what a flight integrates; Flight says what each number is.
type state [6]float64

// integrator advances a state by the embedded pair of orders 5 and 4 of Dormand
// and Prince (J. Comp. Appl. Math. 6, 1980), taking the answer of order 5 and
// choosing steps by the difference of both. It allocates nothing.
type integrator struct {
	rates func(t float64, y, dy *state)
	tol   [2]float64 // error allowed a step: absolute, and relative to the state
	k     [7]state
	z     state   // of the stage or step tried
	next  float64 // step that the last error suggests, s; 0 is not known yet
	fresh bool    // k[6] holds the rates at the present state
}

var (
	dpTime  = [7]float64{0, 1. / 5, 3. / 10, 4. / 5, 8. / 9, 1, 1}
	dpStage = [7][6]float64{
		{},
		{1. / 5},
		{3. / 40, 9. / 40},
		{44. / 45, -56. / 15, 32. / 9},
		{19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729},
		{9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656},
		{35. / 384, 0, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84},
	}
	// order 5 less order 4
	dpError = [7]float64{71. / 57600, 0, -71. / 16695, 71. / 1920, -17253. / 339200, 22. / 525, -1. / 40}
)

// try makes one step of h from y at t, leaves the state after it in in.z and returns
// the error as a share of what is allowed: the largest over the state.
func (in *integrator) try(t, h float64, y *state) float64 {
	if !in.fresh {
		in.rates(t, y, &in.k[0])
		in.fresh = true
	}
	z := &in.z
	for s := 1; s < 7; s++ {
		for i := range z {
			var sum float64
			for j := range s {
				sum += dpStage[s][j] * in.k[j][i]
			}
			z[i] = y[i] + h*sum
		}
		in.rates(t+dpTime[s]*h, z, &in.k[s])
	}
	var worst float64
	for i := range z {
		var e float64
		for s := range in.k {
			e += dpError[s] * in.k[s][i]
		}
		allowed := in.tol[0] + in.tol[1]*math.Max(math.Abs(y[i]), math.Abs(z[i]))
		worst = math.Max(worst, math.Abs(h*e)/allowed)
	}
	return worst
}

// advance carries y from t to t+dt. changed tells that the rates are no longer
// those of the last call at the same state.
func (in *integrator) advance(t, dt float64, y *state, changed bool) {
	if changed {
		in.fresh = false
	}
	end := t + dt
	if in.next == 0 {
		in.next = dt
	}
	for t < end {
		h, last := in.next, false
		if h >= (end-t)*(1-1e-9) {
			h, last = end-t, true
		}
		e := in.try(t, h, y)
		// The classic rule (Hairer, Norsett and Wanner, Solving Ordinary Differential
		// Equations I, ch. II.4): safety .9, steps change by .2 to 5.
		factor := 5.
		if e > 0 {
			factor = math.Min(5, math.Max(.2, .9*math.Pow(e, -.2)))
		}
		const least = 1e-7 // s; a contact's edge may not stop the clock
		if e > 1 && h > least || math.IsNaN(e) && h > least {
			if math.IsNaN(e) {
				factor = .2
			}
			in.next = h * factor
			continue
		}
		if !last || factor < 1 {
			in.next = h * factor
		} else {
			in.next = math.Max(in.next, h*factor)
		}
		*y, in.k[0] = in.z, in.k[6]
		if last {
			return
		}
		t += h
	}
}
