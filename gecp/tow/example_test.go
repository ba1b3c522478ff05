package tow_test

import (
	"context"
	"fmt"
	"log"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/tow"
)

func demoTow(speed float64) tow.SteadyTow {
	m, err := gecp.Demo().BuildMap(context.Background(), gecp.MapOptions{})
	if err != nil {
		log.Fatal(err)
	}
	t, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: speed})
	if err != nil {
		log.Fatal(err)
	}
	return t
}

// Where must the pilot be at a clearance, and does the craft hold it by itself?
func ExampleSteadyTow_Trim() {
	t := demoTow(15)
	for _, clearance := range []float64{.2, .5} {
		b, err := t.Trim(clearance)
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("%.1f m: pilot %.1f m aft of the datum, holds its height: %v\n", clearance, b.Pilot.X, b.HeightStable)
	}
	// Output:
	// 0.2 m: pilot 1.2 m aft of the datum, holds its height: true
	// 0.5 m: pilot 1.2 m aft of the datum, holds its height: false
}

// Between which clearances may the craft be towed? Give Rules a Reaction, such as
// motion.InTime, for the limit of what a person can do.
func ExampleSteadyTow_Range() {
	r, err := demoTow(15).Range(context.Background(), tow.Rules{OwnLimit: .5})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(r.OK, r.End.Kind)
	fmt.Println(r.High.Clearance < r.Limits[tow.LimitSelfHolding].At)
	// Output:
	// true the craft no longer holds its height by itself
	// true
}
