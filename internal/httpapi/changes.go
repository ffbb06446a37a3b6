package httpapi

import (
	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

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
		changes, before, after, err := h.compared(c, len(samples) > 0)
		if err != nil {
			return err
		}
		body, err = wire.AppendChanges(nil, changes, units, samples, before, after)
		return err
	}); err != nil {
		return err
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: body})
}

// compared compares two revisions: in the database, or in memory where they must be
// there for samples.
func (h *Handler) compared(c echo.Context, sampled bool) (changes *catalog.Changes, before, after *catalog.Snapshot, err error) {
	if sampled {
		if before, _, err = h.drafted(c, "number"); err != nil {
			return nil, nil, nil, err
		}
		if after, _, err = h.drafted(c, "other"); err != nil {
			return nil, nil, nil, err
		}
		return catalog.Compare(before, after), before, after, nil
	}
	in, from, err := revisionOf(c, "number")
	if err != nil {
		return nil, nil, nil, err
	}
	_, to, err := revisionOf(c, "other")
	if err != nil {
		return nil, nil, nil, err
	}
	store, err := h.revisions()
	if err != nil {
		return nil, nil, nil, err
	}
	ctx, cancel := withTimeout(c, loadTime)
	defer cancel()
	for _, number := range [...]int{from, to} { // a draft counts as used
		if _, err := store.Describe(ctx, in, number); err != nil {
			return nil, nil, nil, storeProblem(err, in, number)
		}
	}
	if changes, err = store.Compare(ctx, in, from, to); err != nil {
		return nil, nil, nil, storeProblem(err, in, from)
	}
	return changes, nil, nil, nil
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
