package httpapi

import (
	"bytes"

	"github.com/labstack/echo/v4"

	"midstroke/internal/batch"
	"midstroke/internal/form"
	"midstroke/internal/unit"
)

// getTemplate answers GET /v1/templates/vehicles.xlsx: a workbook to fill in. Its cells
// ask the service by the address that the workbook was fetched from.
func (h *Handler) getTemplate(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	units := unit.Inches
	if chosen, ok := form.Param(q.Query, "units", form.Units); ok {
		units = chosen
	}
	q.errorsAsText()
	if err := q.close(); err != nil {
		return err
	}
	language := h.language(c.Request())
	var book bytes.Buffer
	address := c.Scheme() + "://" + c.Request().Host
	if err := h.inTurn(c, files, 1, func() error { return batch.Template(&book, language, units, address) }); err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", `attachment; filename="vehicles.xlsx"`)
	// Whoever asks by another address gets other cells.
	return send(c, representation{contentType: typeWorkbook, language: language, vary: varyAnswer, cache: cachePrivate, body: book.Bytes()})
}
