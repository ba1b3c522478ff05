// Package readymaps holds the maps of the ready craft, for the tests of what starts from
// a map.
package readymaps

import (
	"context"
	"sync"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
)

// All returns the maps by the keys of the craft, built once a test run. It panics if one
// cannot be built.
var All = sync.OnceValue(func() map[string]*gecp.Map {
	maps := map[string]*gecp.Map{}
	for _, r := range crafts.All() {
		m, err := r.Craft.BuildMap(context.Background(), gecp.MapOptions{})
		if err != nil {
			panic(err)
		}
		maps[r.Key] = m
	}
	return maps
})
