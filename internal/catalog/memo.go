package catalog

import (
	"sync"
	"sync/atomic"

	"midstroke/internal/mount"
)

// Fastenings is how the ends of a snapshot bolt up at one bracket. The same few
// brackets come again and again at a counter, and a revision's hardware never
// changes, so what was worked out for one request serves the next. It is safe for any
// number of users.
type Fastenings struct {
	snapshot *Snapshot
	bracket  mount.Bracket
	inStock  bool
	memo     *memo
	// known has the results by end, then by adapter; the second half is those in
	// every detail. Nil is not worked out yet.
	known []atomic.Pointer[mount.Result]
}

// memo remembers the fastenings of a snapshot.
type memo struct {
	brackets sync.Map // bracketKey → *Fastenings
	count    atomic.Int32
}

type bracketKey struct {
	bracket mount.Bracket
	inStock bool
}

// memoMost bounds a memo, in results. When it is full it starts afresh: what is
// asked for often is soon back.
const memoMost = 8192

// Fastenings gives how ends bolt up at a bracket. With inStock no part may be out
// of stock.
func (s *Snapshot) Fastenings(bracket mount.Bracket, inStock bool) *Fastenings {
	m := s.memo.Load()
	key := bracketKey{bracket, inStock}
	if f, ok := m.brackets.Load(key); ok {
		return f.(*Fastenings)
	}
	f := &Fastenings{
		snapshot: s, bracket: bracket, inStock: inStock, memo: m,
		known: make([]atomic.Pointer[mount.Result], 2*(s.index.Ends()+len(s.contents.Adapters))),
	}
	f.countResults(1 + len(f.known)/resultsLikeOne)
	m.brackets.Store(key, f)
	return f
}

// serials numbers snapshots and their results, so that what is made from one can
// be remembered without keeping it in memory.
var serials atomic.Uint64

// resultsLikeOne is how many results not worked out yet take the room of one that
// is.
const resultsLikeOne = 32

// End gives how an end bolts up as it is, which callers must not change.
func (f *Fastenings) End(end int32, detail bool) *mount.Result {
	return f.result(int(end), detail, func(shelf *mount.Shelf, o mount.Options) mount.Result {
		return shelf.BoltUp(*f.snapshot.index.End(end), f.bracket, o)
	})
}

// Adapter gives how an adapter bolts up, by its place in Snapshot.Adapters; any end
// that it mates with bolts up through it. Callers must not change the result.
func (f *Fastenings) Adapter(place int32, detail bool) *mount.Result {
	return f.result(f.snapshot.index.Ends()+int(place), detail, func(shelf *mount.Shelf, o mount.Options) mount.Result {
		return shelf.BoltUpThrough(&f.snapshot.contents.Adapters[place], f.bracket, o)
	})
}

func (f *Fastenings) result(at int, detail bool, work func(*mount.Shelf, mount.Options) mount.Result) *mount.Result {
	from := at
	if detail {
		at += len(f.known) / 2
	}
	if r := f.known[at].Load(); r != nil {
		return r
	}
	var r mount.Result
	if base := f.snapshot.base; base != nil && !f.inStock {
		r = *base.Fastenings(f.bracket, false).result(from, detail, work) // which no stock changes
	} else {
		r = work(f.snapshot.shelfOf(f.inStock), mount.Options{Detail: detail})
	}
	r.Serial = serials.Add(1)
	f.known[at].Store(&r)
	f.countResults(1)
	return &r
}

// countResults counts so many results more, and lets the snapshot forget all of them
// when there are too many.
func (f *Fastenings) countResults(results int) {
	if f.memo.count.Add(int32(results)) > memoMost {
		f.snapshot.memo.CompareAndSwap(f.memo, &memo{})
	}
}
