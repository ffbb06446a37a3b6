package main_test

import (
	"encoding/json"
	"net/http"
	"testing"
	"time"
)

// TestAnswersToFilesAreKeptAsLongAsSet: --keep-batches says when an answer goes, a start
// deletes what is older, and without the setting it is a week.
func TestAnswersToFilesAreKeptAsLongAsSet(t *testing.T) {
	t.Parallel()
	url := ownPostgres(t).URL()
	const keep = 2 * time.Second
	short := serve(t, "--database-url", url, "--keep-batches", keep.String())
	key := ownShop(t, url)
	first := short.answeredJob(t, key, "v1")
	if got := first.Expires.Sub(first.Finished); got != keep {
		t.Errorf("the answer is kept for %v, want %v", got, keep)
	}
	short.interrupt(t)

	time.Sleep(time.Until(first.Expires) + 100*time.Millisecond)
	usual := serve(t, "--database-url", url)
	within(t, 10*time.Second, "the answer's end", func() bool {
		status, _ := usual.send(t, key, "GET", "/v1/batches/"+first.ID+"/result", "")
		return status == http.StatusNotFound
	})
	second := usual.answeredJob(t, key, "v2")
	if got := second.Expires.Sub(second.Finished); got != 7*24*time.Hour {
		t.Errorf("without the setting the answer is kept for %v, want 7 days", got)
	}
	usual.interrupt(t)
}

// answeredJob has a file of one row answered in the background.
func (s *server) answeredJob(t *testing.T, key, vehicle string) (j jobState) {
	t.Helper()
	within(t, 10*time.Second, "the catalogue", func() bool { status, name := s.with(t, key); return status == 200 && name == "own" })
	file := "vehicle,units,upper,lower,readings,suspension\n" + vehicle + ",in,eye,eye,16 5/8,solid_axle\n"
	if status, text := s.send(t, key, "POST", "/v1/batches", file, "Content-Type", "text/csv", "Prefer", "respond-async"); status != http.StatusAccepted || json.Unmarshal([]byte(text), &j) != nil {
		t.Fatalf("%d: %s", status, text)
	}
	within(t, 30*time.Second, "the answer", func() bool { j = s.job(t, key, j.ID); return j.State == "done" })
	return j
}
