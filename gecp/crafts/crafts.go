// Package crafts holds ready craft files, all invented, to start from.
package crafts

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/units"
)

//go:embed *.json
var files embed.FS

// Ready is a craft that ships with the library.
type Ready struct {
	Key   string  // of the file, without .json: "reedling-tandem"
	Kind  string  // the last word of the key: "tandem"
	Speed float64 // m/s; a round one at which it holds a height by itself, or else flies
	Craft *gecp.Craft
}

// speeds are those of the craft other than the demo, m/s.
var speeds = map[string]float64{"coot-single": 56 * units.KMH, "garganey-swept": 60 * units.KMH, "teal-tandem": 62 * units.KMH, "water-rail-canard": 60 * units.KMH}

const demoSpeed = 57 * units.KMH

// All returns the ready craft, the demo first, each a copy of the caller's own.
func All() []Ready {
	names, err := files.ReadDir(".")
	if err != nil {
		panic(fmt.Sprintf("crafts: %v", err))
	}
	demo := gecp.Demo().Name
	var all []Ready
	for _, n := range names {
		f, err := files.Open(n.Name())
		if err != nil {
			panic(fmt.Sprintf("crafts: %v", err))
		}
		c, err := gecp.Read(f)
		f.Close()
		if err != nil {
			panic(fmt.Sprintf("crafts: %s: %v", n.Name(), err))
		}
		key := strings.TrimSuffix(n.Name(), ".json")
		speed, ok := speeds[key]
		if !ok {
			speed = demoSpeed
		}
		all = append(all, Ready{key, key[strings.LastIndexByte(key, '-')+1:], speed, c})
	}
	slices.SortStableFunc(all, func(a, b Ready) int {
		switch {
		case a.Craft.Name == demo:
			return -1
		case b.Craft.Name == demo:
			return 1
		}
		return 0
	})
	return all
}
