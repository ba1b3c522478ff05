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
	// pitch times a tenth of a radian, over the same lift. It is not looked at below
	// CloseGap, where derivatives are not good.
	Slope float64
	// Where the lift differs most, m and rad.
	Clearance, Pitch float64
}

// slopeShare is how many times more than the lift its derivatives may differ.
const slopeShare = 4

// within reports whether lift and CP differ by no more than a share, and the derivatives
// by no more than four times that.
func (e MapError) within(share float64) bool {
	return e.Lift <= share && e.CP <= share && e.Slope <= slopeShare*share
}

// or returns the larger of each difference.
func (e MapError) or(o MapError) MapError {
	if o.Lift > e.Lift {
		e.Lift, e.Clearance, e.Pitch = o.Lift, o.Clearance, o.Pitch
	}
	e.CP, e.Drag, e.Slope = max(e.CP, o.CP), max(e.Drag, o.Drag), max(e.Slope, o.Slope)
	return e
}

// Error returns how far the map differs from what it was fitted to.
func (m *Map) Error() MapError { return m.err }

// checkPlaces are where a map is compared, in x and t of [Map.place], well away from the nodes
// of all numbers of them.
var checkPlaces = [...][2]float64{{-.83, -.41}, {-.37, .67}, {.21, -.78}, {.59, .23}}

// compare finds how far the map differs from what it was fitted to.
func (m *Map) compare(ctx context.Context, at source) error {
	o := &m.opt
	middle := m.at((o.ClearanceMin+o.ClearanceMax)/2, (o.PitchMin+o.PitchMax)/2)
	var errors [len(checkPlaces)]MapError
	err := parallel.EachOf(ctx, len(checkPlaces), m.model.workers(), func(i int) error {
		clearance, pitch := m.place(checkPlaces[i][0], checkPlaces[i][1])
		node, err := at(pitch)
		if err != nil {
			return err
		}
		want, err := node(clearance)
		if err != nil {
			return err
		}
		got := m.at(clearance, pitch)
		ref := math.Max(math.Abs(want.Lift), math.Abs(middle.Lift))
		errors[i] = MapError{
			Lift: math.Abs(got.Lift-want.Lift) / ref, Clearance: clearance, Pitch: pitch,
			CP:   math.Abs(got.Moment-want.Moment) / ref / m.model.shape.MAC,
			Drag: math.Abs(got.Drag-want.Drag) / ref,
		}
		if !got.LowestPoint.Close(clearance) {
			errors[i].Slope = math.Max(math.Abs(got.ByHeight.Lift-want.ByHeight.Lift)*clearance/ref, math.Abs(got.ByPitch.Lift-want.ByPitch.Lift)*.1/ref)
		}
		return nil
	})
	if err != nil {
		return err
	}
	m.solves += len(checkPlaces)
	m.err = MapError{}
	for _, e := range errors {
		m.err = m.err.or(e)
	}
	return nil
}
