package gecp

import "sync"

// mapProgress tells the part of a map's work that is done, from one goroutine at a time.
// What is expected grows while the work goes on: the part told never falls.
type mapProgress struct {
	tell           func(part float64)
	mu             sync.Mutex
	done, expected int
	told           float64
}

// newMapProgress returns a progress that tells nobody if tell is nil.
func newMapProgress(tell func(part float64)) *mapProgress { return &mapProgress{tell: tell} }

// expect says that n more steps are to come.
func (p *mapProgress) expect(n int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.expected += n
}

// step says that one of them is done.
func (p *mapProgress) step() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done++
	if part := float64(p.done) / float64(p.expected); p.tell != nil && part > p.told {
		p.told = part
		p.tell(part)
	}
}
