package limit

import (
	"math/rand/v2"
	"sync/atomic"
	"time"
)

// SpacingConfig is what a Spacing is made of. Every field is required.
type SpacingConfig struct {
	// Apart is the time from one event to the next, where they don't wait too long for it.
	Apart time.Duration
	// Soonest and Latest bound how long an event waits.
	Soonest, Latest time.Duration
}

// Spacing spaces events evenly in time. Events that would wait too long come at random
// in the later half of what they may wait, so that they don't come together. It is safe
// for concurrent use.
type Spacing struct {
	config SpacingConfig
	last   atomic.Int64 // when the last event comes, in ns since 1970
}

// NewSpacing makes a Spacing without any event.
func NewSpacing(c SpacingConfig) *Spacing { return &Spacing{config: c} }

// Wait says how long from now the next event comes.
func (s *Spacing) Wait(now time.Time) time.Duration {
	at := now.UnixNano()
	for {
		last := s.last.Load()
		wait := max(time.Duration(last-at)+s.config.Apart, s.config.Soonest)
		if wait > s.config.Latest {
			return s.config.Latest - rand.N(s.config.Latest/2)
		}
		if s.last.CompareAndSwap(last, at+int64(wait)) {
			return wait
		}
	}
}
