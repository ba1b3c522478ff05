package design

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

// StudyOptions choose how each craft of a study is asked. Zero values stand for the defaults named.
type StudyOptions struct {
	Speed   float64   // m/s; it has no default
	Density float64   // of the air, kg/m3; gecp.AirDensity
	Mesh    gecp.Mesh // gecp.DefaultMesh
	From    int       // the first line to answer, counted from 1; 1
	Count   int       // how many lines to answer at most; all
	Dir     string    // where the base files of a relative name lie; the working directory
}

// StudyAnswer is what is said of one line of a study, in SI units as the names tell. A
// figure that the craft does not have is null.
type StudyAnswer struct {
	Name string `json:"name,omitempty"` // of the craft
	// Error tells why the line has no answers, and nothing else is then set.
	Error string `json:"error,omitempty"`
	*StudyFigures
}

// StudyFigures are the answers to one craft: at the study's speed, but for lift-off and
// speed window, which are of the pilot in the middle of the travel.
type StudyFigures struct {
	Travel      *float64 `json:"travel_m"`       // of the pilot, needed in the towing range
	Lowest      *float64 `json:"lowest_m"`       // towing clearance
	LetGo       *float64 `json:"let_go_m"`       // highest towing clearance
	SelfHolding *float64 `json:"self_holding_m"` // up to where it holds its height by itself
	Reach       *float64 `json:"reach_m"`        // above it the pilot's travel ends; null where it does not end
	LiftOff     *float64 `json:"lift_off_mps"`
	Window      *float64 `json:"window_mps"` // width of the speed window
	Pull        *float64 `json:"pull_N"`     // largest of the line in the range, or at the lowest clearance without one
	// NoRange is why the craft cannot be towed at the speed; empty where it can.
	NoRange string `json:"no_range,omitempty"`
}

// maxStudyLine bounds a line of a study, bytes, as a craft file is bounded.
const maxStudyLine = 1 << 20

// Study reads one craft a line, as JSON, and writes one line of answers for each, in
// order. A line is a craft file without line breaks, or {"base": FILE, "set": {"wings[1].x_m": 3.2}}:
// a craft file and dimensions to change in it. A line that is neither, or whose craft
// cannot be calculated, is answered by its error. The craft are calculated in parallel, a few at
// a time, so that memory does not grow with their number; and each answer
// depends on its line alone, so that a study may be cut into pieces anywhere, on any
// number of machines, and the answers joined. To go on with a study that was
// stopped, answer from the line after the last one written.
//
// It returns an error if an option is out of range, if r or w fails, or if the context is
// cancelled. The clearances are by equilibrium: people's reaction is not asked.
func Study(ctx context.Context, r io.Reader, w io.Writer, o StudyOptions) error {
	if o.From < 0 || o.Count < 0 {
		return fmt.Errorf("the study is to answer %d lines from line %d on; lines are counted from 1", o.Count, o.From)
	}
	stream, err := gecp.Freestream{Speed: o.Speed, Density: o.Density}.Checked()
	if err != nil {
		return err
	}
	o.Density = stream.Density
	bases := &baseFiles{dir: o.Dir}

	ctx, stop := context.WithCancel(ctx)
	defer stop()
	type job struct {
		line   []byte
		long   bool
		answer chan []byte
	}
	workers := runtime.GOMAXPROCS(0)
	todo, inOrder := make(chan job), make(chan job, 2*workers)
	var readErr error
	var wg sync.WaitGroup
	// A reader that never returns does not hold up the end: it is left behind.
	go func() {
		defer close(inOrder)
		defer close(todo)
		lines := lineReader{r: bufio.NewReaderSize(r, 1<<16)}
		for n := 1; o.Count == 0 || n < max(o.From, 1)+o.Count; n++ {
			text, long, err := lines.next()
			if err == io.EOF {
				return
			}
			if err != nil {
				readErr = fmt.Errorf("line %d cannot be read: %w", n, err)
				return
			}
			if n < o.From {
				continue
			}
			j := job{text, long, make(chan []byte, 1)}
			for _, to := range []chan job{inOrder, todo} {
				select {
				case to <- j:
				case <-ctx.Done():
					return
				}
			}
		}
	}()
	for range workers {
		wg.Go(func() {
			for {
				select {
				case j, ok := <-todo:
					if !ok {
						return
					}
					j.answer <- o.line(ctx, j.line, j.long, bases)
				case <-ctx.Done():
					return
				}
			}
		})
	}
	defer wg.Wait()
	defer stop() // before the wait
	for {
		select {
		case j, ok := <-inOrder:
			if !ok {
				return cmp.Or(ctx.Err(), readErr)
			}
			select {
			case text := <-j.answer:
				if ctx.Err() != nil {
					return ctx.Err()
				}
				if _, err := w.Write(text); err != nil {
					return err
				}
			case <-ctx.Done():
				return ctx.Err()
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// lineReader reads lines of any length, keeping no more of them than is allowed.
type lineReader struct{ r *bufio.Reader }

// next returns the next line without its end; long tells that it was cut, and is true of the whole line
// being skipped. The last line need not end.
func (l lineReader) next() (text []byte, long bool, err error) {
	for {
		part, err := l.r.ReadSlice('\n')
		if long = long || len(text)+len(part) > maxStudyLine; !long {
			text = append(text, part...)
		}
		switch {
		case err == bufio.ErrBufferFull:
			continue
		case err == io.EOF && (len(text) > 0 || long):
		case err != nil:
			return nil, false, err
		}
		return bytes.TrimRight(text, "\r\n"), long, nil
	}
}

// line returns the answer to a line, as JSON with a line end.
func (o *StudyOptions) line(ctx context.Context, text []byte, long bool, bases *baseFiles) []byte {
	var a StudyAnswer
	c, err := (*gecp.Craft)(nil), fmt.Errorf("the line is longer than 1 MiB; a craft takes a few kilobytes")
	if !long {
		c, err = parseStudyLine(text, bases.read)
	}
	if err == nil {
		a.Name = c.Name
		a.StudyFigures, err = o.ask(ctx, c)
	}
	if err != nil {
		a.Error, a.StudyFigures = err.Error(), nil
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(a); err != nil { // a figure that is not finite
		b.Reset()
		e.Encode(StudyAnswer{Name: a.Name, Error: "the calculation fails: " + err.Error()}) // only text: it cannot fail
	}
	return b.Bytes()
}

// ask returns the figures of one craft.
func (o *StudyOptions) ask(ctx context.Context, c *gecp.Craft) (*StudyFigures, error) {
	if err := c.Require(gecp.BlockWeights, gecp.BlockTow); err != nil {
		return nil, err
	}
	model, err := gecp.NewModel(c, o.Mesh)
	if err != nil {
		return nil, err
	}
	m, err := model.BuildMap(ctx, gecp.MapOptions{})
	if err != nil {
		return nil, err
	}
	a, err := Question{Speed: o.Speed, Density: o.Density}.Ask(ctx, m)
	if err == nil {
		err = a.WindowErr
	}
	if err != nil {
		return nil, err
	}
	of := func(x Answer) *float64 {
		f := a.Figures[x]
		if !f.OK {
			return nil
		}
		return &f.Value
	}
	return &StudyFigures{
		Travel: of(AnswerTravel), Lowest: of(AnswerLowest), LetGo: of(AnswerLetGo), SelfHolding: of(AnswerSelfHolding),
		Reach: of(AnswerReach), LiftOff: of(AnswerLiftOff), Window: of(AnswerWindow), Pull: of(AnswerPull),
		NoRange: a.Range.Reason(units.Metric),
	}, nil
}

// parseStudyLine returns the craft of a line; read returns that of a base file.
func parseStudyLine(text []byte, read func(name string) (*gecp.Craft, error)) (*gecp.Craft, error) {
	var keys map[string]json.RawMessage
	err := json.Unmarshal(text, &keys)
	_, base := keys["base"]
	_, set := keys["set"]
	if err != nil || !base && !set {
		return gecp.Read(bytes.NewReader(text)) // which tells what is wrong
	}
	var q struct {
		Base string             `json:"base"`
		Set  map[string]float64 `json:"set"`
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&q); err != nil {
		return nil, fmt.Errorf(`the line is no {"base": FILE, "set": {"wings[1].x_m": 3.2}}: %s`, strings.TrimPrefix(err.Error(), "json: "))
	}
	if q.Base == "" {
		return nil, errors.New(`"base" is missing; name the craft file that "set" changes`)
	}
	c, err := read(q.Base)
	if err != nil {
		return nil, err
	}
	c = c.Clone()
	var paths []string
	for path := range q.Set {
		paths = append(paths, path)
	}
	slices.Sort(paths)
	var wrong []error
	for _, path := range paths {
		wrong = append(wrong, put(c, path, q.Set[path]))
	}
	if err := errors.Join(wrong...); err != nil {
		return nil, err
	}
	return c, c.Check()
}

// baseFiles reads craft files, each once as long as they are few.
type baseFiles struct {
	dir  string
	mu   sync.Mutex
	kept map[string]*gecp.Craft
}

// maxBases is how many files are kept.
const maxBases = 64

// read returns the craft of a file, which nobody may change.
func (b *baseFiles) read(name string) (*gecp.Craft, error) {
	if !filepath.IsAbs(name) {
		name = filepath.Join(b.dir, name)
	}
	b.mu.Lock()
	c := b.kept[name]
	b.mu.Unlock()
	if c != nil {
		return c, nil
	}
	c, err := gecp.ReadFile(name)
	if err != nil {
		return nil, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.kept == nil {
		b.kept = map[string]*gecp.Craft{}
	}
	if len(b.kept) < maxBases {
		b.kept[name] = c
	}
	return c, nil
}
