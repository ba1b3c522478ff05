package design

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// normal is a normal distribution of several quantities about 0, correlated as they
// are. Any covariance will do, also one where quantities go wholly together or do not
// vary.
type normal struct {
	root *mat.Dense // times independent standard normals: the quantities
	n    int
}

// newNormal returns the distribution of a covariance. It returns an error if that is
// none: an eigenvalue below 0 beyond rounding.
func newNormal(covariance *mat.SymDense) (*normal, error) {
	n := covariance.SymmetricDim()
	var e mat.EigenSym
	if !e.Factorize(covariance, true) {
		return nil, errors.New("the covariance of the unknowns has no eigenvalues; its entries must be finite")
	}
	values := e.Values(nil)
	var vectors mat.Dense
	e.VectorsTo(&vectors)
	largest := math.Abs(values[n-1])
	for i, v := range values {
		if v < -1e-9*largest {
			return nil, fmt.Errorf("the unknowns cannot be correlated as told: the covariance has the eigenvalue %.3g", v)
		}
		root := math.Sqrt(math.Max(v, 0))
		for j := range n {
			vectors.Set(j, i, vectors.At(j, i)*root)
		}
	}
	return &normal{&vectors, n}, nil
}

// draw returns the quantities of one build. The same seed and build give the same
// quantities, whatever else is drawn, in whatever order.
func (d *normal) draw(seed uint64, build int) []float64 {
	r := rand.New(rand.NewPCG(seed, uint64(build)))
	z := mat.NewVecDense(d.n, nil)
	for i := range d.n {
		z.SetVec(i, r.NormFloat64())
	}
	var x mat.VecDense
	x.MulVec(d.root, z)
	return x.RawVector().Data
}
