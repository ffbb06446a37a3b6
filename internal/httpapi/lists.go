package httpapi

import (
	"net/http"
	"net/url"
	"slices"
	"sort"
	"strings"

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

// partKind is one kind of part: its table, where a snapshot has its parts by
// code, and what writes them.
type partKind[T any] struct {
	table *catalog.Table[T]
	parts func(*catalog.Snapshot) []T
	write *wire.PartList[T]
}

// partRoutes adds the routes of one kind of part: its list, and one part by its
// code.
func partRoutes[T any](h *Handler, get func(path string, handle echo.HandlerFunc), kind partKind[T]) {
	path := "/v1/" + kind.table.Name
	get(path, func(c echo.Context) error { return listParts(h, c, kind) })
	get(path+"/:code", func(c echo.Context) error { return onePart(h, c, kind) })
}

// listParts answers one page of a list of parts.
func listParts[T any](h *Handler, c echo.Context, kind partKind[T]) error {
	r := c.Request()
	q, err := parseQuery(r.URL.RawQuery)
	if err != nil {
		return err
	}
	q.readUnits()
	passes := readFilter(q, kind.table)
	order, sorted := readOrder(q, kind.table)
	limit := q.upTo("limit", mostPage, usualPage)
	named := q.catalog()
	asCSV := q.listFormat()
	q.errorsAsText()
	at, paging := q.cursor(kind.table.Name, h.catalogName(callerOf(c), named))
	if err := q.close(); err != nil {
		return err
	}
	media, err := listMedia(c, asCSV)
	if err != nil {
		return err
	}
	now, err := h.hold(c, named)
	if err != nil {
		return err
	}

	// One more than the page has tells whether there is another page.
	var items []*T
	all := kind.parts(now.Snapshot)
	cost := 1
	if sorted || passes != nil {
		cost += len(all) / partsPerCost // each may have to be looked at
	}
	if passes == nil {
		passes = func(*T) bool { return true }
	}
	if err := h.inTurn(c, laneOf(cost), cost, func() error {
		switch {
		case !sorted:
			items = leadingByCode(kind.table, all, at.After, limit+1, passes)
		case paging:
			items = order.Leading(all, &catalog.Place{Code: at.After, Value: at.Value, Unknown: at.Unknown}, limit+1, passes)
		default:
			items = order.Leading(all, nil, limit+1, passes)
		}
		return nil
	}); err != nil {
		return err
	}
	page := wire.Page{Units: q.units, From: now.edition()}
	if len(items) > limit {
		items = items[:limit]
		next := cursor{
			List: kind.table.Name, Catalog: now.Snapshot.Name(), Revision: now.Snapshot.Revision(),
			Filter: q.filterSum(), After: *kind.table.Code(items[limit-1]),
		}
		if sorted {
			place := order.PlaceOf(items[limit-1])
			next.Value, next.Unknown = place.Value, place.Unknown
		}
		page.Next = next.String()
		c.Response().Header().Set("Link", "<"+nextPage(r, q.values, page.Next)+`>; rel="next"`)
	}
	s := h.scratch()
	defer h.release(s)
	if media == typeCSV {
		s.out = kind.write.AppendPageCSV(s.out, page, items)
	} else {
		s.out = kind.write.AppendPage(s.out, page, items)
	}
	return send(c, representation{contentType: contentTypeOf(media), vary: varyAnswer, body: s.out})
}

// partsPerCost is how many parts a filter looks at in about the time of one
// ordinary answer.
const partsPerCost = 50_000

// leadingByCode gives the first n of the parts that pass and stand behind a code.
// All stand in the order of their codes.
func leadingByCode[T any](table *catalog.Table[T], all []T, after string, n int, passes test[T]) []*T {
	var leading []*T
	start := sort.Search(len(all), func(i int) bool { return *table.Code(&all[i]) > after })
	for i := start; i < len(all) && len(leading) < n; i++ {
		if passes(&all[i]) {
			leading = append(leading, &all[i])
		}
	}
	return leading
}

// readOrder reads what a list is sorted by. sorted is false where it goes by code.
func readOrder[T any](q *query, table *catalog.Table[T]) (order catalog.Order[T], sorted bool) {
	by := q.text("sort")
	if by == "" {
		return order, false
	}
	order, sorted = table.Order(by)
	if !sorted {
		q.Fail("sort", notSortable, note.Word("text", by), note.Word("options", strings.Join(table.SortNames(), ", ")))
	}
	return order, sorted
}

// listFormat reads whether the query asks for CSV or JSON; "" where it leaves that
// to Accept.
func (q *query) listFormat() string {
	csv, given := form.Param(q.Query, "format", form.Either("json", "csv"))
	switch {
	case csv:
		return typeCSV
	case given:
		return typeJSON
	}
	return ""
}

// listMedia picks how a list is written: as the query says, else as Accept does.
func listMedia(c echo.Context, asked string) (string, error) {
	if asked != "" {
		return asked, nil
	}
	return accepted(c, typeCSV)
}

// onePart answers one part by its code.
func onePart[T any](h *Handler, c echo.Context, kind partKind[T]) error {
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
	all, code := kind.parts(now.Snapshot), pathText(c, "code")
	i, found := sort.Find(len(all), func(i int) int { return strings.Compare(code, *kind.table.Code(&all[i])) })
	if !found {
		return newProblem(notFound, noSuchPart, count("revision", now.Snapshot.Revision()), note.Word("catalog", now.Snapshot.Name()))
	}
	s := h.scratch()
	defer h.release(s)
	s.out = kind.write.AppendOne(s.out, wire.Page{Units: q.units, From: now.edition()}, &all[i])
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
		case "cursor", "limit", "format", "errors", "revision", "catalog", languageParameter:
			continue
		}
		rest[name] = slices.Sorted(slices.Values(values))
	}
	return filterSum(rest.Encode())
}
