package lake_test

import (
	"context"
	"fmt"
	"log"
	"strings"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/gecp/units"
)

// What two scales under the level craft say.
func ExampleWeigh() {
	craft := gecp.Demo()
	scales, err := lake.ParseScales("0.40:34.5,4.40:36.1", craft, units.Metric)
	if err != nil {
		log.Fatal(err)
	}
	w, err := lake.Weigh(craft, lake.Weighing{Level: scales})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.1f kg, %.3f m aft of the datum, give or take %.3f m\n", w.Mass.Value, w.X.Value, w.X.Error)
	// Output: 70.6 kg, 2.445 m aft of the datum, give or take 0.005 m
}

// A quarter of the size runs at half the speed.
func ExampleSimilarity() {
	s := lake.Similarity(.25)
	fmt.Printf("length %v, speed %v, mass %.4f\n", s.Length(), s.Speed(), s.Mass())
	// Output: length 0.25, speed 0.5, mass 0.0156
}

// A log with a fault is refused with the place and a sentence.
func ExampleReadLog() {
	_, err := lake.ReadLog(strings.NewReader("speed_kmh,clearance_m,pilot_m\n50,0.2,1.3\n55,,1.4\n"))
	fmt.Println(err)
	// Output: line 3, column 2: clearance_m is empty; give a clearance under the wings' lowest point, or take the line out
}

// Runs of an exact log ask for no correction.
func ExampleFitLog() {
	m, err := gecp.Demo().BuildMap(context.Background(), gecp.MapOptions{})
	if err != nil {
		log.Fatal(err)
	}
	l, err := lake.ReadLog(strings.NewReader("speed_mps,clearance_m,pilot_m\n13,.2,1.3\n14,.2,1.35\n"))
	if err != nil {
		log.Fatal(err)
	}
	_, err = lake.FitLog(context.Background(), m, l.Runs, lake.FitOptions{})
	fmt.Println(err)
	// Output: 2 runs of the log can be held against the calculation; a fit takes 5 or more
}
