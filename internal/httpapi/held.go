package httpapi

import (
	"context"
	"errors"
	"math"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
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
	catalogName, given := q.one("catalog")
	if given && !shop.IsName(catalogName) {
		q.fail("catalog", "not_a_name", "must be a name of 1 to 64 characters that can be printed, without blanks around it")
		catalogName = ""
	}
	return named{
		catalog:  catalogName,
		revision: q.whole("revision", 1, math.MaxInt32, 0),
		where:    inQuery,
	}
}

// catalogName gives the name of the catalogue that a caller means.
func (h *Handler) catalogName(who caller, n named) string {
	switch {
	case n.catalog != "":
		return n.catalog
	case who.key != nil:
		return who.key.Catalog
	}
	return h.catalog
}

// work finds the catalogue that a caller means, where it may have it. One of
// another shop is as if it weren't there.
func (h *Handler) work(who caller, n named) (work catalog.Work, name string, err error) {
	name = h.catalogName(who, n)
	if name == h.catalog {
		work.Live = h.live
		if w := h.library.Find(name); w != nil {
			work.Owner = w.Owner
		}
		return work, name, nil
	}
	if who.key == nil {
		p := newProblem(keyNeeded, "Without a key only the catalogue %q can be named", h.catalog)
		p.at(n.where, "catalog", "key_needed")
		return work, name, p.with("WWW-Authenticate", challenge)
	}
	if w := h.library.Find(name); w != nil && w.Owner == who.key.ShopID {
		return *w, name, nil
	}
	if !h.library.Complete() {
		return work, name, h.noSnapshot()
	}
	p := newProblem(notFound, "Among the catalogues of this key there is none called %q in which a revision is published", shortened(name))
	if n.catalog != "" {
		p.at(n.where, "catalog", "no_such_catalog")
	}
	return work, name, p
}

// hold takes one snapshot for an answer, once, or says why there is none that
// the request may have.
func (h *Handler) hold(c echo.Context, n named) (held, error) {
	work, name, err := h.work(callerOf(c), n)
	if err != nil {
		return held{}, err
	}
	// Stale is read first: a snapshot swapped in between is then called stale
	// for one answer, never the other way round.
	stale := work.Stale()
	snapshot := work.Load()
	if snapshot == nil {
		return held{}, h.noSnapshot()
	}
	if n.revision == 0 || n.revision == snapshot.Revision() {
		return held{snapshot, stale}, nil
	}
	older, err := h.archive.get(c.Request().Context(), work.Owner, name, n.revision)
	if errors.Is(err, catalog.ErrNotFound) {
		p := newProblem(notFound, "There is no published revision %d of %q; revision %d is answered from", n.revision, name, snapshot.Revision())
		p.at(n.where, "revision", "no_such_revision")
		return held{}, p
	}
	if err != nil {
		return held{}, outOfReach(err)
	}
	return held{older, stale}, nil
}

// outOfReach makes a problem of an error of what only the database knows: out
// of order while that doesn't answer, or has too much to do. Any other error
// is one of ours, and stays what it is.
func outOfReach(err error) error {
	if !errors.Is(err, shop.ErrUnreachable) && !errors.Is(err, context.DeadlineExceeded) && !errors.Is(err, errBusy) {
		return err
	}
	p := newProblem(outOfOrder, "What this needs can't be had from the database just now; ask again in a moment").with("Retry-After", "5")
	p.cause = err
	return p
}

// edition says in an answer what it was made from.
func (h held) edition() wire.Edition {
	return wire.Edition{Name: h.snapshot.Name(), Revision: h.snapshot.Revision(), Stale: h.stale, Currency: h.snapshot.Currency()}
}
