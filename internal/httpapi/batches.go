package httpapi

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/batch"
	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/limit"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/wire"
)

// The bounds of a file that is answered in the call.
const (
	mostBatchRows = 10_000
	mostBatch     = 64 << 20 // bytes
	mostPicks     = 100
	mostKept      = 100
	// usualBatchTime is how long rows are answered. Rows that are left then become a job, or
	// are told so where there are no jobs.
	usualBatchTime = 10 * time.Second
	// rowsPerToken is how many rows cost their caller one token.
	rowsPerToken = 10
)

// batchFiles are the media types that files of requests come in, with what a file of
// each is called.
var batchFiles = map[string]string{typeCSV: "requests.csv", typeWorkbook: "requests.xlsx", typeNDJSON: "requests.ndjson"}

// forAllRows are the flat names that the query may give for all rows of a file.
var forAllRows = []string{"units", "upper", "lower", "suspension", "limits_in_stock", "dampers"}

// batchAnswers are the media types and the endings of the answers, by kind of file.
var batchAnswers = map[table.Kind]struct{ media, ending string }{
	table.RowsOfCSV: {typeCSV, "csv"}, table.RowsOfSheet: {typeWorkbook, "xlsx"}, table.RowsOfObjects: {typeNDJSON, "ndjson"},
}

// batchQuery is what the query of a file of requests says.
type batchQuery struct {
	named    named
	picks    wire.Picks
	paths    []string // of the picks
	keep     []string
	readAs   map[string]string
	defaults url.Values
}

// readBatchQuery takes what is for the rows out of a query.
func readBatchQuery(q *query) (b batchQuery) {
	b.named = q.catalog()
	b.keep, _ = form.Param(q.Query, "keep", form.ListOf(form.Text(1, mostText), 0, mostKept))
	for i := range b.keep {
		b.keep[i], _ = table.ColumnName(b.keep[i])
	}
	b.readAs = readAs(q)
	b.defaults = url.Values{}
	for _, name := range forAllRows {
		if value, ok := form.Param(q.Query, name, shortText); ok {
			b.defaults.Set(name, value)
		}
	}
	return b
}

// badReadAs is of a column that is to be read as none that there is.
const badReadAs fault.Code = "not_allowed.read_as"

// readAs reads which columns are to be read as which flat names: header=name.
func readAs(q *query) map[string]string {
	pairs, _ := form.Param(q.Query, "read_as", form.ListOf(form.Text(1, 2*mostText), 0, mostKept))
	all := map[string]string{}
	for _, pair := range pairs {
		at := strings.LastIndexByte(pair, '=')
		if at < 0 || !wire.FlatForm().Has(pair[at+1:]) {
			q.Fail("read_as", badReadAs, note.Word("text", pair))
			continue
		}
		header, _ := table.ColumnName(pair[:at])
		all[header] = pair[at+1:]
	}
	return all
}

// pick reads which values are added to each row.
func (b *batchQuery) pick(q *query) error {
	b.paths, _ = form.Param(q.Query, "pick", form.ListOf(form.Text(1, mostText), 0, mostPicks))
	q.errorsAsText()
	var wrong fault.List
	b.picks, wrong = wire.ReadPicks(b.paths)
	if wrong = append(wrong, q.Close()...); len(wrong) > 0 {
		return &wire.Refused{Faults: wrong}
	}
	return nil
}

// rowsConfig says how the rows of a caller's file are answered.
func (h *Handler) rowsConfig(c echo.Context, b *batchQuery, now held) batch.Config {
	return batch.Config{
		Snapshot: now.Snapshot, Edition: now.edition(), Language: h.language(c.Request()), Picks: b.picks, Keep: b.keep, ReadAs: b.readAs,
		Defaults: b.defaults, Turn: h.turnOfRows(payer(c)),
	}
}

// postBatch answers POST /v1/batches: a file of requests comes back with its answers.
func (h *Handler) postBatch(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	asked := readBatchQuery(q)
	if err := asked.pick(q); err != nil {
		return err
	}
	most, mostBytes := mostJobRows, int64(mostJob)
	_, noJobs := h.batches()
	if noJobs != nil {
		most, mostBytes = mostBatchRows, mostBatch
	}
	file, rows, err := h.receiveRows(c, most, mostBytes)
	if err != nil {
		return err
	}
	defer file.close()
	inBackground := wantsJob(c.Request()) || rows > mostBatchRows
	perToken := rowsPerToken
	if inBackground {
		perToken = jobRowsPerToken
	}
	if err := h.charged(c, rows/perToken); err != nil {
		return err
	}
	now, err := h.hold(c, asked.named)
	if err != nil {
		return err
	}
	b, err := batch.Open(file.table(), h.rowsConfig(c, &asked, h.withStock(c, now)))
	if err != nil {
		return rowsProblem(err)
	}
	defer func() { _ = b.Close() }() // it was only read
	switch {
	case inBackground:
		return h.keepBatch(c, file, rows, &asked, now)
	case noJobs != nil:
		return h.sendRows(c, b)
	}
	answer, inTime, err := answeredInTime(c.Request().Context(), b, h.batchTime)
	switch {
	case err != nil:
		return h.orTurnedAway(c, err)
	case !inTime:
		return h.keepBatch(c, file, rows, &asked, now)
	}
	defer answer.close()
	return sendStream(c, h.rowsHeader(c, b), "", func(w io.Writer) error {
		_, err := io.Copy(w, io.NewSectionReader(answer.file, 0, answer.size))
		return err
	})
}

// sendRows answers rows while they are sent, for as long as there is time.
func (h *Handler) sendRows(c echo.Context, b *batch.Batch) error {
	until := time.Now().Add(h.batchTime)
	b.Late = func() bool { return time.Now().After(until) }
	return h.orTurnedAway(c, sendStream(c, h.rowsHeader(c, b), "", func(w io.Writer) error {
		_, err := b.Answer(c.Request().Context(), w)
		return err
	}))
}

// rowsHeader sets the header fields of an answered file and gives its media type.
func (h *Handler) rowsHeader(c echo.Context, b *batch.Batch) string {
	as, header := batchAnswers[b.Kind()], c.Response().Header()
	header.Set("Content-Disposition", fmt.Sprintf(`attachment; filename="answers.%s"`, as.ending))
	header.Set("Content-Language", b.Language)
	return contentTypeOf(as.media)
}

// receiveRows takes a file of requests in and counts its rows.
func (h *Handler) receiveRows(c echo.Context, most int, mostBytes int64) (_ *upload, rows int, err error) {
	file, err := h.receive(c, batchFiles, mostBytes)
	if err != nil {
		return nil, 0, err
	}
	if rows, err = batch.Count(file.table(), most); err == nil && rows > most {
		err = newProblem(tooLarge, tooManyRequestRows, count("most", most))
	}
	if err != nil {
		file.close()
		return nil, 0, rowsProblem(err)
	}
	return file, rows, nil
}

// rowsProblem makes a problem of what is wrong with a file of requests.
func rowsProblem(err error) error {
	var faults *table.Faults
	if !errors.As(err, &faults) {
		return err
	}
	p := fileFaults(faults)
	p.detail, p.values = rowsFault, nil
	if n := len(faults.List) + faults.More; n > 1 {
		p.detail, p.values = rowsFaults, []note.Value{count("count", n)}
	}
	return p
}

// turnOfRows gives the function by which the rows of a caller wait for their turn. They
// have a lane of their own, so that they don't keep single requests from theirs.
func (h *Handler) turnOfRows(who string) func(context.Context, int, func()) error {
	turns := h.limits.turns[batches]
	return func(ctx context.Context, rows int, do func()) error {
		if err := turns.Take(ctx, who, rows); err != nil {
			return err
		}
		defer turns.Done()
		do()
		return nil
	}
}

// orTurnedAway makes the answer of a caller for whom there is no time of ErrBusy.
func (h *Handler) orTurnedAway(c echo.Context, err error) error {
	if errors.Is(err, limit.ErrBusy) && !c.Response().Committed {
		return h.limits.turnAway(c)
	}
	return err
}
