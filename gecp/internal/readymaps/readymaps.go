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
var All = sync.OnceValue(func() map[string]*gecp.Map { return build(gecp.Mesh{}) })

// Coarse is All on a mesh that takes a quarter of the time, for tests of what is done with
// any map. The craft do the same there, at somewhat other heights and speeds.
var Coarse = sync.OnceValue(func() map[string]*gecp.Map { return build(gecp.Mesh{Rows: 3, Strips: 6}) })

func build(mesh gecp.Mesh) map[string]*gecp.Map {
	maps := map[string]*gecp.Map{}
	for _, r := range crafts.All() {
		model, err := gecp.NewModel(r.Craft, mesh)
		if err != nil {
			panic(err)
		}
		m, err := model.BuildMap(context.Background(), gecp.MapOptions{})
		if err != nil {
			panic(err)
		}
		maps[r.Key] = m
	}
	return maps
}
