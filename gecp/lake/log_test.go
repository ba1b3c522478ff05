package lake

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

func TestReadLog(t *testing.T) {
	// The same three runs, written in many ways.
	want := []Run{
		{Speed: 13, Clearance: .254, Pilot: 1.27, Pitch: Measured{gecp.Radians(4), true}, Pull: Measured{300, true}, AirTemp: Measured{18, true}, Note: "calm"},
		{Speed: 14, Clearance: .254, Pilot: 1.27},
		{Speed: 13, Clearance: .508, Pilot: 1.27, Note: `he said "up"; then, down`},
	}
	for name, file := range map[string]string{
		"plain": `speed_mps,clearance_m,pilot_m,pitch_deg,pull_N,air_temp_C,note
13,0.254,1.27,4,300,18,calm
14,0.254,1.27,,,,
13,0.508,1.27,,,,"he said ""up""; then, down"
`,
		"byte-order mark, Windows line ends, no end, blank lines": "\ufeffspeed_mps,clearance_m,pilot_m,pitch_deg,pull_N,air_temp_C,note\r\n13,0.254,1.27,4,300,18,calm\r\n\r\n14,0.254,1.27\r\n13,0.508,1.27,,,,\"he said \"\"up\"\"; then, down\"\r\n,,,,,,\r\n\r\n",
		"semicolons and decimal commas, another order, spaces": `Note; PITCH_DEG;pull_n;air_temp_c;pilot_m;clearance_m;speed_mps
calm;4,0;300,0;18; 1,27 ;0,254;13
;;;;1,27;0,254;14
"he said ""up""; then, down";;;;1,27;0,508;13,0`,
		"quoted decimal commas": `"speed_mps","clearance_m","pilot_m","pitch_deg","pull_N","air_temp_C","note"
"13","0,254","1,27","4","300","18","calm"
14,"0,254","1,27",,,,
13,"0,508","1,27",,,,"he said ""up""; then, down"`,
		"other units": `speed_kmh,clearance_in,pilot_in,pitch_deg,pull_lbf,air_temp_C,note
46.8,10,50,4,67.4426829,18,calm
50.4,10,50
46.8,20,50,,,,"he said ""up""; then, down"`,
		"feet and knots": `speed_kn,clearance_ft,pilot_ft,pitch_deg,pull_N,air_temp_C,note
25.2699784,0.833333333,4.166666667,4,300,18,calm
27.2138229,0.833333333,4.166666667
25.2699784,1.666666667,4.166666667,,,,"he said ""up""; then, down"`,
		"miles, and columns of their own": `date,speed_mph,wind,clearance_m,pilot_m,pitch_deg,pull_N,air_temp_C,note
Monday,29.0801718,"none, or little",0.254,1.27,4,300,18,calm
,31.3171081,,0.254,1.27
,29.0801718,,0.508,1.27,,,,"he said ""up""; then, down"`,
	} {
		t.Run(name, func(t *testing.T) {
			l, err := ReadLog(strings.NewReader(file))
			require.NoError(t, err)
			require.Len(t, l.Runs, len(want))
			for i, r := range l.Runs {
				assert.InDelta(t, want[i].Speed, r.Speed, 1e-6)
				assert.InDelta(t, want[i].Clearance, r.Clearance, 1e-8)
				assert.InDelta(t, want[i].Pilot, r.Pilot, 1e-8)
				assert.Equal(t, want[i].Pitch, r.Pitch)
				assert.InDelta(t, want[i].Pull.Value, r.Pull.Value, 1e-5)
				assert.Equal(t, want[i].Pull.OK, r.Pull.OK)
				assert.Equal(t, want[i].AirTemp, r.AirTemp)
				assert.Equal(t, want[i].Note, r.Note)
				assert.Greater(t, r.Line, i+1)
			}
			own := strings.Contains(file, "wind")
			assert.Equal(t, own, l.Ignored() != nil)
			if own {
				assert.Equal(t, []string{`The column "date" is not known; it is kept and not used.`, `The column "wind" is not known; it is kept and not used.`}, l.Ignored())
			}
			writtenBack(t, l)
		})
	}
}

// writtenBack writes a log and reads it again: nothing is lost.
func writtenBack(t *testing.T, l *Log) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, l.Write(&b))
	again, err := ReadLog(bytes.NewReader(b.Bytes()))
	require.NoError(t, err, b.String())
	require.Equal(t, l.Runs, again.Runs)
	assert.Equal(t, l.Ignored(), again.Ignored())
	require.Len(t, again.records, len(l.records))
	for i, r := range l.records {
		require.Len(t, again.records[i].cells, len(r.cells))
		for j, c := range r.cells {
			assert.Equal(t, c.text, again.records[i].cells[j].text)
		}
	}
	return b.String()
}

// An ordinary file comes back to the byte.
func TestLogWrittenBackToTheByte(t *testing.T) {
	for _, file := range []string{
		"note,speed_mps,mood,clearance_m,pilot_m\n,13.10,good,.25,1.20\n\n\"a, b\",13,\"so \"\"so\"\"\",0.250,1.2\n,,,,\n",
		"speed_mps;clearance_m;pilot_m\n13,10;0,25;1,20\n 14 ;0,3;1,2\n",
		"speed_mps,clearance_m,pilot_m,note\n13,0.2,1.2,\"two\nlines\"\n14,0.2,1.2\n",
	} {
		l, err := ReadLog(strings.NewReader(file))
		require.NoError(t, err)
		assert.Equal(t, file, writtenBack(t, l))
	}
	l, err := ReadLog(strings.NewReader("speed_mps,clearance_m,pilot_m,note\n13,0.2,1.2,\"two\nlines\"\n14,0.2,1.2\n"))
	require.NoError(t, err)
	assert.Equal(t, 2, l.Runs[0].Line)
	assert.Equal(t, 4, l.Runs[1].Line, "lines are counted as an editor does")
}

// Every fault of every line is told at once, with its place.
func TestLogFaults(t *testing.T) {
	const head = "speed_mps,clearance_m,pilot_m,pitch_deg,pull_N\n"
	for _, c := range []struct {
		name, file string
		says       []string // all of them, in order
	}{
		{"empty", "", []string{"the log is empty; its first line names the columns, as in speed_mps,clearance_m,pilot_m,pitch_deg,pull_N,air_temp_C,note"}},
		{"blank", "\n ,, \n", []string{"the log is empty"}},
		{"no runs", head, []string{"the log has a head and no runs"}},
		{"all at once", head + "13,0.2,1.2\nfast,,1.2\n13,-0.2,120,45,1e9\n", []string{
			`line 3, column 1: speed_mps is "fast", which is not a number`,
			"line 3, column 2: clearance_m is empty; give a clearance",
			"line 4, column 2: clearance_m is -0.2; give a clearance under the wings' lowest point between 0.001 and 10 m",
			"line 4, column 3: pilot_m is 120; give a position of the pilot aft of the datum between -50 and 50 m",
			"line 4, column 4: pitch_deg is 45; give a pitch, nose-up positive between -30 and 30 degrees",
			"line 4, column 5: pull_N is 1e9; give a tension of the line between 0 and 100000 N",
		}},
		{"missing and twice", "speed,speed_kmh,speed_mps,Pilot\nx,40,13\n", []string{
			"line 1, column 3: speed stands in column 2 already, as speed_kmh; keep one",
			"line 1: no column tells the clearance; add one called clearance_m, clearance_ft or clearance_in",
			`line 1: no column tells the pilot; is it column 4, "Pilot"? Call it pilot_m, pilot_ft or pilot_in`,
		}},
		{"range in the column's unit", "speed_kmh,clearance_in,pilot_m\n500,1000,1\n", []string{"speed_kmh is 500; give a speed through the air between 0.36 and 360 km/h", "clearance_in is 1000; give a clearance under the wings' lowest point between 0.03937 and 393.7 in"}},
		{"too many cells", head + "13,0,2,1,2,4,300\n", []string{`line 2, column 6: "4" stands under no head: the line has 7 cells and the head names 5; a decimal takes a point`, "clearance_m is 0"}},
		{"a thousand or a decimal", head + "13,0.2,1.2,4,\"1,250\"\n", []string{`line 2, column 5: pull_N is "1,250", which may be read in two ways`}},
		{"not finite", head + "NaN,Inf,1e999,0x10,1_0\n", []string{`"NaN", which is not a number`, `"Inf"`, `"1e999"`, `"0x10"`, `"1_0"`}},
		{"two commas", "speed_mps;clearance_m;pilot_m\n13;0,2,5;1.2,5\n", []string{`"0,2,5"`, `"1.2,5"`}},
		{"open quote", head + "13,0.2,\"1.2\n14,0.2,1.2\n", []string{"line 2, column 3: a quote is opened and never closed", "not a number"}},
		{"behind a quote", head + "13,\"0.2\"5,1.2\n", []string{`line 2, column 2: "5" stands behind a closing quote`}},
		{"not UTF-8", "speed_mps,clearance_m,pilot_m,note\n13,0.2,1.2,k\xfchl\n", []string{"line 2: this is not UTF-8 text"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := ReadLog(strings.NewReader(c.file))
			require.Nil(t, l)
			var p LogProblems
			require.ErrorAs(t, err, &p)
			if c.name != "open quote" && c.name != "too many cells" && c.name != "not finite" {
				require.Len(t, p, len(c.says), "%v", p)
			}
			at := 0
			text := err.Error()
			for _, s := range c.says {
				i := strings.Index(text[at:], s)
				require.GreaterOrEqual(t, i, 0, "%q in %s", s, text)
				at += i
			}
			assert.NotContains(t, text, "%!")
		})
	}
	_, err := ReadLog(iotest.ErrReader(errors.New("the disk is gone")))
	assert.ErrorContains(t, err, "the disk is gone")
	_, err = ReadLog(strings.NewReader(strings.Repeat("x", maxLog+1)))
	assert.ErrorContains(t, err, "larger than 16 MiB")
	_, err = ReadLogFile("nowhere.csv")
	assert.ErrorIs(t, err, os.ErrNotExist)
	name := filepath.Join(t.TempDir(), "runs.csv")
	require.NoError(t, os.WriteFile(name, []byte("a"), 0o600))
	_, err = ReadLogFile(name)
	assert.ErrorContains(t, err, "runs.csv:\nline 1: no column tells the speed")
}

// longLog is a log of n runs with a fault in every tenth if faulty.
func longLog(n int, faulty bool) string {
	var b strings.Builder
	b.WriteString("date,speed_kmh,clearance_m,pilot_m,pitch_deg,note\n")
	rng := rand.New(rand.NewPCG(5, 6))
	for i := range n {
		speed := fmt.Sprintf("%.1f", 45+10*rng.Float64())
		if faulty && i%10 == 0 {
			speed = "?"
		}
		fmt.Fprintf(&b, "2026-07-%02d,%s,%.2f,%.2f,%.1f,\"run %d, calm\"\n", 1+i%30, speed, .2+.2*rng.Float64(), 1+.2*rng.Float64(), 4+rng.Float64(), i)
	}
	return b.String()
}

func TestLongLogs(t *testing.T) {
	l, err := ReadLog(strings.NewReader(longLog(10000, false)))
	require.NoError(t, err)
	assert.Len(t, l.Runs, 10000)
	_, err = ReadLog(strings.NewReader(longLog(10000, true)))
	var p LogProblems
	require.ErrorAs(t, err, &p)
	assert.Len(t, p, 1000)
}

func BenchmarkReadLog(b *testing.B) {
	file := longLog(10000, false)
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		if _, err := ReadLog(strings.NewReader(file)); err != nil {
			b.Fatal(err)
		}
	}
}

// Whatever the file, the reader answers with faults or with runs that are finite, and
// what it read comes back.
func FuzzReadLog(f *testing.F) {
	f.Add("speed_mps,clearance_m,pilot_m,pitch_deg,pull_N,air_temp_C,note\n13,0.2,1.2,4,300,18,\"a, \"\"b\"\"\"\n")
	f.Add("\ufeffspeed_kmh;clearance_in;pilot_ft;wind\r\n48,5;8;4;\r\n;;;\r\n")
	f.Add("\"a;b\",speed_mps,clearance_m,pilot_m\n\"x\ny\",13,.2,1.2,,\n")
	f.Fuzz(func(t *testing.T, file string) {
		l, err := ReadLog(strings.NewReader(file))
		if err != nil {
			var p LogProblems
			require.ErrorAs(t, err, &p)
			require.NotEmpty(t, p)
			return
		}
		require.NotEmpty(t, l.Runs)
		for _, r := range l.Runs {
			for _, v := range []float64{r.Speed, r.Clearance, r.Pilot, r.Pitch.Value, r.Pull.Value, r.AirTemp.Value} {
				require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			}
			require.True(t, r.Speed > 0 && r.Clearance > 0)
		}
		writtenBack(t, l)
	})
}
