package lake

import (
	"context"
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Wild lines are found in three steps. A fit that a few of them cannot move (least
// absolute values first, then Tukey's bisquare) tells which runs may be wild. Without
// these the runs are fitted by least squares. Then each is held to that fit by an F test,
// the most likely first, and taken in again if it agrees. So a log without wild lines
// mostly keeps all its runs.

// Chosen figures. Of runs with errors as stated one in a thousand is suspected; and of
// invented logs without a wild line one in seventy loses one.
const (
	suspectShare = .001
	wildShare    = .003
)

// bisquare are the distances at which Tukey's weights end, for runs of one and of two
// readings: 95 % efficient for normal errors (Holland and Welsch, Communications in
// Statistics A6, 1977, and the same for two readings; from memory).
var bisquare = [maxReadings + 1]float64{0, 4.685, 5.12}

// medianDistance are the medians of the length of one and of two independent normal
// readings: the roots of the medians of chi-squared, for two of 2 log 2.
var medianDistance = [maxReadings + 1]float64{0, .6744898, 1.1774100}

// robust fits parameters so that a few wild runs do not move them. It begins with the runs
// straightened at the uncorrected parameters, and returns the parameters and how far off
// each run is, over what is to be expected.
func (p *problem) robust(ctx context.Context, list []int, parameters []int, first []linearRun) (b [maxParameters]float64, distance []float64, err error) {
	b = uncorrected
	runs := first
	for round := range 2 {
		if round > 0 { // straightened anew at the better estimate
			if runs, _, err = p.linearise(ctx, list, b, p.logged(), nil); err != nil {
				return b, nil, err
			}
		}
		var d [maxParameters]float64
		weight := make([]float64, len(runs))
		reweigh := func(most int, w func(r *linearRun, distance float64) float64) error {
			for range most {
				for i := range runs {
					weight[i] = w(&runs[i], runs[i].distance(d))
				}
				next, covariance, err := step(runs, weight, parameters)
				if err != nil {
					return err
				}
				still := true
				for j, q := range parameters {
					still = still && math.Abs(next[q]-d[q]) < .01*math.Sqrt(covariance.At(j, j))
				}
				d = next
				if still {
					break
				}
			}
			return nil
		}
		if err := reweigh(25, func(_ *linearRun, distance float64) float64 { return 1 / math.Max(distance, 1e-3) }); err != nil {
			return b, nil, err
		}
		size := spread(runs, d, len(parameters))
		err = reweigh(15, func(r *linearRun, distance float64) float64 {
			u := distance / (size * bisquare[r.rows])
			return math.Max(1e-6, math.Pow(math.Max(0, 1-u*u), 2))
		})
		if err != nil {
			return b, nil, err
		}
		size = spread(runs, d, len(parameters))
		distance = make([]float64, len(runs))
		for i := range runs {
			distance[i] = runs[i].distance(d) / size
		}
		for j := range b {
			b[j] += d[j]
		}
		b = possible(b)
	}
	return b, distance, nil
}

// spread returns the size of the errors over the stated accuracies from the median of
// the runs' distances, at least a millionth.
func spread(runs []linearRun, d [maxParameters]float64, parameters int) float64 {
	size := make([]float64, len(runs))
	readings := 0
	for i := range runs {
		size[i] = runs[i].distance(d) / medianDistance[runs[i].rows]
		readings += runs[i].rows
	}
	slices.Sort(size)
	m := size[len(size)/2]
	if n := len(size); n%2 == 0 {
		m = (m + size[n/2-1]) / 2
	}
	return math.Max(1e-6, m*math.Sqrt(float64(readings)/float64(max(1, readings-parameters))))
}

// possible holds parameters to what a craft file may say.
func possible(b [maxParameters]float64) [maxParameters]float64 {
	for j, l := range [maxParameters][2]float64{LiftFactor: {.55, 1.45}, CPOffset: {-4.5, 4.5}, CPPerM: {-4.5, 4.5}} {
		b[j] = math.Min(l[1], math.Max(l[0], b[j]))
	}
	return b
}

// wild is a run that does not agree with the others.
type wild struct {
	run      int
	distance float64 // over what the others' fit leaves it, in standard errors of that
}

// suspects returns the runs of a list that a robust fit of parameters leaves far off, and
// the parameters of that fit.
func (p *problem) suspects(ctx context.Context, list []int, parameters []int, first []linearRun) (out []wild, b [maxParameters]float64, err error) {
	b, distance, err := p.robust(ctx, list, parameters, first)
	if err != nil {
		return nil, b, err
	}
	var far [maxReadings + 1]float64
	for n := 1; n <= maxReadings; n++ {
		far[n] = math.Sqrt(distuv.ChiSquared{K: float64(n)}.Quantile(1 - suspectShare))
	}
	for k, i := range list {
		if n := p.runs[i].readings; distance[k] > far[n] {
			out = append(out, wild{i, distance[k] / bisquare[n]})
		}
	}
	return out, b, nil
}

// withoutWild fits the parameters of a wide list to the runs that agree, and returns the
// fit, these runs, and those that do not. A run with a wild clearance draws a growth with
// clearance to itself; so those are suspected, too, that a fit of the narrow list leaves
// far off.
func (p *problem) withoutWild(ctx context.Context, list []int, narrow, parameters []int, first []linearRun) (*solution, []int, []wild, error) {
	suspects, b, err := p.suspects(ctx, list, narrow, first)
	if err != nil {
		return nil, nil, nil, err
	}
	if len(parameters) > len(narrow) {
		more, wide, err := p.suspects(ctx, list, parameters, first)
		if err != nil {
			return nil, nil, nil, err
		}
		b = wide
		for _, w := range more {
			if !slices.ContainsFunc(suspects, func(v wild) bool { return v.run == w.run }) {
				suspects = append(suspects, w)
			}
		}
	}
	slices.SortStableFunc(suspects, func(a, b wild) int {
		switch {
		case a.distance < b.distance:
			return -1
		case a.distance > b.distance:
			return 1
		}
		return 0
	})
	if most := (len(list) - 1) / 3; len(suspects) > most { // of a log that is wild all over, the worst third
		suspects = suspects[len(suspects)-most:]
	}
	kept := slices.DeleteFunc(slices.Clone(list), func(i int) bool {
		return slices.ContainsFunc(suspects, func(w wild) bool { return w.run == i })
	})
	s, err := p.solve(ctx, kept, b, p.logged(), parameters, uncorrected, nil)
	if err != nil {
		return nil, nil, nil, err
	}
	// A growth that the good runs do not ask for must not stretch to a wild one.
	use := parameters
	if len(parameters) > len(narrow) && len(suspects) > 0 && !s.test([]int{len(narrow)}, []float64{s.b[parameters[len(narrow)]]}, growthLevel).Asked {
		use = narrow
		if s, err = p.solve(ctx, kept, s.b, s.x, use, uncorrected, s.known); err != nil {
			return nil, nil, nil, err
		}
	}
	var out []wild
	for _, w := range suspects {
		agrees, distance, err := p.agrees(ctx, s, w.run, use, len(list))
		if err != nil {
			return nil, nil, nil, err
		}
		if !agrees {
			w.distance = distance
			out = append(out, w)
			continue
		}
		kept = append(kept, w.run)
		slices.Sort(kept)
		if s, err = p.solve(ctx, kept, s.b, s.x, use, uncorrected, nil); err != nil {
			return nil, nil, nil, err
		}
	}
	if len(use) < len(parameters) {
		if s, err = p.solve(ctx, kept, s.b, s.x, parameters, uncorrected, nil); err != nil {
			return nil, nil, nil, err
		}
	}
	slices.SortFunc(out, func(a, b wild) int { return a.run - b.run })
	return s, kept, out, nil
}

// agrees tests whether a run that a fit did not use agrees with it, and returns how far off
// it is, in standard errors. One in wildShare of logs of n runs without a wild line has
// one that does not.
func (p *problem) agrees(ctx context.Context, s *solution, run int, parameters []int, n int) (bool, float64, error) {
	x := slices.Clone(s.x)
	x[run] = p.runs[run].x
	l, _, err := p.linearise(ctx, []int{run}, s.b, x, nil)
	if err != nil {
		var re *runError
		if errors.As(err, &re) {
			return false, math.Inf(1), nil
		}
		return false, 0, err
	}
	free := s.readings - len(parameters)
	if free < 1 {
		return true, 0, nil
	}
	// What is left of it has the covariance 1 + J C J', its own errors and the fit's.
	r := &l[0]
	var c [maxReadings][maxReadings]float64
	for i := range r.rows {
		for j := range r.rows {
			if i == j {
				c[i][j] = 1
			}
			for a, pa := range parameters {
				for b, pb := range parameters {
					c[i][j] += r.design[i][pa] * s.covariance.At(a, b) * r.design[j][pb]
				}
			}
		}
	}
	var sum float64
	if r.rows == 1 {
		sum = r.residual[0] * r.residual[0] / c[0][0]
	} else {
		det := c[0][0]*c[1][1] - c[0][1]*c[1][0]
		sum = (c[1][1]*r.residual[0]*r.residual[0] - 2*c[0][1]*r.residual[0]*r.residual[1] + c[0][0]*r.residual[1]*r.residual[1]) / det
	}
	variance := math.Max(s.sum/float64(free), 1e-12)
	f := sum / float64(r.rows) / variance
	return fTail(f, r.rows, free)*float64(n) >= wildShare, math.Sqrt(sum / variance), nil
}

// fTail returns the share of Fisher's F beyond f.
func fTail(f float64, above, below int) float64 {
	if math.IsInf(f, 1) {
		return 0
	}
	return 1 - distuv.F{D1: float64(above), D2: float64(below)}.CDF(f)
}
