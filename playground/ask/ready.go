package ask

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/testdata/crafts"
)

type readyCrafts struct {
	Crafts []readyCraft `json:"crafts"`
}

type readyCraft struct {
	Key      string      `json:"key"`
	Title    string      `json:"title"`
	SpeedMPS float64     `json:"speed_mps"` // to begin with
	Craft    *gecp.Craft `json:"craft"`
}

// kmh is a kilometre an hour, m/s.
const kmh = 1 / 3.6

// startSpeeds is what the page begins with, m/s: a round speed at which the craft
// holds a height by itself, or else flies.
var startSpeeds = map[string]float64{"coot-single": 56 * kmh, "garganey-swept": 60 * kmh, "water-rail-canard": 60 * kmh}

// startSpeed is the demo's, and that of a craft not named above.
const startSpeed = 50 * kmh

// ready returns the craft that ship with the library, the demo first.
func ready() (*readyCrafts, error) {
	names, err := crafts.Files.ReadDir(".")
	if err != nil {
		return nil, err
	}
	demo := gecp.Demo()
	a := new(readyCrafts)
	for _, n := range names {
		f, err := crafts.Files.Open(n.Name())
		if err != nil {
			return nil, err
		}
		c, err := gecp.Read(f)
		f.Close()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", n.Name(), err)
		}
		key := strings.TrimSuffix(n.Name(), path.Ext(n.Name()))
		kind := key[strings.LastIndexByte(key, '-')+1:]
		speed, ok := startSpeeds[key]
		if !ok {
			speed = startSpeed
		}
		a.Crafts = append(a.Crafts, readyCraft{key, c.Name + ", " + kind, speed, c})
	}
	slices.SortStableFunc(a.Crafts, func(x, y readyCraft) int {
		return rank(x, demo) - rank(y, demo)
	})
	return a, nil
}

func rank(r readyCraft, demo *gecp.Craft) int {
	if r.Craft.Name == demo.Name {
		return 0
	}
	return 1
}
