package main_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/pglocal"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// own is the catalogue of these tests, as it is named across shops.
var own = shop.Place{Catalog: "own"}

// folderOf writes a catalogue whose codes all begin with a mark.
func folderOf(t *testing.T, mark string, dampers int) string {
	t.Helper()
	c := demo.Generate(1, dampers)
	for i := range c.Dampers {
		c.Dampers[i].Code = mark + c.Dampers[i].Code
	}
	dir := t.TempDir()
	if err := demo.WriteFiles(dir, c, unit.Millimetres); err != nil {
		t.Fatal(err)
	}
	return dir
}

// whole gives the mark of a revision's codes, and fails if they have several.
func whole(t *testing.T, s *catalog.Snapshot, dampers int) (mark string) {
	t.Helper()
	all := s.Dampers()
	if len(all) != dampers {
		t.Fatalf("revision %d has %d dampers, want %d", s.Revision(), len(all), dampers)
	}
	mark = all[0].Code[:1]
	for i := range all {
		if all[i].Code[:1] != mark {
			t.Fatalf("revision %d has both %q and %q", s.Revision(), all[0].Code, all[i].Code)
		}
	}
	return mark
}

// TestKilledAtAnyMoment kills imports, and services that are publishing, at random
// moments. Afterwards the newest revision is exactly the old one or exactly the
// new one, and the next import works.
func TestKilledAtAnyMoment(t *testing.T) {
	t.Parallel()
	rounds := 5
	if os.Getenv("MIDSTROKE_TEST_LONG") != "" {
		rounds = 200
	}
	const dampers = 1500
	dir := usedDataDir(t)
	owner := serve(t, "--data-dir", dir)
	url, err := pglocal.Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	folders := map[string]string{"A": folderOf(t, "A", dampers), "B": folderOf(t, "B", dampers)}
	start := time.Now()
	midstroke(t, "import", folders["A"], "--catalog", "own", "--database-url", url)
	usual := time.Since(start)
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
	const seed = 5
	rnd := rand.New(rand.NewPCG(seed, seed))
	before, old, killed := 1, "A", 0
	for round := range rounds {
		mark := map[string]string{"A": "B", "B": "A"}[old]
		wait := time.Duration(rnd.Int64N(int64(usual) * 11 / 10))
		var finished bool
		if round%2 == 0 {
			finished = importKilled(t, folders[mark], url, wait)
		} else {
			wait = time.Duration(rnd.Int64N(int64(30 * time.Millisecond)))
			finished = publishKilled(t, store, url, text, mark, dampers, wait)
		}
		if !finished {
			killed++
		}
		// The database may still be working on what the killed one had sent. This
		// waits for its lock.
		onlyLooked := errors.New("only looked at")
		if _, err := store.Release(t.Context(), own, before, shop.RollBack, "a test", func(shop.Revision) error { return onlyLooked }); !errors.Is(err, onlyLooked) {
			t.Fatal(err)
		}
		snapshot, err := store.Newest(t.Context(), own.Catalog)
		if err != nil {
			t.Fatal(err)
		}
		got := whole(t, snapshot, dampers)
		switch {
		case snapshot.Revision() == before && got == old && !finished:
		case snapshot.Revision() > before && got == mark:
		default:
			t.Fatalf("round %d: after %s's import (finished: %v) over revision %d of %s: revision %d of %s", round, mark, finished, before, old, snapshot.Revision(), got)
		}
		before, old = snapshot.Revision(), got
	}
	if killed == 0 {
		t.Error("nothing was killed before its end, which proves nothing")
	}
	t.Logf("%d of %d were killed before their end; an import takes %v", killed, rounds, usual)
	midstroke(t, "import", folders["A"], "--catalog", "own", "--database-url", url)
	if snapshot, err := store.Newest(t.Context(), "own"); err != nil || whole(t, snapshot, dampers) != "A" {
		t.Errorf("the next import: %v", err)
	}
	within(t, 5*time.Second, "the service's answer from what is newest", func() bool {
		status, name := owner.with(t, text)
		return status == 200 && name == "own"
	})
	owner.interrupt(t)
}

// importKilled starts an import, kills it after wait, and says whether it had
// finished.
func importKilled(t *testing.T, folder, url string, wait time.Duration) (finished bool) {
	t.Helper()
	cmd := command("import", folder, "--catalog", "own", "--database-url", url)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(wait)
	_ = cmd.Process.Kill() // fails if it has ended already
	err := cmd.Wait()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return err == nil
}

// publishKilled drafts a revision, asks a service to publish it, kills the service
// after wait, and says whether it had answered.
func publishKilled(t *testing.T, store *postgres.Store, url, key, mark string, dampers int, wait time.Duration) (finished bool) {
	t.Helper()
	c := demo.Generate(1, dampers)
	for i := range c.Dampers {
		c.Dampers[i].Code = mark + c.Dampers[i].Code
	}
	draft, err := store.Draft(t.Context(), own, shop.PartsOf(c), "", "a test", nil)
	if err != nil {
		t.Fatal(err)
	}
	s := serve(t, "--database-url", url)
	answered := make(chan bool, 1)
	go func() {
		r, err := http.NewRequest(http.MethodPost, fmt.Sprintf("%s/v1/catalogs/own/revisions/%d/publish", s.url, draft.Number), strings.NewReader(""))
		if err != nil {
			answered <- false
			return
		}
		r.Header.Set("Authorization", "Bearer "+key)
		r.Header.Set("If-Match", "*")
		res, err := http.DefaultClient.Do(r)
		if err == nil {
			_ = res.Body.Close()
		}
		answered <- err == nil && res.StatusCode == http.StatusOK
	}()
	time.Sleep(wait)
	if err := s.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if err := <-s.exited; err == nil {
		t.Error("it was killed, and says that it ended well")
	}
	return <-answered
}
