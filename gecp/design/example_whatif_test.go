package design_test

import (
	"context"
	"fmt"
	"log"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/units"
)

// A dimension is changed by its path; one that the craft does not have is an error with the
// nearest names.
func ExampleSet() {
	c, err := design.Set(gecp.Demo(), "wings[1].span_m", 6)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(c.Wings[1].Stations[1].Y)
	_, err = design.Set(c, "wings[1].spam_m", 6)
	fmt.Println(err)
	// Output:
	// 3
	// wings[1].spam_m is no dimension of the craft; the nearest are wings[1].span_m, wings[0].span_m, wings[1].x_m
}

// What moves the height to let go most, on a coarse mesh.
func ExampleFindSensitivities() {
	craft := gecp.Demo()
	craft.Floats = nil // leaves lift-off and window out, and most of the work
	s, err := design.FindSensitivities(context.Background(), craft, design.SensitivityOptions{
		Question: design.Question{Speed: 14}, Mesh: gecp.Mesh{Rows: 2, Strips: 4}, Far: -1,
	})
	if err != nil {
		log.Fatal(err)
	}
	first := s.By(design.AnswerLetGo)[0]
	fmt.Println(first.ChangeWords(s.Craft, first.Step, units.Metric))
	// Output:
	// moving wing "front" by 10 mm aft
}
