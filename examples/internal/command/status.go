package command

import (
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
)

// status is what a program is at.
type status struct {
	mu    sync.Mutex
	stage string
	part  float64
}

func (s *status) set(stage string, part float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.stage, s.part = stage, part
}

// bars is the length of a full bar, and patience how many ticks pass before it is shown.
const bars, patience = 24, 4

// line returns the status as a terminal shows it at a tick.
func (s *status) line(tick int) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.part > 0 {
		full := min(bars, int(bars*s.part))
		return fmt.Sprintf("%s [%s%s] %.0f %%", s.stage, strings.Repeat("=", full), strings.Repeat(" ", bars-full), 100*s.part)
	}
	return s.stage + " " + strings.Repeat(".", tick%4)
}

// clear goes to the beginning of a terminal's line and empties it.
const clear = "\r\033[K"

// show writes the status over itself at each tick until it is stopped, and then clears
// it.
func (s *status) show(w io.Writer, tick <-chan time.Time, stop <-chan struct{}) {
	n := 0
	for {
		select {
		case <-tick:
			if n++; n >= patience {
				fmt.Fprint(w, clear+s.line(n))
			}
		case <-stop:
			if n >= patience {
				fmt.Fprint(w, clear)
			}
			return
		}
	}
}
