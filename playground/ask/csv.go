package ask

import (
	"context"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
)

type textAnswer struct {
	Text string `json:"text"`
	HTML string `json:"html,omitempty"`
}

// csv writes the points of "heights" in SI, one clearance a line; a cell is empty
// where there is no value.
func (d *Desk) csv(ctx context.Context, q *question, progress func(float64)) (*textAnswer, error) {
	a, err := d.heights(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	num := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v, 'g', 8, 64)
	}
	yes := func(v *bool) string {
		if v == nil {
			return ""
		}
		return strconv.FormatBool(*v)
	}
	records := [][]string{{
		"clearance_m", "height_m", "pitch_deg", "lift_n", "drag_n", "induced_n", "friction_n", "parasite_n", "l_over_d",
		"cp_m", "pitch_neutral_m", "height_neutral_m", "cg_needed_m", "pilot_needed_m", "spare_m", "stable", "reachable", "line_n", "line_deg",
	}}
	for _, p := range a.Points {
		records = append(records, []string{
			num(&p.Clearance), num(p.Height), num(p.PitchDeg), num(p.Lift), num(p.Drag), num(p.Induced), num(p.Friction), num(p.Parasite), num(p.LiftOverDrag),
			num(p.CP), num(p.PitchNeutral), num(p.HeightNeutral), num(p.CGNeeded), num(p.PilotNeeded), num(p.Spare), yes(p.Stable), yes(p.Reachable), num(p.Line), num(p.LineDeg),
		})
	}
	if err := w.WriteAll(records); err != nil {
		return nil, fmt.Errorf("the table cannot be written: %w", err)
	}
	return &textAnswer{Text: b.String()}, nil
}
