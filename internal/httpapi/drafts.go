package httpapi

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/form"
	"midstroke/internal/shop"
	"midstroke/internal/table"
	"midstroke/internal/wire"
)

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
	in, err := catalogOfPath(c)
	if err != nil {
		return err
	}
	store, err := h.revisions()
	if err != nil {
		return err
	}
	// Before a large file is taken in for nothing.
	ctx, cancel := withTimeout(c, uploadTime)
	defer cancel()
	if _, err := store.Revisions(ctx, in, 0, 1); err != nil {
		return storeProblem(err, in, 0)
	}
	file, err := h.receive(c, uploads, mostUpload)
	if err != nil {
		return err
	}
	defer file.close()
	draft := func(ctx context.Context, once *shop.Once) (r shop.Revision, err error) {
		parts, err := file.parts(table.Stated{Currency: currency})
		if err != nil {
			return r, err
		}
		parts.Quota = h.quota
		return store.Draft(ctx, in, parts, remark, keyName(c), once)
	}
	if key == "" {
		r, err := draft(ctx, nil)
		if err != nil {
			return storeProblem(err, in, 0)
		}
		answer := draftAnswer(&r)
		return sendAnswer(c, &answer)
	}
	claim := shop.NewClaim(in.Shop, key, file.print)
	return h.once(c, store, claim, func(ctx context.Context) (shop.Answer, error) {
		r, err := draft(ctx, &shop.Once{Claim: claim, Answer: draftAnswer})
		var faults *table.Faults
		switch {
		case errors.As(err, &faults): // what is wrong with the file is kept as well
			answer := h.problemAnswer(c, fileFaults(faults))
			return answer, store.Keep(ctx, claim, answer)
		case err != nil:
			return shop.Answer{}, storeProblem(err, in, 0)
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

// fileFaults makes a problem of what is wrong with uploaded files.
func fileFaults(list *table.Faults) *problem {
	p := newProblem(invalidRequest, fileFault)
	if n := len(list.List) + list.More; n > 1 {
		p = newProblem(invalidRequest, manyFileFaults, count("count", n))
	}
	p.faults, p.unlisted = list.List, list.More
	return p
}
