package lake

import (
	"cmp"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// Comparison is a run beside what the calculation has for its speed and clearance.
type Comparison struct {
	Run
	Predicted tow.Trim // the trim at the run's speed and clearance
	Err       error    // why there is none; nil where there is
	// The log less the prediction: m, rad and N.
	PilotDifference float64
	PitchDifference Measured
	PullDifference  Measured
}

// densityAt returns the density of the air at a run, kg/m3: at a pressure that is held it
// falls as the absolute temperature rises from 15 degrees Celsius, for which the density
// is given.
func (r Run) densityAt(standard float64) float64 {
	if !r.AirTemp.OK {
		return standard
	}
	const zero = 273.15 // K
	return standard * (zero + 15) / (zero + r.AirTemp.Value)
}

// CompareRuns holds runs against the trims of a map's craft, its correction included, in
// air of a density at 15 degrees Celsius, kg/m3; 0 is gecp.AirDensity. A run whose speed
// and clearance have no trim says why. CompareRuns returns an error if the density is out
// of range, and [gecp.Problems] if the craft file lacks pilot, weights or tow.
func CompareRuns(m *gecp.Map, runs []Run, density float64) ([]Comparison, error) {
	if err := m.Model().Craft().Require(gecp.BlockPilot, gecp.BlockWeights, gecp.BlockTow); err != nil {
		return nil, err
	}
	density = cmp.Or(density, gecp.AirDensity)
	if _, err := (gecp.Freestream{Speed: 1, Density: density}).Checked(); err != nil {
		return nil, err
	}
	out := make([]Comparison, len(runs))
	for i, r := range runs {
		c := Comparison{Run: r}
		t, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: r.Speed, Density: r.densityAt(density)})
		if err == nil {
			c.Predicted, err = t.Trim(r.Clearance)
		}
		if c.Err = err; err == nil {
			c.PilotDifference = r.Pilot - c.Predicted.Pilot.X
			c.PitchDifference = r.Pitch.less(c.Predicted.Pitch)
			c.PullDifference = r.Pull.less(c.Predicted.LineTension)
		}
		out[i] = c
	}
	return out, nil
}

// less returns the value less another.
func (m Measured) less(v float64) Measured {
	if !m.OK {
		return m
	}
	return Measured{m.Value - v, true}
}
