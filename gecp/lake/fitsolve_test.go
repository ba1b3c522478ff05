package lake

import (
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// published reads a table of numbers under its head.
func published(t *testing.T, name string) [][]float64 {
	t.Helper()
	f, err := os.Open("../../testdata/published/" + name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	var out [][]float64
	for _, row := range rows[1:] {
		var v []float64
		for _, s := range row {
			x, err := strconv.ParseFloat(s, 64)
			require.NoError(t, err)
			v = append(v, x)
		}
		out = append(out, v)
	}
	return out
}

// largest returns the largest relative difference.
func largest(got, want []float64) float64 {
	d := 0.
	for i := range want {
		d = math.Max(d, math.Abs(got[i]-want[i])/math.Abs(want[i]))
	}
	return d
}

func TestLeastSquaresPublishedLongley(t *testing.T) {
	data := published(t, "longley.csv")
	a, b := mat.NewDense(len(data), 7, nil), make([]float64, len(data))
	for i, row := range data {
		b[i] = row[0]
		a.Set(i, 0, 1)
		for j, x := range row[1:] {
			a.Set(i, j+1, x)
		}
	}
	x, inverse, err := leastSquares(a, b)
	require.NoError(t, err)
	var s2 float64
	for i := range data {
		r := b[i]
		for j := range x {
			r -= a.At(i, j) * x[j]
		}
		s2 += r * r / float64(len(data)-len(x))
	}
	errs := make([]float64, len(x))
	for i := range errs {
		errs[i] = math.Sqrt(s2 * inverse.At(i, i))
	}
	estimates := largest(x, []float64{-3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359, -0.0511041056535807, 1829.15146461355})
	deviations := largest(append(errs, math.Sqrt(s2)), []float64{890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699, 0.214274163161675, 0.226073200069370, 455.478499142212, 304.854073561965})
	t.Logf("check NIST Longley: largest difference %.1e of an estimate, %.1e of a standard error", estimates, deviations)
	assert.Less(t, estimates, 1e-9)
	assert.Less(t, deviations, 1e-9)
}

// line is the model y = b0 + b1 x.
func line(b [maxParameters]float64) (func(run int, x [maxSettings]float64, known *response) (response, error), error) {
	return func(_ int, x [maxSettings]float64, _ *response) (response, error) {
		return response{
			y:           [maxReadings]float64{b[0] + b[1]*x[0]},
			byParameter: [maxReadings][maxParameters]float64{{1, x[0]}},
			bySetting:   [maxReadings][maxSettings]float64{{b[1]}},
		}, nil
	}, nil
}

func all(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

func TestFitPublishedNorris(t *testing.T) {
	p := problem{model: line, rest: 1e-6}
	for _, row := range published(t, "norris.csv") {
		p.runs = append(p.runs, observation{readings: 1, y: [2]float64{row[0]}, yError: [2]float64{1}, x: [2]float64{row[1]}, xLeast: [2]float64{-1e9}, xMost: [2]float64{1e9}})
	}
	s, err := p.solve(t.Context(), all(len(p.runs)), [3]float64{}, p.logged(), []int{0, 1}, [3]float64{}, nil)
	require.NoError(t, err)
	s2 := s.sum / float64(len(p.runs)-2)
	got := []float64{s.b[0], s.b[1], math.Sqrt(s2 * s.covariance.At(0, 0)), math.Sqrt(s2 * s.covariance.At(1, 1)), math.Sqrt(s2)}
	d := largest(got, []float64{-0.262323073774029, 1.00211681802045, 0.232818234301152, 0.000429796848199937, 0.884796396144373})
	t.Logf("check NIST Norris: largest difference %.1e of an estimate or a standard error", d)
	assert.Less(t, d, 1e-11)
	assert.Equal(t, len(p.runs), s.readings)
}

func TestFitPublishedPearsonYork(t *testing.T) {
	p := problem{model: line, rest: 1e-6}
	for _, row := range published(t, "pearson_york.csv") {
		p.runs = append(p.runs, observation{readings: 1, y: [2]float64{row[1]}, yError: [2]float64{1 / math.Sqrt(row[3])},
			x: [2]float64{row[0]}, xError: [2]float64{1 / math.Sqrt(row[2])}, xLeast: [2]float64{-1e9, -1e9}, xMost: [2]float64{1e9, 1e9}})
	}
	s, err := p.solve(t.Context(), all(len(p.runs)), [3]float64{}, p.logged(), []int{0, 1}, [3]float64{}, nil)
	require.NoError(t, err)
	estimates := largest(s.b[:2], []float64{5.47991022, -0.480533407})
	deviations := largest([]float64{math.Sqrt(s.covariance.At(0, 0)), math.Sqrt(s.covariance.At(1, 1)), s.sum / 8}, []float64{.29497, .057985, 1.4833})
	t.Logf("check Pearson's data with York's weights: largest difference %.1e of an estimate, %.1e of a standard error or the sum", estimates, deviations)
	assert.Less(t, estimates, 1e-6)
	assert.Less(t, deviations, 1e-4, "published to five digits")
}

// Two readings of a run that share its settings' errors, against the same least squares
// with the settings as parameters of their own, solved plainly.
func TestFitAgainstAllUnknownsAtOnce(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 20 {
		const n = 7
		// y0 = b0 + b2 x0 + x1, y1 = b1 + b0 x1: linear in everything but for the products.
		model := func(b [3]float64) (func(int, [2]float64, *response) (response, error), error) {
			return func(_ int, x [2]float64, _ *response) (response, error) {
				return response{
					y:           [2]float64{b[0] + b[2]*x[0] + x[1], b[1] + b[0]*x[1]},
					byParameter: [2][3]float64{{1, 0, x[0]}, {x[1], 1, 0}},
					bySetting:   [2][2]float64{{b[2], 1}, {0, b[0]}},
				}, nil
			}, nil
		}
		p := problem{model: model, rest: 1e-6}
		for range n {
			x0, x1 := 3*rng.Float64(), 2*rng.Float64()
			p.runs = append(p.runs, observation{readings: 2,
				y: [2]float64{1 + .5*x0 + x1 + .1*rng.NormFloat64(), .3 + x1 + .2*rng.NormFloat64()}, yError: [2]float64{.1, .2},
				x: [2]float64{x0 + .05*rng.NormFloat64(), x1 + .1*rng.NormFloat64()}, xError: [2]float64{.05, .1},
				xLeast: [2]float64{-1e9, -1e9}, xMost: [2]float64{1e9, 1e9}})
		}
		s, err := p.solve(t.Context(), all(n), [3]float64{1, 0, 0}, p.logged(), []int{0, 1, 2}, [3]float64{}, nil)
		require.NoError(t, err)
		// At the solution found, no step of all 3 + 2 n unknowns lowers the sum.
		a, b := mat.NewDense(4*n, 3+2*n, nil), make([]float64, 4*n)
		at, _ := model(s.b)
		sum := 0.
		for i, o := range p.runs {
			r, _ := at(i, s.x[i], nil)
			for k := range 2 {
				b[4*i+k] = (o.y[k] - r.y[k]) / o.yError[k]
				b[4*i+2+k] = (o.x[k] - s.x[i][k]) / o.xError[k]
				for j := range 3 {
					a.Set(4*i+k, j, r.byParameter[k][j]/o.yError[k])
				}
				for j := range 2 {
					a.Set(4*i+k, 3+2*i+j, r.bySetting[k][j]/o.yError[k])
				}
				a.Set(4*i+2+k, 3+2*i+k, 1/o.xError[k])
			}
		}
		for _, v := range b {
			sum += v * v
		}
		x, inverse, err := leastSquares(a, b)
		require.NoError(t, err)
		assert.InDelta(t, sum, s.sum, 1e-5*sum)
		for j := range 3 {
			assert.InDelta(t, 0, x[j], 1e-3*math.Sqrt(inverse.At(j, j)))
			for k := range 3 {
				assert.InDelta(t, inverse.At(j, k), s.covariance.At(j, k), 1e-3*math.Sqrt(inverse.At(j, j)*inverse.At(k, k)))
			}
		}
	}
}

func TestFitSaysWhatCannotBeTold(t *testing.T) {
	p := problem{model: line, rest: 1e-6}
	for range 5 { // all at one x
		p.runs = append(p.runs, observation{readings: 1, y: [2]float64{3}, yError: [2]float64{1}, x: [2]float64{2}})
	}
	_, err := p.solve(t.Context(), all(5), [3]float64{}, p.logged(), []int{0, 1}, [3]float64{}, nil)
	assert.ErrorIs(t, err, errUndetermined)
	_, err = p.solve(t.Context(), all(1), [3]float64{}, p.logged(), []int{0, 1}, [3]float64{}, nil)
	assert.ErrorIs(t, err, errUndetermined)
	_, err = p.solve(t.Context(), nil, [3]float64{}, p.logged(), []int{0}, [3]float64{}, nil)
	assert.ErrorIs(t, err, errUndetermined)
	p.runs[3].yError[0] = 0
	_, err = p.solve(t.Context(), all(5), [3]float64{}, p.logged(), []int{0}, [3]float64{}, nil)
	var re *runError
	require.ErrorAs(t, err, &re)
	assert.Equal(t, 3, re.run)
	p.model = func([3]float64) (func(int, [2]float64, *response) (response, error), error) {
		return nil, errors.New("no map")
	}
	_, err = p.solve(t.Context(), all(5), [3]float64{}, p.logged(), []int{0}, [3]float64{}, nil)
	assert.True(t, strings.Contains(err.Error(), "no map"))
}
