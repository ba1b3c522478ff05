package gecp

import (
	"context"
	"math"

	"example.org/groundeffect/gecp/internal/parallel"
)

// MapError is how far a map was found to differ from what it was fitted to, at a few
// places that were not nodes: the largest differences, none of them a bound.
type MapError struct {
	Lift float64 // over the lift there or in the middle of the map, the larger
	CP   float64 // the moment over the same lift, in mean chords
	Drag float64 // over the same lift
	// Slope is that of the lift's derivatives: with height times the clearance, and with
	// pitch times a tenth of a radian, over the same lift. It and Jump are not looked at below
	// CloseGap, where derivatives are not good.
	Slope float64
	Jump  float64 // of the lift where two panels of the map meet, likewise
	// Where the lift differs most, m and rad.
	Clearance, Pitch float64
}

// slopeShare is how many times more than the lift its derivatives may differ.
const slopeShare = 4

// within reports whether lift and CP differ by no more than a share, and the derivatives
// by no more than four times that.
func (e MapError) within(share float64) bool {
	return e.Lift <= share && e.CP <= share && e.Jump <= share && e.Slope <= slopeShare*share
}

// or returns the larger of each difference.
func (e MapError) or(o MapError) MapError {
	if o.Lift > e.Lift {
		e.Lift, e.Clearance, e.Pitch = o.Lift, o.Clearance, o.Pitch
	}
	e.CP, e.Drag, e.Slope, e.Jump = max(e.CP, o.CP), max(e.Drag, o.Drag), max(e.Slope, o.Slope), max(e.Jump, o.Jump)
	return e
}

// Error returns how far the map differs from what it was fitted to.
func (m *Map) Error() MapError { return m.err }

// checkPlaces are where a map is compared, in each panel's square -1..1 of clearance and
// pitch, well away from the nodes of all numbers of them.
var checkPlaces = [...][2]float64{{-.83, -.41}, {-.37, .67}, {.21, -.78}, {.59, .23}}

// compare finds how far some panels differ from what they were fitted to, and by how much
// all panels differ from each other where they meet. It fills in the errors, one a panel.
func (m *Map) compare(ctx context.Context, which []int, errors []MapError, at source) error {
	o := &m.opt
	middle := m.at((o.ClearanceMin+o.ClearanceMax)/2, (o.PitchMin+o.PitchMax)/2)
	type place struct {
		clearance, pitch float64
		panel            int
		node             MapNode
	}
	var places []place
	for _, i := range which {
		p := &m.panels[i]
		errors[i] = MapError{}
		for j, st := range checkPlaces {
			if narrow := (p.to - p.from) / (o.PitchMax - o.PitchMin); narrow < .25 && j > 0 {
				break
			}
			places = append(places, place{clearance: m.clearances.from(st[0]), pitch: p.from + (st[1]+1)/2*(p.to-p.from), panel: i})
		}
	}
	err := parallel.EachOf(ctx, len(places), m.model.workers(), func(i int) error {
		p := &places[i]
		node, err := at(p.pitch)
		if err == nil {
			p.node, err = node(p.clearance)
		}
		return err
	})
	if err != nil {
		return err
	}
	m.solves += len(places)
	for _, p := range places {
		got, want := m.at(p.clearance, p.pitch), p.node.LoadsPerQ
		ref := math.Max(math.Abs(want.Lift), math.Abs(middle.Lift))
		e := MapError{
			Lift: math.Abs(got.Lift-want.Lift) / ref, Clearance: p.clearance, Pitch: p.pitch,
			CP:   math.Abs(got.Moment-want.Moment) / ref / m.model.shape.MAC,
			Drag: math.Abs(got.Drag-want.Drag) / ref,
		}
		if !got.LowestPoint.Close(p.clearance) {
			e.Slope = math.Max(math.Abs(got.ByHeight.Lift-p.node.ByHeight.Lift)*p.clearance/ref, math.Abs(got.ByPitch.Lift-p.node.ByPitch.Lift)*.1/ref)
		}
		errors[p.panel] = errors[p.panel].or(e)
	}
	for i := range errors {
		errors[i].Jump = 0
	}
	for i := 1; i < len(m.panels); i++ {
		jump := 0.
		for _, cl := range m.Clearances(9) {
			a, b := m.atPanel(&m.panels[i-1], cl, m.panels[i].from), m.atPanel(&m.panels[i], cl, m.panels[i].from)
			if a.LowestPoint.Close(cl) {
				continue
			}
			ref := math.Max(math.Abs(a.Lift), math.Abs(middle.Lift))
			jump = math.Max(jump, math.Abs(a.Lift-b.Lift)/ref)
		}
		errors[i-1].Jump, errors[i].Jump = math.Max(errors[i-1].Jump, jump), jump
	}
	return nil
}
