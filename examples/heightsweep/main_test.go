package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

func sweep(t *testing.T, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, run(context.Background(), args, &out))
	return out.String()
}

func TestCSV(t *testing.T) {
	out := sweep(t, "-csv", "-clearances", "0.1, 0.4,1", "-pitch", "2", "-speed", "10")
	header, _, _ := strings.Cut(out, "\n")
	assert.Equal(t, "clearance_m,height_m,pitch_deg,lift_N,induced_drag_N,moment_Nm,cp_m,pitch_neutral_m,height_neutral_m", header)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 4)
	for i, cl := range []float64{.1, .4, 1} {
		for j, f := range rows[i+1] {
			_, err := strconv.ParseFloat(f, 64)
			require.NoError(t, err, "row %d field %d", i, j)
		}
		got, _ := strconv.ParseFloat(rows[i+1][0], 64)
		assert.Equal(t, cl, got)
	}
}

func TestReport(t *testing.T) {
	for _, c := range []struct {
		args []string
		has  []string
	}{
		{nil, []string{"Reedling at 14.0 m/s", "centre of pressure runs", "forward", gecp.Cautions}},
		{[]string{"-us"}, []string{"31.3 mph", "lbf", "ft", gecp.Cautions}},
		{[]string{"-craft", "../../testdata/crafts/coot-single.json"}, []string{"Coot"}},
		{[]string{"-clearances", "0.3"}, []string{"One clearance alone"}},
	} {
		out := sweep(t, c.args...)
		for _, h := range c.has {
			assert.Contains(t, out, h, "%v", c.args)
		}
		assert.NotContains(t, out, "NaN")
		assert.NotContains(t, out, "Inf")
	}
}

func TestBadInput(t *testing.T) {
	empty := filepath.Join(t.TempDir(), "empty.json")
	require.NoError(t, os.WriteFile(empty, nil, 0o600))
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"-clearances", "0.1,0"}, "must lie above the water"},
		{[]string{"-clearances", "-0.2"}, "must lie above the water"},
		{[]string{"-clearances", "a"}, "not a number of metres"},
		{[]string{"-pitch", "90"}, "outside the method's range"},
		{[]string{"-pitch", "NaN"}, "outside the method's range"},
		{[]string{"-speed", "0"}, "speed is 0"},
		{[]string{"-speed", "Inf"}, "speed is +Inf"},
		{[]string{"-density", "-1"}, "density"},
		{[]string{"-craft", "nowhere.json"}, "nowhere.json"},
		{[]string{"-craft", empty}, "empty"},
		{[]string{"more"}, "-craft"},
	} {
		err := run(context.Background(), c.args, io.Discard)
		assert.ErrorContains(t, err, c.says, "%v", c.args)
	}
}

func TestPicture(t *testing.T) {
	name := filepath.Join(t.TempDir(), "h.svg")
	sweep(t, "-svg", name, "-clearances", "0.1,0.5")
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	words := ""
	d := xml.NewDecoder(bytes.NewReader(b))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		if c, ok := tok.(xml.CharData); ok {
			words += string(c)
		}
	}
	for _, w := range []string{"centre of pressure", "pitch neutral point", "height neutral point", "water", "clearance"} {
		assert.Contains(t, words, w)
	}
	assert.NotContains(t, string(b), "NaN")
}
