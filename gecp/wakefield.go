package gecp

import (
	"context"

	"gonum.org/v1/gonum/mat"

	"example.org/groundeffect/vlm"
)

// wakeField holds the free wakes of a craft over a range of heights and pitches: ways found
// at a few nodes, and polynomials fitted to them. A way depends smoothly on the datum's height
// and the pitch, whichever point of the craft is lowest: the polynomials are in the coordinates
// of the map's plane.
type wakeField struct {
	plane  mapPlane
	nh, np int             // terms in s and t
	terms  []*vlm.FreeWake // nh x np
	lag    float64         // m, see wakeLag
}

// wakeNodes returns how many nodes a field has in height and in pitch for a map of so many. There
// is one term less than nodes in height, for at some pitches the heights do not span the whole range.
func wakeNodes(heights, pitches int) (nh, np int) {
	return min(10, heights+3), min(10, max(7, pitches-6))
}

// newWakeField finds the ways, in parallel. The ranges are those of a map's options; low
// tells what a clearance is.
func (m *Model) newWakeField(ctx context.Context, plane mapPlane, low *LowestPoints, o MapOptions, progress *mapProgress) (*wakeField, error) {
	heights, pitches := wakeNodes(o.Heights, o.Pitches)
	f := &wakeField{plane: plane, lag: m.wakeLag(), nh: heights - 1, np: pitches}
	wakes := make([]*vlm.FreeWake, heights*pitches)
	rows := mat.NewDense(len(wakes), f.nh*f.np, nil)
	err := eachNode(ctx, heights, pitches, m.workers(), progress,
		func(t float64) (*vlm.PitchedLattice, error) { return m.lattice.AtPitch(ctx, plane.pitch(t)) },
		func(i int, x, t float64, p *vlm.PitchedLattice) (err error) {
			pitch := p.Pitch()
			height := plane.between(low.HeightFor(o.ClearanceMin, pitch), low.HeightFor(o.ClearanceMax, pitch), x, pitch)
			value, _, _ := f.polynomials(height, pitch)
			rows.SetRow(i, value)
			wakes[i], err = p.FreeWake(ctx, height)
			return err
		})
	if err != nil {
		return nil, err
	}
	// The terms that fit best are weighted sums of the ways.
	unit := mat.NewDense(len(wakes), len(wakes), nil)
	for i := range wakes {
		unit.Set(i, i, 1)
	}
	var qr mat.QR
	qr.Factorize(rows)
	var weights mat.Dense
	if err := qr.SolveTo(&weights, false, unit); err != nil {
		return nil, err
	}
	for i := range f.nh * f.np {
		f.terms = append(f.terms, vlm.CombineFreeWakes(weights.RawRowView(i), wakes))
	}
	return f, nil
}

// polynomials returns the polynomials of all terms and their slopes with height, 1/m, and
// pitch, 1/rad.
func (f *wakeField) polynomials(height, pitch float64) (value, byHeight, byPitch []float64) {
	hv, hd := make([]float64, f.nh), make([]float64, f.nh)
	pv, pd := make([]float64, f.np), make([]float64, f.np)
	depth, slope := f.plane.depthAt(pitch)
	s, ds := f.plane.log(height, depth)
	dt := f.plane.byPitch()
	chebyshev(s, hv, hd)
	chebyshev(f.plane.scale(pitch), pv, pd)
	for j := range hv {
		for k := range pv {
			value = append(value, hv[j]*pv[k])
			byHeight = append(byHeight, hd[j]*ds*pv[k])
			byPitch = append(byPitch, hv[j]*pd[k]*dt-hd[j]*ds*slope*pv[k])
		}
	}
	return value, byHeight, byPitch
}

// at returns the wakes' way with the datum at a height, m, and at a pitch, rad, and its change.
func (f *wakeField) at(height, pitch float64) (*vlm.FreeWake, vlm.WakeMotion) {
	value, byHeight, byPitch := f.polynomials(height, pitch)
	return vlm.CombineFreeWakes(value, f.terms), vlm.WakeMotion{
		ByHeight: vlm.CombineFreeWakes(byHeight, f.terms), ByPitch: vlm.CombineFreeWakes(byPitch, f.terms), Lag: f.lag,
	}
}
