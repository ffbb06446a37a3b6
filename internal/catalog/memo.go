package catalog

import (
	"sync"
	"sync/atomic"

	"midstroke/internal/mount"
)

// Fastening is an end, straight or through an adapter, at a bracket.
type Fastening struct {
	End     int32          // as Index numbers it
	Adapter *mount.Adapter // nil: straight
	Bracket mount.Bracket
	// InStock says that no part may be out of stock.
	InStock bool
	Detail  bool
}

// memo remembers how ends bolt up. The same few brackets come again and again
// at a counter, and a revision's hardware never changes, so what was worked
// out for one request serves the next.
type memo struct {
	known sync.Map // Fastening → *mount.Result
	count atomic.Int32
}

// memoMost bounds a memo. When it is full it starts afresh: what is asked for
// often is soon back.
const memoMost = 8192

// Fasten gives the hardware of f, which callers must not change.
func (s *Snapshot) Fasten(f Fastening) *mount.Result {
	m := s.memo.Load()
	if r, ok := m.known.Load(f); ok {
		return r.(*mount.Result)
	}
	opts, shelf := mount.Options{Detail: f.Detail}, s.shelfOf(f.InStock)
	var r mount.Result
	if f.Adapter != nil {
		r = shelf.BoltUpThrough(f.Adapter, f.Bracket, opts)
	} else {
		r = shelf.BoltUp(*s.index.End(f.End), f.Bracket, opts)
	}
	if m.count.Add(1) > memoMost {
		s.memo.CompareAndSwap(m, &memo{})
	}
	m.known.Store(f, &r)
	return &r
}
