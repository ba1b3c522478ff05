package solver

import (
	"fmt"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/playground/exchange"
)

// weighAnswer is how to weigh and, once something is typed, what the weighing says; Craft
// has the weights as weighed, or is absent with the reason where no craft can weigh that.
type weighAnswer struct {
	Steps     []string    `json:"steps"`
	Like      string      `json:"like"` // how a list of scales is typed
	Rows      []weighRow  `json:"rows"`
	Sentences []string    `json:"sentences"`
	Craft     *gecp.Craft `json:"craft"`
	Why       string      `json:"why,omitempty"`
}

type weighRow struct {
	Name       string `json:"name"`
	Weighed    string `json:"weighed"`
	Within     string `json:"within"`
	File       string `json:"file"`
	Difference string `json:"difference"`
	Agrees     bool   `json:"agrees"`
}

// weigh sets what scales and swinging say beside the craft file.
func weigh(q *question) (*weighAnswer, error) {
	u := q.System()
	a := &weighAnswer{Steps: lake.WeighingSteps(), Like: fmt.Sprintf("%s:%s of each scale, as in 0.40:38.5,4.40:31.5", u.FinePosition().Name, u.FineMass().Name)}
	if strings.TrimSpace(q.Scales) == "" { // nothing is typed yet
		return a, nil
	}
	var w lake.Weighing
	var err error
	if w.Level, err = lake.ParseScales(q.Scales, q.craft, u); err != nil {
		return nil, &exchange.PathError{Path: "scales", Err: err}
	}
	if strings.TrimSpace(q.Raised) != "" {
		if w.Raised, err = lake.ParseScales(q.Raised, q.craft, u); err != nil {
			return nil, &exchange.PathError{Path: "raised", Err: err}
		}
		w.Angle = gecp.Radians(q.AngleDeg)
	}
	w.Swing = lake.Swing{TenSwings: q.SwingS, Pivot: q.PivotM}
	got, err := lake.Weigh(q.craft, w)
	if err != nil {
		return nil, err
	}
	a.Sentences = got.Sentences(q.craft, u)
	for _, r := range got.Rows(q.craft, u) {
		a.Rows = append(a.Rows, weighRow(r))
	}
	if a.Craft, err = got.Apply(q.craft); err != nil {
		a.Craft, a.Why = nil, "No craft can weigh this; look at the readings: "+err.Error()
	}
	return a, nil
}
