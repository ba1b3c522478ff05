package design_test

import (
	"context"
	"fmt"
	"log"
	"math"
	"os"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
)

// How far the let-go height of one craft file spreads, on a coarse mesh and with little
// unknown for speed.
func ExampleTolerance() {
	t, err := design.Tolerance(context.Background(), gecp.Demo(), design.ToleranceOptions{
		Speed: 16, Builds: 40, Checked: 1, Seed: 1, Mesh: gecp.Mesh{Rows: 3, Strips: 6},
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
	vary, err := design.ParseVariations("wings[1].incidence_deg=2..4")
	if err != nil {
		log.Fatal(err)
	}
	im, err := design.Improve(context.Background(), gecp.Demo(), design.ImproveOptions{
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
