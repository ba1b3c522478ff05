package vlm_test

import (
	"context"
	"errors"
	"fmt"
	"log"
	"math"

	"example.org/groundeffect/vlm"
	"gonum.org/v1/gonum/spatial/r3"
)

// tandem returns two wings, the rear one higher: starboard halves, in metres aft
// of, to starboard of and above the datum.
func tandem() []vlm.Surface {
	section := func(x, y, z, chord, incidence float64) vlm.Station {
		return vlm.Station{LE: r3.Vec{X: x, Y: y, Z: z}, Chord: chord, Incidence: incidence * math.Pi / 180,
			Camber: vlm.Camber{Height: .02, At: .4}}
	}
	return []vlm.Surface{
		{Name: "front", Rows: 4, Strips: 8,
			Stations: []vlm.Station{section(0, 0, 0, 1.6, 5), section(0, 2, 0, 1.6, 5)}},
		{Name: "rear", Rows: 4, Strips: 8,
			Stations: []vlm.Station{section(3.2, 0, .35, 1.4, 3), section(3.2, 2.2, .35, 1.4, 3)}},
	}
}

func ExampleNew() {
	l, err := vlm.New(tandem(), vlm.Options{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(l.Cells(), "cells")

	surfaces := tandem()
	surfaces[1].Stations[1].Chord = 0
	_, err = vlm.New(surfaces, vlm.Options{})
	fmt.Println(err)
	// Output:
	// 64 cells
	// surface "rear", station 1 has a chord of 0 m; it must be above 0
}

func ExampleLattice_Solve() {
	l, err := vlm.New(tandem(), vlm.Options{})
	if err != nil {
		log.Fatal(err)
	}
	s, err := l.Solve(context.Background(), vlm.Attitude{Height: .5, Pitch: 1 * math.Pi / 180})
	if err != nil {
		log.Fatal(err)
	}
	const speed, density = 12.0, 1.225 // m/s, kg/m3
	q := density * speed * speed / 2
	fmt.Printf("lift %.0f N, induced drag %.0f N\n", q*s.Total.Lift(), q*s.TrefftzDrag)
	fmt.Printf("the front wing carries %.0f %%\n", 100*s.Surfaces[0].Lift()/s.Total.Lift())
	fmt.Printf("the lift acts %.1f m aft of the datum\n", -s.Total.Pitching()/s.Total.Lift())
	fmt.Printf("a centimetre higher takes %.0f N\n", -.01*q*s.Derivatives.Height.Lift())

	_, err = l.Solve(context.Background(), vlm.Attitude{Height: .1})
	var wet *vlm.WetError
	if errors.As(err, &wet) {
		fmt.Printf("%s wing %.0f mm deep\n", wet.Surface, 1000*wet.Depth)
	}
	// Output:
	// lift 463 N, induced drag 20 N
	// the front wing carries 67 %
	// the lift acts 1.6 m aft of the datum
	// a centimetre higher takes 3 N
	// front wing 39 mm deep
}

// Several heights at one pitch.
func ExampleLattice_AtPitch() {
	l, err := vlm.New(tandem(), vlm.Options{})
	if err != nil {
		log.Fatal(err)
	}
	pitched, err := l.AtPitch(context.Background(), 1*math.Pi/180)
	if err != nil {
		log.Fatal(err)
	}
	for _, height := range []float64{.3, .6, 1.2, math.Inf(1)} {
		s, err := pitched.Solve(context.Background(), height)
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("datum %.1f m up: lift %.1f N per pascal, %.1f m aft of the datum\n", height, s.Total.Lift(), -s.Total.Pitching()/s.Total.Lift())
	}
	// Output:
	// datum 0.3 m up: lift 6.4 N per pascal, 1.6 m aft of the datum
	// datum 0.6 m up: lift 4.9 N per pascal, 1.6 m aft of the datum
	// datum 1.2 m up: lift 4.1 N per pascal, 1.5 m aft of the datum
	// datum +Inf m up: lift 3.5 N per pascal, 1.4 m aft of the datum
}

// The induced drag of a span load of one's own, here elliptic, and what is left of
// it a tenth of the span over the water.
func ExampleWake_InducedDrag() {
	const span, strips = 8.0, 40
	var s vlm.Sheet
	y := func(u float64) float64 { return -span / 2 * math.Cos(math.Pi*u/strips) }
	for j := 0; j <= strips; j++ {
		s.Y, s.Z = append(s.Y, y(float64(j))), append(s.Z, 0)
	}
	for j := range strips {
		mid := float64(j) + .5
		s.Gamma = append(s.Gamma, math.Sin(math.Pi*mid/strips))
		s.Mid = append(s.Mid, (y(mid)-s.Y[j])/(s.Y[j+1]-s.Y[j]))
	}
	w := vlm.Wake{Sheets: []vlm.Sheet{s}}
	free, low := w.InducedDrag(math.Inf(1)), w.InducedDrag(span/10)
	fmt.Printf("%.3f m2 in free air, %.0f %% of it over water\n", free, 100*low/free)
	// Output:
	// 0.785 m2 in free air, 52 % of it over water
}

// A tandem banked over the water: what rights it, and what a rate of roll meets.
func ExampleLattice_SolveBanked() {
	l, err := vlm.New(tandem(), vlm.Options{})
	if err != nil {
		log.Fatal(err)
	}
	at := vlm.BankedAttitude{Height: .5, Pitch: 1 * math.Pi / 180, Bank: 3 * math.Pi / 180}
	s, err := l.SolveBanked(context.Background(), at)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("rights itself with %.2f N m, and leans to starboard with %.2f N, per pascal\n", at.Rolling(s.Total), s.Total.Side())
	fmt.Printf("starboard front wing %.2f N, port %.2f N\n", s.Surfaces[0].Lift(), s.Reflections[0].Lift())
	fmt.Printf("damped: %v\n", at.Rolling(s.Derivatives.RollRate) > 0)

	_, err = l.SolveBanked(context.Background(), vlm.BankedAttitude{Height: .2, Bank: 20 * math.Pi / 180})
	var wet *vlm.WetError
	if errors.As(err, &wet) {
		fmt.Printf("%s half of the %s wing in the water\n", wet.Side, wet.Surface)
	}
	// Output:
	// rights itself with 0.09 N m, and leans to starboard with 0.29 N, per pascal
	// starboard front wing 1.79 N, port 1.73 N
	// damped: true
	// starboard half of the front wing in the water
}
