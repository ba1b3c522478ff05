package gecp

import (
	"fmt"

	"example.org/groundeffect/testdata/crafts"
)

// Demo returns the craft that the examples and the page begin with: a tandem
// for one person behind a ski boat, invented for the purpose.
func Demo() *Craft {
	f, err := crafts.Files.Open("reedling-tandem.json")
	if err != nil {
		panic(fmt.Sprintf("gecp: the demo craft is not built in: %v", err))
	}
	defer f.Close()
	c, err := Read(f)
	if err != nil {
		panic(fmt.Sprintf("gecp: the demo craft does not read: %v", err))
	}
	return c
}
