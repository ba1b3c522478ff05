package bank_test

import (
	"context"
	"fmt"
	"log"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/bank"
	"example.org/groundeffect/gecp/units"
)

// Does a dropped tip of the demo craft come up again?
func Example() {
	ctx := context.Background()
	m, err := gecp.NewModel(gecp.Demo(), gecp.Mesh{})
	if err != nil {
		log.Fatal(err)
	}
	stream, pitch := gecp.Freestream{Speed: 14}, gecp.Radians(3)
	c, err := bank.FindRightingCeiling(ctx, .15, 3, bank.AtPitch(m, stream, pitch))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(c.Words(units.Metric))

	f, err := bank.At(ctx, m, stream, .3, pitch)
	if err != nil {
		log.Fatal(err)
	}
	r := f.Righting()
	fmt.Printf("at 0.30 m: %.1f N m per degree, of the wings %.1f\n", gecp.Radians(r.Total()), gecp.Radians(r.Wings))
	touch, _ := f.TouchBank()
	fmt.Printf("the tip touches at %s\n", units.BankLimit(touch))
	// Output:
	// a dropped tip comes up again below 0.50 m; above, only slip and dihedral bring it up
	// at 0.30 m: 6.6 N m per degree, of the wings 13.6
	// the tip touches at 6.6°
}
