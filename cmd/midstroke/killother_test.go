package main_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
)

// killedShop is a shop whose services and commands are killed.
type killedShop struct {
	*testing.T
	store   *postgres.Store
	url     string // of the database
	key     string
	rnd     *rand.Rand
	dampers int
	upload  []byte // the dampers of a revision whose codes begin with C
	usual   map[string]time.Duration
	known   map[int]bool // the revisions and drafts that were there before
	current int
	keys    int
	killed  int
}

// TestOtherWorkIsKilledAtAnyMoment kills services at random moments of uploads and of
// going back to an older revision, and the command that makes a key. Afterwards there is
// all of it or nothing, and the next works.
func TestOtherWorkIsKilledAtAnyMoment(t *testing.T) {
	t.Parallel()
	rounds, usual := 3, map[string]time.Duration{"upload": 100 * time.Millisecond, "rollback": 30 * time.Millisecond, "key": 60 * time.Millisecond}
	long := os.Getenv("MIDSTROKE_TEST_LONG") != ""
	if long {
		rounds = 200
	}
	dir := usedDataDir(t)
	owner := serve(t, "--data-dir", dir)
	url, err := pglocal.Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	const seed = 6
	k := &killedShop{T: t, url: url, rnd: rand.New(rand.NewPCG(seed, seed)), dampers: 1500, usual: usual, known: map[int]bool{1: true, 2: true}, current: 2}
	midstroke(t, "import", folderOf(t, "A", k.dampers), "--catalog", "own", "--database-url", url)
	midstroke(t, "import", folderOf(t, "B", k.dampers), "--catalog", "own", "--database-url", url)
	if k.upload, err = os.ReadFile(filepath.Join(folderOf(t, "C", k.dampers), "dampers.csv")); err != nil {
		t.Fatal(err)
	}
	if k.store, err = postgres.Open(t.Context(), url); err != nil {
		t.Fatal(err)
	}
	defer k.store.Close()
	text, key := shop.NewKey(shop.Admin)
	key.Shop, k.key, k.keys = "own", text, 1
	if err := k.store.CreateKey(t.Context(), key); err != nil {
		t.Fatal(err)
	}
	work := []func(bool){k.uploads, k.rollsBack, k.makesAKey}
	for _, do := range work {
		if long {
			do(false) // measures how long it takes
		}
	}
	for round := range rounds {
		work[round%len(work)](true)
	}
	if k.killed == 0 {
		t.Error("nothing was killed before its end, which proves nothing")
	}
	for _, do := range work {
		do(false)
	}
	t.Logf("%d of %d were killed before their end; usually they take %v", k.killed, rounds, k.usual)
	owner.interrupt(t)
}

// wait is a time within which work is usually done, by chance.
func (k *killedShop) wait(work string) time.Duration {
	return time.Duration(k.rnd.Int64N(int64(k.usual[work])*11/10 + 1))
}

// asked sends a request to a service of its own, which is killed meanwhile where kill
// is set. It gives the number of the revision that an answer with status tells, 0 where
// there was no such answer.
func (k *killedShop) asked(work string, kill bool, target, contentType string, body []byte, status int) (number int) {
	k.Helper()
	s := serve(k.T, "--database-url", k.url)
	// Its first request loads the keys; only what follows is timed.
	if got, name := s.with(k.T, k.key); got != http.StatusOK || name != "own" {
		k.Fatalf("%d %q", got, name)
	}
	begun := time.Now()
	answered := make(chan int, 1) // with the number
	go func() {
		r, err := http.NewRequestWithContext(context.Background(), http.MethodPost, s.url+target, bytes.NewReader(body))
		if err != nil {
			answered <- 0
			return
		}
		r.Header.Set("Authorization", "Bearer "+k.key)
		r.Header.Set("Content-Type", contentType)
		r.Header.Set("If-Match", "*")
		res, err := http.DefaultClient.Do(r)
		if err != nil {
			answered <- 0
			return
		}
		defer res.Body.Close()
		var answer struct{ Revision int }
		if err := json.NewDecoder(res.Body).Decode(&answer); err != nil || res.StatusCode != status {
			answer.Revision = 0
		}
		answered <- answer.Revision
	}()
	if kill {
		time.Sleep(k.wait(work))
		if err := s.cmd.Process.Kill(); err != nil {
			k.Fatal(err)
		}
		if err := <-s.exited; err == nil {
			k.Error("a killed process ended well")
		}
		number = <-answered
	} else {
		if number = <-answered; number == 0 {
			k.Fatalf("%s isn't answered by %d", work, status)
		}
		k.usual[work] = time.Since(begun)
		s.interrupt(k.T)
	}
	if number == 0 {
		k.killed++
	}
	return number
}

// uploads sends a revision. Each draft is whole.
func (k *killedShop) uploads(kill bool) {
	k.Helper()
	acknowledged := k.asked("upload", kill, "/v1/catalogs/own/revisions?currency=USD", "text/csv", k.upload, http.StatusCreated)
	list, err := k.store.Revisions(k.Context(), own, 0, 1000)
	if err != nil {
		k.Fatal(err)
	}
	for _, r := range list {
		if k.known[r.Number] {
			continue
		}
		k.known[r.Number] = true
		snapshot, err := k.store.Drafted(k.Context(), own, r.Number)
		if err != nil {
			k.Fatal(err)
		}
		if mark := whole(k.T, snapshot, k.dampers); mark != "C" {
			k.Fatalf("draft %d is of %s", r.Number, mark)
		}
	}
	if acknowledged != 0 && !k.known[acknowledged] {
		k.Errorf("the acknowledged draft %d isn't there", acknowledged)
	}
}

// rollsBack goes to the other of the two published revisions. One of both is current.
func (k *killedShop) rollsBack(kill bool) {
	k.Helper()
	to := 3 - k.current
	acknowledged := k.asked("rollback", kill, fmt.Sprintf("/v1/catalogs/own/revisions/%d/rollback", to), "application/json", nil, http.StatusOK)
	snapshot, err := k.store.Newest(k.Context(), own.Catalog)
	if err != nil {
		k.Fatal(err)
	}
	got := snapshot.Revision()
	if acknowledged != 0 && got != to {
		k.Errorf("revision %d is current after an acknowledged return to %d", got, to)
	}
	want := map[int]string{1: "A", 2: "B"}[got]
	if mark := whole(k.T, snapshot, k.dampers); mark != want {
		k.Errorf("revision %d is of %s, want %s", got, mark, want)
	}
	k.current = got
}

// makesAKey runs the command that makes a key. A key that it told of works.
func (k *killedShop) makesAKey(kill bool) {
	k.Helper()
	begun := time.Now()
	cmd := command("key", "create", "--shop", "own", "--use", "server", "--database-url", k.url)
	var out bytes.Buffer
	cmd.Stdout = &out
	if err := cmd.Start(); err != nil {
		k.Fatal(err)
	}
	if kill {
		time.Sleep(k.wait("key"))
		_ = cmd.Process.Kill() // fails if it has ended already
	}
	err := cmd.Wait()
	finished := err == nil
	switch {
	case !finished && !kill:
		k.Fatal(err)
	case !finished:
		k.killed++
	case !kill:
		k.usual["key"] = time.Since(begun)
	}
	keys, err := k.store.Keys(k.Context(), "own")
	if err != nil {
		k.Fatal(err)
	}
	told := shownKey.FindString(out.String())
	if added := len(keys) - k.keys; added < 0 || added > 1 || told != "" && added != 1 || finished && told == "" {
		k.Errorf("%d keys were added; the command told of %q, finished: %v", added, told, finished)
	}
	k.keys = len(keys)
	if told == "" {
		return
	}
	s := serve(k.T, "--database-url", k.url)
	if status, name := s.with(k.T, told); status != http.StatusOK || name != "own" {
		k.Errorf("a key that was told of is answered by %d from %q", status, name)
	}
	s.interrupt(k.T)
}
