package lake

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp/internal/parallel"
)

// Least squares with errors in what was set as well as in what was read, for runs that
// each have up to two readings and two settings.
//
// A reading y is a function g of the parameters b and of the settings' true values x,
// which the log knows as X, with errors. Sought are b and all x with the least
//
//	sum over runs of (y - g(b, x))' Cy^-1 (y - g(b, x)) + (X - x)' Cx^-1 (X - x).
//
// With g straightened at (b, x), g + Gb db + Gx dx, the x of each run drop out: what is
// left is least squares of y - g - Gx (X - x) over Gb db with the covariance Cy + Gx Cx
// Gx', the effective variance (Orear, American Journal of Physics 50, 1982; York, Canadian
// Journal of Physics 44, 1966; both from memory). That step is repeated until it stands
// still. Straightening it at the true settings and not at those in the log keeps a growth
// with clearance from being drawn towards zero by the errors of the clearances.

const (
	maxReadings   = 2
	maxSettings   = 2
	maxParameters = 3
)

// observation is what one run tells, with standard deviations. A setting without an error
// has the deviation 0.
type observation struct {
	readings      int
	y, yError     [maxReadings]float64
	x, xError     [maxSettings]float64
	xLeast, xMost [maxSettings]float64 // between which the true settings are looked for
}

// response is what a model has for a run, with its derivatives.
type response struct {
	y           [maxReadings]float64
	byParameter [maxReadings][maxParameters]float64
	bySetting   [maxReadings][maxSettings]float64
}

// responseModel returns, for parameters, what tells the response of a run at settings. If
// known is not nil it is a response close by, whose derivatives will do.
type responseModel func(b [maxParameters]float64) (func(run int, x [maxSettings]float64, known *response) (response, error), error)

// linearRun is a run straightened at parameters and settings and divided by its
// covariance, so that all its rows are of the same weight.
type linearRun struct {
	rows     int
	residual [maxReadings]float64
	design   [maxReadings][maxParameters]float64
}

// distance returns the length of what is left of the residual after a step of the
// parameters.
func (l *linearRun) distance(step [maxParameters]float64) float64 {
	var sum float64
	for i := range l.rows {
		r := l.residual[i]
		for j, d := range step {
			r -= l.design[i][j] * d
		}
		sum += r * r
	}
	return math.Sqrt(sum)
}

// runError is an error of one run.
type runError struct {
	run int
	err error
}

func (e *runError) Error() string { return fmt.Sprintf("run %d: %v", e.run+1, e.err) }
func (e *runError) Unwrap() error { return e.err }

// problem is a fit to some runs.
type problem struct {
	runs  []observation
	model responseModel
	// rest is the part of its standard error below which a step of a parameter ends the
	// iteration.
	rest float64
}

// logged returns the settings as they stand in the log.
func (p *problem) logged() [][maxSettings]float64 {
	x := make([][maxSettings]float64, len(p.runs))
	for i := range p.runs {
		x[i] = p.runs[i].x
	}
	return x
}

// linearise straightens the runs of a list at parameters b and at the settings x, one a
// run of the problem, with the derivatives of known responses where there are any. It
// returns a *runError for a run without a response.
func (p *problem) linearise(ctx context.Context, list []int, b [maxParameters]float64, x [][maxSettings]float64, known map[int]*response) ([]linearRun, []response, error) {
	at, err := p.model(b)
	if err != nil {
		return nil, nil, err
	}
	out, responses := make([]linearRun, len(list)), make([]response, len(list))
	const batch = 8
	err = parallel.Each(ctx, (len(list)+batch-1)/batch, func(k int) error {
		for n := k * batch; n < min((k+1)*batch, len(list)); n++ {
			i := list[n]
			r, err := at(i, x[i], known[i])
			if err != nil {
				return &runError{i, err}
			}
			l, ok := p.runs[i].straighten(r, x[i])
			if !ok {
				return &runError{i, errors.New("the readings cannot be weighed")}
			}
			out[n], responses[n] = l, r
		}
		return nil
	})
	return out, responses, err
}

// straighten returns the run straightened at settings x.
func (o *observation) straighten(r response, x [maxSettings]float64) (linearRun, bool) {
	l := linearRun{rows: o.readings}
	c := o.covariance(r)
	for i := range o.readings {
		l.residual[i] = o.y[i] - r.y[i]
		for k := range x {
			l.residual[i] -= r.bySetting[i][k] * (o.x[k] - x[k])
		}
		l.design[i] = r.byParameter[i]
	}
	// With the covariance L L', L^-1 makes the rows independent and of variance 1.
	for i := range o.readings {
		for j := range i {
			f := c[i][j] // L, found so far
			l.residual[i] -= f * l.residual[j]
			for k := range l.design[i] {
				l.design[i][k] -= f * l.design[j][k]
			}
		}
		d := c[i][i]
		if !(d > 0) || math.IsInf(d, 0) {
			return l, false
		}
		l.residual[i] /= d
		for k := range l.design[i] {
			l.design[i][k] /= d
		}
	}
	return l, true
}

// covariance returns the lower factor L of Cy + Gx Cx Gx' = L L'.
func (o *observation) covariance(r response) (c [maxReadings][maxReadings]float64) {
	for i := range o.readings {
		for j := range i + 1 {
			var v float64
			if i == j {
				v = o.yError[i] * o.yError[i]
			}
			for k, s := range o.xError {
				v += r.bySetting[i][k] * r.bySetting[j][k] * s * s
			}
			for k := range j {
				v -= c[i][k] * c[j][k]
			}
			if i == j {
				c[i][i] = math.Sqrt(v)
			} else {
				c[i][j] = v / c[j][j]
			}
		}
	}
	return c
}

// settings returns the likeliest true settings of a run, if residual is what is left of
// its readings, divided by its covariance.
func (o *observation) settings(r response, residual [maxReadings]float64) [maxSettings]float64 {
	c := o.covariance(r)
	// w = C^-1 times the residual = L'^-1 times the divided residual.
	w := residual
	for i := o.readings - 1; i >= 0; i-- {
		for j := i + 1; j < o.readings; j++ {
			w[i] -= c[j][i] * w[j]
		}
		w[i] /= c[i][i]
	}
	x := o.x
	for k, s := range o.xError {
		for i := range o.readings {
			x[k] += s * s * r.bySetting[i][k] * w[i]
		}
		x[k] = math.Min(o.xMost[k], math.Max(o.xLeast[k], x[k]))
	}
	return x
}

// errUndetermined says that the runs do not tell the parameters asked for.
var errUndetermined = errors.New("the runs do not tell the parameters")

// leastSquares returns the x with the least |b - A x|, and (A'A)^-1. It returns
// errUndetermined if the columns of A, each divided by its length, depend on each other.
func leastSquares(a *mat.Dense, b []float64) (x []float64, inverse *mat.SymDense, err error) {
	rows, n := a.Dims()
	if rows < n {
		return nil, nil, errUndetermined
	}
	scaled := mat.DenseCopyOf(a)
	length := make([]float64, n)
	for j := range n {
		length[j] = mat.Norm(a.ColView(j), 2)
		if !(length[j] > 0) || math.IsInf(length[j], 0) {
			return nil, nil, errUndetermined
		}
		for i := range rows {
			scaled.Set(i, j, a.At(i, j)/length[j])
		}
	}
	var qr mat.QR
	qr.Factorize(scaled)
	if qr.Cond() > 1e10 {
		return nil, nil, errUndetermined
	}
	var sol mat.VecDense
	if err := qr.SolveVecTo(&sol, false, mat.NewVecDense(rows, b)); err != nil {
		return nil, nil, errUndetermined
	}
	var r mat.Dense
	qr.RTo(&r)
	// (A'A)^-1 = R^-1 R^-1'.
	inv := mat.NewDense(n, n, nil)
	for j := range n {
		for i := j; i >= 0; i-- {
			v := 0.
			if i == j {
				v = 1
			}
			for k := i + 1; k <= j; k++ {
				v -= r.At(i, k) * inv.At(k, j)
			}
			inv.Set(i, j, v/r.At(i, i))
		}
	}
	inverse = mat.NewSymDense(n, nil)
	x = make([]float64, n)
	for i := range n {
		x[i] = sol.AtVec(i) / length[i]
		for j := i; j < n; j++ {
			var v float64
			for k := j; k < n; k++ {
				v += inv.At(i, k) * inv.At(j, k)
			}
			inverse.SetSym(i, j, v/(length[i]*length[j]))
		}
	}
	return x, inverse, nil
}

// step returns the step of the parameters of a list that fits the straightened runs best,
// each with its weight, nil for all 1, and their covariance for runs of variance 1.
func step(runs []linearRun, weight []float64, parameters []int) (d [maxParameters]float64, covariance *mat.SymDense, err error) {
	if len(parameters) == 0 {
		return d, nil, nil
	}
	n := 0
	for i := range runs {
		n += runs[i].rows
	}
	a, b := mat.NewDense(max(n, 1), len(parameters), nil), make([]float64, max(n, 1))
	at := 0
	for i := range runs {
		w := 1.
		if weight != nil {
			w = math.Sqrt(weight[i])
		}
		for k := range runs[i].rows {
			for j, p := range parameters {
				a.Set(at, j, w*runs[i].design[k][p])
			}
			b[at] = w * runs[i].residual[k]
			at++
		}
	}
	x, covariance, err := leastSquares(a, b)
	if err != nil {
		return d, nil, err
	}
	for j, p := range parameters {
		d[p] = x[j]
	}
	return d, covariance, nil
}

// solution is a fit that has come to rest.
type solution struct {
	b          [maxParameters]float64
	covariance *mat.SymDense // of the parameters fitted, for runs of the stated accuracy
	x          [][maxSettings]float64
	runs       []linearRun // straightened at b and x
	sum        float64     // of the squares
	readings   int
	parameters int
	known      map[int]*response // close by, by run
}

// solve fits the parameters of a list to the runs of another, from parameters b and from
// settings x, with responses known there, if any; parameters that are not in the list stay
// as they are in fixed. It returns errUndetermined, and the errors of linearise.
func (p *problem) solve(ctx context.Context, list []int, b [maxParameters]float64, x [][maxSettings]float64, parameters []int, fixed [maxParameters]float64, known map[int]*response) (*solution, error) {
	for _, q := range parameters {
		fixed[q] = b[q]
	}
	s := &solution{b: fixed, parameters: len(parameters), x: slices.Clone(x), known: known}
	const most = 30
	for n := range most {
		runs, responses, err := p.linearise(ctx, list, s.b, s.x, s.known)
		if err != nil {
			return nil, err
		}
		// After two steps the settings move so little that derivatives keep.
		if n == 1 && s.known == nil {
			s.known = map[int]*response{}
			for k, i := range list {
				s.known[i] = &responses[k]
			}
		}
		d, covariance, err := step(runs, nil, parameters)
		if err != nil {
			return nil, err
		}
		s.runs, s.covariance = runs, covariance
		s.sum, s.readings = 0, 0
		moved := 0. // of the settings, over their errors
		for k, i := range list {
			l := &runs[k]
			var left [maxReadings]float64
			for r := range l.rows {
				left[r] = l.residual[r]
				for j := range d {
					left[r] -= l.design[r][j] * d[j]
				}
				s.sum += left[r] * left[r]
			}
			s.readings += l.rows
			x := p.runs[i].settings(responses[k], left)
			for j, e := range p.runs[i].xError {
				if e > 0 {
					moved = math.Max(moved, math.Abs(x[j]-s.x[i][j])/e)
				}
			}
			s.x[i] = x
		}
		still := true
		for j, q := range parameters {
			s.b[q] += d[q]
			still = still && math.Abs(d[q]) <= p.rest*math.Sqrt(covariance.At(j, j))
		}
		// A setting held at its border, or that swings about a kink of the map, must not keep
		// the parameters from coming to rest.
		if still && (moved < 10*p.rest || n >= 8) {
			return s, nil
		}
	}
	return s, nil
}
