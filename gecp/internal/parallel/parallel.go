// Package parallel runs independent pieces of work on all processors.
package parallel

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// Panic is what Each panics with when a piece of work panicked: the value, and
// where it happened, since the caller's own stack does not show that.
type Panic struct {
	Value any
	Stack string
}

func (p Panic) Error() string {
	return fmt.Sprintf("%v\n\nin a goroutine of its own:\n%s", p.Value, p.Stack)
}

// Each is EachOf with as many workers as there are processors.
func Each(ctx context.Context, n int, f func(i int) error) error {
	return EachOf(ctx, n, runtime.GOMAXPROCS(0), f)
}

// EachOf calls f for 0 to n-1, up to workers at a time, and returns the context's error
// if it is cancelled, and otherwise the error of the lowest index that failed.
// After the first failure no further piece is begun. A panic of f stops the work
// in the same way and is raised again, as a Panic, in the caller's goroutine.
func EachOf(ctx context.Context, n, workers int, f func(i int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var stop atomic.Bool
	var panicked atomic.Pointer[Panic]
	var wg sync.WaitGroup
	one := func(i int) {
		defer func() {
			if v := recover(); v != nil {
				p, nested := v.(Panic)
				if !nested {
					p = Panic{v, string(debug.Stack())}
				}
				panicked.CompareAndSwap(nil, &p)
				stop.Store(true)
			}
		}()
		if errs[i] = f(i); errs[i] != nil {
			stop.Store(true)
		}
	}
	for range min(n, max(1, workers)) {
		wg.Go(func() {
			for !stop.Load() && ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				one(i)
			}
		})
	}
	wg.Wait()
	if p := panicked.Load(); p != nil {
		panic(*p)
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
