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

func TestForms(t *testing.T) {
	for _, args := range []string{"", "-us", "-format markdown", "-format csv", "-format html", "-us -format html -limit 0.3"} {
		var out bytes.Buffer
		require.NoError(t, run(context.Background(), strings.Fields(args), &out), args)
		flat := strings.Join(strings.Fields(strings.NewReplacer("# ", "", "**", "").Replace(out.String())), " ")
		assert.Contains(t, flat, gecp.Cautions, args)
		assert.Contains(t, flat, "Reedling", args)
		if strings.Contains(args, "html") {
			assert.Contains(t, flat, "<svg", args)
		}
	}
}

func TestFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "card.html")
	var out bytes.Buffer
	require.NoError(t, run(context.Background(), []string{"-craft", "../../testdata/crafts/coot-single.json", "-format", "html", "-o", name}, &out))
	assert.Empty(t, out.String())
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Contains(t, string(text), "Tow card of Coot")
}

func TestMistakes(t *testing.T) {
	for args, want := range map[string]string{
		"-format pdf":         `the format "pdf" is not known; give text, markdown, csv or html`,
		"extra.json":          "put a craft file behind -craft",
		"-craft no-file":      "no-file",
		"-limit -1":           "your own let-go height is -1 m",
		"-top 500":            "the card's highest speed is 500 m/s",
		"-craft main_test.go": "main_test.go:",
	} {
		assert.ErrorContains(t, run(context.Background(), strings.Fields(args), &bytes.Buffer{}), want, args)
	}
}
