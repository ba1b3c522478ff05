package motion

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

// Regulators with answers in closed form (Anderson and Moore, Optimal Control).
func TestRegulator(t *testing.T) {
	// A mass pushed: gains sqrt(q/r) and sqrt 2 (q/r)^(1/4).
	k, err := regulator(mat.NewDense(2, 2, []float64{0, 1, 0, 0}), mat.NewVecDense(2, []float64{0, 1}), mat.NewDiagDense(2, []float64{16, 0}), 1)
	require.NoError(t, err)
	assert.InDelta(t, 4, k[0], 1e-9)
	assert.InDelta(t, 2*math.Sqrt2, k[1], 1e-9)
	// One root: k = (a + sqrt(a^2 + b^2 q/r))/b; without weight a root that runs away
	// is mirrored.
	for _, v := range [][4]float64{{1, 1, 3, 1}, {-2, .5, 4, 2}, {3, 2, 0, 1}} {
		k, err := regulator(mat.NewDense(1, 1, []float64{v[0]}), mat.NewVecDense(1, []float64{v[1]}), mat.NewDiagDense(1, []float64{v[2]}), v[3])
		require.NoError(t, err)
		assert.InDelta(t, (v[0]+math.Sqrt(v[0]*v[0]+v[1]*v[1]*v[2]/v[3]))/v[1], k[0], 1e-9)
	}
	// What the control does not reach cannot be steadied.
	_, err = regulator(mat.NewDense(1, 1, []float64{1}), mat.NewVecDense(1, []float64{0}), mat.NewDiagDense(1, []float64{1}), 1)
	assert.ErrorContains(t, err, "cannot be steadied")
}

// Under its law, without delay, every state is stable; the law keeps its state at the
// design speed, and asks for the balanced position at others.
func TestPilotLawSteadies(t *testing.T) {
	for _, speed := range []float64{13, 14, 16, 18} {
		r := stiffRun(t, speed)
		for _, clearance := range []float64{.1, .3, .8, 2} {
			l, err := DesignPilotLaw(r, clearance)
			require.NoError(t, err)
			b, err := r.Trim(clearance)
			require.NoError(t, err)
			f := undisturbed(r, b)
			f.spring = 0
			assert.InDelta(t, b.Pilot.X, l.Position(f), 1e-9)

			// The whole equation of motion with the law put in, by differences.
			a := mat.NewDense(4, 4, nil)
			for j := range 4 {
				const d = 1e-5
				var side [2]state
				for i, s := range []float64{d, -d} {
					f.y = f.begin
					f.y[j] += s
					f.seen[0] = f.observe()
					f.position = l.Position(f)
					f.rates(0, &f.y, &side[i])
				}
				for i := range 4 {
					a.Set(i, j, (side[0][i]-side[1][i])/(2*d))
				}
			}
			var e mat.Eigen
			require.True(t, e.Factorize(a, mat.EigenNone))
			for _, root := range e.Values(nil) {
				assert.Negative(t, real(root), "%v m, %v m/s", clearance, speed)
			}

			n, err := stiffRun(t, speed+.2).Trim(clearance)
			require.NoError(t, err)
			assert.InDelta(t, n.Pilot.X, l.PilotX+.2*l.PilotXBySpeed, .003)
			assert.InDelta(t, n.Pitch, l.Pitch+.2*l.PitchBySpeed, .001)
		}
	}
}

func TestPilotLawRefusals(t *testing.T) {
	r := stiffRun(t, 14)
	_, err := DesignPilotLaw(r, 9)
	assert.Error(t, err)
	c := r.Craft()
	c.Pilot.XAft = c.Pilot.XForward
	m, err := r.Map().For(c)
	require.NoError(t, err)
	run, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: 14})
	require.NoError(t, err)
	_, err = DesignPilotLaw(run, .3)
	assert.ErrorContains(t, err, "no travel")
}

// At the last speed at which a craft flies, and at the first, there is a pilot law: its slopes
// with speed are taken to the side at which it flies.
func TestPilotLawAtTheEndsOfTheSpeeds(t *testing.T) {
	m, err := gecp.NewModel(gecp.Demo(), gecp.Mesh{Rows: 3, Strips: 6})
	require.NoError(t, err)
	few, err := m.WithWake(gecp.WakeStraight).BuildMap(t.Context(), gecp.MapOptions{PitchMin: gecp.Radians(0), PitchMax: gecp.Radians(4), Heights: 4, Pitches: 4, Tolerance: .05})
	require.NoError(t, err)
	const clearance = .3
	flies := func(speed float64) (tow.SteadyTow, bool) {
		st, err := tow.NewSteadyTow(few, gecp.Freestream{Speed: speed})
		require.NoError(t, err)
		_, err = st.Trim(clearance)
		return st, err == nil
	}
	const step = .2 // less than a law looks to either side
	var ends []tow.SteadyTow
	for speed := 10.; speed < 24; speed += step {
		st, now := flies(speed)
		_, before := flies(speed - step)
		_, after := flies(speed + step)
		if now && before != after {
			ends = append(ends, st)
		}
	}
	require.Len(t, ends, 2)
	for _, st := range ends {
		l, err := DesignPilotLaw(st, clearance)
		require.NoError(t, err)
		assert.Negative(t, l.PilotXBySpeed, "faster, the pilot is further forward")
		assert.Negative(t, l.PitchBySpeed)
	}
}
