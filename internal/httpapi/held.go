package httpapi

import (
	"context"
	"errors"
	"math"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/form"
	"midstroke/internal/library"
	"midstroke/internal/note"
	"midstroke/internal/shop"
	"midstroke/internal/wire"
)

// named is what a request says of the catalogue that it wants to be answered
// from, with the place where it says so.
type named struct {
	catalog  string // "" for the caller's own
	revision int    // 0 for the newest
	where    place
	// under is what stands before the names of the two fields in a body of several
	// requests.
	under string
}

// catalog reads the two parameters by which any request may name a catalogue
// and its revision.
func (q *query) catalog() named {
	catalogName, _ := form.Param(q.Query, "catalog", form.Checked(form.Text(1, shop.MostName), shop.IsName, notAName))
	return named{
		catalog:  catalogName,
		revision: q.upTo("revision", math.MaxInt32, 0),
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

// ownedCatalog gives the name and the owner of the catalogue that a caller asks for.
// A catalogue of another shop is answered as one that doesn't exist.
func (h *Handler) ownedCatalog(c echo.Context, n named) (name string, owner int64, err error) {
	who := callerOf(c)
	name = h.catalogName(who, n)
	if name != h.catalog && who.key == nil {
		p := problemAt(keyNeeded, n.where, n.under+"catalog", keyNeededFor, note.Word("open", h.catalog))
		return name, 0, p.with("WWW-Authenticate", challenge)
	}
	if err := h.waitForCatalogs(c.Request().Context()); err != nil {
		return name, 0, err
	}
	r, ok := h.library.Find(name)
	if ok && (name == h.catalog || r.Owner == who.key.ShopID) {
		return name, r.Owner, nil
	}
	if name == h.catalog {
		return name, 0, h.noSnapshot() // it is made at the first start
	}
	called := note.Word("catalog", shortened(name))
	if n.catalog == "" {
		return name, 0, newProblem(notFound, nothingPublished, called)
	}
	return name, 0, problemAt(notFound, n.where, n.under+"catalog", noSuchCatalog, called)
}

// waitForCatalogs waits until the list of catalogues has been loaded, which takes a
// moment after a start.
func (h *Handler) waitForCatalogs(ctx context.Context) error {
	select {
	case <-h.library.Known():
		return nil
	default:
	}
	ctx, cancel := context.WithTimeout(ctx, h.startWait)
	defer cancel()
	select {
	case <-h.library.Known():
		return nil
	case <-ctx.Done():
		return h.noSnapshot()
	}
}

// snapshotWait is how long a request waits for a snapshot that isn't loaded yet.
const snapshotWait = 30 * time.Second

// hold takes one snapshot for an answer, once, or says why there is none that
// the request may have. The first requests for a catalogue wait until it is
// loaded.
func (h *Handler) hold(c echo.Context, n named) (held, error) {
	name, owner, err := h.ownedCatalog(c, n)
	if err != nil {
		return held{}, err
	}
	if n.revision == 0 {
		if found, ok := h.library.Loaded(name); ok {
			return held(found), nil
		}
	}
	takeTime(c)
	ctx, cancel := withTimeout(c, snapshotWait)
	defer cancel()
	var found library.Held
	if n.revision == 0 {
		found, err = h.library.Newest(ctx, name)
	} else {
		found, err = h.library.Revision(ctx, library.Wanted{Place: shop.Place{Shop: owner, Catalog: name}, Revision: n.revision})
	}
	switch {
	case errors.Is(err, catalog.ErrNotFound) && n.revision != 0:
		newest, _ := h.library.Find(name)
		return held{}, problemAt(notFound, n.where, n.under+"revision", noSuchRevision,
			count("revision", n.revision), note.Word("catalog", name), count("current", newest.Revision))
	case err != nil:
		return held{}, unreachableProblem(err)
	}
	return held(found), nil
}

// held is the snapshot that one whole answer is made from.
type held library.Held

// unreachableProblem turns an error of the database into a problem: the database
// doesn't answer, has too much to do, or its disk is full. Any other error is a fault
// of the service itself and is returned unchanged.
func unreachableProblem(err error) error {
	if errors.Is(err, shop.ErrFull) {
		p := newProblem(outOfOrder, databaseFull).with("Retry-After", "60")
		p.cause = err
		return p
	}
	if !errors.Is(err, shop.ErrUnreachable) && !errors.Is(err, context.DeadlineExceeded) && !errors.Is(err, library.ErrBusy) {
		return err
	}
	p := newProblem(outOfOrder, databaseAway).with("Retry-After", "5")
	p.cause = err
	return p
}

// edition says in an answer what it was made from.
func (h held) edition() wire.Edition {
	e := wire.EditionOf(h.Snapshot)
	e.Stale = h.Stale
	return e
}
