package speed_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"
	"testing"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/migrations"
)

// quoteBodies are requests that keep the best fit to some requests of a day's mix.
func (s *stage) quoteBodies(p *process, name string) (bodies []string) {
	s.Helper()
	const some = 24
	for _, request := range mix() {
		answer := s.post(p, name, "/v1/fits", request, http.StatusOK)
		var found struct {
			Fits []struct{ Damper struct{ Code string } }
		}
		if err := json.Unmarshal(answer, &found); err != nil {
			s.Fatal(err)
		}
		if len(found.Fits) > 0 {
			bodies = append(bodies, fmt.Sprintf(`{"axles":[{"axle":"rear","damper":%q,"request":%s}]}`, found.Fits[0].Damper.Code, request))
		}
		if len(bodies) == some {
			return bodies
		}
	}
	s.Fatalf("only %d requests have a fit", len(bodies))
	return nil
}

// post sends a body once.
func (s *stage) post(p *process, name, path, body string, status int, header ...string) []byte {
	s.Helper()
	r, err := http.NewRequestWithContext(s.Context(), http.MethodPost, p.url+path, strings.NewReader(body))
	if err != nil {
		s.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+s.keys[name])
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		s.Fatal(err)
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != status {
		s.Fatalf("%s: %s, %v: %.500s", path, res.Status, err, answer)
	}
	return answer
}

// durable gives a stage whose only shop is on a private Postgres as make run sets it up,
// which has written a row to its disk before it says so.
func (s *stage) durable(name string) *stage {
	s.Helper()
	server, err := pglocal.Start(context.Background(), pglocal.Config{Dir: pgtest.DataDir(s.T)})
	if err != nil {
		s.Fatal(err)
	}
	s.Cleanup(func() { _ = server.Stop(context.Background()) })
	if _, err := migrations.Up(s.Context(), server.URL()); err != nil {
		s.Fatal(err)
	}
	d := &stage{T: s.T, binary: s.binary, url: server.URL(), keys: map[string]string{}}
	d.connect()
	store, err := postgres.Open(s.Context(), d.url)
	if err != nil {
		s.Fatal(err)
	}
	defer store.Close()
	d.addCatalog(store, name)
	return d
}

// quotes keeps quotes as fast as they are answered, and inserts the bytes of their
// answers, in turns. Both are committed one by one.
func (s *stage) quotes(name string) beside {
	s.Helper()
	s = s.durable(name)
	p, _ := s.serve(name)
	ours := order{Address: p.url, Key: s.keys[name], Path: "/v1/quotes", Once: true, Bodies: s.quoteBodies(p, name), Connections: 16, Seconds: 3}
	load(s.T, ours)
	var bytes []string
	var total int64
	for i, body := range ours.Bodies[:4] {
		answer := string(s.post(p, name, ours.Path, body, http.StatusCreated, "Idempotency-Key", fmt.Sprint("bytes ", i)))
		bytes = append(bytes, answer)
		total += int64(len(answer))
	}
	s.exec("CREATE TABLE bare_quotes (id text PRIMARY KEY, body bytea NOT NULL)")
	defer s.exec("DROP TABLE bare_quotes")
	bare := order{Insert: s.url, Bodies: bytes, Connections: 16, Seconds: 3}
	load(s.T, bare)
	b := beside{bytes: total / int64(len(bytes))}
	const rounds = 5
	var ratios, all, allBare []float64
	for range rounds {
		a, o := load(s.T, ours).perSecond(), load(s.T, bare).perSecond()
		ratios, all, allBare = append(ratios, a/o), append(all, a), append(allBare, o)
	}
	b.ratio, b.ours, b.bare = median(ratios), median(all), median(allBare)
	return b
}

// TestQuotesAlone is for trying the row of quotes without the rest of the table.
func TestQuotesAlone(t *testing.T) {
	if os.Getenv("MIDSTROKE_SPEED_QUOTES") == "" {
		t.Skip("make bench has this row in its table")
	}
	s := &stage{T: t, binary: build(t)}
	kept := s.quotes(small)
	t.Logf("%.2f (%.0f over %.0f a second, %.1f KB each)", kept.ratio, kept.ours, kept.bare, float64(kept.bytes)/1000)
}
