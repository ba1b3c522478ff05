package design

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat/distmv"
	"gonum.org/v1/gonum/stat/samplemv"

	"example.org/groundeffect/gecp/internal/parallel"
)

// merit is how good a point is. Of two points that break limits the one is better that
// breaks them by less; one that breaks none is better than any that does; of two that
// break none the one with the lower cost is better.
type merit struct {
	broken float64 // sum of the parts by which limits are broken, 0 or more
	cost   float64 // to be made as small as can be; of no meaning where limits are broken
}

// less reports whether a is better than b.
func (a merit) less(b merit) bool {
	if a.broken > 0 || b.broken > 0 {
		return a.broken < b.broken
	}
	return a.cost < b.cost
}

// worst is worse than every point.
var worst = merit{broken: math.Inf(1)}

// score puts merits in one order for methods that compare numbers. A cost comes below any broken
// limit by the arcus tangent, which keeps the order of all numbers.
func (a merit) score() float64 {
	if a.broken > 0 {
		return 2 + math.Min(a.broken, 1e6)
	}
	return math.Atan(a.cost) // within ±1.6
}

// searchSpace is a box in which a function is searched, and how.
type searchSpace struct {
	from, to []float64 // of each dimension; from < to
	first    []float64 // a point to begin with beside others, or nil
	seed     uint64
	// Points of the first look over the whole box; the best of them that become starts of
	// their own; and the evaluations of each start.
	scan, starts, each int
	progress           func(part float64)
}

// found is a point that a search ends with.
type found struct {
	at []float64
	merit
}

// minimise returns the ends of the search's starts, the best first. It looks over the
// box at the points of a scrambled Halton sequence (Owen, A randomized Halton algorithm in R,
// 2017), and goes on from the best of them that lie apart with the evolution strategy of
// gonum (Krause, Arbones and Igel 2016), each start by itself, so that
// the answer does not depend on the number of processors. What lies outside of the box is mirrored
// into it. An error of f ends the search.
func (s searchSpace) minimise(ctx context.Context, f func(ctx context.Context, x []float64) (merit, error)) ([]found, error) {
	n := len(s.from)
	total := float64(s.scan + s.starts*s.each)
	points := mat.NewDense(s.scan, n, nil)
	samplemv.Halton{Kind: samplemv.Owen, Q: distmv.NewUnitUniform(n, nil), Src: rand.NewPCG(s.seed, 0)}.Sample(points)
	looked := make([]found, s.scan, s.scan+1)
	for i := range looked {
		looked[i].at = slices.Clone(points.RawRowView(i))
	}
	if s.first != nil {
		looked = append(looked, found{at: s.scaled(s.first)})
	}
	done := counter(total, s.progress)
	err := parallel.Each(ctx, len(looked), func(i int) (err error) {
		looked[i].merit, err = f(ctx, s.at(looked[i].at))
		done(1)
		return err
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(looked, byMerit)
	starts := apart(looked, s.starts)
	ends := make([]found, len(starts))
	err = parallel.EachOf(ctx, len(starts), runtime.GOMAXPROCS(0), func(i int) (err error) {
		ends[i], err = s.evolve(ctx, starts[i], rand.NewPCG(s.seed, uint64(i)+1), f, done)
		return err
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(ends, byMerit)
	for i := range ends {
		ends[i].at = s.at(ends[i].at)
	}
	return ends, nil
}

// counter returns what counts evaluations, of a total, for a progress function.
func counter(total float64, progress func(float64)) func(n int) {
	count := make(chan float64, 1)
	count <- 0
	return func(n int) {
		c := <-count + float64(n)
		progress(math.Min(c/total, 1))
		count <- c
	}
}

func byMerit(a, b found) int {
	switch {
	case a.less(b.merit):
		return -1
	case b.less(a.merit):
		return 1
	}
	return 0
}

// apart returns up to n of the points, the best first, that lie further than a
// tenth of the unit box's diagonal from each other.
func apart(points []found, n int) []found {
	var out []found
	for _, p := range points {
		near := slices.ContainsFunc(out, func(o found) bool {
			var sum float64
			for i := range p.at {
				sum += (p.at[i] - o.at[i]) * (p.at[i] - o.at[i])
			}
			return sum < .01*float64(len(p.at))
		})
		if !near {
			out = append(out, p)
		}
		if len(out) == n {
			break
		}
	}
	return out
}

// at returns the place in the box of a point of the unit box or around it.
func (s searchSpace) at(unit []float64) []float64 {
	x := make([]float64, len(unit))
	for i, u := range unit {
		x[i] = s.from[i] + mirrored(u)*(s.to[i]-s.from[i])
	}
	return x
}

// scaled returns the point of the unit box of a place, the nearest to one outside.
func (s searchSpace) scaled(x []float64) []float64 {
	u := make([]float64, len(x))
	for i := range x {
		u[i] = min(max((x[i]-s.from[i])/(s.to[i]-s.from[i]), 0), 1)
	}
	return u
}

// mirrored returns a number within 0 to 1 for any finite one: mirrored at both ends as often as it takes.
func mirrored(u float64) float64 {
	u = math.Mod(math.Abs(u), 2)
	return math.Min(u, 2-u)
}

// evolve goes on from a start, whose point lies in the unit box, and then closes in on
// the best found by the simplex method.
func (s searchSpace) evolve(ctx context.Context, start found, src rand.Source, f func(ctx context.Context, x []float64) (merit, error), done func(n int)) (found, error) {
	best := found{start.at, start.merit}
	left := s.each
	var failed error
	problem := optimize.Problem{
		Func: func(u []float64) float64 {
			if failed != nil {
				return math.Inf(1)
			}
			var m merit
			if failed = ctx.Err(); failed == nil {
				m, failed = f(ctx, s.at(u))
			}
			if failed != nil {
				return math.Inf(1)
			}
			left--
			done(1)
			if m.less(best.merit) {
				best = found{slices.Clone(u), m}
			}
			return m.score()
		},
		Status: func() (optimize.Status, error) {
			if failed != nil {
				return optimize.Failure, failed
			}
			return optimize.NotTerminated, nil
		},
	}
	run := func(method optimize.Method, evaluations int) error {
		if evaluations <= 0 {
			return nil
		}
		// A method that cannot go on has done what it can: best holds what it found. Only
		// an error of the function counts.
		_, _ = optimize.Minimize(problem, best.at, &optimize.Settings{
			FuncEvaluations: evaluations,
			Converger:       &optimize.FunctionConverge{Absolute: 1e-9, Iterations: 40},
		}, method)
		return cmp.Or(failed, ctx.Err())
	}
	const firstStep, simplex = .12, .03 // of the box
	if err := run(&optimize.CmaEsChol{InitStepSize: firstStep, Src: src}, left*3/4); err != nil {
		return found{}, err
	}
	if err := run(&optimize.NelderMead{SimplexSize: simplex}, left); err != nil {
		return found{}, err
	}
	done(left)
	return best, nil
}
