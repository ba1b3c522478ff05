package crafts

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/gecp"
)

func TestReadyCraft(t *testing.T) {
	all := All()
	assert.Equal(t, gecp.Demo(), all[0].Craft, "the demo comes first")
	seen := map[string]bool{}
	for _, r := range all {
		assert.False(t, seen[r.Key], "%s twice", r.Key)
		seen[r.Key] = true
		assert.NoError(t, r.Craft.Check(), r.Key)
		assert.NoError(t, r.Craft.Require(gecp.BlockPilot, gecp.BlockTow, gecp.BlockFloats, gecp.BlockWeights, gecp.BlockParasiteArea), r.Key)
		assert.Contains(t, r.Key, "-"+r.Kind)
		assert.Greater(t, r.Speed, 8.)
	}
	all[0].Craft.Name = "changed"
	assert.NotEqual(t, "changed", All()[0].Craft.Name, "each call returns copies")
}
