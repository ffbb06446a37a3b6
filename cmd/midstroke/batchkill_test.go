package main_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/testdata/demo"
)

// jobState is what a service tells of a file that is answered in the background.
type jobState struct {
	ID, State string
	RowsDone  int `json:"rows_done"`
	Problem   *string
	Finished  time.Time `json:"finished_at"`
	Expires   time.Time `json:"expires_at"`
}

// send sends a request with a key and gives the body of its answer.
func (s *server) send(t *testing.T, key, method, path, body string, header ...string) (status int, answer string) {
	t.Helper()
	r, err := http.NewRequest(method, s.url+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+key)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		return 0, err.Error()
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, string(text)
}

func (s *server) job(t *testing.T, key, id string) (j jobState) {
	t.Helper()
	if status, text := s.send(t, key, "GET", "/v1/batches/"+id, ""); status != http.StatusOK || json.Unmarshal([]byte(text), &j) != nil {
		t.Fatalf("%d: %s", status, text)
	}
	return j
}

// ownShop makes a shop called own with the demo catalogue, and gives its key.
func ownShop(t *testing.T, url string) (key string) {
	t.Helper()
	store, err := postgres.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	key, k := shop.NewKey(shop.Admin)
	k.Shop = "own"
	if err := store.CreateKey(t.Context(), k); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Publish(t.Context(), "own", demo.Contents(), ""); err != nil {
		t.Fatal(err)
	}
	return key
}

// TestAFileSurvivesKills kills the process that answers a file, again and again. Another one goes
// on, and in the end every row is there once.
func TestAFileSurvivesKills(t *testing.T) {
	t.Parallel()
	kills, rows := 3, 60_000
	if os.Getenv("MIDSTROKE_TEST_LONG") != "" {
		kills, rows = 20, 400_000
	}
	url := ownPostgres(t).URL()
	present := serve(t, "--database-url", url)
	key := ownShop(t, url)
	within(t, 10*time.Second, "the catalogue", func() bool { status, name := present.with(t, key); return status == 200 && name == "own" })

	var file strings.Builder
	file.WriteString("vehicle,units,upper,lower,readings,suspension\n")
	for i := range rows {
		fmt.Fprintf(&file, "v%d,in,eye,eye,%d %d/16,solid_axle\n", i, 14+i%5, 1+i%15)
	}
	var j jobState
	if status, text := present.send(t, key, "POST", "/v1/batches", file.String(), "Content-Type", "text/csv"); status != http.StatusAccepted || json.Unmarshal([]byte(text), &j) != nil {
		t.Fatalf("%d: %s", status, text)
	}
	done := 0
	for kill := range kills {
		next := serve(t, "--database-url", url)
		within(t, time.Minute, fmt.Sprintf("progress before kill %d", kill+1), func() bool {
			now := present.job(t, key, j.ID)
			if now.State == "done" {
				t.Fatalf("it was done before kill %d, which proves nothing", kill+1)
			}
			return now.RowsDone > done
		})
		if err := present.cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		if err := <-present.exited; err == nil {
			t.Error("a killed process ended well")
		}
		present = next
		within(t, 10*time.Second, "the other's answer", func() bool {
			status, text := present.send(t, key, "GET", "/v1/batches/"+j.ID, "")
			return status == http.StatusOK && json.Unmarshal([]byte(text), &j) == nil
		})
		done = j.RowsDone
	}
	within(t, 20*time.Minute, "the end", func() bool {
		j = present.job(t, key, j.ID)
		return j.State == "done" || j.State == "failed"
	})
	status, text := present.send(t, key, "GET", "/v1/batches/"+j.ID+"/result", "")
	cells, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || status != http.StatusOK || j.State != "done" || len(cells) != rows+1 {
		t.Fatalf("%+v: %d, %d lines, %v", j, status, len(cells), err)
	}
	for i, row := range cells[1:] {
		if row[0] != fmt.Sprintf("v%d", i) || row[6] == "" {
			t.Fatalf("row %d is %q", i, row)
		}
	}
	// The same rows as without any kill.
	first := strings.Join(strings.SplitAfter(file.String(), "\n")[:101], "")
	_, want := present.send(t, key, "POST", "/v1/batches", first, "Content-Type", "text/csv")
	if got := strings.Join(strings.SplitAfter(text, "\r\n")[:101], ""); got != want {
		t.Error("the first rows aren't those of an answer in the call")
	}
	present.interrupt(t)
}
