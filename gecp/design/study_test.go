package design

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// studyOptions are quick; the ready craft are the base files.
func studyOptions() StudyOptions {
	return StudyOptions{Speed: 14, Mesh: gecp.Mesh{Rows: 2, Strips: 4}, Dir: "../crafts"}
}

func study(t *testing.T, in string, o StudyOptions) []string {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, Study(t.Context(), strings.NewReader(in), &out, o))
	assert.True(t, out.Len() == 0 || strings.HasSuffix(out.String(), "\n"))
	return strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
}

// lines are craft and mistakes.
func studyLines(t *testing.T) []string {
	var b bytes.Buffer
	require.NoError(t, gecp.Demo().Write(&b))
	var one bytes.Buffer
	require.NoError(t, json.Compact(&one, b.Bytes()))
	return []string{
		one.String(),
		`{"base": "reedling-tandem.json", "set": {"wings[1].incidence_deg": 2, "pilot.x_m": 0}}`,
		"no craft",
		`{"base": "teal-tandem.json", "set": {"wings[0].thickness": 7}}`,
		"",
		`{"base": "teal-tandem.json", "set": {"wings[9].x_m": 1, "nose": 2}}`,
		`{"set": {"wings[1].x_m": 1}}`,
		`{"base": "teal-tandem.json", "sett": {}}`,
		`{"base": "none.json"}`,
		`{"base": "coot-single.json"}` + "\r",
	}
}

// Each line is answered in its place, a wrong one by its error; the craft itself and the craft
// set to what it is anyway are one.
func TestStudy(t *testing.T) {
	lines := studyLines(t)
	got := study(t, strings.Join(lines, "\n"), studyOptions())
	require.Len(t, got, len(lines))
	var answers []StudyAnswer
	for _, g := range got {
		var a StudyAnswer
		require.NoError(t, json.Unmarshal([]byte(g), &a), g)
		answers = append(answers, a)
	}
	assert.Equal(t, got[0], got[1])
	assert.Equal(t, "Reedling", answers[0].Name)
	assert.NotNil(t, answers[0].LiftOff)
	assert.Equal(t, "Coot", answers[9].Name)
	assert.Nil(t, answers[9].LetGo)
	assert.NotEmpty(t, answers[9].NoRange)
	for i, says := range map[int]string{
		2: "does not belong here", 3: "thickness", 4: "the file is empty", 5: "nose is no dimension", 6: `"base" is missing`,
		7: `no {"base": FILE`, 8: "none.json",
	} {
		assert.Contains(t, answers[i].Error, says, "line %d", i+1)
		assert.Nil(t, answers[i].StudyFigures)
	}
	assert.Contains(t, answers[5].Error, "wings[9].x_m is no dimension", "all that is wrong at once")
	assert.Empty(t, study(t, "", studyOptions())[0])
}

// Cut into pieces anywhere, on one core or several, the answers joined are those of one run.
func TestStudyInPieces(t *testing.T) {
	lines := studyLines(t)
	in := strings.Join(lines, "\n")
	whole := study(t, in, studyOptions())
	var joined []string
	old := runtime.GOMAXPROCS(1)
	for from := 1; from <= len(lines); from += 4 {
		o := studyOptions()
		o.From, o.Count = from, 4
		joined = append(joined, study(t, in, o)...)
	}
	runtime.GOMAXPROCS(old)
	assert.Equal(t, whole, joined)
	o := studyOptions()
	o.From = 9
	assert.Equal(t, whole[8:], study(t, in, o))
	o.From = 99
	assert.Empty(t, study(t, in, o)[0])
}

// endless makes lines for ever and counts them.
type endless struct{ made atomic.Int64 }

func (e *endless) Read(b []byte) (int, error) {
	e.made.Add(1)
	return copy(b, "wrong\n"), nil
}

// Few lines are read ahead of what is written, and a stop is a stop.
func TestStudyIsFlat(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	in := new(endless)
	written := int64(0)
	err := Study(ctx, in, writerFunc(func(b []byte) (int, error) {
		if written++; written == 500 {
			cancel()
		}
		// A line takes 6 bytes; the buffer before the lines holds some thousands of them.
		assert.Less(t, in.made.Load(), written+20_000)
		return len(b), nil
	}), studyOptions())
	assert.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, int64(500), written)
}

type writerFunc func(b []byte) (int, error)

func (f writerFunc) Write(b []byte) (int, error) { return f(b) }

func TestStudyFails(t *testing.T) {
	sorry := errors.New("broken")
	err := Study(t.Context(), io.MultiReader(strings.NewReader("wrong\n"), iotest.ErrReader(sorry)), io.Discard, studyOptions())
	assert.ErrorIs(t, err, sorry)
	assert.ErrorContains(t, err, "line 2 cannot be read")
	err = Study(t.Context(), strings.NewReader("wrong\n"), writerFunc(func([]byte) (int, error) { return 0, sorry }), studyOptions())
	assert.ErrorIs(t, err, sorry)
	assert.ErrorContains(t, Study(t.Context(), strings.NewReader(""), io.Discard, StudyOptions{}), "speed is 0 m/s")
	o := studyOptions()
	o.From = -1
	assert.ErrorContains(t, Study(t.Context(), strings.NewReader(""), io.Discard, o), "counted from 1")
	stopped, stop := context.WithCancel(t.Context())
	stop()
	assert.ErrorIs(t, Study(stopped, strings.NewReader("wrong\n"), io.Discard, studyOptions()), context.Canceled)
}

// A line of any length is one line.
func TestLongLines(t *testing.T) {
	long := strings.Repeat("x", maxStudyLine+5)
	got := study(t, "wrong\n"+long+"\n"+long, studyOptions())
	require.Len(t, got, 3)
	assert.Contains(t, got[1], "longer than 1 MiB")
	assert.Equal(t, got[1], got[2])
}

// Base files are read once, up to a number, and no line changes them for the next.
func TestBaseFiles(t *testing.T) {
	dir := t.TempDir()
	var b bytes.Buffer
	require.NoError(t, gecp.Demo().Write(&b))
	for i := range maxBases + 2 {
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprint(i)), b.Bytes(), 0o600))
	}
	f := &baseFiles{dir: dir}
	for i := range maxBases + 2 {
		c, err := parseStudyLine(fmt.Appendf(nil, `{"base": "%d", "set": {"wings[1].x_m": 3.5}}`, i), f.read)
		require.NoError(t, err)
		assert.Equal(t, 3.5, c.Wings[1].X)
	}
	assert.Len(t, f.kept, maxBases)
	c, err := f.read("0")
	require.NoError(t, err)
	assert.Equal(t, gecp.Demo(), c)
}

func FuzzStudyLine(f *testing.F) {
	for _, s := range []string{
		"", "{}", `{"base": "demo", "set": {"wings[1].x_m": 3.2}}`, `{"base": "demo", "set": {"pilot.x_m": -0.1, "wings[0].stations[1].twist_deg": 1}}`,
		`{"base": "demo", "set": {"wings[": 1}}`, `{"base": 1}`, `{"set": null}`, `{"base": "demo", "set": {"tow.line_m": 1e999}}`, "\x00",
	} {
		f.Add([]byte(s))
	}
	open := func(name string) (*gecp.Craft, error) {
		if name == "demo" {
			return gecp.Demo(), nil
		}
		return nil, errors.New("no such file")
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		c, err := parseStudyLine(line, open)
		if err == nil {
			assert.NoError(t, c.Check())
			return
		}
		assert.NotEmpty(t, err.Error())
	})
}

// Lines come out as a plain reader of lines has them, whatever the buffer.
func FuzzLines(f *testing.F) {
	f.Add([]byte("a\nbb\r\n\nccc"), 16)
	f.Add([]byte("\n\n"), 16)
	f.Fuzz(func(t *testing.T, text []byte, size int) {
		l := lineReader{bufio.NewReaderSize(bytes.NewReader(text), min(max(size, 16), 1<<16))}
		want := strings.Split(string(text), "\n")
		if want[len(want)-1] == "" {
			want = want[:len(want)-1] // a last line end ends the last line
		}
		for _, w := range want {
			got, long, err := l.next()
			require.NoError(t, err)
			assert.Equal(t, strings.TrimRight(w, "\r"), string(got))
			assert.False(t, long)
		}
		_, _, err := l.next()
		assert.Equal(t, io.EOF, err)
	})
}

// BenchmarkStudy is one craft of a study whose every line has other wings; the goal is
// 20 craft a second on two cores.
func BenchmarkStudy(b *testing.B) {
	var in strings.Builder
	for i := range b.N {
		fmt.Fprintf(&in, `{"base": "reedling-tandem.json", "set": {"wings[1].x_m": %v}}`+"\n", 3.5+.001*float64(i%500))
	}
	o := StudyOptions{Speed: 14, Dir: "../crafts"}
	b.ResetTimer()
	if err := Study(b.Context(), strings.NewReader(in.String()), io.Discard, o); err != nil {
		b.Fatal(err)
	}
}
