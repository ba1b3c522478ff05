package vlm_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"example.org/groundeffect/vlm"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

const deg = math.Pi / 180

// record is one line of a published table, by the name of the column.
type record map[string]string

// num returns a number of the record; NaN where the table has none.
func (r record) num(t testing.TB, column string) float64 {
	t.Helper()
	text, ok := r[column]
	require.True(t, ok, "no column %q", column)
	if text == "" {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// published reads a table of testdata/published; its source stands in its header.
func published(t testing.TB, name string) []record {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "published", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(lines), 1, "%s holds no data", name)
	var table []record
	for _, l := range lines[1:] {
		rec := record{}
		for i, column := range lines[0] {
			rec[column] = l[i]
		}
		table = append(table, rec)
	}
	return table
}

// worst keeps the largest of the differences that it is shown, and its case.
type worst struct {
	size float64
	at   string
}

func (w *worst) add(difference float64, format string, args ...any) {
	if d := math.Abs(difference); !(d <= w.size) {
		w.size, w.at = d, fmt.Sprintf(format, args...)
	}
}

// percent is the relative difference in per cent.
func percent(got, want float64) float64 { return 100 * (got - want) / math.Abs(want) }

// lattice builds the lattice or ends the test.
func lattice(t testing.TB, o vlm.Options, surfaces ...vlm.Surface) *vlm.Lattice {
	t.Helper()
	l, err := vlm.New(surfaces, o)
	require.NoError(t, err)
	return l
}

// solve returns the solution or ends the test.
func solve(t testing.TB, l *vlm.Lattice, height, pitch float64) *vlm.Solution {
	t.Helper()
	s, err := l.Solve(t.Context(), vlm.Attitude{Height: height, Pitch: pitch})
	require.NoError(t, err)
	return s
}

var freeAir = math.Inf(1)

// rectangle is the starboard half of a rectangular wing of chord 1, its root
// trailing edge at the datum.
func rectangle(aspect float64, camber vlm.Camber, rows, strips int) vlm.Surface {
	root := vlm.Station{LE: r3.Vec{X: -1}, Chord: 1, Camber: camber}
	tip := root
	tip.LE.Y = aspect / 2
	return vlm.Surface{Name: "wing", Stations: []vlm.Station{root, tip}, Rows: rows, Strips: strips}
}

// ellipse is the starboard half of a wing of elliptic plan and root chord 1 with
// its middle line at x = 0. Its strips lie as the lattice puts them, a quarter
// strip short of the tip, and the leading and trailing edges pass through the
// ellipse at every strip's edge.
func ellipse(span float64, rows, strips int) vlm.Surface {
	s := vlm.Surface{Name: "elliptic wing", Rows: rows, Strips: strips}
	chord := func(eta float64) float64 { return math.Sqrt(1 - eta*eta) }
	step := 1 / (float64(strips) + .25)
	add := func(eta, c float64) {
		s.Stations = append(s.Stations, vlm.Station{LE: r3.Vec{X: -c / 2, Y: eta * span / 2}, Chord: c})
	}
	for j := range strips {
		add(float64(j)*step, chord(float64(j)*step))
	}
	in, out := chord(float64(strips-1)*step), chord(float64(strips)*step)
	add(1, in+1.25*(out-in))
	return s
}

// extrapolated returns the limit of three values on meshes each twice as fine as
// the one before (Richardson, with the order that the three show).
func extrapolated(coarse, middle, fine float64) float64 {
	a, b := middle-coarse, fine-middle
	return fine + b*b/(a-b)
}

// acrossPlate returns where the resultant crosses the plate, in chords from its
// leading edge, for a plate of chord 1 with its trailing edge at the datum.
func acrossPlate(l vlm.Load, pitch float64) float64 {
	sin, cos := math.Sincos(pitch)
	return 1 - l.Pitching()/(cos*l.Lift()+sin*l.Drag())
}
