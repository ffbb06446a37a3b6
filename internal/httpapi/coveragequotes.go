package httpapi

import (
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/batch"
	"midstroke/internal/form"
	"midstroke/internal/quote"
	"midstroke/internal/wire"
)

// usualWeights are how much an axle of a quote counts, by the quote's state.
var usualWeights = map[quote.State]int64{quote.Kept: 1, quote.Ordered: 1, quote.Fitted: 1, quote.Cancelled: 0}

// quotedQuery is what the query of GET /v1/coverage says.
type quotedQuery struct {
	coverageQuery
	from, to time.Time
	weights  map[quote.State]int64
}

func readQuotedQuery(c echo.Context, q *query) (r quotedQuery, err error) {
	r.named = q.catalog()
	r.from, r.to = q.moment("from", false), q.moment("to", true)
	r.weights = map[quote.State]int64{}
	for state, weight := range usualWeights {
		r.weights[state] = weight
		if n, ok := form.Param(q.Query, "weight_"+state.String(), form.Whole(0, batch.MostWeight)); ok {
			r.weights[state] = int64(n)
		}
	}
	return r, r.readAim(c, q)
}

// getCoverage answers GET /v1/coverage: which of the requests of the shop's quotes a
// catalogue serves.
func (h *Handler) getCoverage(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	asked, err := readQuotedQuery(c, q)
	if err != nil {
		return err
	}
	now, err := h.hold(c, asked.named)
	if err != nil {
		return err
	}
	store, err := h.quotes()
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, loadTime)
	defer cancel()
	quotes, err := store.QuotedContents(ctx, callerOf(c).key.ShopID, asked.from, asked.to, mostBatchRows+1)
	if err != nil {
		return quoteProblem(err)
	}
	var all []batch.Weighed
	for i := range quotes {
		weight := asked.weights[quotes[i].State]
		if weight == 0 {
			continue
		}
		axles, err := wire.QuotedRequests(&quotes[i])
		if err != nil {
			return err
		}
		for _, axle := range axles {
			all = append(all, batch.Weighed{Of: quotes[i].ID, Request: axle.Request, Fault: axle.Fault, Weight: weight})
		}
	}
	if len(all) > mostBatchRows {
		return newProblem(tooLarge, tooManyRequestRows, count("most", mostBatchRows))
	}
	if err := h.charged(c, len(all)/rowsPerToken); err != nil {
		return err
	}
	demands, err := batch.DemandsOf(c.Request().Context(), all, now.Snapshot, asked.worst, h.language(c.Request()), h.turnOfRows(payer(c)))
	if err != nil {
		return h.orTurnedAway(c, err)
	}
	return h.answerCoverage(c, &asked.coverageQuery, demands, now)
}
