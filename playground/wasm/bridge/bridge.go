//go:build js && wasm

// Package bridge carries a solver into the browser. It sets globalThis.craftAnswers:
//
//	ask(id, text, onProgress, behind) -> Promise of text   one question, one answer; onProgress(part 0..1)
//	drop(id)                                                its answer is no longer wanted
//	hold(on)                                                whether what is asked behind rests
//
// Questions are answered one at a time. One that is asked behind stands back for every other that comes while it is
// being worked out: wherever it tells its progress, for as long as others wait or it is held.
//
// Questions and answers are the JSON that package exchange describes.
package bridge

import (
	"context"
	"sync"
	"syscall/js"
	"time"
)

// slice is how long the solver works before it lets the browser's messages in.
const slice = 25 * time.Millisecond

// Serve has questions answered, one at a time, and never returns.
func Serve(answer func(ctx context.Context, text []byte, progress func(part float64)) []byte) {
	var turn sync.Mutex // one at a time
	ahead := 0          // questions under way or waiting that are not asked behind
	held := false
	running := map[int]context.CancelFunc{}

	ask := func(this js.Value, args []js.Value) any {
		id, text, tell, behind := args[0].Int(), args[1].String(), args[2], args[3].Truthy()
		ctx, cancel := context.WithCancel(context.Background())
		running[id] = cancel
		if !behind {
			ahead++
		}
		var run js.Func
		run = js.FuncOf(func(this js.Value, then []js.Value) any {
			resolve := then[0]
			go func() {
				turn.Lock()
				defer turn.Unlock()
				defer run.Release()
				rest := time.Now()
				a := answer(ctx, []byte(text), func(part float64) {
					for behind && (ahead > 0 || held) && ctx.Err() == nil {
						turn.Unlock()
						time.Sleep(2 * time.Millisecond) // another takes its turn
						turn.Lock()
					}
					if time.Since(rest) < slice {
						return
					}
					tell.Invoke(part)
					time.Sleep(time.Millisecond) // hands the thread to the browser
					rest = time.Now()
				})
				delete(running, id)
				cancel()
				if !behind {
					ahead--
				}
				resolve.Invoke(string(a))
			}()
			return nil
		})
		return js.Global().Get("Promise").New(run)
	}
	drop := func(this js.Value, args []js.Value) any {
		if cancel, ok := running[args[0].Int()]; ok {
			cancel()
		}
		return nil
	}
	hold := func(this js.Value, args []js.Value) any {
		held = args[0].Bool()
		return nil
	}
	js.Global().Set("craftAnswers", map[string]any{"ask": js.FuncOf(ask), "drop": js.FuncOf(drop), "hold": js.FuncOf(hold)})
	select {}
}
