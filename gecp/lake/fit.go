package lake

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.org/groundeffect/gecp"
)

// FitOptions choose how a log is fitted. Zero values stand for the defaults named.
type FitOptions struct {
	Density  float64 // of the air at 15 degrees Celsius, kg/m3; gecp.AirDensity
	Accuracy Accuracy
}

// Fit is what a log of runs tells of a craft's wings.
type Fit struct {
	FitOptions              // with the defaults filled in
	Craft      *gecp.Craft  // without a correction
	Runs       []Comparison // all runs against the craft without a correction
	Estimates  [parameters]Estimate
	// Correlation of the parameters fitted; 0 with those that are not.
	Correlation      [parameters][parameters]float64
	Used             int // runs that the fit rests on
	Readings         int // of the pilot's position and of the pitch in them
	DegreesOfFreedom int
	// Spread is the size of what is left over the stated accuracies: about 1 where these
	// were well guessed. The intervals rest on it.
	Spread    float64
	Residuals []FitResidual // one a run that has a prediction, in the order of the log
	Outliers  []Outlier     // runs that the fit does not rest on
	// Correcting is the F test of the whole correction against none, Growth that of the
	// offset's growth with clearance.
	Correcting, Growth FTest
}

// Estimate is a parameter with its standard error and 95 % interval (Student's t). Where
// the runs do not tell it, or do not ask for it, Fitted is false and Why says so.
type Estimate struct {
	Value, Error, Low, High float64
	Fitted                  bool
	Why                     string
}

// FitResidual is what the fit leaves of a run, log less corrected prediction.
type FitResidual struct {
	Run
	PilotLeft float64  // of the pilot's position, m
	PitchLeft Measured // of the pitch, rad
	Outlier   bool
	// Standard errors of the two by the stated accuracies, those of speed and clearance
	// included.
	PilotError, PitchError float64
}

// Outlier is a run that the fit does not rest on.
type Outlier struct {
	Line int
	Text string
}

func (o Outlier) String() string { return fmt.Sprintf("line %d: %s", o.Line, o.Text) }

// FTest is a test by Fisher's F whether parameters explain more than chance has them
// explain.
type FTest struct {
	F, P  float64 // P is the share of logs without the effect in which F is as large
	Asked bool    // P is below the level of the test
	OK    bool    // whether the test could be made
}

// LeastRuns is how many runs a fit needs.
const LeastRuns = 5

// TooFewRunsError says that a log has too few runs for a fit.
type TooFewRunsError struct {
	Runs     int       // that have a prediction
	Outliers []Outlier // those that have none
}

func (e *TooFewRunsError) Error() string {
	return fmt.Sprintf("%d runs of the log can be held against the calculation; a fit takes %d or more", e.Runs, LeastRuns)
}

// What the runs must promise, by the stated accuracies, for a parameter to be fitted;
// chosen figures. The half-widths are those of 95 % intervals.
const (
	leastPitches = 3    // runs with a pitch, for the lift factor
	factorHalf   = .1   // half-width of the lift factor's interval
	offsetHalf   = .1   // of the offset's, in mean chords, and of the growth's over the clearances' scatter
	leastScatter = 1.42 // of the clearances, over the accuracy of one
)

// FitLog fits lift factor, CP offset and its growth with clearance to runs by weighted
// least squares with errors in speed, clearance, position and pitch. A correction in the
// craft file plays no part: it is to be replaced. It returns a *TooFewRunsError for fewer
// than [LeastRuns] runs, an error if an option is out of range, and [gecp.Problems] if the
// craft file lacks pilot, weights or tow.
//
// Lift factor and offset are fitted together wherever the runs tell them: to leave one out
// because it is small would hide its uncertainty from the other's interval. The growth
// joins only where an F test at half a per cent asks for it. A growth that the test does not
// find is not in the offset's interval: without one the offset holds for the clearances of
// the runs and not at the water.
func FitLog(ctx context.Context, m *gecp.Map, runs []Run, o FitOptions) (*Fit, error) {
	var err error
	if o.Accuracy, err = o.Accuracy.checked(); err != nil {
		return nil, err
	}
	o.Density = cmp.Or(o.Density, gecp.AirDensity)
	craft := m.Model().Craft().Uncorrected()
	if m, err = m.For(craft); err != nil {
		return nil, err
	}
	f := &Fit{FitOptions: o, Craft: craft}
	if f.Runs, err = CompareRuns(m, runs, o.Density); err != nil {
		return nil, err
	}
	p := problem{model: newPredictor(m, runs, o.Density).response, rest: 1e-3}
	var list []int
	for i, c := range f.Runs {
		p.runs = append(p.runs, o.Accuracy.observe(runs[i], m.Range()))
		if c.Err != nil {
			f.Outliers = append(f.Outliers, Outlier{c.Line, "the calculation has no such run: " + c.Err.Error()})
			continue
		}
		list = append(list, i)
	}
	for {
		if len(list) < LeastRuns {
			return nil, &TooFewRunsError{len(list), f.Outliers}
		}
		err := f.fit(ctx, &p, list)
		var re *runError
		switch {
		case err == nil:
			return f, nil
		case !errors.As(err, &re):
			return nil, err
		}
		// A run that has no trim as the parameters move is taken out.
		f.Outliers = append(f.Outliers, Outlier{runs[re.run].Line, "with the correction that the other runs ask for, " + re.err.Error()})
		var rest []int
		for _, i := range list {
			if i != re.run {
				rest = append(rest, i)
			}
		}
		list = rest
	}
}

// fit fits the runs of a list.
func (f *Fit) fit(ctx context.Context, p *problem, list []int) error {
	f.Estimates = [parameters]Estimate{LiftFactor: {Value: 1}}
	first, responses, err := p.linearise(ctx, list, uncorrected, p.logged(), nil)
	if err != nil {
		return err
	}
	base := f.told(p, list, first)
	wide := base
	if f.growthTold(p, list, first, base) {
		wide = append(append([]int{}, base...), int(CPPerM))
	}
	s, kept, wilds, err := p.withoutWild(ctx, list, base, wide, first)
	if err != nil {
		return err
	}
	if len(wide) > len(base) {
		f.Growth = s.test([]int{len(base)}, []float64{s.b[CPPerM]}, growthLevel)
		if !f.Growth.Asked {
			f.Estimates[CPPerM].Why = fmt.Sprintf("the runs do not ask for it: the F test has P = %.3f, and it joins below %v; the offset is that at the clearances flown", f.Growth.P, growthLevel)
			if s, err = p.solve(ctx, kept, s.b, s.x, base, uncorrected, s.known); err != nil {
				return err
			}
			wide = base
		}
	}
	away, which := make([]float64, len(wide)), make([]int, len(wide))
	for j, q := range wide {
		which[j], away[j] = j, s.b[q]-uncorrected[q]
	}
	f.Correcting = s.test(which, away, correctingLevel)
	f.take(s, kept, wide)
	return f.leave(ctx, p, s, list, responses, wilds)
}

// told returns which of lift factor and offset the runs tell, and says of the others why
// not.
func (f *Fit) told(p *problem, list []int, first []linearRun) []int {
	pitches := 0
	for _, i := range list {
		if p.runs[i].readings == 2 {
			pitches++
		}
	}
	const t = 1.96
	half := func(list []int, j int) float64 {
		_, c, err := step(first, nil, list)
		if err != nil {
			return math.Inf(1)
		}
		return t * math.Sqrt(c.At(j, j))
	}
	both, only := []int{int(LiftFactor), int(CPOffset)}, []int{int(CPOffset)}
	const pitch = "measure the pitch, with a level on the craft or from a photograph, in runs at speeds well apart"
	switch {
	case pitches < leastPitches:
		f.Estimates[LiftFactor].Why = fmt.Sprintf("cannot be told from these runs: %d of them tell the pitch, and it takes %d; %s", pitches, leastPitches, pitch)
	case half(both, 0) > factorHalf:
		f.Estimates[LiftFactor].Why = "cannot be told from these runs: it would be known to no better than a tenth; " + pitch + ", and more of them"
	default:
		if half(both, 1) > offsetHalf*f.Craft.Shape().MAC {
			break
		}
		return both
	}
	if half(only, 0) > offsetHalf*f.Craft.Shape().MAC {
		f.Estimates[CPOffset].Why = "cannot be told from these runs: it would be known to no better than a tenth of the mean chord; fly more runs, and measure the clearance and the pilot's position better"
		if f.Estimates[LiftFactor].Why == "" {
			return []int{int(LiftFactor)}
		}
		return nil
	}
	if f.Estimates[LiftFactor].Why == "" { // it alone keeps the offset from being told
		f.Estimates[LiftFactor].Why = "cannot be told from these runs beside the offset; " + pitch
	}
	return only
}

// growthTold reports whether the runs tell the offset's growth with clearance, and says why
// not.
func (f *Fit) growthTold(p *problem, list []int, first []linearRun, base []int) bool {
	e := &f.Estimates[CPPerM]
	if len(base) == 0 || base[len(base)-1] != int(CPOffset) {
		e.Why = "cannot be told from these runs: the offset itself cannot be told"
		return false
	}
	var mean, scatter float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, i := range list {
		mean += p.runs[i].x[setClearance] / float64(len(list))
	}
	for _, i := range list {
		c := p.runs[i].x[setClearance]
		scatter += (c - mean) * (c - mean) / float64(len(list)-1)
		lo, hi = math.Min(lo, c), math.Max(hi, c)
	}
	scatter = math.Sqrt(scatter)
	_, c, err := step(first, nil, append(append([]int{}, base...), int(CPPerM)))
	if scatter < leastScatter*f.Accuracy.Clearance || err != nil || 1.96*math.Sqrt(c.At(len(base), len(base)))*scatter > offsetHalf*f.Craft.Shape().MAC {
		e.Why = fmt.Sprintf("cannot be told from these runs: their clearances, from %.2f to %.2f m, lie too close together for how well each is known; fly runs at clearances further apart, within the towing range, or measure the clearance better; the offset is that at the clearances flown", lo, hi)
		return false
	}
	return true
}

// Levels of the F tests. A growth that joins by chance moves the offset, which is that at
// the water, by far more than the offset's interval: about one in a hundred invented logs
// does so.
const (
	correctingLevel = .05
	growthLevel     = .005
)

// test is the F test of some parameters of a solution, by their numbers in its
// covariance, that lie away from where they would have no effect (Wald's form: the drop of
// the sum of squares, as the covariance has it).
func (s *solution) test(which []int, away []float64, level float64) FTest {
	free := s.readings - s.parameters
	if len(which) == 0 || free < 1 {
		return FTest{P: 1}
	}
	c := mat.NewSymDense(len(which), nil)
	for i, a := range which {
		for j, b := range which[:i+1] {
			c.SetSym(i, j, s.covariance.At(a, b))
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(c) {
		return FTest{P: 1}
	}
	d := mat.NewVecDense(len(away), away)
	var w mat.VecDense
	if err := chol.SolveVecTo(&w, d); err != nil {
		return FTest{P: 1}
	}
	f := mat.Dot(d, &w) / float64(len(which)) / math.Max(s.sum/float64(free), 1e-18)
	t := FTest{F: f, P: fTail(f, len(which), free), OK: true}
	t.Asked = t.P < level
	return t
}

// take fills in the estimates of a solution.
func (f *Fit) take(s *solution, kept, list []int) {
	f.Used, f.Readings = len(kept), s.readings
	f.DegreesOfFreedom = s.readings - len(list)
	f.Spread = math.Sqrt(s.sum / float64(max(1, f.DegreesOfFreedom)))
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(max(1, f.DegreesOfFreedom))}.Quantile(.975)
	f.Correlation = [parameters][parameters]float64{}
	for j, q := range list {
		e := math.Sqrt(s.covariance.At(j, j)) * f.Spread
		f.Estimates[q] = Estimate{Value: s.b[q], Error: e, Low: s.b[q] - t*e, High: s.b[q] + t*e, Fitted: true}
		for k, r := range list {
			f.Correlation[q][r] = s.covariance.At(j, k) / math.Sqrt(s.covariance.At(j, j)*s.covariance.At(k, k))
		}
	}
}

// leave fills in what the fit leaves of each run, and the outliers.
func (f *Fit) leave(ctx context.Context, p *problem, s *solution, list []int, responses []response, wilds []wild) error {
	f.Residuals = nil
	at, err := p.model(s.b)
	if err != nil {
		return err
	}
	off := map[int]float64{}
	for _, w := range wilds {
		off[w.run] = w.distance
	}
	for k, i := range list {
		o := &p.runs[i]
		r := FitResidual{Run: f.Runs[i].Run}
		distance, out := off[i]
		r.Outlier = out
		resp, err := at(i, o.x, &responses[k])
		if err != nil && !out {
			return &runError{i, err}
		}
		if err == nil {
			c := o.covariance(resp)
			r.PilotLeft, r.PilotError = o.y[readPilot]-resp.y[readPilot], c[0][0]
			if o.readings == 2 {
				r.PitchLeft, r.PitchError = Measured{o.y[readPitch] - resp.y[readPitch], true}, math.Hypot(c[1][0], c[1][1])
			}
			f.Residuals = append(f.Residuals, r)
		}
		if out {
			f.Outliers = append(f.Outliers, Outlier{r.Line, f.wildWords(r, distance)})
		}
	}
	return ctx.Err()
}

// wildWords says how far a run is off.
func (f *Fit) wildWords(r FitResidual, distance float64) string {
	if math.IsInf(distance, 0) || r.PilotError == 0 {
		return "it does not agree with the others at all"
	}
	words := fmt.Sprintf("it does not agree with the others: the pilot %.2f m %s", math.Abs(r.PilotLeft), map[bool]string{true: "aft", false: "forward"}[r.PilotLeft > 0])
	if r.PitchLeft.OK {
		words += fmt.Sprintf(" and the nose %.1f degrees %s", math.Abs(gecp.Degrees(r.PitchLeft.Value)), map[bool]string{true: "higher", false: "lower"}[r.PitchLeft.Value > 0])
	}
	return words + fmt.Sprintf(" of what they lead to, %.0f times what is to be expected; look for a slip in the line", distance)
}

// Correction returns the correction for the craft file. It is on where the runs ask for
// it. It returns an error if the estimates lie outside what a craft file may say.
func (f *Fit) Correction() (*gecp.Correction, error) {
	e := &f.Estimates
	k := &gecp.Correction{
		LiftFactor: e[LiftFactor].Value, CPOffset: e[CPOffset].Value, CPPerM: e[CPPerM].Value,
		LiftFactorError: e[LiftFactor].Error, CPOffsetError: e[CPOffset].Error, CPPerMError: e[CPPerM].Error,
		Runs: f.Used, On: f.Correcting.Asked,
	}
	c := f.Craft.Clone()
	c.Correction = k
	return k, c.Check()
}
