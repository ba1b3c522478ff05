package design_test

import (
	"context"
	"fmt"
	"log"
	"math"
	"os"
	"slices"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/design"
)

// teal returns one of the ready craft.
func teal() *gecp.Craft {
	all := crafts.All()
	return all[slices.IndexFunc(all, func(r crafts.Ready) bool { return r.Key == "teal-tandem" })].Craft
}

// How far the let-go height of one craft file spreads, on a coarse mesh and with little
// unknown for speed.
func ExampleTolerance() {
	t, err := design.Tolerance(context.Background(), teal(), design.ToleranceOptions{
		Speed: 14, Builds: 40, Checked: 1, Seed: 1, Mesh: gecp.Mesh{Rows: 2, Strips: 4},
		Unknowns: &design.Unknowns{Mass: 2, CG: .02, LiftFactor: .03},
	})
	if err != nil {
		log.Fatal(err)
	}
	s := t.Spreads[design.LetGoClearance]
	fmt.Println(len(t.Builds), "builds, a spread above 5 mm:", s.P97_5-s.P2_5 > .005)
	// Output: 40 builds, a spread above 5 mm: true
}

// The incidence of the rear wing that gives the widest speed window, on a coarse mesh and
// with a short search for speed.
func ExampleImprove() {
	vary, err := design.ParseVariations("wings[1].incidence_deg=5..7")
	if err != nil {
		log.Fatal(err)
	}
	im, err := design.Improve(context.Background(), teal(), design.ImproveOptions{
		Vary: vary, Requirements: design.Requirements{LiftOff: 18, SelfHolding: .2}, Effort: 20, Seed: 1, Mesh: gecp.Mesh{Rows: 2, Strips: 4},
	})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println("to build, in half degrees:", math.Remainder(im.Rounded.Values[0], .5) == 0)
	// Output: to build, in half degrees: true
}

// A line that is wrong is answered in its place.
func ExampleStudy() {
	in := strings.NewReader("no craft\n")
	if err := design.Study(context.Background(), in, os.Stdout, design.StudyOptions{Speed: 14}); err != nil {
		log.Fatal(err)
	}
	// Output: {"error":"line 1, column 1: 'n' does not belong here; a craft file begins with {"}
}
