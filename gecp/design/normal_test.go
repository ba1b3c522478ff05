package design

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// covarianceOf returns the covariance of standard deviations and correlations, pair by
// pair in the order 01, 02, 12 and so on.
func covarianceOf(sigma []float64, correlations ...float64) *mat.SymDense {
	c := mat.NewSymDense(len(sigma), nil)
	k := 0
	for j := range sigma {
		c.SetSym(j, j, sigma[j]*sigma[j])
		for i := range j {
			c.SetSym(i, j, correlations[k]*sigma[i]*sigma[j])
			k++
		}
	}
	return c
}

// The worked example of correlated quantities, resistance, reactance and impedance
// measured at once: JCGM 100:2008, annex H.2, tables H.2 to H.4 (its figures from
// memory). The uncertainties and correlations of the results come from draws of the
// three means with their correlations.
func TestPublishedUncertaintyOfImpedance(t *testing.T) {
	const (
		volts, amps, phase    = 4.9990, 19.6610e-3, 1.04446
		uVolts, uAmps, uPhase = .0032, .0095e-3, .00075
		rVA, rVP, rAP         = -.36, .86, -.65
	)
	d, err := newNormal(covarianceOf([]float64{uVolts, uAmps, uPhase}, rVA, rVP, rAP))
	require.NoError(t, err)
	const n = 20_000
	results := [3][]float64{}
	for i := range n {
		x := d.draw(1, i)
		v, a, p := volts+x[0], amps+x[1], phase+x[2]
		for k, y := range []float64{v / a * math.Cos(p), v / a * math.Sin(p), v / a} {
			results[k] = append(results[k], y)
		}
	}
	worst := 0.
	for k, want := range []struct{ value, uncertainty float64 }{{127.732, .071}, {219.847, .295}, {254.260, .236}} {
		got, u := stat.MeanStdDev(results[k], nil)
		assert.InDelta(t, want.value, got, 4*want.uncertainty/math.Sqrt(n)+.001, "result %d", k)
		// Of n draws a standard deviation is good to 1/sqrt(2n), .5 %; the table's digits to 1 %
		// in the first of them.
		assert.InEpsilon(t, want.uncertainty, u, .025, "uncertainty of result %d", k)
		worst = math.Max(worst, math.Abs(u/want.uncertainty-1))
	}
	corr := func(i, j int) float64 { return stat.Correlation(results[i], results[j], nil) }
	off := 0.
	for _, c := range []struct {
		got, want float64
	}{{corr(0, 1), -.588}, {corr(0, 2), -.485}, {corr(1, 2), .993}} {
		assert.InDelta(t, c.want, c.got, .02)
		off = math.Max(off, math.Abs(c.got-c.want))
	}
	t.Logf("check JCGM 100 H.2 (from memory): largest difference %.1f %% of an uncertainty (tolerance 2.5 %%), %.3f of a correlation (0.02: the inputs' correlations have two digits)", 100*worst, off)
}

// Draws keep to their covariance, also where quantities go wholly together or do not
// vary; and each build is drawn by itself.
func TestDraw(t *testing.T) {
	d, err := newNormal(covarianceOf([]float64{2, 2, 0, 1}, 1, 0, 0, 0, 0, 0))
	require.NoError(t, err)
	const n = 20_000
	var a, b, c, e []float64
	for i := range n {
		x := d.draw(7, i)
		a, b, c, e = append(a, x[0]), append(b, x[1]), append(c, x[2]), append(e, x[3])
	}
	mean, dev := stat.MeanStdDev(a, nil)
	assert.InDelta(t, 0, mean, .06)
	assert.InDelta(t, 2, dev, .05)
	assert.InDeltaSlice(t, a, b, 1e-9, "correlated by 1")
	assert.Equal(t, make([]float64, n), c)
	assert.InDelta(t, 0, stat.Correlation(a, e, nil), .03)
	assert.InDelta(t, 0, stat.Correlation(a[1:], a[:n-1], nil), .03, "neighbouring builds have nothing to do with each other")
	assert.Equal(t, d.draw(7, 5), d.draw(7, 5))
	assert.NotEqual(t, d.draw(7, 5), d.draw(8, 5))
}

func TestNoSuchCorrelation(t *testing.T) {
	_, err := newNormal(covarianceOf([]float64{1, 1, 1}, .9, .9, -.9))
	assert.ErrorContains(t, err, "cannot be correlated as told")
}
