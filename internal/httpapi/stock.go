package httpapi

import (
	"context"
	"errors"
	"mime"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/quote"
	"midstroke/internal/shop"
	"midstroke/internal/table"
	"midstroke/internal/wire"
)

// Stock is where the stock of shops is kept. Both methods answer shop.ErrUnreachable
// where nobody can tell just now.
type Stock interface {
	Stock(ctx context.Context, shopID int64, f quote.StockFilter) (list []quote.StockLine, version int64, err error)
	// PutStock sets lines, all or none. With replace the lines that aren't named are
	// deleted.
	PutStock(ctx context.Context, shopID int64, lines []quote.StockLine, replace bool) (version int64, err error)
}

// stockRoutes adds the routes of stock.
func (h *Handler) stockRoutes(e *echo.Echo, get func(path string, handle echo.HandlerFunc)) {
	get("/v1/stock", needs(shop.Server, h.getStock))
	e.PUT("/v1/stock", needs(shop.Server, h.putStock))
}

// withStock gives a snapshot as it is with the caller's stock, where the catalogue is its
// shop's. What a web page's visitors are answered doesn't tell how many there are.
func (h *Handler) withStock(c echo.Context, now held) held {
	who := callerOf(c)
	if h.stocks == nil || who.key == nil {
		return now
	}
	stock := h.stocks.Of(who.key.ShopID)
	if stock.Empty() {
		return now
	}
	if r, ok := h.library.Find(now.Snapshot.Name()); ok && r.Owner == who.key.ShopID {
		now.Snapshot = now.Snapshot.WithStock(stock, who.key.Use != shop.Widget)
	}
	return now
}

// mostStockFile is the longest file of stock that is taken: some 100 bytes a line.
const mostStockFile = 32 << 20

// putStock answers PUT /v1/stock.
func (h *Handler) putStock(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	replace := q.flag("replace")
	q.errorsAsText()
	if err := q.close(); err != nil {
		return err
	}
	store, err := h.stock()
	if err != nil {
		return err
	}
	lines, err := readStock(c)
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, loadTime)
	defer cancel()
	version, err := store.PutStock(ctx, callerOf(c).key.ShopID, lines, replace != nil && *replace)
	if err != nil {
		return quoteProblem(err)
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: wire.AppendStockPut(nil, version, len(lines))})
}

// readStock reads the lines of a body.
func readStock(c echo.Context) ([]quote.StockLine, error) {
	r := c.Request()
	media, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	var s scratch
	switch {
	case err == nil && media == typeJSON:
		if err := readBody(c.Response().Writer, r, &s.in); err != nil {
			return nil, err
		}
		return wire.ReadStockLine(s.in.Bytes())
	case err != nil || media != typeCSV && media != typeNDJSON:
		return nil, newProblem(unsupportedMediaType, stockTypes).with("Accept", strings.Join([]string{typeJSON, typeCSV, typeNDJSON}, ", "))
	}
	if coding := r.Header.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return nil, newProblem(unsupportedMediaType, fileCoded).with("Accept-Encoding", "identity")
	}
	// It is read whole before anything is judged, so that a file that was cut short
	// isn't taken for a whole one.
	_, err = s.in.ReadFrom(http.MaxBytesReader(c.Response().Writer, r.Body, mostStockFile))
	var over *http.MaxBytesError
	switch {
	case errors.As(err, &over):
		return nil, newProblem(tooLarge, fileTooLarge, count("most", mostStockFile))
	case isTooSlow(err):
		return nil, tooSlowBody()
	case err != nil:
		p := newProblem(badUpload, fileCutShort)
		p.cause = err
		return nil, p
	}
	var lines []quote.StockLine
	var found fault.List
	var more int
	if media == typeCSV {
		lines, found, more = wire.ReadStockCSV(s.in.Bytes())
	} else {
		lines, found, more = wire.ReadStockLines(s.in.Bytes())
	}
	if len(found) > 0 {
		return nil, fileFaults(&table.Faults{List: found, More: more})
	}
	return lines, nil
}

// stock gives the store, while there is one to be had.
func (h *Handler) stock() (Stock, error) {
	if h.stockStore != nil {
		if store := h.stockStore(); store != nil {
			return store, nil
		}
	}
	return nil, unreachableProblem(shop.ErrUnreachable)
}

// getStock answers GET /v1/stock.
func (h *Handler) getStock(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	var f quote.StockFilter
	f.Code, _ = form.Param(q.Query, "code", quotedCode)
	f.Location = q.text("location")
	limit := q.upTo("limit", mostPage, usualPage)
	asCSV := q.listFormat()
	q.errorsAsText()
	at, _ := q.cursor("stock", "")
	f.AfterCode, f.AfterLocation, _ = strings.Cut(at.After, stockSeparator)
	if err := q.close(); err != nil {
		return err
	}
	media, err := listMedia(c, asCSV)
	if err != nil {
		return err
	}
	store, err := h.stock()
	if err != nil {
		return err
	}
	f.Limit = limit + 1
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	list, version, err := store.Stock(ctx, callerOf(c).key.ShopID, f)
	if err != nil {
		return quoteProblem(err)
	}
	next := ""
	if len(list) > limit {
		list = list[:limit]
		last := list[limit-1]
		next = cursor{List: "stock", Filter: q.filterSum(), After: last.Code + stockSeparator + last.Location}.String()
		c.Response().Header().Set("Link", "<"+nextPage(c.Request(), q.values, next)+`>; rel="next"`)
	}
	body := wire.AppendStock(nil, list, version, next)
	if media == typeCSV {
		body = wire.AppendStockCSV(nil, list)
	}
	return send(c, representation{contentType: contentTypeOf(media), vary: varyAnswer, body: body})
}

// stockSeparator stands between code and location in a cursor; neither has it.
const stockSeparator = "\n"
