package gecp_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// The README carries the cautions as every report does.
func TestReadmeCarriesTheCautions(t *testing.T) {
	text, err := os.ReadFile("../README.md")
	require.NoError(t, err)
	assert.Contains(t, strings.Join(strings.Fields(string(text)), " "), gecp.Cautions)
}
