package gecp

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"example.org/groundeffect/gecp/internal/namedfile"
	"example.org/groundeffect/gecp/internal/spelling"
)

// maxFile bounds a craft file, bytes. A craft at every limit of Check stays
// well below.
const maxFile = 1 << 20

// Read reads a craft file: one JSON object as the schema beside this package
// describes. It reads at most 1 MiB. The error is [Problems], all that is wrong
// with the file at once, unless r itself fails. A craft that comes back passes
// [Craft.Check].
func Read(r io.Reader) (*Craft, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return nil, fmt.Errorf("the craft file cannot be read: %w", err)
	}
	if len(data) > maxFile {
		return nil, Problems{{Text: "the file is larger than 1 MiB; a craft file is a few kilobytes, so this is another kind of file"}}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if p := malformed(data); p != nil {
		return nil, p
	}
	c := new(Craft)
	d := &decoder{json: json.NewDecoder(bytes.NewReader(data)), checker: checker{craft: c}}
	d.json.UseNumber()
	d.value(d.next(), reflect.ValueOf(c).Elem(), "")
	d.check()
	if p := d.result(); p != nil {
		return nil, p
	}
	return c, nil
}

// ReadFile is Read of the named file. The error names the file.
func ReadFile(name string) (*Craft, error) { return namedfile.Read(name, Read) }

// Write writes the craft as a craft file: indented JSON that ends with a
// newline. Absent sections stay absent. A craft that holds NaN or Inf cannot be
// written: the error is [Problems].
func (c *Craft) Write(w io.Writer) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(c); err != nil {
		if p := c.Check(); p != nil {
			return p
		}
		return fmt.Errorf("the craft cannot be written: %w", err)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// malformed returns what keeps data from being one JSON value, nil if nothing.
func malformed(data []byte) Problems {
	at := func(offset int, format string, args ...any) Problems {
		line, column := position(data, offset)
		return Problems{{Text: fmt.Sprintf("line %d, column %d: ", line, column) + fmt.Sprintf(format, args...)}}
	}
	if len(bytes.TrimSpace(data)) == 0 {
		return at(0, "the file is empty; a craft file begins with { and a name")
	}
	if !utf8.Valid(data) {
		n := 0
		for n < len(data) {
			r, size := utf8.DecodeRune(data[n:])
			if r == utf8.RuneError && size == 1 {
				break
			}
			n += size
		}
		return at(n, "this is not UTF-8 text; save the craft file as plain UTF-8")
	}
	var raw json.RawMessage
	err := json.Unmarshal(data, &raw)
	if err == nil {
		return nil
	}
	var syntax *json.SyntaxError
	if !errors.As(err, &syntax) {
		return Problems{{Text: "the file is not JSON: " + err.Error()}}
	}
	if first := len(data) - len(bytes.TrimLeft(data, " \t\r\n")); data[first] != '{' && data[first] != '[' {
		r, _ := utf8.DecodeRune(data[first:])
		return at(first, "%q does not belong here; a craft file begins with {", r)
	}
	if strings.Contains(err.Error(), "unexpected end") {
		if open := unclosed(data); open >= 0 {
			line, column := position(data, open)
			return at(len(data), "the file ends too early; the %c of line %d, column %d is never closed", data[open], line, column)
		}
		return at(len(data), "the file ends too early")
	}
	offset := min(max(int(syntax.Offset)-1, 0), len(data)-1)
	if strings.Contains(err.Error(), "max depth") {
		return at(offset, "brackets stand too deep in each other; a craft file needs five levels")
	}
	if strings.Contains(err.Error(), "after top-level") {
		return at(offset, "the file goes on after the brace that ends the craft; take the rest away")
	}
	bad, _ := utf8.DecodeRune(data[offset:])
	return at(offset, "%q does not belong here; %s", bad, hint(data, offset))
}

// position returns the line and the column of a byte, both from 1; the column
// counts characters.
func position(data []byte, offset int) (line, column int) {
	before := data[:offset]
	line = bytes.Count(before, []byte("\n")) + 1
	return line, utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
}

// unclosed returns the place of the innermost bracket, brace or quote still open
// at the end of data, -1 for none.
func unclosed(data []byte) int {
	var open []int
	quote := -1
	for i := 0; i < len(data); i++ {
		switch b := data[i]; {
		case quote >= 0 && b == '\\':
			i++
		case b == '"' && quote >= 0:
			quote = -1
		case quote >= 0:
		case b == '"':
			quote = i
		case b == '{' || b == '[':
			open = append(open, i)
		case (b == '}' || b == ']') && len(open) > 0:
			open = open[:len(open)-1]
		}
	}
	if quote >= 0 {
		return quote
	}
	if len(open) > 0 {
		return open[len(open)-1]
	}
	return -1
}

// hint says what is probably meant where the byte at offset breaks the JSON.
func hint(data []byte, offset int) string {
	before := bytes.TrimRight(data[:offset], " \t\r\n")
	var last byte
	if len(before) > 0 {
		last = before[len(before)-1]
	}
	switch bad := data[offset]; {
	case bad == '/' || bad == '#':
		return "a craft file holds no comments"
	case bad == '\'':
		return `keys and names stand in double quotes, like "name"`
	case bad < ' ':
		return "a line ends within double quotes; close them"
	case (bad == '}' || bad == ']') && last == ',':
		return "take away the comma before it"
	case bad >= '0' && bad <= '9' && last == ',':
		return "a decimal takes a point, like 1.6, and a list of values square brackets"
	case bad == 'N' || bad == 'I' || bad == 'i':
		return "numbers are finite decimals, like 1.6"
	case bad == '"' || bad == '{' || bad == '[':
		return "a comma or a colon is missing before it"
	}
	return `look for a missing comma, quote, bracket or brace just before it`
}

// decoder fills a Craft from JSON known to be well formed, and goes on after a
// problem. The types of the craft file are structs, slices, pointers, float64, int,
// bool and string; no other is met.
type decoder struct {
	json   *json.Decoder
	failed bool // the JSON ended or broke after all
	checker
}

func (d *decoder) next() json.Token {
	t, err := d.json.Token()
	if err != nil {
		if !d.failed {
			d.add("", "the file is not JSON: %v", err)
		}
		d.failed = true
		return nil
	}
	return t
}

// skip passes over the value that begins with t.
func (d *decoder) skip(t json.Token) {
	for depth := 0; !d.failed; t = d.next() {
		switch t {
		case json.Delim('{'), json.Delim('['):
			depth++
		case json.Delim('}'), json.Delim(']'):
			depth--
		}
		if depth == 0 {
			return
		}
	}
}

// value reads the value that begins with t into v.
func (d *decoder) value(t json.Token, v reflect.Value, path string) {
	switch v.Kind() {
	case reflect.Pointer:
		p := reflect.New(v.Type().Elem())
		v.Set(p)
		d.value(t, p.Elem(), path)
	case reflect.Struct:
		if t == json.Delim('{') {
			d.object(v, path)
			return
		}
		d.mistyped(t, path, "an object in braces { }")
	case reflect.Slice:
		if t == json.Delim('[') {
			d.list(v, path)
			return
		}
		d.mistyped(t, path, "a list in brackets [ ]")
	case reflect.String:
		if s, ok := t.(string); ok {
			v.SetString(s)
			return
		}
		d.mistyped(t, path, "text in double quotes")
	case reflect.Float64:
		d.number(t, v, path)
	case reflect.Int:
		d.count(t, v, path)
	case reflect.Bool:
		if b, ok := t.(bool); ok {
			v.SetBool(b)
			return
		}
		d.mistyped(t, path, "true or false, without quotes")
	}
}

// count reads a whole number.
func (d *decoder) count(t json.Token, v reflect.Value, path string) {
	n, ok := t.(json.Number)
	if !ok {
		d.mistyped(t, path, "a whole number, like 14")
		return
	}
	x, err := strconv.ParseFloat(string(n), 64)
	if err != nil || x != math.Trunc(x) || math.Abs(x) > math.MaxInt32 {
		d.add(path, "%s is not a count; give a whole number, like 14", short(string(n)))
		return
	}
	v.SetInt(int64(x))
}

func (d *decoder) number(t json.Token, v reflect.Value, path string) {
	switch t := t.(type) {
	case json.Number:
		x, err := strconv.ParseFloat(string(t), 64)
		if err != nil {
			d.add(path, "%s is too large for a number", short(string(t)))
			return
		}
		v.SetFloat(x)
	case string:
		// What was meant still takes part in the checks.
		if x, err := strconv.ParseFloat(t, 64); err == nil && !math.IsNaN(x) && !math.IsInf(x, 0) {
			d.add(path, "%q is text; write the number without quotes: %v", short(t), x)
			v.SetFloat(x)
			return
		}
		d.mistyped(t, path, "a number, like 1.6")
	default:
		d.mistyped(t, path, "a number, like 1.6")
	}
}

func (d *decoder) mistyped(t json.Token, path, meant string) {
	var is string
	switch t := t.(type) {
	case json.Delim:
		is = map[json.Delim]string{'{': "an object in braces { }", '[': "a list in brackets [ ]"}[t]
	case json.Number:
		is = "the number " + short(string(t))
	case string:
		is = fmt.Sprintf("the text %q", short(t))
	case bool:
		is = strconv.FormatBool(t)
	default:
		is = "null"
	}
	d.skip(t)
	switch {
	case path == "":
		d.add("", "the file holds %s; a craft file is %s", is, meant)
	case is == "null":
		d.add(path, "is null; give %s, or leave the key out where it may be absent", meant)
	default:
		d.add(path, "is %s; give %s", is, meant)
	}
}

func (d *decoder) list(v reflect.Value, path string) {
	most := counts()[section(path)].most
	known, more := len(d.problems), d.more
	n := 0
	for ; d.json.More(); n++ {
		t := d.next()
		if n >= most {
			d.skip(t)
			continue
		}
		v.Set(reflect.Append(v, reflect.Zero(v.Type().Elem())))
		d.value(t, v.Index(n), fmt.Sprintf("%s[%d]", path, n))
	}
	d.next()
	if n > most { // what else its entries lack is of no interest
		d.problems, d.more = d.problems[:known], more
		d.miscount(path, n)
	}
}

func (d *decoder) object(v reflect.Value, path string) {
	keys := keysOf(v.Type())
	seen := make([]bool, len(keys))
	for d.json.More() {
		name, _ := d.next().(string)
		t := d.next()
		i := 0
		for i < len(keys) && keys[i].name != name {
			i++
		}
		if path == "" && name == viewBlock {
			d.skip(t)
			continue
		}
		if i == len(keys) {
			d.skip(t)
			if d.full() {
				d.more++ // a search for the key meant would be in vain
				continue
			}
			d.add(belowUnknown(path, name), "unknown key %q; %s", short(name), suggest(name, keys))
			continue
		}
		if seen[i] {
			d.skip(t)
			d.add(below(path, name), "the key %q stands here twice; keep one", name)
			continue
		}
		seen[i] = true
		at := below(path, name)
		d.value(t, v.Field(i), at)
		// Zero stands for an absent value, and Check would let it pass.
		if l, ok := limits()[section(at)]; ok && v.Field(i).IsZero() && l.lo > 0 && !d.broken(at) {
			d.add(at, "%s", l.sentence(name, 0))
		}
	}
	d.next()
	for i, k := range keys {
		if !seen[i] && !k.optional {
			d.add(below(path, k.name), "the key %q is missing", k.name)
		}
	}
}

// viewBlock is the key of a block in which a program keeps how it shows the craft; the
// reader passes over it.
const viewBlock = "view"

// key is a key of the craft file, in the order of the struct's fields.
type key struct {
	name     string
	optional bool
}

var keysByType sync.Map // reflect.Type to []key

func keysOf(t reflect.Type) []key {
	if k, ok := keysByType.Load(t); ok {
		return k.([]key)
	}
	keys := make([]key, t.NumField())
	for i := range keys {
		name, opts, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		keys[i] = key{name, opts != ""}
	}
	keysByType.Store(t, keys)
	return keys
}

// suggest names the known key nearest to an unknown one, or all that are known.
func suggest(name string, keys []key) string {
	best, least := "", min(3, 1+len(name)/2)
	if len(name) <= 40 {
		name = strings.ToLower(name)
		for _, k := range keys {
			d := spelling.Distance(name, k.name)
			if i := strings.LastIndexByte(k.name, '_'); i > 0 { // the unit left out
				d = min(d, spelling.Distance(name, k.name[:i]))
			}
			if d < least {
				best, least = k.name, d
			}
		}
	}
	if best != "" {
		return fmt.Sprintf("did you mean %q?", best)
	}
	names := make([]string, len(keys))
	for i, k := range keys {
		names[i] = k.name
	}
	return "known here: " + strings.Join(names, ", ")
}

// below returns the path of a key that the craft file knows, in what stands at path.
func below(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// belowUnknown is below for any key.
func belowUnknown(path, key string) string {
	if strings.ContainsFunc(key, func(r rune) bool { return r != '_' && (r < '0' || r > '9') && (r < 'A' || r > 'z') }) || key == "" {
		key = strconv.Quote(short(key))
	}
	return below(path, short(key))
}

// short cuts text that would make a sentence unreadable.
func short(s string) string {
	const most = 40
	n := 0
	for i := range s {
		if n == most {
			return s[:i] + "…"
		}
		n++
	}
	return s
}
