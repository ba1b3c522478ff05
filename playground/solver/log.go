package solver

import (
	"context"
	"errors"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/gecp/units"
	"example.org/groundeffect/playground/exchange"
)

// logAnswer is a log of runs beside the calculation, and what is fitted to it.
type logAnswer struct {
	Runs       []loggedRun      `json:"runs"`
	Ignored    []string         `json:"ignored"`
	Estimates  []string         `json:"estimates"`
	Sentences  []string         `json:"sentences"`
	Correction *gecp.Correction `json:"correction"` // absent where the runs do not tell one
	Corrected  string           `json:"corrected"`  // words where the predictions rest on a correction
}

// accuracies are how far off the figures of a log may be, one standard deviation each.
type accuracies struct {
	SpeedMPS   float64 `json:"speed_mps"`
	ClearanceM float64 `json:"clearance_m"`
	PilotM     float64 `json:"pilot_m"`
	PitchDeg   float64 `json:"pitch_deg"`
}

// of returns the accuracies as a fit takes them; an error names the one that is out of
// range. Absent ones are the usual.
func (a *accuracies) of(u units.System) (lake.Accuracy, error) {
	if a == nil {
		return lake.Accuracy{}, nil
	}
	length, degrees := u.FinePosition(), units.Unit{Name: "degrees", Size: 1}
	for _, c := range []struct {
		key, what string
		v, most   float64
		in        units.Unit
	}{
		{"speed_mps", "speed", a.SpeedMPS, 10, u.FineSpeed()}, {"clearance_m", "clearance", a.ClearanceM, 2, length},
		{"pilot_m", "pilot's position", a.PilotM, 2, length}, {"pitch_deg", "pitch", a.PitchDeg, 10, degrees},
	} {
		if err := exchange.Within("log_accuracy."+c.key, "the accuracy of the "+c.what, c.v, .001, c.most, c.in); err != nil {
			return lake.Accuracy{}, err
		}
	}
	return lake.Accuracy{Speed: a.SpeedMPS, Clearance: a.ClearanceM, Pilot: a.PilotM, Pitch: gecp.Radians(a.PitchDeg)}, nil
}

// loggedRun is a run of the log with its prediction in words of the question's units;
// figures for the picture in SI.
type loggedRun struct {
	Line       int      `json:"line"`
	Clearance  float64  `json:"clearance_m"`
	Predicted  string   `json:"predicted"`  // the pilot's position
	Difference string   `json:"difference"` // log less prediction
	PitchDeg   string   `json:"pitch"`      // predicted
	Pull       string   `json:"pull"`       // predicted
	Why        string   `json:"why"`        // there is no prediction, or the fit does not rest on the run
	Off        *float64 `json:"off_m"`      // log less prediction
	Left       *float64 `json:"left_m"`     // log less fitted
	Error      float64  `json:"error_m"`    // standard error of the two
}

// runLog compares the question's log with the craft, correction included, and fits a
// correction where there are runs enough.
func (v *Service) runLog(ctx context.Context, q *question, progress func(float64)) (*logAnswer, error) {
	a := &logAnswer{Runs: []loggedRun{}, Ignored: []string{}, Estimates: []string{}, Sentences: []string{}}
	if strings.TrimSpace(q.Text) == "" {
		return a, nil
	}
	accuracy, err := q.Accuracy.of(q.System())
	if err != nil {
		return nil, err
	}
	l, err := lake.ReadLog(strings.NewReader(q.Text))
	var faults lake.LogProblems
	if errors.As(err, &faults) {
		var ps gecp.Problems
		for _, p := range faults {
			ps = append(ps, gecp.Problem{Path: "log", Text: sentence(p.String())})
		}
		return nil, ps
	}
	if err != nil {
		return nil, err
	}
	a.Ignored = append(a.Ignored, l.Ignored()...)
	s, err := v.shape(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	u := q.System()
	runs, err := lake.CompareRuns(s.fields, l.Runs, 0)
	if err != nil {
		return nil, err
	}
	byLine := map[int]int{}
	for _, r := range runs {
		byLine[r.Line] = len(a.Runs)
		w := loggedRun{Line: r.Line, Clearance: r.Clearance}
		if r.Err != nil {
			w.Why = sentence(r.Err.Error())
		} else {
			p := u.Position()
			w.Predicted, w.Difference, w.Off = p.Words(r.Predicted.Pilot.X, units.Nearest), p.Signed(r.PilotDifference)+" "+p.Name, some(r.PilotDifference)
			w.PitchDeg, w.Pull = units.Unit{Name: "°", Size: gecp.Radians(1), Decimals: 1}.Number(r.Predicted.Pitch, units.Nearest)+"°", u.Force().Words(r.Predicted.LineTension, units.Nearest)
		}
		a.Runs = append(a.Runs, w)
	}
	a.Corrected, _ = q.craft.CorrectionWords()
	f, err := lake.FitLog(ctx, s.fields, l.Runs, lake.FitOptions{Accuracy: accuracy})
	var few *lake.TooFewRunsError
	if errors.As(err, &few) {
		a.Sentences = append(a.Sentences, sentence(few.Error()))
		return a, nil
	}
	if err != nil {
		return nil, err
	}
	for k, p := range []lake.Parameter{lake.LiftFactor, lake.CPOffset, lake.CPPerM} {
		if k < len(f.Estimates) {
			a.Estimates = append(a.Estimates, sentence(f.Words(p, u)))
		}
	}
	a.Sentences = append(a.Sentences, f.Sentences()...)
	for _, r := range f.Residuals {
		w := &a.Runs[byLine[r.Line]]
		w.Left, w.Error = some(r.PilotLeft), r.PilotError
	}
	for _, o := range f.Outliers {
		if i, ok := byLine[o.Line]; ok && a.Runs[i].Why == "" {
			a.Runs[i].Why = sentence(o.Text)
		}
	}
	if a.Correction, err = f.Correction(); err != nil {
		a.Correction = nil
		a.Sentences = append(a.Sentences, sentence(err.Error()))
	}
	return a, nil
}
