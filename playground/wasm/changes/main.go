//go:build js && wasm

// Changes puts package changes into the browser.
package main

import (
	"example.org/groundeffect/playground/changes"
	"example.org/groundeffect/playground/wasm/bridge"
)

func main() { bridge.Serve(new(changes.Service).Answer) }
