package httpapi

import (
	"github.com/labstack/echo/v4"

	"midstroke/internal/batch"
	"midstroke/internal/form"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// How many of the first rows are answered.
const (
	usualFirst = 10
	mostFirst  = 50
)

// batchKinds names the kinds of files.
var batchKinds = map[table.Kind]string{table.RowsOfCSV: "csv", table.RowsOfSheet: "workbook", table.RowsOfObjects: "objects"}

// postPreview answers POST /v1/batches/preview: how a file is understood, with its first
// rows answered.
func (h *Handler) postPreview(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	asked := readBatchQuery(q)
	first := usualFirst
	if n, ok := form.Param(q.Query, "first", form.Whole(1, mostFirst)); ok {
		first = n
	}
	if err := asked.pick(q); err != nil {
		return err
	}
	file, rows, err := h.receiveRows(c, mostJobRows, mostJob)
	if err != nil {
		return err
	}
	defer file.close()
	if err := h.charged(c, min(rows, first)/rowsPerToken); err != nil {
		return err
	}
	now, err := h.hold(c, asked.named)
	if err != nil {
		return err
	}
	config := h.rowsConfig(c, &asked, h.withStock(c, now))
	config.Own = []string{batch.WeightColumn}
	look, err := batch.Look(c.Request().Context(), file.table(), config, first)
	if err != nil {
		return h.orTurnedAway(c, rowsProblem(err))
	}
	answer := wire.BatchPreview{From: now.edition(), Kind: batchKinds[look.Kind], Sheet: look.Sheet, Rows: rows}
	for i := range asked.picks {
		answer.Picks = append(answer.Picks, asked.picks[i].Name)
	}
	for _, one := range look.Columns {
		column := wire.BatchColumn{Header: one.Header, Name: one.Name, Near: one.Near, Earlier: one.Earlier}
		if one.Units != unit.Unset {
			column.Units = one.Units.String()
		}
		answer.Columns = append(answer.Columns, column)
	}
	for i := range look.Faults {
		f := &look.Faults[i]
		answer.Faults = append(answer.Faults, wire.BatchFault{
			Column: f.Column, Code: f.Code.Public(), Text: f.Text(config.Language, unit.Unset), Cure: f.Cure(config.Language, unit.Unset),
		})
	}
	for _, row := range look.First {
		answer.First = append(answer.First, wire.BatchRow(row))
	}
	return send(c, representation{contentType: typeJSON, language: config.Language, vary: varyAnswer, body: wire.AppendBatchPreview(nil, &answer)})
}
