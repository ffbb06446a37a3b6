package httpapi

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"midstroke/internal/catalog"
)

// TestAnArchiveTakesNoMoreThanItCanRead: one who asks for revision after
// revision is turned away at some number, and nobody else with him.
func TestAnArchiveTakesNoMoreThanItCanRead(t *testing.T) {
	release := make(chan struct{})
	a := newArchive(func(_ context.Context, _ int64, name string, number int) (*catalog.Snapshot, error) {
		<-release
		return catalog.NewSnapshot(name, number, catalog.Contents{}), nil
	})
	answers := make(chan error, mostWaiting)
	for n := 1; n <= mostWaiting; n++ {
		go func() { _, err := a.get(t.Context(), 1, "demo", n); answers <- err }()
	}
	for {
		a.mu.Lock()
		n := a.waiting(1)
		a.mu.Unlock()
		if n == mostWaiting {
			break
		}
		time.Sleep(time.Millisecond)
	}
	if _, err := a.get(t.Context(), 1, "demo", mostWaiting+1); !errors.Is(err, errBusy) {
		t.Errorf("one more: %v", err)
	}
	other := make(chan error)
	go func() { _, err := a.get(t.Context(), 2, "demo", 1); other <- err }()
	close(release)
	for range mostWaiting {
		if err := <-answers; err != nil {
			t.Error(err)
		}
	}
	if err := <-other; err != nil {
		t.Errorf("another owner: %v", err)
	}
}

// TestAPanicInReadingEndsNothingElse: it is the error of whoever asked.
func TestAPanicInReadingEndsNothingElse(t *testing.T) {
	a := newArchive(func(context.Context, int64, string, int) (*catalog.Snapshot, error) { panic("on purpose") })
	for range mostLoading + 1 { // a place that was not given back would end this
		_, err := a.get(t.Context(), 1, "demo", 1)
		var p *panicked
		if !errors.As(err, &p) || !strings.Contains(string(p.stack), "archive_internal_test") {
			t.Fatalf("got %v", err)
		}
	}
}

// TestACallerWhoHangsUpIsNoFaultOfOurs: it is neither logged as an error nor
// counted as one.
func TestACallerWhoHangsUpIsNoFaultOfOurs(t *testing.T) {
	log := new(strings.Builder)
	gone, hangUp := context.WithCancel(t.Context())
	ended := make(chan struct{})
	defer close(ended)
	live := new(catalog.Live)
	live.Store(catalog.NewSnapshot("demo", 2, catalog.Contents{}))
	h, err := New(Config{Live: live, Log: slog.New(slog.NewJSONHandler(log, nil)), Revision: func(context.Context, int64, string, int) (*catalog.Snapshot, error) {
		hangUp()
		<-ended
		return nil, errors.New("nobody waits for this")
	}})
	if err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequestWithContext(gone, http.MethodGet, "/v1/dampers?units=in&revision=1", nil)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	if w.Body.Len() > 0 || strings.Contains(log.String(), "ERROR") || !strings.Contains(log.String(), `"status":499`) {
		t.Errorf("answered %q; the log has %s", w.Body, log)
	}
}
