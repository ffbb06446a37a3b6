package library

import (
	"context"
	"maps"

	"midstroke/internal/shop"
)

// Announce takes the list of all published catalogues, each with its newest
// revision. If a catalogue that is in memory has a newer revision, that is loaded in
// the background; until then callers are answered from the one before.
func (l *Library) Announce(all []shop.Release) {
	l.mu.Lock()
	before := *l.catalogs.Load()
	var after map[string]*entry
	for i := range all {
		r := &all[i]
		e, ok := before[r.Catalog]
		if ok && *e.release.Load() == *r {
			continue
		}
		if !ok || e.release.Load().Owner != r.Owner {
			if after == nil {
				after = maps.Clone(before)
			}
			e = new(entry)
			e.release.Store(r)
			after[r.Catalog] = e
			continue
		}
		l.replace(e, r)
	}
	if len(all) < max(len(before), len(after)) {
		if after == nil {
			after = maps.Clone(before)
		}
		l.drop(after, all)
	}
	if after != nil {
		l.catalogs.Store(&after)
	}
	l.mu.Unlock()
	l.once.Do(func() { close(l.known) })
	l.Follow()
}

// replace notes that a catalogue has a newer revision. l.mu is held.
func (l *Library) replace(e *entry, r *shop.Release) {
	e.behind.Store(e.newest.Load() != nil)
	e.release.Store(r)
	if s, ok := l.slots[wantedOf(r)]; ok && s.isDone() && s.err == nil && (s.identity == "" || s.identity == r.Identity) {
		// It was loaded as a draft, or an older revision was made the current one again.
		s.identity = r.Identity
		e.newest.Store(s)
		e.behind.Store(false)
	}
}

// drop removes the catalogues that no longer exist. l.mu is held.
func (l *Library) drop(catalogs map[string]*entry, all []shop.Release) {
	there := make(map[string]bool, len(all))
	for i := range all {
		there[all[i].Catalog] = true
	}
	for name := range catalogs {
		if !there[name] {
			delete(catalogs, name)
		}
	}
	for wanted := range l.slots {
		if !there[wanted.Catalog] && !wanted.Draft {
			l.forget(wanted)
		}
	}
}

// Follow begins to load the newest revisions of the catalogues that are in memory, and
// the catalogue to keep. A further call tries again what failed.
func (l *Library) Follow() {
	for name, e := range *l.catalogs.Load() {
		if e.behind.Load() || name == l.config.Keep && e.newest.Load() == nil {
			r := e.release.Load()
			if _, err := l.start(context.Background(), wantedOf(r), r.Identity); err != nil {
				l.config.Log.Error("a newer revision can't be loaded yet", "catalog", name, "error", err)
			}
		}
	}
}

// Published takes a revision that this instance has just made the newest of its
// catalogue, and waits until callers are answered from it.
func (l *Library) Published(ctx context.Context, r shop.Release) error {
	l.mu.Lock()
	if e, ok := (*l.catalogs.Load())[r.Catalog]; ok && e.release.Load().Owner == r.Owner {
		if *e.release.Load() != r {
			l.replace(e, &r)
		}
	} else {
		after := maps.Clone(*l.catalogs.Load())
		e := new(entry)
		e.release.Store(&r)
		after[r.Catalog] = e
		l.catalogs.Store(&after)
	}
	l.mu.Unlock()
	_, err := l.wait(ctx, wantedOf(&r), r.Identity)
	return err
}
