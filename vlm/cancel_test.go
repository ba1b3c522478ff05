package vlm

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// countingContext counts how often it is asked for its error, which it has from the
// question numbered `ends` on.
type countingContext struct {
	context.Context
	asked, ends int
}

func (c *countingContext) Err() error {
	c.asked++
	if c.asked >= c.ends {
		return context.Canceled
	}
	return nil
}

// A large solution stops at the first question after its context has ended, and the
// questions are no more than operationsPerCheck of work apart: on average over each
// part of the solution, by a count of its operations from the lattice's size.
func TestCancelledSolveStops(t *testing.T) {
	const rows, strips = 10, 50
	l, err := New([]Surface{{Name: "wing", Rows: rows, Strips: strips, Stations: []Station{{Chord: 1}, {LE: r3.Vec{Y: 4}, Chord: 1}}}}, Options{})
	require.NoError(t, err)
	at := Attitude{Height: .6, Pitch: .05}
	never := &countingContext{Context: context.Background(), ends: 1 << 60}

	p, err := l.AtPitch(never, at.Pitch)
	require.NoError(t, err)
	points, filaments := l.Cells()+l.mid.len(), 2*l.node.len()
	held := float64(points*filaments*operationsPerFilament) / operationsPerCheck
	assert.GreaterOrEqual(t, float64(never.asked), .95*held, "questions while the craft's own influence is computed")
	before := never.asked
	_, err = p.Solve(never, at.Height)
	require.NoError(t, err)
	n := float64(l.Cells())
	held += n * n * n / 3 * operationsPerElement / 4 / operationsPerCheck // four columns at once
	all := never.asked
	assert.GreaterOrEqual(t, float64(all-before), .95*held, "questions while the flow at a height is solved for")
	t.Logf("%d questions, %d of them in the solution at a height", all, all-before)

	for _, c := range []struct {
		name  string
		from  int // questions before it
		until int
		solve func(ctx context.Context) error
	}{
		{"own influence", 0, before, func(ctx context.Context) error {
			fresh, err := New(l.surfaces, Options{})
			require.NoError(t, err)
			_, err = fresh.AtPitch(ctx, at.Pitch)
			return err
		}},
		{"height", before, all, func(ctx context.Context) error { _, err := p.Solve(ctx, at.Height); return err }},
	} {
		for ends := 1; ends <= c.until-c.from; ends += max(1, (c.until-c.from)/7) {
			ctx := &countingContext{Context: context.Background(), ends: ends}
			assert.ErrorIs(t, c.solve(ctx), context.Canceled, "%s, question %d", c.name, ends)
			assert.Equal(t, ends, ctx.asked, "%s: no question after that which had the error", c.name)
		}
	}

	// A cancelled computation leaves nothing behind: the next is as the first.
	want, err := p.Solve(t.Context(), at.Height)
	require.NoError(t, err)
	fresh, err := New(l.surfaces, Options{})
	require.NoError(t, err)
	_, err = fresh.AtPitch(&countingContext{Context: context.Background(), ends: 5}, at.Pitch)
	require.ErrorIs(t, err, context.Canceled)
	got, err := fresh.Solve(t.Context(), at)
	require.NoError(t, err)
	assert.Equal(t, want, got)
}

// Whoever waits for the craft's own influence, which another computes, stops waiting
// when its own context ends.
func TestCancelledWhileWaiting(t *testing.T) {
	l, err := New(tandem(3, 4), Options{})
	require.NoError(t, err)
	l.bodyLock <- struct{}{} // as another goroutine that computes
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = l.AtPitch(ctx, .03)
	require.ErrorIs(t, err, context.Canceled)
	<-l.bodyLock
	_, err = l.AtPitch(t.Context(), .03)
	require.NoError(t, err)
}
