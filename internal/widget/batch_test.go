//go:build browser

package widget_test

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"midstroke/internal/batch"
	"midstroke/internal/batchjob"
	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/jobs"
	"midstroke/internal/pglocal"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/migrations"
	"midstroke/testdata/demo"
)

// newBatchService starts the service with a database and what works on its jobs, and
// gives a key.
func newBatchService(t *testing.T) (s *service, key string) {
	t.Helper()
	srv, err := pglocal.Temporary(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = srv.Stop(context.Background()) })
	if _, err := migrations.Up(t.Context(), srv.URL()); err != nil {
		t.Fatal(err)
	}
	store, err := postgres.Open(t.Context(), srv.URL())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	key, k := shop.NewKey(shop.Server)
	k.Shop = "own"
	if err := store.CreateKey(t.Context(), k); err != nil {
		t.Fatal(err)
	}
	keys, err := store.Keys(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	ring := new(shop.Keyring)
	ring.Replace(keys)
	var snapshot *catalog.Snapshot
	var handler *httpapi.Handler
	s = newServiceOn(t, demo.Contents(), func(c *httpapi.Config) {
		c.Keys, c.FindKey, c.Batches = ring, store.FindKey, func() httpapi.Batches { return store }
		held, _ := c.Library.Loaded("demo")
		snapshot = held.Snapshot
		if handler, err = httpapi.New(*c); err != nil {
			t.Fatal(err)
		}
	})
	kinds := jobs.NewKinds()
	runner := &batch.Runner{Keeper: store, Turn: handler.RowsTurn, Keep: time.Hour, SaveEvery: 100 * time.Millisecond, Snapshot: func(context.Context, *batchjob.Job) (*catalog.Snapshot, error) { return snapshot, nil }}
	jobs.Add(kinds, jobs.Kind[postgres.BatchArgs]{
		Timeout: time.Hour, AtOnce: 2, OfShop: 1, Again: func(int) (time.Duration, bool) { return time.Second, true },
		Do: func(ctx context.Context, j jobs.Job[postgres.BatchArgs]) error {
			return runner.Do(ctx, j.Args.Shop, j.Args.ID)
		},
	})
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		kinds.Run(ctx, store.Working(), slog.New(slog.DiscardHandler))
	}()
	t.Cleanup(func() { cancel(); <-ended })
	return s, key
}

// fileOf writes a file of requests.
func fileOf(t *testing.T, header string, rows int) string {
	t.Helper()
	var text strings.Builder
	text.WriteString(header + "\n")
	for i := range rows {
		reading := []string{"16 5/8", "17 1/4", "9", "20 1/2", "15 1/2"}[i%5]
		if i == 3 {
			reading = `"16,5"`
		}
		fmt.Fprintf(&text, "vehicle %d,in,eye,eye,%s,solid_axle,%d\n", i, reading, 1+i%3)
	}
	path := filepath.Join(t.TempDir(), "vehicles.csv")
	if err := os.WriteFile(path, []byte(text.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// chooseFile gives a file to an input, as a person does who chooses it.
func (t *tab) chooseFile(selector, path string) {
	t.tb.Helper()
	t.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		found, err := cdp.Call(ctx, target, runtime.Evaluate, runtime.EvaluateParams{Expression: fmt.Sprintf("document.querySelector(%q)", selector)})
		if err != nil {
			return err
		}
		_, err = cdp.Call(ctx, target, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: []string{path}, ObjectID: found.Result.ObjectID})
		return err
	}))
}

// TestAFileOnTheBatchPage goes from a file with a misspelt column to its answers and to
// what to stock, on every screen and in both languages.
func TestAFileOnTheBatchPage(t *testing.T) {
	t.Parallel()
	s, key := newBatchService(t)
	for _, language := range lookedAt() {
		p := newTab(t, phone)
		p.open(s.URL + "/batch?catalog=demo&lang=" + language)
		p.until("seen('#key')")
		p.onEach("batch_empty", language)
		p.chooseFile("input[type=file]", fileOf(t, "vehicle,units,uper,lower,readings,suspension,weight", 300))
		p.until("seen('[data-trouble]')") // the key is missing
		p.write("#key", key)
		eval[bool](p, "(q('#key').blur(), true)")
		p.until("seen('[data-go=read-as]')")
		if !eval[bool](p, "q('[data-part=header]').innerText.includes('uper') && !q('[data-go=answer]')") {
			t.Errorf("the misspelt column: %s", p.text("[data-part=header]"))
		}
		// The page has buttons for what the cure tells programs to send.
		if said := p.text("[data-part=header]"); strings.Contains(said, "Uper") || strings.Contains(said, "keep=") {
			t.Errorf("a column isn't told as it is in the file, or to a program: %s", said)
		}
		p.onEach("batch_near", language)
		p.click("[data-go=read-as]")
		p.until("seen('[data-go=answer]') && seen('[data-part=first] .badge')")
		if !eval[bool](p, "q('[data-line=\"5\"] .fault')?.innerText.length > 10") {
			t.Error("the fault of row 5 isn't shown among the first rows")
		}
		p.onEach("batch_ready", language)
		p.click("[data-go=answer]")
		p.until("seen('[data-part=ended]')")
		if !eval[bool](p, "q('[data-part=faults] [data-line=\"5\"]')?.innerText.length > 10 && all('[data-part=faults] tbody tr').length === 1") {
			t.Errorf("the row with a fault isn't listed: %s", p.text("[data-part=faults]"))
		}
		p.until("!q('[data-busy]')")
		p.click("[data-go=shelf]")
		p.until("seen('[data-part=shelved] svg[role=img]')")
		if !eval[bool](p, "all('.stock-table tbody tr').length > 0") {
			t.Error("there is nothing to stock")
		}
		p.onEach("batch_answered", language)
	}
}

// TestWhatABatchCantServe: the share that was wanted isn't told as served, the words of the
// drawing are legible on a phone, a long name leaves the answer in sight, and what a column
// means says of which end. Sent again in Spanish, the file has Spanish faults.
func TestWhatABatchCantServe(t *testing.T) {
	t.Parallel()
	s, key := newBatchService(t)
	path := filepath.Join(t.TempDir(), "fleet.csv")
	fleet := "vehicle,units,upper,lower,readings,suspension,weight\n" + strings.Repeat("v", 64) + ",in,eye,eye,17 5/16,solid_axle,3\n" +
		"pickup,in,stud,eye,16 1/4,solid_axle,2\nbroken,in,eye,,17,solid_axle,1\nhuge,mm,eye,eye,9999,solid_axle,1\n"
	if err := os.WriteFile(path, []byte(fleet), 0o600); err != nil {
		t.Fatal(err)
	}
	p := newTab(t, phone)
	for _, c := range []struct{ language, missing, ends, set, unreached string }{
		{"en", "lower is missing", "Lower end: How it is made", "serves all that can be served: 83.3%", "90% can't be reached"},
		{"es", "Falta lower", "Extremo inferior: Tipo", "atiende todo lo que se puede atender: el 83,3", "no se alcanza"},
	} {
		p.open(s.URL + "/batch?catalog=demo&lang=" + c.language)
		p.until("seen('#key')")
		p.write("#key", key)
		eval[bool](p, "(q('#key').blur(), true)")
		p.chooseFile("input[type=file]", path)
		p.until("seen('[data-go=answer]') && seen('[data-part=first] .badge')")
		if said := p.text("[data-part=columns]"); !strings.Contains(said, c.ends) {
			t.Errorf("what columns mean: %s", said)
		}
		if left := eval[float64](p, "q('[data-line=\"2\"] .badge').getBoundingClientRect().right"); left > float64(phone.width) {
			t.Errorf("the answer ends at %g", left)
		}
		p.click("[data-go=answer]")
		p.until("seen('[data-part=ended]') && !q('[data-busy]')")
		if said := p.text("[data-part=faults] [data-line=\"4\"]"); strings.TrimSpace(strings.TrimPrefix(said, "4")) != c.missing {
			t.Errorf("the fault of row 4: %q", said)
		}
		p.click("[data-go=shelf]")
		p.until("seen('[data-part=shelved] svg[role=img]')")
		if said := p.text("[data-part=shelved]"); !strings.Contains(said, c.set) || !strings.Contains(said, c.unreached) {
			t.Errorf("of the set it says %s", said)
		}
		if least := eval[float64](p, "Math.min(...all('.heat text').map((text) => parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a))"); least < 9 {
			t.Errorf("words of the drawing are %g pixels high", least)
		}
		p.accessible()
	}
}

// TestALargeFileOnTheBatchPage is followed, and cancelled.
func TestALargeFileOnTheBatchPage(t *testing.T) {
	t.Parallel()
	s, key := newBatchService(t)
	p := newTab(t, desktop)
	p.open(s.URL + "/batch?catalog=demo&lang=en")
	p.until("seen('#key')")
	p.write("#key", key)
	eval[bool](p, "(q('#key').blur(), true)")
	p.chooseFile("input[type=file]", fileOf(t, "vehicle,units,upper,lower,readings,suspension,weight", 80_000))
	p.until("seen('[data-go=answer]')")
	p.click("[data-go=answer]")
	p.until("Number(q('progress')?.value) > 0 && q('[data-part=working]').innerText.includes('left')")
	p.shot("batch_working")
	p.click("[data-go=cancel]")
	p.until("q('.told.planned') && !q('progress')")
}
