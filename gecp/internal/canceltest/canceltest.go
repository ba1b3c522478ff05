// Package canceltest cancels calls midway, for the tests of what takes a context.
package canceltest

import (
	"context"
	"reflect"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// countdown is a context that is cancelled when it is asked for its error for the nth
// time, so that a test can stop a calculation at any place of its own.
type countdown struct {
	context.Context
	cancel context.CancelFunc

	mu   sync.Mutex
	left int
}

// Err counts down, and then tells the cancelled context's error.
func (c *countdown) Err() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.left--; c.left < 0 {
		c.cancel()
	}
	return c.Context.Err()
}

// Stops calls f with a context that is cancelled already, and with ones that are
// cancelled ever later, up to the one that lets f end. The test fails unless each call
// that was cancelled returns the context's error and the zero value.
func Stops[T any](t *testing.T, f func(ctx context.Context) (T, error)) {
	t.Helper()
	cancelled := 0
	for n := 0; ; n = n + 1 + n/2 {
		inner, cancel := context.WithCancel(t.Context())
		ctx := &countdown{Context: inner, cancel: cancel, left: n}
		v, err := f(ctx)
		stopped := inner.Err() != nil
		cancel()
		if !stopped {
			require.NoError(t, err)
			break
		}
		cancelled++
		if !assert.ErrorIs(t, err, context.Canceled, "cancelled at the %dth look", n+1) {
			return
		}
		assert.True(t, reflect.ValueOf(&v).Elem().IsZero(), "cancelled at the %dth look, it returns %+v", n+1, v)
	}
	assert.Positive(t, cancelled, "it never looks at its context")
}
