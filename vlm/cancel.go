package vlm

import "context"

// operationsPerCheck is how many floating-point operations, roughly, a solution does
// between two looks at its context: about a millisecond of work.
const operationsPerCheck = 2_000_000

// Operations of a filament's evaluation with derivatives, both sides of the plane of
// symmetry, and of one element of a matrix in the elimination of four columns.
const (
	operationsPerFilament = 120
	operationsPerElement  = 8
)

// canceller asks a context, every operationsPerCheck, whether to go on.
type canceller struct {
	ctx  context.Context
	left int // operations until the context is asked again
}

// spend counts operations that come next and returns the context's error once it is
// done.
func (c *canceller) spend(operations int) error {
	c.left -= operations
	if c.left > 0 {
		return nil
	}
	c.left = operationsPerCheck
	return c.ctx.Err()
}
