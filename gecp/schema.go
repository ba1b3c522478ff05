package gecp

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"sync"
)

// schemaFile describes the craft file for editors and other programs; the reader takes
// its ranges from it, so that they stand in one place.
//
//go:embed craft.schema.json
var schemaFile []byte

// schemaNode is what the reader needs of a JSON schema.
type schemaNode struct {
	Properties         map[string]*schemaNode
	Items              *schemaNode
	Minimum, Maximum   *float64
	MinItems, MaxItems *int
}

// count is how many entries a list of the file may have; a list that may be absent is
// not looked at when empty.
type count struct {
	least, most int
	what        string
}

// ranges holds what the schema says, by a number's or list's path without indices.
type ranges struct {
	limits map[string]limit
	counts map[string]count
}

var schemaRanges = sync.OnceValue(func() ranges {
	var root schemaNode
	if err := json.Unmarshal(schemaFile, &root); err != nil {
		panic(fmt.Sprintf("gecp: the schema of craft files: %v", err))
	}
	r := ranges{map[string]limit{}, map[string]count{}}
	r.walk(&root, "")
	return r
})

func (r ranges) walk(s *schemaNode, path string) {
	if s.Minimum != nil && s.Maximum != nil {
		p := phrases[path]
		r.limits[path] = limit{*s.Minimum, *s.Maximum, p.what, p.unit}
	}
	if s.Items != nil && s.MaxItems != nil {
		c := count{1, *s.MaxItems, entries[path]}
		if s.MinItems != nil {
			c.least = *s.MinItems
		}
		r.counts[path] = c
		r.walk(s.Items, path)
	}
	for key, p := range s.Properties {
		r.walk(p, below(path, key))
	}
}

// limits returns the range of every number of the file.
func limits() map[string]limit { return schemaRanges().limits }

// counts returns how many entries each list of the file may have.
func counts() map[string]count { return schemaRanges().counts }
