package httpapi

import (
	"net/http"
	"net/url"
	"slices"
	"sort"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/form"
	"midstroke/internal/note"
	"midstroke/internal/wire"
)

// The sizes of a page.
const (
	usualPage = 100
	mostPage  = 500
)

func (h *Handler) listDampers(c echo.Context) error {
	return list(h, c, catalog.DamperTable(), (*catalog.Snapshot).Dampers, wire.AppendDampers)
}

func (h *Handler) listSleeves(c echo.Context) error {
	return list(h, c, catalog.SleeveTable(), (*catalog.Snapshot).Sleeves, wire.AppendSleeves)
}

func (h *Handler) listSpacers(c echo.Context) error {
	return list(h, c, catalog.SpacerTable(), (*catalog.Snapshot).Spacers, wire.AppendSpacers)
}

func (h *Handler) listAdapters(c echo.Context) error {
	return list(h, c, catalog.AdapterTable(), (*catalog.Snapshot).Adapters, wire.AppendAdapters)
}

// list answers one page of a list of parts by code.
func list[T any](
	h *Handler, c echo.Context, kind *catalog.Table[T], from func(*catalog.Snapshot) []T, write func([]byte, wire.Page, []*T) []byte,
) error {
	r := c.Request()
	q, err := parseQuery(r.URL.RawQuery)
	if err != nil {
		return err
	}
	q.readUnits()
	passes := readFilter(q, kind)
	limit := q.whole("limit", 1, mostPage, usualPage)
	named := q.catalog()
	q.errorsAsText()
	at, paging := q.cursor(kind.Name, h.catalogName(callerOf(c), named))
	if err := q.close(); err != nil {
		return err
	}
	if _, err := accepted(c); err != nil {
		return err
	}
	now, err := h.hold(c, named)
	if err != nil {
		return err
	}

	all := from(now.Snapshot)
	start := 0
	if paging {
		start = sort.Search(len(all), func(i int) bool { return *kind.Code(&all[i]) > at.After })
	}
	page := wire.Page{Units: q.units, From: now.edition()}
	var items []*T
	for i := start; i < len(all); i++ {
		if !passes(&all[i]) {
			continue
		}
		if len(items) == limit {
			page.Next = cursor{
				List: kind.Name, Catalog: now.Snapshot.Name(), Revision: now.Snapshot.Revision(),
				Filter: q.filterSum(), After: *kind.Code(items[limit-1]),
			}.String()
			break
		}
		items = append(items, &all[i])
	}

	if page.Next != "" {
		c.Response().Header().Set("Link", "<"+nextPage(r, q.values, page.Next)+`>; rel="next"`)
	}
	s := h.scratch()
	defer h.release(s)
	s.out = write(s.out, page, items)
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: s.out})
}

// oneDamper answers GET and HEAD of /v1/dampers/{code}.
func (h *Handler) oneDamper(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	q.readUnits()
	named := q.catalog()
	q.errorsAsText()
	if err := q.close(); err != nil {
		return err
	}
	if _, err := accepted(c); err != nil {
		return err
	}
	now, err := h.hold(c, named)
	if err != nil {
		return err
	}
	// The router gives the segment as it was sent where it was escaped.
	code, err := url.PathUnescape(c.Param("code"))
	if err != nil {
		code = c.Param("code")
	}
	damper, ok := now.Snapshot.Damper(code)
	if !ok {
		return newProblem(notFound, noSuchPart, count("revision", now.Snapshot.Revision()), note.Word("catalog", now.Snapshot.Name()))
	}
	s := h.scratch()
	defer h.release(s)
	s.out = wire.AppendDamper(s.out, wire.Page{Units: q.units, From: now.edition()}, damper)
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: s.out})
}

// nextPage gives the address of the next page (RFC 8288).
func nextPage(r *http.Request, values url.Values, next string) string {
	values.Set("cursor", next)
	return r.URL.EscapedPath() + "?" + values.Encode()
}

// cursorText is long enough for the code of any part.
var cursorText = form.Text(1, 4096)

// cursor reads the place to go on from, which must be of this list and of the
// same filters.
func (q *query) cursor(list, catalog string) (cursor, bool) {
	text, given := form.Param(q.Query, "cursor", cursorText)
	if !given {
		return cursor{}, false
	}
	at, err := parseCursor(text)
	switch {
	case err != nil:
		q.Fail("cursor", badCursor)
	case at.List != list || at.Catalog != catalog || at.Filter != q.filterSum():
		q.Fail("cursor", foreignCursor)
	default:
		return at, true
	}
	return cursor{}, false
}

// filterSum tells what is listed by everything in the query that decides it,
// whatever the order.
func (q *query) filterSum() string {
	rest := url.Values{}
	for name, values := range q.values {
		switch name {
		case "cursor", "limit", "errors", "revision", "catalog", languageParameter:
			continue
		}
		rest[name] = slices.Sorted(slices.Values(values))
	}
	return filterSum(rest.Encode())
}
