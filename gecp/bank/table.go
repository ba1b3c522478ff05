package bank

import (
	"context"
	"errors"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/parallel"
)

// Row is a craft at one clearance, level and at several banks.
type Row struct {
	*Flight
	Banks []Held // in the order asked for
}

// Held is a craft held at a bank without slip, or why it cannot be calculated there.
type Held struct {
	Bank   float64 // rad
	Banked         // if Tip is nil
	// TipClearance is of the lowest point in the bank, m, below 0 in the water; also with Tip.
	TipClearance float64
	// Tip says that the lower side is in the water or too close to it.
	Tip *gecp.TipError
}

// Table returns a row for each clearance, m, at one pitch, rad, with the craft held at each of
// the banks, rad. Rows are solved in parallel. A lower side in the water is told in the row;
// other errors, those of At and of Flight.Bank, end the work.
func Table(ctx context.Context, m *gecp.Model, stream gecp.Freestream, pitch float64, clearances, banks []float64) ([]Row, error) {
	rows := make([]Row, len(clearances))
	err := parallel.Each(ctx, len(rows), func(i int) error {
		f, err := At(ctx, m, stream, clearances[i], pitch)
		if err != nil {
			return err
		}
		rows[i].Flight = f
		for _, bank := range banks {
			h := Held{Bank: bank}
			h.Banked, err = f.Bank(ctx, bank)
			h.TipClearance = h.Banked.TipClearance
			if errors.As(err, &h.Tip) {
				h.TipClearance = h.Tip.Clearance
			} else if err != nil {
				return err
			}
			rows[i].Banks = append(rows[i].Banks, h)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return rows, nil
}
