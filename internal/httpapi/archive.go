package httpapi

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"midstroke/internal/catalog"
)

// archive holds the revisions that were asked for by their numbers, the last
// few of them: whoever compares two of them or goes through a list page by
// page asks for the same one again.
type archive struct {
	// load reads one; nil where there is nowhere to read from.
	load func(ctx context.Context, owner int64, name string, number int) (*catalog.Snapshot, error)
	// loading bounds how many are read at once: each takes as much memory as
	// the newest.
	loading chan struct{}

	mu      sync.Mutex
	kept    []*folio          // the one asked for last stands last
	pending map[folioID]*read // being read just now
}

type folioID struct {
	owner  int64
	name   string
	number int
}

type folio struct {
	id       folioID
	snapshot *catalog.Snapshot
}

// read is one reading that any number may wait for.
type read struct {
	done     chan struct{}
	snapshot *catalog.Snapshot
	err      error
}

const (
	// An archive keeps so many revisions, and of those no more than have so
	// many dampers together, but the last one always.
	mostKept        = 16
	mostKeptDampers = 400_000
	// mostLoading revisions are read at once, and mostWaiting of one owner wait
	// for that.
	mostLoading = 2
	mostWaiting = 16
	// loadTime is how long a reading may take.
	loadTime = time.Minute
)

// errBusy says that more revisions are being asked for than can be read.
var errBusy = errors.New("too many revisions are being read")

func newArchive(load func(context.Context, int64, string, int) (*catalog.Snapshot, error)) *archive {
	return &archive{load: load, loading: make(chan struct{}, mostLoading), pending: map[folioID]*read{}}
}

// get gives a published revision, or catalog.ErrNotFound. A caller that goes
// away doesn't end the reading, which others may wait for.
func (a *archive) get(ctx context.Context, owner int64, name string, number int) (*catalog.Snapshot, error) {
	if a.load == nil {
		return nil, fmt.Errorf("%w: %s, revision %d", catalog.ErrNotFound, name, number)
	}
	id := folioID{owner, name, number}
	a.mu.Lock()
	if i := slices.IndexFunc(a.kept, func(f *folio) bool { return f.id == id }); i >= 0 {
		f := a.kept[i]
		a.kept = append(slices.Delete(a.kept, i, i+1), f)
		a.mu.Unlock()
		return f.snapshot, nil
	}
	r, ok := a.pending[id]
	if !ok {
		if a.waiting(owner) >= mostWaiting {
			a.mu.Unlock()
			return nil, errBusy
		}
		r = &read{done: make(chan struct{})}
		a.pending[id] = r
		go a.read(context.WithoutCancel(ctx), id, r)
	}
	a.mu.Unlock()
	select {
	case <-r.done:
		return r.snapshot, r.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// waiting counts the revisions of an owner that are being read or wait for it.
func (a *archive) waiting(owner int64) (n int) {
	for id := range a.pending {
		if id.owner == owner {
			n++
		}
	}
	return n
}

func (a *archive) read(ctx context.Context, id folioID, r *read) {
	ctx, cancel := context.WithTimeout(ctx, loadTime)
	defer cancel()
	select {
	case a.loading <- struct{}{}:
		r.snapshot, r.err = a.loadOne(ctx, id)
		<-a.loading
	case <-ctx.Done():
		r.err = ctx.Err()
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	delete(a.pending, id)
	if r.err == nil {
		a.keep(&folio{id, r.snapshot})
	}
	close(r.done)
}

// loadOne loads a revision. No handler stands around it, so it sees to its own
// panics.
func (a *archive) loadOne(ctx context.Context, id folioID) (_ *catalog.Snapshot, err error) {
	defer func() {
		if v := recover(); v != nil {
			err = &panicked{v, debug.Stack()}
		}
	}()
	return a.load(ctx, id.owner, id.name, id.number)
}

// keep puts f in and drops what was asked for longest ago.
func (a *archive) keep(f *folio) {
	a.kept = append(a.kept, f)
	room := mostKeptDampers
	for i := len(a.kept) - 1; i >= 0; i-- {
		room -= len(a.kept[i].snapshot.Dampers())
		if last := i == len(a.kept)-1; !last && (room < 0 || len(a.kept)-i > mostKept) {
			a.kept = slices.Delete(a.kept, 0, i+1)
			return
		}
	}
}
