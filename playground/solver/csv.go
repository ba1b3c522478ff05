package solver

import (
	"context"
	"encoding/csv"
	"fmt"
	"strings"
)

type textAnswer struct {
	Text string `json:"text"`
}

// csv writes the points of "heights" in SI, one clearance a line; a cell is empty
// where there is no value.
func (v *Service) csv(ctx context.Context, q *question, progress func(float64)) (*textAnswer, error) {
	a, err := v.heights(ctx, q, progress)
	if err != nil {
		return nil, err
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	records := [][]string{columns}
	for i := range a.Points {
		var r []string
		for _, cell := range a.Points[i].cells() {
			r = append(r, string(appendCell(nil, cell, "")))
		}
		records = append(records, r)
	}
	if err := w.WriteAll(records); err != nil {
		return nil, fmt.Errorf("the table cannot be written: %w", err)
	}
	return &textAnswer{Text: b.String()}, nil
}
