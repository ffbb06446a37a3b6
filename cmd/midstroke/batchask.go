package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/schollz/progressbar/v3"

	"midstroke/internal/table"
)

// askedEvery is how often a service is asked how far a file is.
const askedEvery = 500 * time.Millisecond

// remote is a file that a service answers.
type remote struct {
	*batchCommand
	c    console
	base string
}

// keptJob is what a service tells of a file that it answers in the background.
type keptJob struct {
	State    string `json:"state"`
	Rows     int64  `json:"rows"`
	RowsDone int64  `json:"rows_done"`
	Faulty   int64  `json:"rows_with_faults"`
	Result   string `json:"result"`
	Problem  string `json:"problem"`
}

// ask has a service answer the file, which may do that in the background.
func (b *batchCommand) ask(ctx context.Context, c console, in io.Reader, file table.File, out io.Writer) error {
	media, ok := batchTypes[strings.ToLower(filepath.Ext(file.Name))]
	if !ok {
		return fmt.Errorf("%s must end with .csv, .xlsx or .ndjson", file.Name)
	}
	r := &remote{b, c, strings.TrimSuffix(b.URL, "/")}
	bar := newBar(c.err, file.Size, "bytes sent")
	body := progressbar.NewReader(in, bar)
	answer, err := r.send(ctx, http.MethodPost, "/v1/batches?"+b.query().Encode(), &body, file.Size, media)
	if err != nil {
		return err
	}
	defer func() { _ = answer.Body.Close() }()
	_ = bar.Exit()
	if answer.StatusCode == http.StatusAccepted {
		return r.follow(ctx, answer.Header.Get("Location"), out)
	}
	_, err = io.Copy(out, answer.Body)
	return err
}

// send sends a request. Its answer is one that went well.
func (r *remote) send(ctx context.Context, method, path string, body io.Reader, length int64, media string) (*http.Response, error) {
	request, err := http.NewRequestWithContext(ctx, method, r.base+path, body)
	if err != nil {
		return nil, err
	}
	request.ContentLength = length
	if media != "" {
		request.Header.Set("Content-Type", media)
	}
	if r.Key != "" {
		request.Header.Set("Authorization", "Bearer "+r.Key)
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return nil, err
	}
	if answer.StatusCode/100 != 2 {
		defer func() { _ = answer.Body.Close() }()
		text, _ := io.ReadAll(io.LimitReader(answer.Body, mostRequest)) // as much as came
		return nil, &refusedError{answer.StatusCode, fmt.Sprintf("the service answered %s: %s", answer.Status, text)}
	}
	return answer, nil
}

// refusedError is an answer that didn't go well.
type refusedError struct {
	status int
	text   string
}

func (e *refusedError) Error() string { return e.text }

// follow waits until a job has ended, and fetches its answer. A job that isn't waited for any more
// is cancelled.
func (r *remote) follow(ctx context.Context, path string, out io.Writer) error {
	if !strings.HasPrefix(path, "/v1/batches/") {
		return fmt.Errorf("the service leads to %q", path)
	}
	job, err := r.wait(ctx, path)
	if err != nil {
		if ctx.Err() != nil {
			r.cancel(ctx, path)
		}
		return err
	}
	if job.State != "done" {
		return fmt.Errorf("the rows can't be answered: %s", job.Problem)
	}
	answer, err := r.send(ctx, http.MethodGet, path+"/result", nil, 0, "")
	if err != nil {
		return err
	}
	defer func() { _ = answer.Body.Close() }()
	if _, err := io.Copy(out, answer.Body); err != nil {
		return err
	}
	if job.Faulty > 0 {
		fmt.Fprintf(r.c.err, "midstroke: %d of %d rows have faults; see the column answer_fault\n", job.Faulty, job.Rows)
	}
	return nil
}

// mostLost is how long a service may be out of reach while its job is waited for.
const mostLost = 2 * time.Minute

// wait asks how far a job is until it has ended.
func (r *remote) wait(ctx context.Context, path string) (job keptJob, err error) {
	var bar *progressbar.ProgressBar
	reached := time.Now()
	for {
		switch err := r.look(ctx, path, &job); {
		case ctx.Err() != nil:
			return job, ctx.Err()
		case err == nil:
			reached = time.Now()
		case isRefused(err), time.Since(reached) > mostLost:
			return job, err
		}
		if bar == nil && job.Rows > 0 {
			bar = newBar(r.c.err, job.Rows, "rows")
			defer func() { _ = bar.Exit() }()
		}
		if bar != nil {
			_ = bar.Set64(job.RowsDone)
		}
		if job.State == "done" || job.State == "failed" {
			return job, nil
		}
		select {
		case <-ctx.Done():
			return job, ctx.Err()
		case <-time.After(askedEvery):
		}
	}
}

// isRefused says whether a service won't answer otherwise if it is asked again.
func isRefused(err error) bool {
	var refused *refusedError
	return errors.As(err, &refused) && refused.status < http.StatusInternalServerError && refused.status != http.StatusTooManyRequests
}

// look asks how far a job is.
func (r *remote) look(ctx context.Context, path string, job *keptJob) error {
	answer, err := r.send(ctx, http.MethodGet, path, nil, 0, "")
	if err != nil {
		return err
	}
	defer func() { _ = answer.Body.Close() }()
	return json.NewDecoder(answer.Body).Decode(job)
}

// cancelTime is how long cancelling a job may take.
const cancelTime = 5 * time.Second

func (r *remote) cancel(ctx context.Context, path string) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), cancelTime)
	defer cancel()
	if answer, err := r.send(ctx, http.MethodDelete, path, nil, 0, ""); err == nil {
		_ = answer.Body.Close()
	}
}

func (b *batchCommand) query() url.Values {
	q := url.Values{}
	q["pick"], q["keep"] = b.Pick, b.Keep
	if b.Units != "" {
		q.Set("units", b.Units)
	}
	if b.Catalog != "" {
		q.Set("catalog", b.Catalog)
	}
	if b.Revision != 0 {
		q.Set("revision", strconv.Itoa(b.Revision))
	}
	return q
}
