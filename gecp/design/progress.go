package design

import "sync"

// rising returns a progress function that any goroutine may call and that tells f only
// what is more than before: a map that takes more nodes begins anew. f may be nil.
func rising(f func(part float64)) func(part float64) {
	if f == nil {
		return func(float64) {}
	}
	var mu sync.Mutex
	var most float64
	return func(part float64) {
		mu.Lock()
		defer mu.Unlock()
		if part > most {
			most = part
			f(part)
		}
	}
}
