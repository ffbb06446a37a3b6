package httpapi

import (
	"math"

	"midstroke/internal/catalog"
	"midstroke/internal/wire"
)

// named is what a request says of the catalogue that it wants to be answered
// from, with the place where it says so.
type named struct {
	catalog  string // "" for the caller's own
	revision int    // 0 for the newest
	where    place
}

// held is the snapshot that one whole answer is made from.
type held struct {
	snapshot *catalog.Snapshot
	stale    bool
}

// catalog reads the two parameters by which any request may name a catalogue
// and its revision.
func (q *query) catalog() named {
	return named{
		catalog:  q.text("catalog"),
		revision: q.whole("revision", 1, math.MaxInt32, 0),
		where:    inQuery,
	}
}

// hold takes the newest snapshot for an answer, once, or says why there is
// none that the request may have.
func (h *Handler) hold(n named) (held, error) {
	if n.catalog != "" && n.catalog != h.catalog {
		p := newProblem(keyNeeded, "Without a key only the catalogue %q can be named", h.catalog)
		p.at(n.where, "catalog", "key_needed")
		return held{}, p.with("WWW-Authenticate", `Bearer realm="midstroke"`)
	}
	// Stale is read first: a snapshot swapped in between is then called stale
	// for one answer, never the other way round.
	stale := h.live.Stale()
	snapshot := h.live.Load()
	if snapshot == nil {
		return held{}, h.noSnapshot()
	}
	if n.revision != 0 && n.revision != snapshot.Revision() {
		p := newProblem(notFound, "Revision %d of %q is not held here; the newest is %d", n.revision, h.catalog, snapshot.Revision())
		p.at(n.where, "revision", "revision_not_held")
		return held{}, p
	}
	return held{snapshot, stale}, nil
}

// edition says in an answer what it was made from.
func (h held) edition() wire.Edition {
	return wire.Edition{Name: h.snapshot.Name(), Revision: h.snapshot.Revision(), Stale: h.stale, Currency: h.snapshot.Currency()}
}
