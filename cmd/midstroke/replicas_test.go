package main_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/testdata/demo"
)

// TestReplicasAgreeWithinASecond publishes over HTTP on one of two instances,
// the second time just after every connection of both was cut.
func TestReplicasAgreeWithinASecond(t *testing.T) {
	t.Parallel()
	dir := usedDataDir(t)
	owner := serve(t, "--data-dir", dir)
	url, err := pglocal.Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	store, err := postgres.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	text, key := shop.NewKey(shop.Admin)
	key.Shop = "own"
	if err := store.CreateKey(t.Context(), key); err != nil {
		t.Fatal(err)
	}
	first, err := store.Publish(t.Context(), "own", demo.Contents(), "")
	if err != nil {
		t.Fatal(err)
	}
	guest := serve(t, "--database-url", url)
	both := []*server{owner, guest}
	agree := func(revision int) {
		t.Helper()
		for _, s := range both {
			within(t, time.Second, fmt.Sprint("answers from revision ", revision), func() bool {
				_, _, got := s.answer(t, text)
				return got == revision
			})
		}
	}
	for _, s := range both {
		within(t, 10*time.Second, "the first revision", func() bool { _, _, got := s.answer(t, text); return got == first })
	}
	for _, cut := range []bool{false, true} {
		draft, err := store.Draft(t.Context(), own, shop.PartsOf(demo.Contents()), "", "a test", nil)
		if err != nil {
			t.Fatal(err)
		}
		if cut {
			// Only a superuser may end what other roles do.
			conn, err := pgx.Connect(t.Context(), strings.Replace(url, "//midstroke@", "//postgres@", 1))
			if err != nil {
				t.Fatal(err)
			}
			if _, err := conn.Exec(t.Context(), "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE application_name = 'midstroke' AND pid <> pg_backend_pid() AND datname = current_database()"); err != nil {
				t.Fatal(err)
			}
			_ = conn.Close(t.Context())
		}
		status := 0
		within(t, time.Second, "that it is published", func() bool {
			r, err := http.NewRequest(http.MethodPost, fmt.Sprintf("%s/v1/catalogs/own/revisions/%d/publish", owner.url, draft.Number), strings.NewReader(""))
			if err != nil {
				t.Fatal(err)
			}
			r.Header.Set("Authorization", "Bearer "+text)
			r.Header.Set("If-Match", "*")
			res, err := http.DefaultClient.Do(r)
			if err != nil {
				t.Fatal(err)
			}
			_ = res.Body.Close()
			status = res.StatusCode
			return status != http.StatusServiceUnavailable // just cut off
		})
		if status != http.StatusOK && status != http.StatusConflict {
			t.Fatalf("publish is answered by %d", status)
		}
		agree(draft.Number)
	}
	guest.interrupt(t)
	owner.interrupt(t)
}
