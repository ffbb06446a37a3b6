package httpapi

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/url"
	"runtime/debug"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/form"
	"midstroke/internal/library"
	"midstroke/internal/note"
	"midstroke/internal/shop"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// Revisions are where a shop's revisions are kept. Every method answers
// catalog.ErrNotFound for what isn't there or is another shop's, and
// shop.ErrUnreachable where nobody can tell just now.
type Revisions interface {
	// Draft writes parts down as the next revision, whole or not at all. An
	// error of the parts comes back as it is.
	Draft(ctx context.Context, in shop.Place, parts shop.Parts, note, by string) (shop.Revision, error)
	Describe(ctx context.Context, in shop.Place, number int) (shop.Revision, error)
	// Revisions lists those with numbers below one, or all for 0, the last
	// first.
	Revisions(ctx context.Context, in shop.Place, below, limit int) ([]shop.Revision, error)
	// Drafts gives the catalogues of a shop by name, each with the numbers of its
	// drafts, the last first.
	Drafts(ctx context.Context, shopID int64) (map[string][]int, error)
	// Discard deletes a draft or a published revision that isn't the current one,
	// unless agree has an error, as for Release.
	Discard(ctx context.Context, in shop.Place, number int, agree func(shop.Revision) error) error
	// DraftOnce is Draft for a request whose answer is kept with the draft.
	DraftOnce(ctx context.Context, in shop.Place, parts shop.Parts, note, by string, once shop.Once) (shop.Revision, error)
	Repeats
	// Release makes a revision the one that is answered from, unless agree,
	// which sees it as it is at that moment, has an error. It gives a
	// *shop.ConflictError where the revision's state doesn't allow it.
	Release(ctx context.Context, in shop.Place, number int, action shop.Action, by string, agree func(shop.Revision) error) (shop.Revision, error)
}

// whose gives the catalogue of the path, among those of the caller's shop.
// What can't be a catalogue's name is none that is there.
func whose(c echo.Context) (shop.Place, error) {
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

// by is whom the record names.
func by(c echo.Context) string { return "key " + callerOf(c).key.Prefix }

// conflicts are the details of a revision's state.
var conflicts = [...]detail{
	shop.PublishedAlready: publishedAlready, shop.NotPublished: draftNotPublished, shop.CurrentAlready: currentAlready,
	shop.CurrentStays: currentStays,
}

// storeProblem makes a problem of an error of the store. number is the revision
// that was named, 0 where none was.
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
	return outOfReach(err)
}

func noCatalog(in shop.Place) *problem {
	return newProblem(notFound, noCatalogOfName, note.Word("catalog", shortened(in.Catalog)))
}

// askTime is how long what is looked up or changed in the database may take,
// where no file is read.
const askTime = 10 * time.Second

// patient bounds what a request waits for the store.
func patient(c echo.Context, most time.Duration) (context.Context, context.CancelFunc) {
	return context.WithTimeout(c.Request().Context(), most)
}

// fileFaults makes a problem of what is wrong with uploaded files.
func fileFaults(list *table.Faults) *problem {
	p := newProblem(invalidRequest, fileFault)
	if n := len(list.List) + list.More; n > 1 {
		p = newProblem(invalidRequest, manyFileFaults, count("count", n))
	}
	p.faults, p.unlisted = list.List, list.More
	return p
}

// postRevision answers POST /v1/catalogs/{name}/revisions: a file in, a draft
// out, or all that is wrong with it.
func (h *Handler) postRevision(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	remark := q.text("note")
	currency, _ := form.Param(q.Query, "currency", form.Checked(form.Text(1, mostText), catalog.IsCurrency, notACurrency))
	q.errorsAsText()
	if err := q.close(); err != nil {
		return err
	}
	key, err := idempotencyKey(c.Request().Header)
	if err != nil {
		return err
	}
	in, err := whose(c)
	if err != nil {
		return err
	}
	store, err := h.revisions()
	if err != nil {
		return err
	}
	// Before a large file is taken in for nothing.
	ctx, cancel := patient(c, uploadTime)
	defer cancel()
	if _, err := store.Revisions(ctx, in, 0, 1); err != nil {
		return storeProblem(err, in, 0)
	}
	file, err := receive(c, h.pace)
	if err != nil {
		return err
	}
	defer file.close()
	d := drafting{h, c, store, in, file, table.Stated{Currency: currency}, remark}
	if key != "" {
		return d.once(shop.NewClaim(in.Shop, key, file.print))
	}
	parts, err := file.parts(d.stated)
	if err != nil {
		return storeProblem(err, in, 0)
	}
	parts.Quota = h.quota
	r, err := store.Draft(ctx, in, parts, remark, by(c))
	if err != nil {
		return storeProblem(err, in, 0)
	}
	answer := draftAnswer(&r)
	return sendAnswer(c, &answer)
}

// drafting is an upload that has been received.
type drafting struct {
	h      *Handler
	c      echo.Context
	store  Revisions
	in     shop.Place
	file   *upload
	stated table.Stated
	remark string
}

// once makes the draft once, however often the request is sent. What is wrong with
// the file is kept as well.
func (d *drafting) once(claim shop.Claim) error {
	return d.h.once(d.c, d.store, claim, func(ctx context.Context) (shop.Answer, error) {
		parts, err := d.file.parts(d.stated)
		var faults *table.Faults
		if errors.As(err, &faults) {
			answer := d.h.problemAnswer(d.c, fileFaults(faults))
			return answer, d.store.Keep(ctx, claim, answer)
		}
		if err != nil {
			return shop.Answer{}, storeProblem(err, d.in, 0)
		}
		parts.Quota = d.h.quota
		r, err := d.store.DraftOnce(ctx, d.in, parts, d.remark, by(d.c), shop.Once{Claim: claim, Answer: draftAnswer})
		if err != nil {
			return shop.Answer{}, storeProblem(err, d.in, 0)
		}
		return draftAnswer(&r), nil
	})
}

// draftAnswer is the answer to an upload that became a draft.
func draftAnswer(r *shop.Revision) shop.Answer {
	body := wire.AppendRevision(nil, r)
	return shop.Answer{Status: http.StatusCreated, Body: body, Header: map[string]string{
		"Cache-Control": cachePrivate, "Content-Type": typeJSON, "ETag": entityTag(body), "Vary": varyAnswer,
		"Location": fmt.Sprintf("/v1/catalogs/%s/revisions/%d", url.PathEscape(r.Catalog), r.Number),
	}}
}

// revisions gives the store, while there is one to be had.
func (h *Handler) revisions() (Revisions, error) {
	if h.store != nil {
		if store := h.store(); store != nil {
			return store, nil
		}
	}
	return nil, outOfReach(shop.ErrUnreachable)
}

// listRevisions answers GET /v1/catalogs/{name}/revisions.
func (h *Handler) listRevisions(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	limit := q.upTo("limit", mostPage, usualPage)
	q.errorsAsText()
	in, err := whose(c)
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
	ctx, cancel := patient(c, askTime)
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
	number, err := pathNumber(c, "number")
	if err != nil {
		return err
	}
	in, err := whose(c)
	if err != nil {
		return err
	}
	store, err := h.revisions()
	if err != nil {
		return err
	}
	ctx, cancel := patient(c, askTime)
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
	number, err := pathNumber(c, "number")
	if err != nil {
		return err
	}
	in, err := whose(c)
	if err != nil {
		return err
	}
	store, err := h.revisions()
	if err != nil {
		return err
	}
	takeTime(c)
	ctx, cancel := patient(c, loadTime)
	defer cancel()
	ifMatch := c.Request().Header.Get("If-Match")
	err = store.Discard(ctx, in, number, func(now shop.Revision) error {
		body := wire.AppendRevision(nil, &now)
		if tag := entityTag(body); ifMatch != "" && !match(ifMatch, tag) {
			p := newProblem(preconditionFailed, revisionChanged, count("revision", now.Number)).with("ETag", tag)
			p.revision = body
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

func (h *Handler) publishRevision(c echo.Context) error { return h.makeCurrent(c, shop.Publish) }

func (h *Handler) rollBack(c echo.Context) error { return h.makeCurrent(c, shop.RollBack) }

// makeCurrent makes a revision the one that is answered from, if it and what was
// current are still as the caller last saw them.
func (h *Handler) makeCurrent(c echo.Context, action shop.Action) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	number, err := pathNumber(c, "number")
	if err != nil {
		return err
	}
	ifMatch := c.Request().Header.Get("If-Match")
	if ifMatch == "" {
		return newProblem(preconditionMissing, ifMatchMissing)
	}
	in, err := whose(c)
	if err != nil {
		return err
	}
	store, err := h.revisions()
	if err != nil {
		return err
	}
	ctx, cancel := patient(c, askTime)
	defer cancel()
	r, err := store.Release(ctx, in, number, action, by(c), func(now shop.Revision) error {
		return agreed(ifMatch, action, &now)
	})
	if err != nil {
		return storeProblem(err, in, number)
	}
	// From here on this instance answers from it. Where it can't be loaded in
	// time it was published all the same.
	if err := h.library.Published(ctx, r.Release(in.Shop)); err != nil {
		h.log.Warn("what was just published isn't loaded yet", "catalog", in.Catalog, "revision", number, "error", err)
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: wire.AppendRevision(nil, &r)})
}

// agreed says what changed since a caller read a revision, if anything did.
func agreed(ifMatch string, action shop.Action, now *shop.Revision) error {
	body := wire.AppendRevision(nil, now)
	tag := entityTag(body)
	if match(ifMatch, tag) {
		return nil
	}
	p := newProblem(preconditionFailed, revisionChanged, count("revision", now.Number)).with("ETag", tag)
	p.revision = body
	switch {
	case action != shop.Publish || now.Published || now.Current == now.BasedOn:
		// What a revision was once drafted on has nothing to do with it.
	case now.BasedOn == 0:
		p.detail = currentSinceDraft
		p.values = append(p.values, count("current", now.Current))
	default:
		p.changes = fmt.Sprintf("/v1/catalogs/%s/revisions/%d/changes/%d?units=mm", url.PathEscape(now.Catalog), now.BasedOn, now.Current)
		p.detail = otherCurrentSinceDraft
		p.values = append(p.values, count("current", now.Current), count("based_on", now.BasedOn))
	}
	return p
}

// getChanges answers GET …/revisions/{number}/changes/{other}.
func (h *Handler) getChanges(c echo.Context) error { return h.changes(c, nil) }

// postChanges is the same with sample requests in the body.
func (h *Handler) postChanges(c echo.Context) error {
	s := h.scratch()
	defer h.release(s)
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	samples, err := wire.ReadSamples(s.in.Bytes())
	if err != nil {
		return err
	}
	return h.changes(c, samples)
}

func (h *Handler) changes(c echo.Context, samples []wire.FitsRequest) error {
	units, err := unitsAlone(c)
	if err != nil {
		return err
	}
	takeTime(c)
	var body []byte
	if err := h.inTurn(c, pairs, 1, func() error {
		before, err := h.drafted(c, "number")
		if err != nil {
			return err
		}
		after, err := h.drafted(c, "other")
		if err != nil {
			return err
		}
		body, err = wire.AppendChanges(nil, before, after, units, samples)
		return err
	}); err != nil {
		return err
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: body})
}

// unitsAlone reads a query that has units and nothing else.
func unitsAlone(c echo.Context) (unit.System, error) {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return unit.Unset, err
	}
	q.readUnits()
	q.errorsAsText()
	return q.units, q.close()
}

// drafted gives the revision whose number stands in the path.
func (h *Handler) drafted(c echo.Context, name string) (*catalog.Snapshot, error) {
	number, err := pathNumber(c, name)
	if err != nil {
		return nil, err
	}
	in, err := whose(c)
	if err != nil {
		return nil, err
	}
	takeTime(c)
	ctx, cancel := patient(c, loadTime)
	defer cancel()
	if err := h.stillThere(ctx, in, number); err != nil {
		return nil, storeProblem(err, in, number)
	}
	found, err := h.library.Revision(ctx, library.Wanted{Place: in, Revision: number, Draft: true})
	if err != nil {
		return nil, storeProblem(err, in, number)
	}
	return found.Snapshot, nil
}

// stillThere says whether a revision that may be in memory was deleted meanwhile. A
// draft counts as used by it. While the database is out of reach nobody can tell.
func (h *Handler) stillThere(ctx context.Context, in shop.Place, number int) error {
	store, err := h.revisions()
	if err != nil {
		return nil //nolint:nilerr // what is in memory is answered
	}
	ctx, cancel := context.WithTimeout(ctx, thereTime)
	defer cancel()
	if _, err := store.Describe(ctx, in, number); errors.Is(err, catalog.ErrNotFound) {
		h.library.Forget(library.Wanted{Place: in, Revision: number, Draft: true})
		return err
	}
	return nil
}

// thereTime is how long the database is asked for that.
const thereTime = 2 * time.Second

// loadTime is how long a request waits for a revision that is named by number.
const loadTime = time.Minute

// exports are the forms that a revision is to be had in, by media type.
var exports = map[string]struct {
	format table.Format
	ending string
}{
	typeZip:      {table.CSV, "zip"},
	typeWorkbook: {table.XLSX, "xlsx"},
	typeNDJSON:   {table.NDJSON, "ndjson"},
}

// exportRevision answers GET …/revisions/{number}/export: a file that can be
// uploaded again and then comes out as the same bytes. Its form is what the
// query says, for a link, else what Accept does.
func (h *Handler) exportRevision(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	q.readUnits()
	media := negotiate(c.Request().Header.Get("Accept"), typeZip, typeWorkbook, typeNDJSON)
	if form, ok := choice(q, "format", []string{"zip", "xlsx", "ndjson"}, exportByEnding); ok {
		media = form
	}
	q.errorsAsText()
	if err := q.close(); err != nil {
		return err
	}
	if media == "" {
		return newProblem(notAcceptable, mediaTypes, note.Word("types", strings.Join([]string{typeZip, typeWorkbook, typeNDJSON}, ", ")))
	}
	snapshot, err := h.drafted(c, "number")
	if err != nil {
		return err
	}
	name := strings.Map(func(r rune) rune {
		if r > ' ' && r < 0x7F && !strings.ContainsRune(`"\/%;`, r) {
			return r
		}
		return '_'
	}, snapshot.Name())
	c.Response().Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s-%d.%s"`, name, snapshot.Revision(), exports[media].ending))
	tag, err := h.exportTag(c, media, q.units)
	if err != nil {
		return err
	}
	return h.inTurn(c, files, 1, func() error {
		return sendStream(c, media, tag, func(w io.Writer) error {
			return table.Write(w, exports[media].format, catalog.Contents{
				Currency: snapshot.Currency(), Limits: snapshot.Limits(),
				Dampers: snapshot.Dampers(), Sleeves: snapshot.Sleeves(), Spacers: snapshot.Spacers(), Adapters: snapshot.Adapters(),
			}, q.units)
		})
	})
}

// exportTag gives the entity tag of an export, "" while the database can't tell
// which revision has the number. A revision never changes, so the tag is that of
// its identity and of what else the file depends on.
func (h *Handler) exportTag(c echo.Context, media string, units unit.System) (string, error) {
	number, err := pathNumber(c, "number")
	if err != nil {
		return "", err
	}
	in, err := whose(c)
	if err != nil {
		return "", err
	}
	store, err := h.revisions()
	if err != nil {
		return "", nil //nolint:nilerr // the file itself is at hand
	}
	ctx, cancel := patient(c, askTime)
	defer cancel()
	r, err := store.Describe(ctx, in, number)
	if err != nil {
		err = storeProblem(err, in, number)
		var p *problem
		if errors.As(err, &p) && p.kind == outOfOrder {
			return "", nil
		}
		return "", err
	}
	return entityTag([]byte(strings.Join([]string{r.Identity, media, units.String(), buildID()}, " "))), nil
}

// buildID tells one build of the program from another, whose files may differ.
var buildID = sync.OnceValue(func() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	id := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" || s.Key == "vcs.time" {
			id += " " + s.Value
		}
	}
	return id
})

// exportByEnding gives the media type of a file's ending.
func exportByEnding(ending string) (media string, ok bool) {
	for media, e := range exports {
		if e.ending == ending {
			return media, true
		}
	}
	return "", false
}
