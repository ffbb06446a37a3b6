package limit

import "time"

// Callers counts those that are remembered.
func (r *Rates) Callers() int { return len(r.buckets) }

// NewThreadsResting is NewThreads with another rest.
func NewThreadsResting(rest time.Duration) *Threads {
	t := NewThreads()
	t.rest = rest
	return t
}
