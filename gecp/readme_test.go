package gecp

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/testdata/readme"
)

// TestReadmeTellsWhatTheMeshStudyPrints holds README's table of meshes, but for the
// times, to the study, and to it what README and DefaultMesh say of all ready craft.
func TestReadmeTellsWhatTheMeshStudyPrints(t *testing.T) {
	printed := readme.Printed(t, "^TestMeshStudy$")
	rows := readme.Table(t, "rows x strips a half wing")
	line := regexp.MustCompile(`(\S+)\.json +(\d+) x +(\d+) +(\d+) cells +clearance 0.1 m: lift (\S+) % CP (\S+) % +0.5 m: lift (\S+) % CP (\S+) %`)
	var lift, cp float64
	told := 0
	for _, m := range line.FindAllStringSubmatch(printed, -1) {
		mesh := m[2] + " x " + m[3]
		if mesh == "4 x 9" {
			mesh = "**4 x 9** (default)"
			for i, worst := range []*float64{&lift, &cp, &lift, &cp} {
				v, err := strconv.ParseFloat(strings.TrimLeft(m[5+i], "+-"), 64)
				require.NoError(t, err)
				*worst = max(*worst, v)
			}
		}
		if cells, ok := rows[mesh]; ok && m[1] == "reedling-tandem" {
			told++
			minus := strings.NewReplacer("-", "−")
			assert.Equal(t, m[4], cells[0], mesh)
			assert.Equal(t, minus.Replace(m[5]+" %, "+m[6]+" %"), cells[1], mesh)
			assert.Equal(t, minus.Replace(m[7]+" %, "+m[8]+" %"), cells[2], mesh)
		}
	}
	assert.Len(t, rows, told, "rows that the study does not print")
	assert.InDelta(t, .3, lift, .05, "per cent of lift, the default mesh, the worst of the ready craft")
	assert.InDelta(t, .2, cp, .05, "per cent of the mean chord, likewise")
}
