package catalog

import (
	"maps"
	"sync"
	"sync/atomic"
)

// Library is the newest snapshots of many catalogues, each by its name and
// with the number of the shop whose it is. The zero value is empty and ready
// for use. Any number may look in it at once, none of whom waits.
type Library struct {
	works    atomic.Pointer[map[string]*Work]
	complete atomic.Bool
	writing  sync.Mutex
}

// Work is one catalogue in a Library.
type Work struct {
	// Owner is the number of its shop.
	Owner int64
	*Live
}

// Find gives the catalogue of that name, nil where there is none.
func (l *Library) Find(name string) *Work {
	if works := l.works.Load(); works != nil {
		return (*works)[name]
	}
	return nil
}

// Add puts a catalogue in, in the place of one of the same name.
func (l *Library) Add(name string, owner int64, live *Live) *Work {
	l.writing.Lock()
	defer l.writing.Unlock()
	// Whoever reads has the map that was there before.
	grown := map[string]*Work{}
	if works := l.works.Load(); works != nil {
		grown = maps.Clone(*works)
	}
	w := &Work{Owner: owner, Live: live}
	grown[name] = w
	l.works.Store(&grown)
	return w
}

// SetStale says of every catalogue whether the truth behind it is out of
// reach.
func (l *Library) SetStale(stale bool) {
	if works := l.works.Load(); works != nil {
		for _, w := range *works {
			w.SetStale(stale)
		}
	}
}

// Complete says that every catalogue which was there at the start has been put
// in: before that, one that isn't found may only be late.
func (l *Library) Complete() bool { return l.complete.Load() }

// SetComplete says so.
func (l *Library) SetComplete() { l.complete.Store(true) }
