package httpapi

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/form"
	"midstroke/internal/note"
	"midstroke/internal/quote"
	"midstroke/internal/shop"
	"midstroke/internal/wire"
)

// Quotes are where a shop's quotes are kept. Every method answers quote.ErrNotFound for
// what isn't there or is another shop's, a *quote.ErasedError for what was erased, and
// shop.ErrUnreachable where nobody can tell just now.
type Quotes interface {
	// Kept gives the answer that is kept for a request, nil where there is none.
	Kept(ctx context.Context, c shop.Claim) (*shop.Answer, error)
	// KeepQuote keeps a quote and the answer to the request for it, or gives the answer
	// that was kept before.
	KeepQuote(ctx context.Context, c shop.Claim, q *quote.Quote, a shop.Answer) (*shop.Answer, error)
	Quote(ctx context.Context, shopID int64, id string) (quote.Quote, error)
	QuoteOfSheet(ctx context.Context, secret string) (quote.Quote, error)
	Quotes(ctx context.Context, shopID int64, f quote.Filter) ([]quote.Quote, error)
	// QuotedContents gives the states and contents of the quotes of a period, the newest first.
	QuotedContents(ctx context.Context, shopID int64, from, to time.Time, most int) ([]quote.Quote, error)
	ChangeQuote(ctx context.Context, shopID int64, id, location string, do func(*quote.Quote) error) (quote.Quote, error)
	EraseQuote(ctx context.Context, shopID int64, id, by string, gone shop.Answer, agree func(*quote.Quote) error) error
}

// quoteRoutes adds the routes of quotes.
func (h *Handler) quoteRoutes(e *echo.Echo, get func(path string, handle echo.HandlerFunc)) {
	const one = "/v1/quotes/:id"
	e.POST("/v1/quotes", keepsQuotes(h.postQuote))
	get("/v1/quotes", needs(shop.Server, h.listQuotes))
	get(one, needs(shop.Server, h.getQuote))
	e.PATCH(one, needs(shop.Server, h.patchQuote))
	e.DELETE(one, needs(shop.Server, h.eraseQuote))
	get(one+"/today", needs(shop.Server, h.getToday))
	get("/v1/sheets/:link", h.getSheet)
}

// keepsQuotes lets only callers through that may keep quotes.
func keepsQuotes(handle echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		who := callerOf(c)
		switch {
		case who.key == nil:
			return newProblem(keyNeeded, needsServerKey).with("WWW-Authenticate", challenge)
		case who.inQuery:
			return newProblem(forbidden, queryKeyReads)
		case !who.key.MayKeepQuotes(who.use):
			return newProblem(forbidden, widgetKeepsNot)
		}
		r := c.Request()
		c.SetRequest(r.WithContext(shop.WithKey(r.Context(), who.key.Hash)))
		return handle(c)
	}
}

// quotes gives the store, while there is one to be had.
func (h *Handler) quotes() (Quotes, error) {
	if h.quoteStore != nil {
		if store := h.quoteStore(); store != nil {
			return store, nil
		}
	}
	return nil, unreachableProblem(shop.ErrUnreachable)
}

// keptPath leads to a quote.
func keptPath(id string) string { return "/v1/quotes/" + id }

// postQuote answers POST /v1/quotes.
func (h *Handler) postQuote(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	key, err := idempotencyKey(c.Request().Header)
	if err != nil {
		return err
	}
	if key == "" {
		return newProblem(badIdempotencyKey, idempotencyKeyMissing)
	}
	s := h.scratch()
	defer h.release(s)
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	claim := shop.NewClaim(callerOf(c).key.ShopID, key, printOf(c.Request(), s.in.Bytes()))
	store, err := h.quotes()
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	if h.recent.again(&claim) {
		kept, err := store.Kept(ctx, claim)
		if err != nil {
			return repeatProblem(err)
		}
		if kept != nil {
			return sendAnswer(c, kept)
		}
	}
	q, answer, err := h.newQuote(c, s.in.Bytes())
	if err != nil {
		return orKept(ctx, c, store, claim, err)
	}
	kept, err := store.KeepQuote(ctx, claim, q, *answer)
	if err != nil {
		return repeatProblem(err)
	}
	return sendAnswer(c, cmp.Or(kept, answer))
}

// newQuote makes the quote that a body asks for, and the answer to it.
func (h *Handler) newQuote(c echo.Context, body []byte) (*quote.Quote, *shop.Answer, error) {
	request, err := wire.ReadQuote(body)
	if err != nil {
		return nil, nil, err
	}
	// The first token was taken before the request was read.
	if err := h.charged(c, len(request.Axles)-1); err != nil {
		return nil, nil, err
	}
	catalogName, revision, at := request.Named()
	now, err := h.hold(c, named{catalog: catalogName, revision: revision, where: inBody, under: at})
	if err != nil {
		return nil, nil, err
	}
	now = h.withStock(c, now)
	who, moment := callerOf(c).key.Prefix, quote.Moment(time.Now())
	q := &quote.Quote{
		ID: quote.NewID(), State: quote.Kept, Created: moment, Changed: moment, CreatedBy: who,
		History: []quote.Event{{State: quote.Kept, At: moment, Key: who}}, Link: quote.NewLink(request.Days, moment),
	}
	err = h.inTurn(c, quick, len(request.Axles), func() error {
		return wire.KeepQuote(q, request, now.Snapshot, now.edition(), h.language(c.Request()))
	})
	if err != nil {
		return nil, nil, err
	}
	const around = 2 << 10 // bytes before and after the content, without a long remark
	answer, err := wire.AppendQuote(make([]byte, 0, len(q.Content)+around), q)
	if err != nil {
		return nil, nil, err
	}
	return q, &shop.Answer{Status: http.StatusCreated, Body: answer, Header: map[string]string{
		"Cache-Control": cachePrivate, "Content-Type": typeJSON, "ETag": entityTag(answer), "Vary": varyAnswer, "Location": keptPath(q.ID),
	}}, nil
}

// quoteOf gives the store and the name of the quote of the path.
func (h *Handler) quoteOf(c echo.Context) (store Quotes, id string, err error) {
	if id = pathText(c, "id"); !quote.IsID(id) {
		return nil, id, newProblem(notFound, noSuchQuote)
	}
	store, err = h.quotes()
	return store, id, err
}

// quoteProblem makes a problem of an error of the store.
func quoteProblem(err error) error {
	var erased *quote.ErasedError
	var state *quote.StateError
	var short *quote.ShortError
	switch {
	case errors.As(err, &short):
		return shortProblem(short)
	case errors.Is(err, quote.ErrNotFound):
		return newProblem(notFound, noSuchQuote)
	case errors.As(err, &erased):
		return newProblem(gone, quoteErased, note.Word("at", erased.At.UTC().Format(time.RFC3339)))
	case errors.As(err, &state):
		return newProblem(wrongState, stateCantFollow, note.Word("from", state.From.String()), note.Word("to", state.To.String()))
	case errors.Is(err, shop.ErrKeyEnded):
		return badKey(keyRevoked)
	}
	return unreachableProblem(err)
}

// shortProblem says of each part how many are left.
func shortProblem(short *quote.ShortError) *problem {
	p := newProblem(notInStock, partsShort, count("count", len(short.Short)))
	for _, s := range short.Short {
		values := []note.Value{note.Word("code", s.Code), count("wanted", s.Wanted), count("left", s.Left)}
		if s.Location != "" {
			values = append(values, note.Word("location", s.Location))
		}
		p.faults.Add("/state", partShort, values...)
	}
	return p
}

// sendQuote answers with a quote.
func sendQuote(c echo.Context, q *quote.Quote) error {
	body, err := wire.AppendQuote(nil, q)
	if err != nil {
		return err
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, cache: cachePrivate, body: body})
}

// readQuote reads the quote that the path names.
func (h *Handler) readQuote(c echo.Context) (q quote.Quote, err error) {
	if err := plainQuery(c); err != nil {
		return q, err
	}
	store, id, err := h.quoteOf(c)
	if err != nil {
		return q, err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	if q, err = store.Quote(ctx, callerOf(c).key.ShopID, id); err != nil {
		return q, quoteProblem(err)
	}
	return q, nil
}

// getQuote answers GET /v1/quotes/{id}.
func (h *Handler) getQuote(c echo.Context) error {
	q, err := h.readQuote(c)
	if err != nil {
		return err
	}
	return sendQuote(c, &q)
}

// getSheet answers GET /v1/sheets/{link}.
func (h *Handler) getSheet(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	link := pathText(c, "link")
	if !quote.IsLink(link) {
		return newProblem(notFound, noSuchSheet)
	}
	store, err := h.quotes()
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	q, err := store.QuoteOfSheet(ctx, link)
	if errors.Is(err, quote.ErrNotFound) {
		return newProblem(notFound, noSuchSheet)
	}
	if err != nil {
		return quoteProblem(err)
	}
	return sendQuote(c, &q)
}

// getToday answers GET /v1/quotes/{id}/today.
func (h *Handler) getToday(c echo.Context) error {
	q, err := h.readQuote(c)
	if err != nil {
		return err
	}
	now, err := h.hold(c, named{catalog: q.Catalog, where: inQuery})
	if err != nil {
		return err
	}
	now = h.withStock(c, now)
	language := h.language(c.Request())
	s := h.scratch()
	defer h.release(s)
	if err := h.inTurn(c, quick, quote.MostAxles, func() (err error) {
		s.out, err = wire.AppendToday(s.out, &q, now.Snapshot, now.edition(), language)
		return err
	}); err != nil {
		return err
	}
	return send(c, representation{contentType: typeJSON, language: language, vary: varyAnswer, body: s.out})
}

// patchQuote answers PATCH /v1/quotes/{id}.
func (h *Handler) patchQuote(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	store, id, err := h.quoteOf(c)
	if err != nil {
		return err
	}
	ifMatch := c.Request().Header.Get("If-Match")
	if ifMatch == "" {
		return newProblem(preconditionMissing, quoteIfMatchMissing)
	}
	s := h.scratch()
	defer h.release(s)
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	change, err := wire.ReadQuoteChange(s.in.Bytes())
	if err != nil {
		return err
	}
	change.Key = callerOf(c).key.Prefix
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	q, err := store.ChangeQuote(ctx, callerOf(c).key.ShopID, id, change.Location, func(q *quote.Quote) error {
		if err := unchanged(ifMatch, q); err != nil {
			return err
		}
		return q.Apply(change, quote.Moment(time.Now()))
	})
	if err != nil {
		return quoteProblem(err)
	}
	return sendQuote(c, &q)
}

// unchanged gives a problem where a quote isn't as the caller last saw it.
func unchanged(ifMatch string, q *quote.Quote) error {
	body, err := wire.AppendQuote(nil, q)
	if err != nil {
		return err
	}
	tag := entityTag(body)
	if match(ifMatch, tag) {
		return nil
	}
	return newProblem(preconditionFailed, quoteChanged).with("ETag", tag)
}

// eraseQuote answers DELETE /v1/quotes/{id}. If-Match may be sent.
func (h *Handler) eraseQuote(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	store, id, err := h.quoteOf(c)
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	key := callerOf(c).key
	// Whoever sends the request for the quote again is told that it was erased.
	erased := h.problemAnswer(c, newProblem(gone, quoteErased, note.Word("at", quote.Moment(time.Now()).Format(time.RFC3339))))
	ifMatch := c.Request().Header.Get("If-Match")
	err = store.EraseQuote(ctx, key.ShopID, id, key.Prefix, erased, func(q *quote.Quote) error {
		if ifMatch == "" {
			return nil
		}
		return unchanged(ifMatch, q)
	})
	if err != nil {
		return quoteProblem(err)
	}
	return c.NoContent(http.StatusNoContent)
}

// listQuotes answers GET /v1/quotes.
func (h *Handler) listQuotes(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	var f quote.Filter
	f.Reference, _ = form.Param(q.Query, "reference", quotedReference)
	f.Code, _ = form.Param(q.Query, "code", quotedCode)
	f.State, _ = choice(q, "state", quote.States(), quote.ParseState)
	f.From, f.To = q.moment("from", false), q.moment("to", true)
	limit := q.upTo("limit", mostPage, usualPage)
	q.errorsAsText()
	at, paging := q.cursor("quotes", "")
	if paging && !quote.IsID(at.After) {
		q.Fail("cursor", badCursor)
	}
	if err := q.close(); err != nil {
		return err
	}
	store, err := h.quotes()
	if err != nil {
		return err
	}
	f.Before, f.Limit = at.After, limit+1
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	list, err := store.Quotes(ctx, callerOf(c).key.ShopID, f)
	if err != nil {
		return quoteProblem(err)
	}
	next := ""
	if len(list) > limit {
		list = list[:limit]
		next = cursor{List: "quotes", Filter: q.filterSum(), After: list[limit-1].ID}.String()
		c.Response().Header().Set("Link", "<"+nextPage(c.Request(), q.values, next)+`>; rel="next"`)
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: wire.AppendQuotes(nil, list, next)})
}
