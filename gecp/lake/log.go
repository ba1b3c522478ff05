package lake

import (
	"fmt"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// Log is a log of runs on the water: what the crew noted, a line a run. A Log from
// [ReadLog] keeps the whole file, the columns that it does not know included, so that
// [Log.Write] loses nothing.
type Log struct {
	Runs []Run // in the order of the file

	separator byte // between columns
	records   []logRecord
	unknown   []string // heads of the columns that are kept and not used
	notRun    int      // lines of a log sheet that were left empty
}

// Run is one run at a steady speed and height.
type Run struct {
	Line      int      // in the file, the head being line 1
	Speed     float64  // through the air, m/s
	Clearance float64  // of the wings' lowest point, m
	Pilot     float64  // position of the pilot's centre of gravity, m aft of the datum
	Pitch     Measured // rad nose-up
	Pull      Measured // tension of the line, N
	AirTemp   Measured // degrees Celsius
	Note      string
}

// Measured is a value that may not have been measured.
type Measured struct {
	Value float64
	OK    bool
}

// Ignored says in words which columns and lines of the file were kept and not used; nil
// for none.
func (l *Log) Ignored() []string {
	var words []string
	for _, head := range l.unknown {
		words = append(words, fmt.Sprintf("The column %q is not known; it is kept and not used.", head))
	}
	if l.notRun > 0 {
		words = append(words, notRun(l.notRun))
	}
	return words
}

// LogProblem is one fault of a log: where, and a sentence for the crew.
type LogProblem struct {
	Line   int // from 1, the head
	Column int // from 1; 0 for the line as a whole
	Text   string
}

func (p LogProblem) String() string {
	switch {
	case p.Line == 0:
		return p.Text
	case p.Column == 0:
		return fmt.Sprintf("line %d: %s", p.Line, p.Text)
	}
	return fmt.Sprintf("line %d, column %d: %s", p.Line, p.Column, p.Text)
}

// LogProblems is all that is wrong with a log, in the order of the file. It is never
// empty where it stands for an error.
type LogProblems []LogProblem

// Error returns the problems, one a line.
func (p LogProblems) Error() string {
	lines := make([]string, len(p))
	for i, q := range p {
		lines[i] = q.String()
	}
	return strings.Join(lines, "\n")
}

// quantity is what a column of a log holds.
type quantity int

// The quantities of a log.
const (
	qtySpeed quantity = iota
	qtyClearance
	qtyPilot
	qtyPitch
	qtyPull
	qtyAirTemp
	qtyNote
	quantities
	qtyUnknown = -1
)

// logQuantity is a quantity with the heads that it may stand under.
type logQuantity struct {
	name     string
	required bool
	heads    []logHead
	lo, hi   float64 // SI, degrees Celsius and degrees of pitch; both allowed, speed and clearance above 0
	what     string  // a phrase for "give ..."
}

// logHead is a head of a column, and the size of its unit.
type logHead struct {
	name string
	size float64 // SI per unit
}

// logQuantities are the columns of a log. The ranges are wide enough for any towed craft
// and narrow enough to catch a slip of a unit.
var logQuantities = [quantities]logQuantity{
	qtySpeed: {"speed", true, []logHead{{"speed_mps", 1}, {"speed_kmh", units.KMH}, {"speed_mph", units.MPH}, {"speed_kn", knot}},
		.1, gecp.MaxSpeed, "a speed through the air"},
	qtyClearance: {"clearance", true, []logHead{{"clearance_m", 1}, {"clearance_ft", units.Foot}, {"clearance_in", units.Inch}},
		.001, 10, "a clearance under the wings' lowest point"},
	qtyPilot: {"pilot", true, []logHead{{"pilot_m", 1}, {"pilot_ft", units.Foot}, {"pilot_in", units.Inch}},
		-50, 50, "a position of the pilot aft of the datum"},
	qtyPitch:   {"pitch", false, []logHead{{"pitch_deg", 1}}, -30, 30, "a pitch, nose-up positive"},
	qtyPull:    {"pull", false, []logHead{{"pull_N", 1}, {"pull_lbf", units.PoundForce}}, 0, 1e5, "a tension of the line"},
	qtyAirTemp: {"air_temp", false, []logHead{{"air_temp_C", 1}}, -40, 60, "a temperature of the air"},
	qtyNote:    {"note", false, []logHead{{"note", 1}}, 0, 0, ""},
}

// knot is the international knot, m/s (1852 m an hour; NIST SP 811).
const knot = 1852. / 3600

// unit returns the unit of a head, as in "m" of "clearance_m".
func (h logHead) unit() string {
	u := h.name[strings.LastIndexByte(h.name, '_')+1:]
	if words, ok := map[string]string{"mps": "m/s", "kmh": "km/h", "kn": "knots", "C": "degrees Celsius", "deg": "degrees"}[u]; ok {
		return words
	}
	return u
}

// LogColumns returns the heads that a log may have, each quantity's first being the
// metric one, in the order in which a sheet shows them.
func LogColumns() []string {
	var heads []string
	for _, q := range logQuantities {
		heads = append(heads, q.heads[0].name)
	}
	return heads
}
