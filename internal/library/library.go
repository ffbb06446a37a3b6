// Package library holds catalogues in memory, so that a request is answered
// without the database. It knows of every published catalogue by name; the
// parts of one are loaded when a request first asks for them, once for all who
// wait. A newer revision is loaded beside the old one and then takes its place.
// Under a ceiling of memory the snapshots that were used longest ago are let
// go; the next request loads them again.
package library

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
)

// Wanted says which revision is to be loaded.
type Wanted struct {
	shop.Place
	Revision int
	// Draft says that the revision need not be published.
	Draft bool
}

// Load reads a revision from where the truth is kept. It answers
// catalog.ErrNotFound where there is none and shop.ErrUnreachable where nobody
// can tell just now.
type Load func(context.Context, Wanted) (*catalog.Snapshot, error)

// ErrBusy says that more revisions are being asked for than can be loaded.
var ErrBusy = errors.New("too many revisions are being loaded")

// Config is what a Library needs. Load is required.
type Config struct {
	Load Load
	// Keep names a catalogue that is always held, "" for none.
	Keep string
	// Memory is the ceiling of the snapshots held, in bytes as Snapshot.Size
	// estimates them; 0 sets none. The snapshot loaded last is held in any case.
	Memory int64
	// AtOnce is how many revisions may be loaded at once. Defaults to 4.
	AtOnce int
	// Patience is how long loading one revision may take. Defaults to one minute.
	Patience time.Duration
	// Log is told of loads and of what goes wrong. Defaults to slog.Default().
	Log *slog.Logger
}

// Library is safe for any number of callers at once. A caller whose snapshot is
// in memory waits for nobody.
type Library struct {
	config   Config
	catalogs atomic.Pointer[map[string]*entry]
	known    chan struct{} // closed by the first Announce
	once     sync.Once
	stale    atomic.Bool
	loading  chan struct{} // one place for each load at a time
	older    chan struct{} // and for each that isn't of a newest revision

	mu    sync.Mutex
	slots map[Wanted]*slot // all that is loaded or being loaded
	held  int64            // bytes of all that is loaded
	turns int64            // counts the uses of revisions that aren't the newest
}

// entry is one published catalogue.
type entry struct {
	release atomic.Pointer[shop.Release]
	newest  atomic.Pointer[slot] // nil while it isn't loaded
	// behind says that a newer revision is known and not loaded yet.
	behind atomic.Bool
}

// slot is one revision that is loaded, or will be when done is closed.
type slot struct {
	wanted   Wanted
	identity string // of a newest revision, "" of others
	done     chan struct{}
	snapshot *catalog.Snapshot
	err      error
	size     int64
	loaded   time.Time
	used     atomic.Int64 // in seconds since 1970
	turn     int64        // tells uses in the same second apart, of a revision that isn't the newest
}

// touch notes that a slot was used. Most calls only read, so processors don't
// take the word from one another.
func (s *slot) touch(now int64) {
	if s.used.Load() != now {
		s.used.Store(now)
	}
}

const (
	defaultAtOnce   = 4
	defaultPatience = time.Minute
	// Of revisions that aren't the newest so many are held, and so many bytes of
	// them, but the last one in any case.
	mostOlder      = 16
	mostOlderBytes = 256 << 20
	// mostWaiting is how many different revisions of one shop may wait to be
	// loaded.
	mostWaiting = 16
)

// New makes an empty Library. Announce tells it what there is.
func New(c Config) *Library {
	if c.AtOnce == 0 {
		c.AtOnce = defaultAtOnce
	}
	if c.Patience == 0 {
		c.Patience = defaultPatience
	}
	if c.Log == nil {
		c.Log = slog.Default()
	}
	l := &Library{config: c, known: make(chan struct{}), loading: make(chan struct{}, c.AtOnce), older: make(chan struct{}, max(1, c.AtOnce/2)), slots: map[Wanted]*slot{}}
	l.catalogs.Store(&map[string]*entry{})
	return l
}

// Held is what one whole answer is made from.
type Held struct {
	Snapshot *catalog.Snapshot
	// Stale says that a newer revision might exist, since the truth can't be
	// reached or a newer revision isn't loaded yet.
	Stale bool
}

// Find gives the newest published revision of a catalogue, false where there is
// no such catalogue or nobody has said yet which there are (see Known).
func (l *Library) Find(name string) (shop.Release, bool) {
	e, ok := (*l.catalogs.Load())[name]
	if !ok {
		return shop.Release{}, false
	}
	return *e.release.Load(), true
}

// Of gives the newest published revision of every catalogue of a shop.
func (l *Library) Of(owner int64) []shop.Release {
	var all []shop.Release
	for _, e := range *l.catalogs.Load() {
		if r := e.release.Load(); r.Owner == owner {
			all = append(all, *r)
		}
	}
	return all
}

// Known is closed when it is known which catalogues there are. Before that, one
// that isn't found may only be late.
func (l *Library) Known() <-chan struct{} { return l.known }

// Ready says whether requests can be answered: the catalogues are known and the
// one to keep is loaded.
func (l *Library) Ready() bool {
	select {
	case <-l.known:
	default:
		return false
	}
	if l.config.Keep == "" {
		return true
	}
	e := (*l.catalogs.Load())[l.config.Keep]
	return e != nil && e.newest.Load() != nil
}

// Stale says whether the truth can't be reached.
func (l *Library) Stale() bool { return l.stale.Load() }

// SetStale says whether the truth can't be reached.
func (l *Library) SetStale(stale bool) { l.stale.Store(stale) }

// Loaded gives the newest revision of a catalogue where it is in memory.
func (l *Library) Loaded(name string) (Held, bool) {
	e, ok := (*l.catalogs.Load())[name]
	if !ok {
		return Held{}, false
	}
	// Stale is read first: a snapshot swapped in between is then called stale
	// for one answer, never the other way round.
	stale := l.stale.Load() || e.behind.Load()
	s := e.newest.Load()
	if s == nil {
		return Held{}, false
	}
	s.touch(time.Now().Unix())
	return Held{s.snapshot, stale}, true
}

// Newest gives the newest revision of a published catalogue. The first caller
// for one that isn't loaded starts its loading, and all wait for it. It answers
// catalog.ErrNotFound where there is no such catalogue.
func (l *Library) Newest(ctx context.Context, name string) (Held, error) {
	if h, ok := l.Loaded(name); ok {
		return h, nil
	}
	e, ok := (*l.catalogs.Load())[name]
	if !ok {
		return Held{}, fmt.Errorf("%w: %s", catalog.ErrNotFound, name)
	}
	r := e.release.Load()
	s, err := l.wait(ctx, wantedOf(r), r.Identity)
	if err != nil {
		return Held{}, err
	}
	return Held{s.snapshot, l.stale.Load()}, nil
}

// Revision gives one revision of a catalogue by its number, a draft where
// wanted says so.
func (l *Library) Revision(ctx context.Context, wanted Wanted) (Held, error) {
	e, ok := (*l.catalogs.Load())[wanted.Catalog]
	if ok {
		if r := e.release.Load(); r.Revision == wanted.Revision && r.Owner == wanted.Shop {
			return l.Newest(ctx, wanted.Catalog)
		}
	}
	stale := l.stale.Load()
	s, err := l.wait(ctx, wanted, "")
	if err != nil {
		return Held{}, err
	}
	return Held{s.snapshot, stale}, nil
}

func wantedOf(r *shop.Release) Wanted {
	return Wanted{Place: shop.Place{Shop: r.Owner, Catalog: r.Catalog}, Revision: r.Revision}
}

// Shop is what a library holds of one shop's newest revisions.
type Shop struct {
	Number int64
	// Loaded counts those in memory. Behind counts the catalogues among them whose
	// newest revision isn't loaded yet.
	Loaded, Behind int
	// Oldest is when the one that has been held longest was loaded.
	Oldest time.Time
}

// Shops tells of every shop of which something is in memory.
func (l *Library) Shops() []Shop {
	byNumber := map[int64]Shop{}
	for _, e := range *l.catalogs.Load() {
		s := e.newest.Load()
		if s == nil {
			continue
		}
		of := byNumber[s.wanted.Shop]
		of.Number = s.wanted.Shop
		of.Loaded++
		if e.behind.Load() {
			of.Behind++
		}
		if of.Oldest.IsZero() || s.loaded.Before(of.Oldest) {
			of.Oldest = s.loaded
		}
		byNumber[of.Number] = of
	}
	return slices.Collect(maps.Values(byNumber))
}

// Memory is what a library holds at one moment.
type Memory struct {
	// Snapshots counts what is loaded, Bytes estimates it.
	Snapshots int
	Bytes     int64
	// Ceiling is what was set, 0 for none.
	Ceiling int64
	// Catalogs counts the published catalogues, loaded or not.
	Catalogs int
}

// Memory says what is held.
func (l *Library) Memory() Memory {
	l.mu.Lock()
	defer l.mu.Unlock()
	m := Memory{Bytes: l.held, Ceiling: l.config.Memory, Catalogs: len(*l.catalogs.Load())}
	for _, s := range l.slots {
		if s.isDone() {
			m.Snapshots++
		}
	}
	return m
}
