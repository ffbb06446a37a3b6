package httpapi

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/batch"
	"midstroke/internal/batchjob"
	"midstroke/internal/shop"
	"midstroke/internal/table"
	"midstroke/internal/wire"
)

// Batches are where files are kept that are answered in the background. Every method
// gives batchjob.ErrNotFound for what isn't there or is another shop's, and
// shop.ErrUnreachable where nobody can tell just now.
type Batches interface {
	// KeepBatch keeps a job with its file, or gives the job of the same request before.
	KeepBatch(ctx context.Context, j *batchjob.Job, file io.Reader) (*batchjob.Job, error)
	BatchJob(ctx context.Context, shopID int64, id string) (*batchjob.Job, error)
	DropBatch(ctx context.Context, shopID int64, id string) error
	// BatchPiece gives the part of an answer in which a place lies, and where it begins.
	BatchPiece(ctx context.Context, shopID int64, id string, at int64) (piece []byte, starts int64, err error)
}

// The bounds of a file that is answered in the background.
const (
	mostJobRows = table.MostRows
	mostJob     = 256 << 20 // bytes
	// jobRowsPerToken is how many of its rows cost their caller one token.
	jobRowsPerToken = 1000
)

// How often a caller that follows a job is told of it: when something has changed, and
// else to keep the connection open.
const (
	lookEvery  = 400 * time.Millisecond
	aliveEvery = 15 * time.Second
	// followTime is how long a job may be followed by one request.
	followTime = 5 * time.Minute
)

const typeEvents = "text/event-stream"

// batchJobRoutes adds the routes of jobs.
func (h *Handler) batchJobRoutes(e *echo.Echo, get func(path string, handle echo.HandlerFunc)) {
	const one = "/v1/batches/:id"
	get(one, needs(shop.Server, h.getBatch))
	e.DELETE(one, needs(shop.Server, h.dropBatch))
	get(one+"/result", needs(shop.Server, h.getBatchResult))
	get(one+"/events", needs(shop.Server, h.followBatch))
}

// batches gives the store, while there is one to be had.
func (h *Handler) batches() (Batches, error) {
	if h.batchStore != nil {
		if store := h.batchStore(); store != nil {
			return store, nil
		}
	}
	return nil, unreachableProblem(shop.ErrUnreachable)
}

// RowsTurn gives the function by which rows of a shop's jobs wait for their turn among those of
// other callers.
func (h *Handler) RowsTurn(shopID int64) func(context.Context, int, func()) error {
	return h.turnOfRows(fmt.Sprintf("shop %d", shopID))
}

// wantsJob says whether a caller wants an answer in the background (RFC 7240).
func wantsJob(r *http.Request) bool {
	return slices.ContainsFunc(r.Header.Values("Prefer"), func(field string) bool {
		for preference := range strings.SplitSeq(field, ",") {
			if strings.EqualFold(strings.TrimSpace(preference), "respond-async") {
				return true
			}
		}
		return false
	})
}

// keepBatch makes a job of a file and says where it is.
func (h *Handler) keepBatch(c echo.Context, file *upload, rows int, asked *batchQuery, now held) error {
	store, err := h.batches()
	if err != nil {
		return err
	}
	key := callerOf(c).key
	j, err := batchjob.New(key.ShopID, time.Now().UTC())
	if err != nil {
		return err
	}
	release, _ := h.library.Find(now.Snapshot.Name())
	language := h.language(c.Request())
	j.Print, j.File, j.Media, j.Size, j.Rows = printIn(language, file.print), file.name, file.media, file.size, rows
	j.Place, j.Revision = shop.Place{Shop: release.Owner, Catalog: now.Snapshot.Name()}, now.Snapshot.Revision()
	j.Asked = batchjob.Asked{Picks: asked.paths, Keep: asked.keep, ReadAs: asked.readAs, Defaults: asked.defaults, Language: language}
	ctx, cancel := withTimeout(c, loadTime)
	defer cancel()
	j, err = store.KeepBatch(ctx, j, io.NewSectionReader(file.file, 0, file.size))
	if err != nil {
		return batchProblem(err)
	}
	c.Response().Header().Set("Location", batchPath(j.ID))
	return send(c, representation{status: http.StatusAccepted, contentType: typeJSON, vary: varyAnswer, body: wire.AppendBatchJob(nil, told(j))})
}

// printIn is the fingerprint of a request whose answer is in a language. The same file
// sent in another language is another job, for its texts are kept with it.
func printIn(language string, of [sha256.Size]byte) (print [sha256.Size]byte) {
	whole := sha256.New()
	writePart(whole, []byte(language))
	writePart(whole, of[:])
	whole.Sum(print[:0])
	return print
}

// batchPath leads to a job.
func batchPath(id string) string { return "/v1/batches/" + id }

// batchProblem makes a problem of an error of the store.
func batchProblem(err error) error {
	switch {
	case errors.Is(err, batchjob.ErrNotFound), errors.Is(err, batchjob.ErrGone):
		return newProblem(notFound, noSuchBatch)
	case errors.Is(err, batchjob.ErrTooMany):
		return newProblem(tooManyRequests, tooManyBatches, count("most", batchjob.MostWaiting)).with("Retry-After", "60")
	}
	return unreachableProblem(err)
}

// told says of a job what its shop gets to see.
func told(j *batchjob.Job) *wire.BatchJob {
	w := &wire.BatchJob{
		ID: j.ID, State: string(j.State), Repeated: j.Repeated, Rows: j.Rows, RowsDone: j.Progress.Rows, RowsFaulty: j.Progress.Faulty,
		Bytes: j.ResultSize, Created: moment(j.Created), Changed: moment(j.Changed), Events: batchPath(j.ID) + "/events",
	}
	w.Catalog.Name, w.Catalog.Revision = j.Place.Catalog, j.Revision
	o := j.Progress.Outcomes
	w.Outcomes = wire.BatchCounts{Fits: o["fits"], NoFit: o["no_fit"], MeasureAgain: o["measure_again"], OutsideMethod: o["outside_method"]}
	for _, f := range j.Progress.Faults {
		w.Faults = append(w.Faults, wire.BatchRowFault(f))
	}
	left, known := j.Left()
	w.SetRate(j.Rate(), left, known)
	if j.State.Ended() {
		finished, expires := moment(j.Finished), moment(j.Expires)
		w.Finished, w.Expires = &finished, &expires
	}
	if j.State == batchjob.Done {
		result := batchPath(j.ID) + "/result"
		w.Result = &result
	}
	if j.Problem != "" {
		w.Problem = &j.Problem
	}
	return w
}

// moment is a time as answers have it.
func moment(t time.Time) time.Time { return t.UTC().Truncate(time.Millisecond) }

// batchOf reads which job is asked for.
func (h *Handler) batchOf(c echo.Context) (Batches, *batchjob.Job, error) {
	if err := plainQuery(c); err != nil {
		return nil, nil, err
	}
	store, err := h.batches()
	if err != nil {
		return nil, nil, err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	j, err := store.BatchJob(ctx, callerOf(c).key.ShopID, c.Param("id"))
	if err != nil {
		return nil, nil, batchProblem(err)
	}
	return store, j, nil
}

// getBatch answers GET /v1/batches/{id}: how far a job is.
func (h *Handler) getBatch(c echo.Context) error {
	_, j, err := h.batchOf(c)
	if err != nil {
		return err
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, body: wire.AppendBatchJob(nil, told(j))})
}

// dropBatch answers DELETE /v1/batches/{id}: it cancels a job and deletes it.
func (h *Handler) dropBatch(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	store, err := h.batches()
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	if err := store.DropBatch(ctx, callerOf(c).key.ShopID, c.Param("id")); err != nil {
		return batchProblem(err)
	}
	return c.NoContent(http.StatusNoContent)
}

// getBatchResult answers GET /v1/batches/{id}/result: the answered file, or ranges of it
// (RFC 9110 section 14).
func (h *Handler) getBatchResult(c echo.Context) error {
	store, j, err := h.batchOf(c)
	if err != nil {
		return err
	}
	if j.State != batchjob.Done {
		return newProblem(wrongState, batchNotDone)
	}
	takeTime(c)
	as, header := answerOf(j.Media), c.Response().Header()
	header.Set("Content-Type", contentTypeOf(as.media))
	header.Set("Content-Disposition", fmt.Sprintf(`attachment; filename="answers.%s"`, as.ending))
	header.Set("Content-Language", j.Asked.Language)
	header.Set("Cache-Control", cachePrivate)
	header.Set("ETag", `"`+j.ID+`"`)
	http.ServeContent(c.Response(), c.Request(), "", time.Time{}, &storedAnswer{ctx: c.Request().Context(), store: store, job: j})
	return nil
}

// answerOf gives the media type and the ending of the answer to a file.
func answerOf(media string) struct{ media, ending string } {
	for _, as := range batchAnswers {
		if as.media == media {
			return as
		}
	}
	return batchAnswers[table.RowsOfCSV]
}

// storedAnswer reads the answer of a job piece by piece.
type storedAnswer struct {
	ctx    context.Context
	store  Batches
	job    *batchjob.Job
	at     int64
	piece  []byte // the one that was read last
	starts int64
}

// Read implements io.Reader.
func (s *storedAnswer) Read(b []byte) (int, error) {
	if s.at >= s.job.ResultSize {
		return 0, io.EOF
	}
	if s.at < s.starts || s.at >= s.starts+int64(len(s.piece)) {
		ctx, cancel := context.WithTimeout(s.ctx, queryTime)
		defer cancel()
		var err error
		if s.piece, s.starts, err = s.store.BatchPiece(ctx, s.job.Shop, s.job.ID, s.at); err != nil {
			return 0, err
		}
	}
	n := copy(b, s.piece[s.at-s.starts:])
	s.at += int64(n)
	return n, nil
}

// Seek implements io.Seeker.
func (s *storedAnswer) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += s.at
	case io.SeekEnd:
		offset += s.job.ResultSize
	}
	if offset < 0 {
		return 0, errors.New("before the beginning")
	}
	s.at = offset
	return offset, nil
}

// followBatch answers GET /v1/batches/{id}/events: what becomes of a job, as server-sent
// events, until it has ended.
func (h *Handler) followBatch(c echo.Context) error {
	store, j, err := h.batchOf(c)
	if err != nil {
		return err
	}
	w := c.Response()
	w.Header().Set("Content-Type", typeEvents)
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("X-Accel-Buffering", "no") // a proxy must not hold events back
	w.WriteHeader(http.StatusOK)
	if c.Request().Method == http.MethodHead {
		return nil
	}
	ctx, cancel := withTimeout(c, followTime)
	defer cancel()
	_ = http.NewResponseController(w.Writer).SetWriteDeadline(time.Now().Add(followTime + time.Minute))
	last, sent := "", time.Now()
	for {
		if now := string(wire.AppendBatchJob(nil, told(j))); now != last {
			name := "progress"
			if j.State.Ended() {
				name = "end"
			}
			if _, err := fmt.Fprintf(w, "event: %s\ndata: %s\n\n", name, strings.TrimSuffix(now, "\n")); err != nil {
				return nil // nobody reads it any more
			}
			last, sent = now, time.Now()
			w.Flush()
		} else if time.Since(sent) > aliveEvery {
			_, _ = io.WriteString(w, ": \n\n")
			sent = time.Now()
			w.Flush()
		}
		if j.State.Ended() || h.draining.Load() {
			return nil
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(lookEvery):
		}
		next, err := store.BatchJob(ctx, j.Shop, j.ID)
		if errors.Is(err, batchjob.ErrNotFound) {
			_, _ = io.WriteString(w, "event: gone\ndata: {}\n\n")
			w.Flush()
			return nil
		}
		if err == nil { // else the database is away for a while
			j = next
		}
	}
}

var errLate = errors.New("the rows take too long")

// answeredInTime answers a file into another one, unless that takes too long.
func answeredInTime(ctx context.Context, b *batch.Batch, most time.Duration) (_ *upload, inTime bool, err error) {
	ctx, cancel := context.WithTimeoutCause(ctx, most, errLate)
	defer cancel()
	out, err := spool()
	if err != nil {
		return nil, false, err
	}
	if _, err := b.Answer(ctx, out.file); err != nil {
		out.close()
		if errors.Is(context.Cause(ctx), errLate) {
			return nil, false, nil
		}
		return nil, false, asNoRoom(err)
	}
	out.size, err = out.file.Seek(0, io.SeekCurrent)
	return out, true, err
}
