package gecp_test

import (
	"context"
	"fmt"
	"log"
	"math"
	"strings"

	"example.org/groundeffect/gecp"
)

// A craft file is read with all that is wrong with it at once.
func ExampleRead() {
	_, err := gecp.Read(strings.NewReader(`{"name": "Teal", "wings": [
		{"name": "front", "x_m": 0, "z_m": 0, "incidence_deg": 45, "stations": [{"y_m": 0, "chord_m": 1.6}, {"y_m": 2, "chord_m": -1}]}]}`))
	for _, p := range err.(gecp.Problems) {
		fmt.Println(p.Path)
	}
	// Output:
	// wings[0].incidence_deg
	// wings[0].stations[1].chord_m
}

// As the craft rises at one pitch, its centre of pressure runs forward.
func ExampleCraft_Sweep() {
	rows, err := gecp.Demo().Sweep(context.Background(), gecp.SweepQuestion{
		Speed: 14, Pitch: 3 * math.Pi / 180, Clearances: []float64{.1, .4, 1.3},
	})
	if err != nil {
		log.Fatal(err)
	}
	for _, r := range rows {
		fmt.Printf("%.1f m: %.1f kN, %.1f m aft of the datum\n", r.Clearance, r.Lift/1000, r.CP.X)
	}
	// Output:
	// 0.1 m: 1.5 kN, 1.8 m aft of the datum
	// 0.4 m: 1.2 kN, 1.7 m aft of the datum
	// 1.3 m: 1.0 kN, 1.6 m aft of the datum
}

// A map answers in microseconds what the lattice takes milliseconds for.
func ExampleCraft_BuildMap() {
	m, err := gecp.Demo().BuildMap(context.Background(), gecp.MapOptions{})
	if err != nil {
		log.Fatal(err)
	}
	p, err := m.At(.2, gecp.Radians(3))
	if err != nil {
		log.Fatal(err)
	}
	stream := gecp.Freestream{Speed: 14, Density: gecp.AirDensity}
	fmt.Printf("lift %.1f kN at %.2f m aft of the datum\n", stream.DynamicPressure()*p.Lift/1000, p.CP().X)
	// Output:
	// lift 1.4 kN at 1.80 m aft of the datum
}
