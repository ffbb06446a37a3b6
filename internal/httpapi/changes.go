package httpapi

import (
	"github.com/labstack/echo/v4"

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
		before, _, err := h.drafted(c, "number")
		if err != nil {
			return err
		}
		after, _, err := h.drafted(c, "other")
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
