package httpapi

import (
	"context"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"midstroke/internal/shop"
	"midstroke/internal/wire"
)

// listCatalogs answers GET /v1/catalogs: the catalogues that a caller may name.
func (h *Handler) listCatalogs(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	limit := q.upTo("limit", mostPage, usualPage)
	asCSV := q.listFormat()
	q.errorsAsText()
	at, _ := q.cursor("catalogs", "")
	if err := q.close(); err != nil {
		return err
	}
	media, err := listMedia(c, asCSV)
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	items, err := h.catalogsOf(ctx, callerOf(c))
	if err != nil {
		return err
	}
	items = slices.DeleteFunc(items, func(one wire.Catalog) bool { return one.Name <= at.After })
	next := ""
	if len(items) > limit {
		items = items[:limit]
		next = cursor{List: "catalogs", Filter: q.filterSum(), After: items[limit-1].Name}.String()
		c.Response().Header().Set("Link", "<"+nextPage(c.Request(), q.values, next)+`>; rel="next"`)
	}
	var body []byte
	if media == typeCSV {
		body = wire.AppendCatalogsCSV(nil, items)
	} else {
		body = wire.AppendCatalogs(nil, items, next)
	}
	return send(c, representation{contentType: contentTypeOf(media), vary: varyAnswer, body: body})
}

// catalogsOf gives by name the catalogues that a caller may name: those of its
// shop, and the one that is open to all. What is published is known in memory. Only
// the database knows of drafts, which some keys may see.
func (h *Handler) catalogsOf(ctx context.Context, who caller) ([]wire.Catalog, error) {
	if err := h.waitForCatalogs(ctx); err != nil {
		return nil, err
	}
	byName := map[string]wire.Catalog{}
	add := func(r shop.Release) {
		byName[r.Catalog] = wire.Catalog{Name: r.Catalog, Revision: r.Revision, Counts: r.Counts}
	}
	if r, ok := h.library.Find(h.catalog); ok {
		add(r)
	}
	if who.key != nil {
		for _, r := range h.library.Of(who.key.ShopID) {
			add(r)
		}
	}
	if who.key != nil && who.use.Includes(shop.Server) {
		store, err := h.revisions()
		if err != nil {
			return nil, err
		}
		drafts, err := store.Drafts(shop.WithKey(ctx, who.key.Hash), who.key.ShopID)
		if err != nil {
			return nil, unreachableProblem(err)
		}
		for name, numbers := range drafts {
			one := byName[name]
			one.Name, one.Drafts = name, numbers
			byName[name] = one
		}
	}
	list := make([]wire.Catalog, 0, len(byName))
	for _, one := range byName {
		list = append(list, one)
	}
	slices.SortFunc(list, func(a, b wire.Catalog) int { return strings.Compare(a.Name, b.Name) })
	return list, nil
}
