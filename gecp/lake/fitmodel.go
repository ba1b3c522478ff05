package lake

import (
	"cmp"
	"fmt"
	"math"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// Parameter is what a fit looks for.
type Parameter int

// The parameters, in the order of the fit.
const (
	LiftFactor Parameter = iota // corrected over calculated lift
	CPOffset                    // how far the CP lies aft of the calculated one, m
	CPPerM                      // growth of that with clearance, m per m
	parameters
)

// String returns the parameter's key in the craft file.
func (p Parameter) String() string {
	return [parameters]string{"lift_factor", "cp_offset_m", "cp_offset_per_m"}[p]
}

// Words names the parameter.
func (p Parameter) Words() string {
	return [parameters]string{"lift factor", "offset of the centre of pressure", "growth of that offset with clearance"}[p]
}

// Unit returns the parameter's unit in the craft file.
func (p Parameter) Unit() string { return [parameters]string{"1", "m", "m/m"}[p] }

// uncorrected are the parameters of a craft without a correction.
var uncorrected = [maxParameters]float64{LiftFactor: 1}

// The readings and settings of a run.
const (
	readPilot = iota
	readPitch
)

const (
	setSpeed = iota
	setClearance
)

// Accuracy is how far off a log's figures may be, as standard deviations: about two in
// three lie within. Zero values stand for the defaults named, which are common practice.
type Accuracy struct {
	Speed     float64 // through the air, m/s; 0.3, that of a boat's receiver in calm air
	Clearance float64 // m; 0.05, a guess by eye
	Pilot     float64 // m; 0.02
	Pitch     float64 // rad; half a degree
}

// checked returns the accuracies with the defaults filled in.
func (a Accuracy) checked() (Accuracy, error) {
	a.Speed, a.Clearance = cmp.Or(a.Speed, .3), cmp.Or(a.Clearance, .05)
	a.Pilot, a.Pitch = cmp.Or(a.Pilot, .02), cmp.Or(a.Pitch, gecp.Radians(.5))
	for _, c := range []struct {
		what, unit   string
		v, per, most float64
	}{
		{"speed", "m/s", a.Speed, 1, 10}, {"clearance", "m", a.Clearance, 1, 2},
		{"pilot's position", "m", a.Pilot, 1, 2}, {"pitch", "degrees", a.Pitch, gecp.Radians(1), 10},
	} {
		if v := c.v / c.per; !(v >= 1e-6 && v <= c.most) {
			return a, fmt.Errorf("the accuracy of the %s is %v %s; give one above 0 and up to %v %s", c.what, v, c.unit, c.most, c.unit)
		}
	}
	return a, nil
}

// predictor has the pilot's position and the pitch of runs as functions of the parameters
// and of the true speed and clearance.
type predictor struct {
	m       *gecp.Map
	craft   *gecp.Craft
	share   float64 // the pilot's mass over the whole
	density []float64
}

func newPredictor(m *gecp.Map, runs []Run, density float64) *predictor {
	c := m.Model().Craft().Uncorrected()
	p := &predictor{m: m, craft: c, share: c.Pilot.Mass / c.Mass()}
	for _, r := range runs {
		p.density = append(p.density, r.densityAt(density))
	}
	return p
}

// mapAt returns the map with a correction.
func (p *predictor) mapAt(b [maxParameters]float64) (*gecp.Map, error) {
	c := p.craft.Clone()
	c.Correction = &gecp.Correction{LiftFactor: b[LiftFactor], CPOffset: b[CPOffset], CPPerM: b[CPPerM], Runs: 1, On: true}
	return p.m.For(c)
}

// tows returns a steady tow for each density of the runs; their speed is of no account.
func (p *predictor) tows(m *gecp.Map) (map[float64]tow.SteadyTow, error) {
	tows := map[float64]tow.SteadyTow{}
	for _, d := range p.density {
		if _, ok := tows[d]; ok {
			continue
		}
		t, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: 10, Density: d})
		if err != nil {
			return nil, err
		}
		tows[d] = t
	}
	return tows, nil
}

// Steps of the differences: small beside any change of the trim's slopes, large beside
// the 1e-10 of the weight to which a trim closes.
const (
	factorStep    = 1e-4
	speedStep     = 1e-3 // m/s
	clearanceStep = 1e-4 // m
)

// response is the responseModel of the runs. The pilot's position and the pitch change
// with speed, clearance and lift factor as differences have it. The CP's shift leaves the
// pitch as it is and moves the position of the pilot in proportion, exactly.
func (p *predictor) response(b [maxParameters]float64) (func(run int, x [maxSettings]float64, known *response) (response, error), error) {
	m, err := p.mapAt(b)
	if err != nil {
		return nil, err
	}
	more := b
	more[LiftFactor] += factorStep
	mf, err := p.mapAt(more)
	if err != nil {
		return nil, err
	}
	tows, err := p.tows(m)
	if err != nil {
		return nil, err
	}
	factored, err := p.tows(mf)
	if err != nil {
		return nil, err
	}
	top := m.Range().ClearanceMax
	return func(run int, x [maxSettings]float64, known *response) (r response, err error) {
		t, err := tows[p.density[run]].At(x[setSpeed])
		if err != nil {
			return r, err
		}
		at, err := t.Trim(x[setClearance])
		if err != nil {
			return r, err
		}
		if known != nil {
			r = *known
		}
		r.y = [maxReadings]float64{readPilot: at.Pilot.X, readPitch: at.Pitch}
		if known != nil {
			return r, nil
		}
		slope := func(t tow.SteadyTow, clearance, step float64) (d [maxReadings]float64, err error) {
			next, err := t.Trim(clearance)
			if err != nil {
				return d, err
			}
			return [maxReadings]float64{readPilot: (next.Pilot.X - at.Pilot.X) / step, readPitch: (next.Pitch - at.Pitch) / step}, nil
		}
		dc := clearanceStep
		if x[setClearance]+dc > top {
			dc = -dc
		}
		byClearance, err := slope(t, x[setClearance]+dc, dc)
		if err != nil {
			return r, err
		}
		faster, err := t.At(x[setSpeed] + speedStep)
		if err != nil {
			return r, err
		}
		bySpeed, err := slope(faster, x[setClearance], speedStep)
		if err != nil {
			return r, err
		}
		t, err = factored[p.density[run]].At(x[setSpeed])
		if err != nil {
			return r, err
		}
		byFactor, err := slope(t, x[setClearance], factorStep)
		if err != nil {
			return r, err
		}
		sin, cos := math.Sincos(at.Pitch)
		byShift := (at.Lift*cos + at.InducedDrag*sin) / (p.craft.Mass() * gecp.G * p.share * cos)
		for i := range maxReadings {
			r.bySetting[i] = [maxSettings]float64{setSpeed: bySpeed[i], setClearance: byClearance[i]}
			r.byParameter[i][LiftFactor] = byFactor[i]
		}
		r.byParameter[readPilot][CPOffset] = byShift
		r.byParameter[readPilot][CPPerM] = byShift * x[setClearance]
		return r, nil
	}, nil
}

// observe returns what a run tells.
func (a Accuracy) observe(r Run, bounds gecp.MapRange) observation {
	o := observation{
		readings: 1,
		y:        [maxReadings]float64{readPilot: r.Pilot, readPitch: r.Pitch.Value},
		yError:   [maxReadings]float64{readPilot: a.Pilot, readPitch: a.Pitch},
		x:        [maxSettings]float64{setSpeed: r.Speed, setClearance: r.Clearance},
		xError:   [maxSettings]float64{setSpeed: a.Speed, setClearance: a.Clearance},
	}
	if r.Pitch.OK {
		o.readings = 2
	}
	// Nobody misses a speed or a clearance by more than that unless the line is wrong.
	const most = 4
	for k := range maxSettings {
		o.xLeast[k], o.xMost[k] = o.x[k]-most*o.xError[k], o.x[k]+most*o.xError[k]
	}
	o.xLeast[setSpeed] = math.Max(o.xLeast[setSpeed], r.Speed/2)
	o.xLeast[setClearance] = math.Max(o.xLeast[setClearance], math.Max(bounds.ClearanceMin, r.Clearance/3))
	o.xMost[setClearance] = math.Min(o.xMost[setClearance], bounds.ClearanceMax)
	return o
}
