//go:build js && wasm

// Wasm puts package solver into the browser. It sets globalThis.craftAnswers:
//
//	ask(id, text, onProgress) -> Promise of text   one question, one answer; onProgress(part 0..1)
//	drop(id)                                        its answer is no longer wanted
//
// Questions and answers are the JSON that package solver describes.
package main

import (
	"context"
	"sync"
	"syscall/js"
	"time"

	"example.org/groundeffect/playground/solver"
)

// slice is how long the solver works before it lets the browser's messages in.
const slice = 25 * time.Millisecond

func main() {
	d := new(solver.Service)
	var turn sync.Mutex // the service answers one at a time
	running := map[int]context.CancelFunc{}

	answer := func(this js.Value, args []js.Value) any {
		id, text, tell := args[0].Int(), args[1].String(), args[2]
		ctx, cancel := context.WithCancel(context.Background())
		running[id] = cancel
		var run js.Func
		run = js.FuncOf(func(this js.Value, then []js.Value) any {
			resolve := then[0]
			go func() {
				turn.Lock()
				defer turn.Unlock()
				defer run.Release()
				rest := time.Now()
				a := d.Answer(ctx, []byte(text), func(part float64) {
					if time.Since(rest) < slice {
						return
					}
					tell.Invoke(part)
					time.Sleep(time.Millisecond) // hands the thread to the browser
					rest = time.Now()
				})
				delete(running, id)
				cancel()
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
	js.Global().Set("craftAnswers", map[string]any{"ask": js.FuncOf(answer), "drop": js.FuncOf(drop)})
	select {}
}
