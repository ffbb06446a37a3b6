package httpapi

import (
	"context"
	"errors"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/library"
	"midstroke/internal/note"
	"midstroke/internal/shop"
	"midstroke/internal/table"
	"midstroke/internal/wire"
)

// Revisions stores the revisions of shops. Every method answers catalog.ErrNotFound
// for what doesn't exist or belongs to another shop, and shop.ErrUnreachable while the
// database can't be reached.
type Revisions interface {
	// Draft writes parts down as the next revision, whole or not at all. For a request
	// that is carried out once, the answer is kept with the draft; once is nil for any
	// other. An error of the parts comes back as it is.
	Draft(ctx context.Context, in shop.Place, parts shop.Parts, note, by string, once *shop.Once) (shop.Revision, error)
	Describe(ctx context.Context, in shop.Place, number int) (shop.Revision, error)
	// Compare tells what changed from one revision to another.
	Compare(ctx context.Context, in shop.Place, from, to int) (*catalog.Changes, error)
	// Revisions lists those with numbers below one, or all for 0, the last
	// first.
	Revisions(ctx context.Context, in shop.Place, below, limit int) ([]shop.Revision, error)
	// Drafts gives the catalogues of a shop by name, each with the numbers of its
	// drafts, the last first.
	Drafts(ctx context.Context, shopID int64) (map[string][]int, error)
	// Discard deletes a draft or a published revision that isn't the current one,
	// unless agree has an error, as for Release.
	Discard(ctx context.Context, in shop.Place, number int, agree func(shop.Revision) error) error
	Repeats
	// Release makes a revision the one that is answered from, unless agree,
	// which sees it as it is at that moment, has an error. It gives a
	// *shop.ConflictError where the revision's state doesn't allow it.
	Release(ctx context.Context, in shop.Place, number int, action shop.Action, by string, agree func(shop.Revision) error) (shop.Revision, error)
}

// catalogOfPath gives the catalogue that the path names, of the caller's shop. A text
// that can't be a name is answered as a catalogue that doesn't exist.
func catalogOfPath(c echo.Context) (shop.Place, error) {
	in := shop.Place{Shop: callerOf(c).key.ShopID, Catalog: pathText(c, "name")}
	if !shop.IsName(in.Catalog) {
		return in, noCatalog(in)
	}
	return in, nil
}

// pathText gives a segment of the path. The router leaves it escaped only in a path
// that the standard way of escaping wouldn't give.
func pathText(c echo.Context, name string) string {
	if c.Request().URL.RawPath == "" {
		return c.Param(name)
	}
	text, err := url.PathUnescape(c.Param(name))
	if err != nil {
		return c.Param(name)
	}
	return text
}

// pathNumber gives a segment that is a revision's number.
func pathNumber(c echo.Context, name string) (int, error) {
	n, err := strconv.Atoi(c.Param(name))
	if err != nil || n < 1 || n > math.MaxInt32 {
		return 0, newProblem(notFound, noSuchNumber, note.Word("given", shortened(pathText(c, name))))
	}
	return n, nil
}

// revisionOf gives the revision that a segment of the path names, in the catalogue of
// the path.
func revisionOf(c echo.Context, segment string) (in shop.Place, number int, err error) {
	if number, err = pathNumber(c, segment); err != nil {
		return in, 0, err
	}
	in, err = catalogOfPath(c)
	return in, number, err
}

// keyName is the name of the caller in the history of a revision.
func keyName(c echo.Context) string { return "key " + callerOf(c).key.Prefix }

// conflicts are the details of a revision's state.
var conflicts = [...]detail{
	shop.PublishedAlready: publishedAlready, shop.NotPublished: draftNotPublished, shop.CurrentAlready: currentAlready,
	shop.CurrentStays: currentStays,
}

// storeProblem turns an error of the store into a problem. number is the revision in
// the path, 0 if there is none.
func storeProblem(err error, in shop.Place, number int) error {
	var conflict *shop.ConflictError
	var faults *table.Faults
	var quota *shop.QuotaError
	switch {
	case errors.As(err, &quota):
		d := quotaOfRevisions
		if quota.Of == shop.QuotaOfParts {
			d = quotaOfParts
		}
		return newProblem(quotaReached, d, count("stored", quota.Stored), count("most", quota.Most))
	case errors.Is(err, catalog.ErrNotFound) && number == 0:
		return noCatalog(in)
	case errors.Is(err, catalog.ErrNotFound):
		return newProblem(notFound, noRevisionOfCatalog, note.Word("catalog", shortened(in.Catalog)), count("revision", number))
	case errors.As(err, &conflict):
		return newProblem(wrongState, conflicts[conflict.Reason], count("revision", conflict.Revision))
	case errors.As(err, &faults):
		return fileFaults(faults)
	case errors.Is(err, shop.ErrKeyEnded):
		return badKey(keyRevoked)
	}
	return unreachableProblem(err)
}

func noCatalog(in shop.Place) *problem {
	return newProblem(notFound, noCatalogOfName, note.Word("catalog", shortened(in.Catalog)))
}

// queryTime is how long a query or a change in the database may take if no file is
// read.
const queryTime = 10 * time.Second

// withTimeout gives the context of a request that waits for the store at most so long.
func withTimeout(c echo.Context, most time.Duration) (context.Context, context.CancelFunc) {
	return context.WithTimeout(c.Request().Context(), most)
}

// revisions gives the store, or a problem while the database can't be reached.
func (h *Handler) revisions() (Revisions, error) {
	if h.store != nil {
		if store := h.store(); store != nil {
			return store, nil
		}
	}
	return nil, unreachableProblem(shop.ErrUnreachable)
}

// listRevisions answers GET /v1/catalogs/{name}/revisions.
func (h *Handler) listRevisions(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	limit := q.upTo("limit", mostPage, usualPage)
	q.errorsAsText()
	in, err := catalogOfPath(c)
	if err != nil {
		return err
	}
	at, paging := q.cursor("revisions", in.Catalog)
	below := 0
	if paging {
		if below, err = strconv.Atoi(at.After); err != nil {
			q.Fail("cursor", badCursor)
		}
	}
	if err := q.close(); err != nil {
		return err
	}
	store, err := h.revisions()
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	list, err := store.Revisions(ctx, in, below, limit+1)
	if err != nil {
		return storeProblem(err, in, 0)
	}
	next := ""
	if len(list) > limit {
		list = list[:limit]
		next = cursor{List: "revisions", Catalog: in.Catalog, Filter: q.filterSum(), After: strconv.Itoa(list[limit-1].Number)}.String()
		c.Response().Header().Set("Link", "<"+nextPage(c.Request(), q.values, next)+`>; rel="next"`)
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: wire.AppendRevisions(nil, in.Catalog, list, next)})
}

// oneRevision answers GET /v1/catalogs/{name}/revisions/{number}.
func (h *Handler) oneRevision(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	in, number, err := revisionOf(c, "number")
	if err != nil {
		return err
	}
	store, err := h.revisions()
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	r, err := store.Describe(ctx, in, number)
	if err != nil {
		return storeProblem(err, in, number)
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: wire.AppendRevision(nil, &r)})
}

// discardRevision answers DELETE …/revisions/{number}. If-Match may be sent.
func (h *Handler) discardRevision(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	in, number, err := revisionOf(c, "number")
	if err != nil {
		return err
	}
	store, err := h.revisions()
	if err != nil {
		return err
	}
	takeTime(c)
	ctx, cancel := withTimeout(c, loadTime)
	defer cancel()
	ifMatch := c.Request().Header.Get("If-Match")
	err = store.Discard(ctx, in, number, func(now shop.Revision) error {
		if p := changed(ifMatch, &now); ifMatch != "" && p != nil {
			return p
		}
		return nil
	})
	if err != nil {
		return storeProblem(err, in, number)
	}
	for _, draft := range []bool{true, false} {
		h.library.Forget(library.Wanted{Place: in, Revision: number, Draft: draft})
	}
	return c.NoContent(http.StatusNoContent)
}

// loadTime is how long a request waits for a revision that is named by number.
const loadTime = time.Minute

// drafted gives the revision that a segment of the path names, published or not, and
// its identity, "" while the database can't tell.
func (h *Handler) drafted(c echo.Context, segment string) (snapshot *catalog.Snapshot, identity string, err error) {
	in, number, err := revisionOf(c, segment)
	if err != nil {
		return nil, "", err
	}
	takeTime(c)
	ctx, cancel := withTimeout(c, loadTime)
	defer cancel()
	if identity, err = h.identityOf(ctx, in, number); err != nil {
		return nil, "", storeProblem(err, in, number)
	}
	found, err := h.library.Revision(ctx, library.Wanted{Place: in, Revision: number, Draft: true})
	if err != nil {
		return nil, "", storeProblem(err, in, number)
	}
	return found.Snapshot, identity, nil
}

// identityOf asks the database which revision has a number, since the one in memory
// may have been deleted. For a draft this counts as a use. It gives "" while the
// database can't be reached; callers are then answered from memory.
func (h *Handler) identityOf(ctx context.Context, in shop.Place, number int) (string, error) {
	store, err := h.revisions()
	if err != nil {
		return "", nil //nolint:nilerr // see above
	}
	ctx, cancel := context.WithTimeout(ctx, identityTime)
	defer cancel()
	r, err := store.Describe(ctx, in, number)
	switch {
	case errors.Is(err, catalog.ErrNotFound):
		h.library.Forget(library.Wanted{Place: in, Revision: number, Draft: true})
	case errors.Is(err, shop.ErrUnreachable), errors.Is(err, context.DeadlineExceeded):
		return "", nil
	}
	return r.Identity, err
}

// identityTime is how long identityOf waits for the database.
const identityTime = 2 * time.Second
