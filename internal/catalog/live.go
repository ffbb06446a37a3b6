package catalog

import "sync/atomic"

// Live is the newest snapshot of a catalogue: one writer swaps it, and every
// request takes it once and keeps to it.
type Live struct {
	newest atomic.Pointer[Snapshot]
	stale  atomic.Bool
}

// Load gives the newest snapshot, nil before the first.
func (l *Live) Load() *Snapshot { return l.newest.Load() }

// Store makes s the newest.
func (l *Live) Store(s *Snapshot) { l.newest.Store(s) }

// Stale says that the truth behind the snapshot can't be reached, so that a
// newer revision might exist.
func (l *Live) Stale() bool { return l.stale.Load() }

// SetStale says whether the truth behind the snapshot is out of reach.
func (l *Live) SetStale(stale bool) { l.stale.Store(stale) }
