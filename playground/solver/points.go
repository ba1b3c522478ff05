package solver

import (
	"bytes"
	"math"
	"reflect"
	"strconv"
)

// point is the craft at one clearance; a field is nil where it has no value. Each
// field is a column of the page's tables and of the CSV, in this order.
type point struct {
	Clearance     float64  `json:"clearance_m"`
	Height        *float64 `json:"height_m"`
	PitchDeg      *float64 `json:"pitch_deg"`
	Lift          *float64 `json:"lift_n"`
	Drag          *float64 `json:"drag_n"`
	Induced       *float64 `json:"induced_n"`
	Friction      *float64 `json:"friction_n"`
	Parasite      *float64 `json:"parasite_n"`
	LiftOverDrag  *float64 `json:"l_over_d"`
	CP            *float64 `json:"cp_m"`
	PitchNeutral  *float64 `json:"pitch_neutral_m"`
	HeightNeutral *float64 `json:"height_neutral_m"`
	CGNeeded      *float64 `json:"cg_needed_m"`
	PilotNeeded   *float64 `json:"pilot_needed_m"`
	Spare         *float64 `json:"spare_m"` // inside the pilot's travel; negative outside
	Stable        *bool    `json:"stable"`
	Reachable     *bool    `json:"reachable"`
	Line          *float64 `json:"line_n"`
	LineDeg       *float64 `json:"line_deg"` // up from the craft to the boat
}

// columns are the names of a point's fields.
var columns = func() (names []string) {
	for i, t := 0, reflect.TypeFor[point](); i < t.NumField(); i++ {
		names = append(names, t.Field(i).Tag.Get("json"))
	}
	return names
}()

// cells are the point's fields, in the order of the columns: a *float64 or a *bool each.
func (p *point) cells() [19]any {
	return [...]any{
		&p.Clearance, p.Height, p.PitchDeg, p.Lift, p.Drag, p.Induced, p.Friction, p.Parasite, p.LiftOverDrag, p.CP,
		p.PitchNeutral, p.HeightNeutral, p.CGNeeded, p.PilotNeeded, p.Spare, p.Stable, p.Reachable, p.Line, p.LineDeg,
	}
}

// appendCell appends a cell to b, or none where it has no value.
func appendCell(b []byte, cell any, none string) []byte {
	switch v := cell.(type) {
	case *float64:
		if v != nil {
			return appendFigure(b, *v)
		}
	case *bool:
		if v != nil {
			return strconv.AppendBool(b, *v)
		}
	}
	return append(b, none...)
}

// appendFigure appends v to a millionth of its unit, which in WebAssembly takes a
// small part of the time that the shortest exact figure takes.
func appendFigure(b []byte, v float64) []byte {
	const parts, digits = 1e6, 6
	n := int64(math.Round(math.Abs(v) * parts))
	if !(math.Abs(v) < 1e9) {
		return strconv.AppendFloat(b, v, 'g', -1, 64)
	}
	if v < 0 && n > 0 {
		b = append(b, '-')
	}
	b = strconv.AppendInt(b, n/parts, 10)
	n %= parts
	if n == 0 {
		return b
	}
	b = append(b, ".000000"...)
	for i := len(b) - 1; n > 0; i-- {
		b[i] += byte(n % 10)
		n /= 10
	}
	return bytes.TrimRight(b, "0")
}

// table is the points of a sweep. The page gets {"columns": names, "rows": cells}.
type table []point

// append appends the table to b, as JSON. It does so by itself, since [json.Marshal]
// would go through every byte once more, and the page waits for it while a hand moves.
func (t table) append(b []byte) []byte {
	b = append(b, `{"columns":[`...)
	for i, name := range columns {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendQuote(b, name)
	}
	b = append(b, `],"rows":[`...)
	for i := range t {
		if i > 0 {
			b = append(b, ',')
		}
		for j, cell := range t[i].cells() {
			b = append(b, "[,"[min(j, 1)])
			b = appendCell(b, cell, "null")
		}
		b = append(b, ']')
	}
	return append(b, "]}"...)
}
