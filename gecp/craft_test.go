package gecp

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMassAndCG(t *testing.T) {
	c := &Craft{
		Weights: []Weight{{Mass: 60, X: 1, Z: .1}, {Mass: 20, X: 3, Z: .5}},
		Pilot:   &Pilot{Mass: 80, XForward: 1, XAft: 2, Z: .6},
	}
	assert.InDelta(t, 80, c.EmptyMass(), 1e-12)
	assert.InDelta(t, 160, c.Mass(), 1e-12)
	x, z := c.CG(1.5) // (60 + 60 + 120)/160, (6 + 10 + 48)/160
	assert.InDelta(t, 1.5, x, 1e-12)
	assert.InDelta(t, .4, z, 1e-12)
	// A step of the pilot moves the CG by the pilot's share of the mass.
	x2, z2 := c.CG(1.7)
	assert.InDelta(t, .1, x2-x, 1e-12)
	assert.InDelta(t, z, z2, 1e-12)

	c.Pilot = nil
	assert.InDelta(t, 80, c.Mass(), 1e-12)
	x, z = c.CG(99)
	assert.InDelta(t, 1.5, x, 1e-12)
	assert.InDelta(t, .2, z, 1e-12)

	x, z = (&Craft{}).CG(1)
	assert.Zero(t, x)
	assert.Zero(t, z)
}

func TestNeed(t *testing.T) {
	all := []Block{BlockPilot, BlockTow, BlockFloats, BlockWeights, BlockParasiteArea}
	assert.NoError(t, Demo().Require(all...))

	bare := Demo()
	bare.Pilot, bare.Tow, bare.Floats, bare.Weights, bare.ParasiteArea = nil, nil, nil, nil, 0
	assert.NoError(t, bare.Require())
	err := bare.Require(all...)
	var p Problems
	require.ErrorAs(t, err, &p)
	require.Len(t, p, len(all))
	assert.Equal(t, 4, strings.Count(err.Error(), "\n"), "one sentence a line")

	// The entries shown make a file that reads and lacks nothing.
	var b bytes.Buffer
	require.NoError(t, bare.Write(&b))
	file := strings.TrimSuffix(strings.TrimSpace(b.String()), "}")
	for _, q := range p {
		_, entry, ok := strings.Cut(q.Text, `": `)
		require.True(t, ok, q.Text)
		file += `, "` + q.Path + `": ` + entry
	}
	c, err := Read(strings.NewReader(file + "}"))
	require.NoError(t, err)
	assert.NoError(t, c.Require(all...))
}

func TestDemoCrafts(t *testing.T) {
	for name, c := range demoCrafts(t) {
		assert.Nil(t, c.Check(), name)
		assert.NoError(t, c.Require(BlockPilot, BlockTow, BlockFloats, BlockWeights, BlockParasiteArea), name)
	}
	assert.Equal(t, demoCrafts(t)["reedling-tandem.json"], Demo())
	a, b := Demo(), Demo()
	a.Wings[0].Stations[0].Chord = 9
	a.Pilot.Mass = 9
	assert.NotEqual(t, a, b, "each call returns a craft of its own")
	assert.Equal(t, b, Demo())
}

// fullSchema is what the tests need of the schema.
type fullSchema struct {
	Type                 string
	AdditionalProperties *bool
	Required             []string
	Properties           map[string]*fullSchema
	Items                *fullSchema
	Minimum, Maximum     *float64
	MinItems, MaxItems   *int
	Ref                  string                 `json:"$ref"`
	Defs                 map[string]*fullSchema `json:"$defs"`
}

// The schema's keys, ranges and counts are those of the struct and of Check.
func TestSchema(t *testing.T) {
	data, err := os.ReadFile("craft.schema.json")
	require.NoError(t, err)
	var root fullSchema
	require.NoError(t, json.Unmarshal(data, &root))
	ranges, lists := 0, 0
	var compare func(typ reflect.Type, s *fullSchema, path string)
	compare = func(typ reflect.Type, s *fullSchema, path string) {
		switch typ.Kind() {
		case reflect.Pointer:
			compare(typ.Elem(), s, path)
		case reflect.Struct:
			require.Equal(t, "object", s.Type, path)
			require.NotNil(t, s.AdditionalProperties, path)
			assert.False(t, *s.AdditionalProperties, path)
			var known, required []string
			for i, k := range keysOf(typ) {
				known = append(known, k.name)
				if !k.optional {
					required = append(required, k.name)
				}
				require.Contains(t, s.Properties, k.name, path)
				compare(typ.Field(i).Type, s.Properties[k.name], below(path, k.name))
			}
			assert.ElementsMatch(t, required, s.Required, path)
			if path == "" { // the one key that the reader passes over
				known = append(known, viewBlock)
			}
			assert.Len(t, s.Properties, len(known), path)
		case reflect.Slice:
			require.Equal(t, "array", s.Type, path)
			c, ok := counts()[path]
			require.True(t, ok, path)
			lists++
			require.NotNil(t, s.MaxItems, path)
			assert.Equal(t, c.most, *s.MaxItems, path)
			assert.NotEmpty(t, c.what, path)
			if s.MinItems != nil {
				assert.Equal(t, c.least, *s.MinItems, path)
			}
			compare(typ.Elem(), s.Items, path)
		case reflect.Float64, reflect.Int:
			require.Equal(t, map[reflect.Kind]string{reflect.Float64: "number", reflect.Int: "integer"}[typ.Kind()], s.Type, path)
			l, ok := limits()[path]
			require.True(t, ok, path)
			ranges++
			require.NotNil(t, s.Minimum, path)
			require.NotNil(t, s.Maximum, path)
			assert.Equal(t, l.lo, *s.Minimum, path)
			assert.Equal(t, l.hi, *s.Maximum, path)
			assert.NotEmpty(t, l.what, path)
			assert.NotEmpty(t, l.unit, path)
		case reflect.Bool:
			assert.Equal(t, "boolean", s.Type, path)
		case reflect.String:
			assert.Equal(t, "#/$defs/name", s.Ref, path)
		default:
			t.Errorf("%s is a %v, which the reader does not know", path, typ)
		}
	}
	compare(reflect.TypeFor[Craft](), &root, "")
	assert.Len(t, phrases, ranges, "every limit belongs to a number of the file")
	assert.Len(t, entries, lists, "every count belongs to a list of the file")
	assert.Equal(t, "string", root.Defs["name"].Type)
}
