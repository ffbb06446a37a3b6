package library

import (
	"context"
	"maps"

	"midstroke/internal/shop"
)

// Announce says which published catalogues there are, all of them, each with
// its newest revision. What is answered from already and has changed is loaded
// in the background; callers are answered from the revision before meanwhile.
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
		// It was loaded before it was published, or was gone back to.
		s.identity = r.Identity
		e.newest.Store(s)
		e.behind.Store(false)
	}
}

// drop takes out the catalogues that aren't there any more. l.mu is held.
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

// Follow begins to load what is answered from and has a newer revision, and the
// catalogue to keep. Called again it tries again what failed.
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

// Published says that a revision has just been made the newest of its
// catalogue, and waits until callers are answered from it. It is for the
// instance that published, so that it answers from what it wrote.
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
