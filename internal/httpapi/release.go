package httpapi

import (
	"fmt"
	"net/url"

	"github.com/labstack/echo/v4"

	"midstroke/internal/shop"
	"midstroke/internal/wire"
)

func (h *Handler) publishRevision(c echo.Context) error { return h.makeCurrent(c, shop.Publish) }

func (h *Handler) rollBack(c echo.Context) error { return h.makeCurrent(c, shop.RollBack) }

// makeCurrent makes a revision the one that is answered from, if it and what was
// current are still as the caller last saw them.
func (h *Handler) makeCurrent(c echo.Context, action shop.Action) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	in, number, err := revisionOf(c, "number")
	if err != nil {
		return err
	}
	ifMatch := c.Request().Header.Get("If-Match")
	if ifMatch == "" {
		return newProblem(preconditionMissing, ifMatchMissing)
	}
	store, err := h.revisions()
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	r, err := store.Release(ctx, in, number, action, keyName(c), func(now shop.Revision) error {
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

// changed is a problem where a revision isn't as a caller last saw it, with what it
// is now; nil where nothing changed.
func changed(ifMatch string, now *shop.Revision) *problem {
	body := wire.AppendRevision(nil, now)
	tag := entityTag(body)
	if match(ifMatch, tag) {
		return nil
	}
	p := newProblem(preconditionFailed, revisionChanged, count("revision", now.Number)).with("ETag", tag)
	p.revision = body
	return p
}

// agreed says what changed since a caller read a revision, if anything did.
func agreed(ifMatch string, action shop.Action, now *shop.Revision) error {
	p := changed(ifMatch, now)
	if p == nil {
		return nil
	}
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
