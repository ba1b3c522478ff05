package parallel

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEachDoesEveryPieceOnce(t *testing.T) {
	var done [100]atomic.Int32
	require.NoError(t, Each(t.Context(), len(done), func(i int) error { done[i].Add(1); return nil }))
	for i := range done {
		assert.EqualValues(t, 1, done[i].Load(), "piece %d", i)
	}
	assert.NoError(t, Each(t.Context(), 0, func(int) error { return errors.New("called") }))
}

func TestEachReturnsTheErrorOfTheLowestIndex(t *testing.T) {
	third, sixth := errors.New("third"), errors.New("sixth")
	err := Each(t.Context(), 7, func(i int) error {
		switch i {
		case 3:
			return third
		case 6:
			return sixth
		}
		return nil
	})
	assert.Equal(t, third, err)
}

func TestEachStopsWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	var calls atomic.Int32
	err := Each(ctx, 1e6, func(int) error {
		calls.Add(1)
		cancel()
		return nil
	})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Less(t, calls.Load(), int32(1000))
}

// A panic in a goroutine that nobody recovers ends the program; raised again here,
// the caller can recover it.
func TestEachRaisesAPanicInTheCaller(t *testing.T) {
	defer func() {
		p, ok := recover().(Panic)
		require.True(t, ok)
		assert.Equal(t, "bad wing", p.Value)
		assert.Contains(t, p.Error(), "TestEachRaisesAPanicInTheCaller")
	}()
	_ = Each(t.Context(), 8, func(i int) error {
		if i == 5 {
			panic("bad wing")
		}
		return nil
	})
	t.Fatal("Each returned")
}
