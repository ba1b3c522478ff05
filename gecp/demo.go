package gecp

import (
	"bytes"
	_ "embed"
	"fmt"
)

//go:embed crafts/reedling-tandem.json
var demo []byte

// Demo returns the craft that the examples and the page begin with: a tandem
// for one person behind a ski boat, invented for the purpose.
func Demo() *Craft {
	c, err := Read(bytes.NewReader(demo))
	if err != nil {
		panic(fmt.Sprintf("gecp: the demo craft does not read: %v", err))
	}
	return c
}
