package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

func TestTable(t *testing.T) {
	svg := filepath.Join(t.TempDir(), "balance.svg")
	var out bytes.Buffer
	require.NoError(t, run(context.Background(), []string{"-speeds", "5,14,60", "-svg", svg}, &out))
	s := out.String()
	assert.Contains(t, s, gecp.Cautions)
	assert.Contains(t, s, "5.0 m/s: "+gecp.ErrTooSlow.Error())
	assert.Contains(t, s, "60.0 m/s: "+gecp.ErrTooFast.Error())
	assert.Contains(t, s, "14.0 m/s: the floats are clear from")
	picture, err := os.ReadFile(svg)
	require.NoError(t, err)
	assert.Contains(t, string(picture), "14.0 m/s")

	out.Reset()
	require.NoError(t, run(context.Background(), []string{"-us"}, &out))
	assert.Contains(t, out.String(), "mph")
}

func TestMistakes(t *testing.T) {
	for args, want := range map[string]string{
		"-speeds 13,x":   `"x" in -speeds is not a number`,
		"-speeds 0":      "m/s",
		"extra.json":     "put a craft file behind -craft",
		"-craft no-file": "no-file",
	} {
		assert.ErrorContains(t, run(context.Background(), strings.Fields(args), &bytes.Buffer{}), want, args)
	}
}
