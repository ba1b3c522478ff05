package lake

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/namedfile"
)

// maxLog bounds a log, bytes.
const maxLog = 16 << 20

// logRecord is one record of the file: a line, or several where a quoted note runs over
// line ends.
type logRecord struct {
	line  int
	cells []logCell
}

// logCell is one cell: its text without the quotes, and whether it had any.
type logCell struct {
	text   string
	quoted bool
}

// blank reports whether nothing stands in a record.
func (r logRecord) blank() bool {
	for _, c := range r.cells {
		if strings.TrimSpace(c.text) != "" {
			return false
		}
	}
	return true
}

// ReadLog reads a log of runs: comma- or semicolon-separated values whose first line
// names the columns, in any order, each with its unit: speed_mps (or _kmh, _mph, _kn),
// clearance_m (_ft, _in), pilot_m (_ft, _in) and, where measured, pitch_deg, pull_N
// (_lbf), air_temp_C, note. Other columns are kept and not used; see [Log.Ignored]. A
// decimal may have a comma where the cell is quoted or semicolons part the columns. Of a
// sheet from [TowCard.WriteLogCSV] the lines with nothing but a speed count as not run. It
// reads at most 16 MiB. The error is [LogProblems], all that is wrong with the file at
// once, unless r itself fails.
func ReadLog(r io.Reader) (*Log, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxLog+1))
	if err != nil {
		return nil, fmt.Errorf("the log cannot be read: %w", err)
	}
	if len(data) > maxLog {
		return nil, LogProblems{{Text: "the file is larger than 16 MiB; this is another kind of file"}}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	p := logParser{data: data, log: new(Log)}
	if !utf8.Valid(data) {
		line := 1
		for len(data) > 0 {
			r, size := utf8.DecodeRune(data)
			if r == utf8.RuneError && size == 1 {
				break
			}
			if r == '\n' {
				line++
			}
			data = data[size:]
		}
		return nil, LogProblems{{Line: line, Text: "this is not UTF-8 text; save the log as CSV in UTF-8"}}
	}
	p.split()
	p.read()
	if len(p.problems) > 0 {
		return nil, p.problems
	}
	return p.log, nil
}

// ReadLogFile is ReadLog of the named file. The error names the file.
func ReadLogFile(name string) (*Log, error) { return namedfile.Read(name, ReadLog) }

// Write writes the log as it was read: all columns and lines in their order, texts and
// digits as they were. Only a byte-order mark, Windows line ends and needless quotes are
// not kept.
func (l *Log) Write(w io.Writer) error {
	var b bytes.Buffer
	for _, r := range l.records {
		for i, c := range r.cells {
			if i > 0 {
				b.WriteByte(l.separator)
			}
			// A semicolon in quotes does not part the columns of the first line.
			if strings.ContainsAny(c.text, "\";\r\n") || strings.IndexByte(c.text, l.separator) >= 0 || c.quoted && strings.TrimSpace(c.text) != c.text {
				b.WriteByte('"')
				b.WriteString(strings.ReplaceAll(c.text, `"`, `""`))
				b.WriteByte('"')
			} else {
				b.WriteString(c.text)
			}
		}
		b.WriteByte('\n')
	}
	_, err := w.Write(b.Bytes())
	return err
}

// logParser reads a log.
type logParser struct {
	data     []byte
	log      *Log
	columns  []logColumn
	sheet    bool // it is one from WriteLogCSV
	problems LogProblems
}

// logColumn is a column of the file.
type logColumn struct {
	quantity quantity
	head     logHead
}

func (p *logParser) add(line, column int, format string, a ...any) {
	p.problems = append(p.problems, LogProblem{line, column, fmt.Sprintf(format, a...)})
}

// separatorOf returns what parts the columns: a semicolon if one stands in the first line
// outside of quotes, and a comma otherwise.
func separatorOf(data []byte) byte {
	quoted := false
	for _, c := range data {
		switch {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == ';':
			return ';'
		case c == '\n':
			return ','
		}
	}
	return ','
}

// split parts the file into records and cells.
func (p *logParser) split() {
	first := bytes.TrimLeft(p.data, " \t\r\n")
	p.log.separator = separatorOf(first)
	data, line := p.data, 1
	for len(data) > 0 {
		r := logRecord{line: line}
		for {
			var c logCell
			var end byte
			c, data, end = p.cell(data, &line, len(r.cells)+1)
			r.cells = append(r.cells, c)
			if end != p.log.separator {
				break
			}
		}
		line++
		p.log.records = append(p.log.records, r)
	}
}

// cell reads a cell and what ends it: the separator, a line end, or 0 for the file's end.
func (p *logParser) cell(data []byte, line *int, column int) (c logCell, rest []byte, end byte) {
	trimmed := bytes.TrimLeft(data, " \t")
	if len(trimmed) > 0 && trimmed[0] == '"' {
		var text []byte
		start := *line
		data = trimmed[1:]
		for {
			i := bytes.IndexByte(data, '"')
			if i < 0 {
				p.add(start, column, "a quote is opened and never closed; close it, or take it away")
				return logCell{string(append(text, data...)), true}, nil, 0
			}
			text = append(text, data[:i]...)
			*line += bytes.Count(data[:i], []byte("\n"))
			data = data[i+1:]
			if len(data) == 0 || data[0] != '"' {
				break
			}
			text, data = append(text, '"'), data[1:]
		}
		c = logCell{string(text), true}
		after, rest, end := p.plain(data)
		if strings.TrimSpace(after) != "" {
			p.add(*line, column, "%q stands behind a closing quote; quote the whole cell, and write a quote within it twice", shortCell(after))
		}
		return c, rest, end
	}
	text, rest, end := p.plain(data)
	return logCell{text: text}, rest, end
}

// plain reads up to the separator or the end of the line.
func (p *logParser) plain(data []byte) (text string, rest []byte, end byte) {
	for i, b := range data {
		switch b {
		case p.log.separator:
			return string(data[:i]), data[i+1:], b
		case '\n':
			return strings.TrimSuffix(string(data[:i]), "\r"), data[i+1:], b
		}
	}
	return strings.TrimSuffix(string(data), "\r"), nil, 0
}

// read reads the head and the runs.
func (p *logParser) read() {
	records := p.log.records
	for len(records) > 0 && records[0].blank() {
		records = records[1:]
	}
	if len(records) == 0 {
		p.add(0, 0, "the log is empty; its first line names the columns, as in %s", strings.Join(LogColumns(), ","))
		return
	}
	p.head(records[0])
	for _, r := range records[1:] {
		switch {
		case r.blank():
		case p.sheet && p.notRun(r):
			p.log.notRun++
		default:
			p.run(r)
		}
	}
	if len(p.log.Runs) == 0 && len(p.problems) == 0 && p.log.notRun > 0 {
		p.add(0, 0, "the log sheet is not filled in: no line has a clearance and the pilot's position")
	} else if len(p.log.Runs) == 0 && len(p.problems) == 0 {
		p.add(0, 0, "the log has a head and no runs; add a line a run")
	}
}

// head reads the names of the columns.
func (p *logParser) head(r logRecord) {
	var at [quantities]int // column of each, from 1
	for i, c := range r.cells {
		name := strings.TrimSpace(c.text)
		col := logColumn{quantity: qtyUnknown}
		for q := range logQuantities {
			for _, h := range logQuantities[q].heads {
				if strings.EqualFold(h.name, name) {
					col = logColumn{quantity(q), h}
				}
			}
		}
		p.columns = append(p.columns, col)
		if col.quantity == qtyUnknown {
			switch {
			case planned(name):
				p.sheet = true
			case name != "":
				p.log.unknown = append(p.log.unknown, shortCell(name))
			}
			continue
		}
		if first := at[col.quantity]; first > 0 {
			p.add(r.line, i+1, "%s stands in column %d already, as %s; keep one", logQuantities[col.quantity].name, first, p.columns[first-1].head.name)
			continue
		}
		at[col.quantity] = i + 1
	}
	for q := range logQuantities {
		if c := &logQuantities[q]; c.required && at[q] == 0 {
			p.add(r.line, 0, "no column tells the %s; %s", c.name, p.meant(quantity(q), r))
		}
	}
}

// meant says what to add where a quantity has no column.
func (p *logParser) meant(q quantity, head logRecord) string {
	var names []string
	for _, h := range logQuantities[q].heads {
		names = append(names, h.name)
	}
	list := strings.Join(names[:len(names)-1], ", ") + " or " + names[len(names)-1]
	for i, c := range p.columns {
		name := strings.TrimSpace(head.cells[i].text)
		if c.quantity == qtyUnknown && strings.HasPrefix(strings.ToLower(name), logQuantities[q].name[:4]) {
			return fmt.Sprintf("is it column %d, %q? Call it %s", i+1, shortCell(name), list)
		}
	}
	return "add one called " + list
}

// notRun reports whether a line of a log sheet holds nothing of a run but its speed.
func (p *logParser) notRun(r logRecord) bool {
	for i, c := range r.cells {
		if i < len(p.columns) && (p.columns[i].quantity == qtyUnknown || p.columns[i].quantity == qtySpeed) {
			continue
		}
		if strings.TrimSpace(c.text) != "" {
			return false
		}
	}
	return true
}

// run reads one run, with all its faults.
func (p *logParser) run(r logRecord) {
	run := Run{Line: r.line}
	known := len(p.problems)
	for i := len(p.columns); i < len(r.cells); i++ {
		if strings.TrimSpace(r.cells[i].text) == "" {
			continue
		}
		hint := ""
		if p.log.separator == ',' {
			hint = "; a decimal takes a point where commas part the columns, and a note with a comma takes quotes"
		}
		p.add(r.line, i+1, "%q stands under no head: the line has %d cells and the head names %d%s", shortCell(r.cells[i].text), len(r.cells), len(p.columns), hint)
		break
	}
	for i, col := range p.columns {
		var text string
		if i < len(r.cells) {
			text = strings.TrimSpace(r.cells[i].text)
		}
		switch col.quantity {
		case qtyUnknown:
			continue
		case qtyNote:
			run.Note = text
			continue
		}
		q := &logQuantities[col.quantity]
		if text == "" {
			if q.required {
				p.add(r.line, i+1, "%s is empty; give %s, or take the line out", col.head.name, q.what)
			}
			continue
		}
		v, err := logNumber(text, col.quantity)
		if err != nil {
			p.add(r.line, i+1, "%s is %q, %v", col.head.name, shortCell(text), err)
			continue
		}
		v *= col.head.size
		if !(v >= q.lo && v <= q.hi) {
			show := func(x float64) string { // four digits, without an exponent
				x, _ = strconv.ParseFloat(strconv.FormatFloat(x/col.head.size, 'g', 4, 64), 64)
				return strconv.FormatFloat(x, 'f', -1, 64)
			}
			p.add(r.line, i+1, "%s is %s; give %s between %s and %s %s", col.head.name, shortCell(text), q.what, show(q.lo), show(q.hi), col.head.unit())
			continue
		}
		switch col.quantity {
		case qtySpeed:
			run.Speed = v
		case qtyClearance:
			run.Clearance = v
		case qtyPilot:
			run.Pilot = v
		case qtyPitch:
			run.Pitch = Measured{gecp.Radians(v), true}
		case qtyPull:
			run.Pull = Measured{v, true}
		case qtyAirTemp:
			run.AirTemp = Measured{v, true}
		}
	}
	if len(p.problems) == known {
		p.log.Runs = append(p.log.Runs, run)
	}
}

var (
	errNotNumber = errors.New("which is not a number; write it as 0.25, without its unit")
	errThousand  = errors.New("which may be read in two ways; write thousands without a comma, or a decimal with a point")
)

// logNumber reads a number with a decimal point or a decimal comma.
func logNumber(text string, q quantity) (float64, error) {
	if i := strings.IndexByte(text, ','); i >= 0 {
		// Tensions reach thousands; none of the others does.
		whole := strings.TrimLeft(text[:i], "+-0")
		if q == qtyPull && whole != "" && len(text)-i-1 == 3 {
			return 0, errThousand
		}
		if strings.ContainsAny(text[i+1:], ",.") || strings.Contains(text[:i], ".") {
			return 0, errNotNumber
		}
		text = text[:i] + "." + text[i+1:]
	}
	text = strings.ReplaceAll(text, "−", "-")
	if strings.ContainsAny(text, "xXpP_iInN") { // forms of numbers that no crew writes, and none at all
		return 0, errNotNumber
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, errNotNumber
	}
	return v, nil
}

// shortCell cuts text that would make a sentence unreadable.
func shortCell(s string) string {
	const most = 40
	s = strings.Join(strings.Fields(s), " ")
	n := 0
	for i := range s {
		if n == most {
			return s[:i] + "…"
		}
		n++
	}
	return s
}
