package vlm

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/lapack/gonum"
)

// factors are the lower and upper triangular factors of a square matrix with its rows
// exchanged, in LAPACK's layout: L without its diagonal of ones below that of U.
type factors struct {
	n      int
	a      []float64 // the matrix, then its factors, row by row
	pivots []int     // row i was exchanged for row pivots[i]
	work   []float64
	iwork  []int
}

func newFactors(n int) factors {
	return factors{n: n, a: make([]float64, n*n), pivots: make([]int, n), work: make([]float64, 2*n), iwork: make([]int, n)}
}

// factorize replaces the matrix by its factors. It returns errSingular if its condition
// is not below 1e13, or the context's error.
//
// It eliminates four columns at a time, so that an element is loaded once for four
// products. In WebAssembly, without vector instructions, that takes half the general
// library's time, and with them the same at the sizes of a lattice.
func (f *factors) factorize(c *canceller) error {
	const block = 4
	n := f.n
	norm := 0.0
	for i := range n {
		s := 0.0
		for _, v := range f.row(i) {
			s += math.Abs(v)
		}
		norm = max(norm, s)
	}
	if math.IsNaN(norm) || math.IsInf(norm, 1) {
		return errSingular
	}
	for k0 := 0; k0 < n; k0 += block {
		k1 := min(k0+block, n)
		for k := k0; k < k1; k++ {
			p := k
			for i := k + 1; i < n; i++ {
				if math.Abs(f.a[i*n+k]) > math.Abs(f.a[p*n+k]) {
					p = i
				}
			}
			f.pivots[k] = p
			pivot := f.row(k)
			if p != k {
				for j, other := 0, f.row(p); j < n; j++ {
					pivot[j], other[j] = other[j], pivot[j]
				}
			}
			if pivot[k] == 0 {
				return errSingular
			}
			inv := 1 / pivot[k]
			for i := k + 1; i < n; i++ {
				row := f.row(i)
				l := row[k] * inv
				row[k] = l
				for j := k + 1; j < k1; j++ {
					row[j] -= l * pivot[j]
				}
			}
		}
		if k1 == n {
			break
		}
		u0, u1, u2, u3 := f.row(k0)[k0:], f.row(k0 + 1)[k0:], f.row(k0 + 2)[k0:], f.row(k0 + 3)[k0:]
		l10, l20, l21, l30, l31, l32 := u1[0], u2[0], u2[1], u3[0], u3[1], u3[2]
		u0, u1, u2, u3 = u0[block:], u1[block:], u2[block:], u3[block:]
		u1, u2, u3 = u1[:len(u0)], u2[:len(u0)], u3[:len(u0)]
		for j, v := range u0 {
			w := u1[j] - l10*v
			x := u2[j] - l20*v - l21*w
			u1[j], u2[j] = w, x
			u3[j] -= l30*v + l31*w + l32*x
		}
		for i := k1; i < n; i++ {
			if (i-k1)%block == 0 {
				if err := c.spend(block * (n - k0) * operationsPerElement); err != nil {
					return err
				}
			}
			row := f.row(i)[k0:]
			addFour(row[block:], u0, u1, u2, u3, &[block]float64{-row[0], -row[1], -row[2], -row[3]})
		}
	}
	return f.checkCondition(c, norm)
}

// addFourGo adds the weighted sum of four rows, each as long as the first: an element is loaded
// once for four products. addFour does the same, with vector registers where there is code for
// them.
func addFourGo(to, a, b, c, d []float64, w *[4]float64) {
	a, b, c, d = a[:len(to)], b[:len(to)], c[:len(to)], d[:len(to)]
	for j := range to {
		to[j] += w[0]*a[j] + w[1]*b[j] + w[2]*c[j] + w[3]*d[j]
	}
}

func (f *factors) row(i int) []float64 { return f.a[i*f.n : (i+1)*f.n] }

// errSingular says that the equations have no single solution.
var errSingular = errors.New("the lattice has no single solution here: two wings, or a wing and the water, are closer than the cells can tell apart")

// checkCondition returns errSingular if the condition of the matrix is not below 1e13,
// or the context's error; norm is the matrix's largest row sum.
//
// Estimating the condition takes as long as several solutions, so it is done only if
// an upper bound does not settle the matter, which it does by far on any lattice that
// is not degenerate: the largest row sum of the inverse is no larger than the largest
// element of |U|'^-1 |L|'^-1 e, where ' makes the signs off the diagonal negative
// (Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed., sec. 8.2). The
// estimate is Higham's too (sec. 15.3).
func (f *factors) checkCondition(c *canceller, norm float64) error {
	const most = 1e13
	n, x := f.n, f.work[:f.n]
	if err := c.spend(2 * n * n); err != nil {
		return err
	}
	bound := 0.0
	for i := range x {
		x[i] = 1 + absDot(f.row(i)[:i], x)
	}
	for i := n - 1; i >= 0; i-- {
		x[i] = (x[i] + absDot(f.row(i)[i+1:], x[i+1:])) / math.Abs(f.a[i*n+i])
		bound = max(bound, x[i])
	}
	if bound*norm < most {
		return nil
	}
	// The largest row sum of the inverse is the largest column sum of its transpose.
	v := f.work[n:]
	inverse, kase, save := 0.0, 0, [3]int{}
	for {
		inverse, kase = gonum.Implementation{}.Dlacn2(n, v, x, f.iwork, inverse, kase, &save)
		if err := c.spend(2 * n * n); err != nil {
			return err
		}
		switch kase {
		case 0:
			if inverse*norm < most {
				return nil
			}
			return errSingular
		case 1:
			f.solveTransposed(x)
		default:
			f.solve(x)
		}
		if !allFinite(x) {
			return errSingular
		}
	}
}

func allFinite(x []float64) bool {
	for _, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// absDot returns the sum of |a|x; x is as long as a or longer.
func absDot(a, x []float64) float64 {
	s, t := 0.0, 0.0
	for len(a) >= 2 && len(x) >= 2 {
		s, t = s+math.Abs(a[0])*x[0], t+math.Abs(a[1])*x[1]
		a, x = a[2:], x[2:]
	}
	if len(a) == 1 {
		s += math.Abs(a[0]) * x[0]
	}
	return s + t
}

// dot returns the sum of ax; x is as long as a or longer.
func dot(a, x []float64) float64 {
	s, t := 0.0, 0.0
	for len(a) >= 2 && len(x) >= 2 {
		s, t = s+a[0]*x[0], t+a[1]*x[1]
		a, x = a[2:], x[2:]
	}
	if len(a) == 1 {
		s += a[0] * x[0]
	}
	return s + t
}

// solve replaces a right-hand side by the solution.
func (f *factors) solve(x []float64) {
	for i, p := range f.pivots {
		x[i], x[p] = x[p], x[i]
	}
	for i := range x {
		x[i] -= dot(f.row(i)[:i], x)
	}
	for i := f.n - 1; i >= 0; i-- {
		x[i] = (x[i] - dot(f.row(i)[i+1:], x[i+1:])) / f.a[i*f.n+i]
	}
}

// solveTransposed is solve for the transpose of the matrix.
func (f *factors) solveTransposed(x []float64) {
	for i := range x {
		row := f.row(i)
		x[i] /= row[i]
		for j := i + 1; j < f.n; j++ {
			x[j] -= row[j] * x[i]
		}
	}
	for i := f.n - 1; i >= 0; i-- {
		for j, l := range f.row(i)[:i] {
			x[j] -= l * x[i]
		}
	}
	for i := f.n - 1; i >= 0; i-- {
		p := f.pivots[i]
		x[i], x[p] = x[p], x[i]
	}
}
