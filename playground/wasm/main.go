//go:build js && wasm

// Wasm puts package solver into the browser.
package main

import (
	"example.org/groundeffect/playground/solver"
	"example.org/groundeffect/playground/wasm/bridge"
)

func main() { bridge.Serve(new(solver.Service).Answer) }
