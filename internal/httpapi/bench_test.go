package httpapi_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/library/librarytest"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// benchedRequests are a day's: one place at the counter in many sizes, with
// hardware at both ends, so that what one answer leaves behind serves the next
// as seldom or as often as it would.
var benchedRequests = func() []string {
	var all []string
	for _, bolt := range []string{"M10", "M12", "M14", "7/16 in", "1/2 in", "5/8 in"} {
		for _, opening := range []string{"1 3/8", "1 1/2", "1 5/8"} {
			for _, reading := range []string{"14 1/8", "15 1/2", "16 5/8", "18 1/4"} {
				all = append(all, fmt.Sprintf(benchedRequest, bolt, opening, reading))
			}
		}
	}
	return all
}()

const benchedRequest = `{
  "units": "in",
  "reference": "ticket 4411, rear axle",
  "upper": {"style": "stud", "measured_to": "frame_face", "bushing_thickness": "3/8", "washer_thickness": "1/16"},
  "lower": {"style": "eye", "bolt": %q, "opening": %q, "plate": "3/16", "shear": "double"},
  "readings": [%q],
  "reading_tolerance": "1/16",
  "condition": {"state": "loaded"},
  "suspension": "solid_axle",
  "travel": {"basis": "rule"},
  "limits": {"mounting": "any", "adapters": "any"},
  "top": 10
}`

// BenchmarkFits sends POST /v1/fits over loopback to the whole service, and in
// turns with it the same body to a bare handler of the same router, which
// decodes it with encoding/json and writes an answer of the same size. It
// reports requests per second of both and their ratio, which counts.
func BenchmarkFits(b *testing.B) {
	for name, dampers := range map[string]int{"demo": 0, "10000": 10_000} {
		b.Run(name, func(b *testing.B) {
			contents := demo.Contents()
			if dampers > 0 {
				contents = demo.Generate(1, dampers)
			}
			catalogs := librarytest.New(catalog.NewSnapshot("demo", revision, contents))
			handler, err := httpapi.New(httpapi.Config{Library: catalogs.Library, Log: slog.New(slog.NewJSONHandler(io.Discard, nil))})
			if err != nil {
				b.Fatal(err)
			}
			service := httptest.NewServer(handler)
			defer service.Close()
			client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: clients, DisableCompression: true}}
			defer client.CloseIdleConnections()
			size := 0
			for i := range benchedRequests {
				size += len(fetch(b, client, service.URL, i))
			}
			size /= len(benchedRequests)
			bare := httptest.NewServer(bareHandler(size))
			defer bare.Close()

			var ours, theirs time.Duration
			const batch = 4 * 72 // every request a few times
			for _, url := range []string{service.URL, bare.URL} {
				load(b, client, url, batch) // warm
			}
			b.ResetTimer()
			rounds := max(1, b.N/batch)
			for range rounds {
				ours += load(b, client, service.URL, batch)
				theirs += load(b, client, bare.URL, batch)
			}
			b.StopTimer()
			sent := float64(rounds * batch)
			b.ReportMetric(sent/ours.Seconds(), "req/s")
			b.ReportMetric(sent/theirs.Seconds(), "bare-req/s")
			b.ReportMetric(theirs.Seconds()/ours.Seconds(), "ratio")
			b.ReportMetric(float64(size), "answer-bytes")
		})
	}
}

func bareHandler(size int) http.Handler {
	answer := bytes.Repeat([]byte{' '}, size)
	e := echo.New()
	e.POST("/v1/fits", func(c echo.Context) error {
		var body map[string]any
		if err := json.NewDecoder(c.Request().Body).Decode(&body); err != nil {
			return err
		}
		return c.JSONBlob(http.StatusOK, answer)
	})
	return e
}

// clients is how many send at once, each on a connection that it keeps.
const clients = 4

// load sends n requests and gives the time it took.
func load(b *testing.B, client *http.Client, url string, n int) time.Duration {
	b.Helper()
	var wait sync.WaitGroup
	start := time.Now()
	for c := range clients {
		wait.Go(func() {
			for i := range n / clients {
				fetch(b, client, url, c+i*clients)
			}
		})
	}
	wait.Wait()
	return time.Since(start)
}

// fetch sends the i-th request of the day.
func fetch(b *testing.B, client *http.Client, url string, i int) []byte {
	res, err := client.Post(url+"/v1/fits", "application/json", strings.NewReader(benchedRequests[i%len(benchedRequests)]))
	if err != nil {
		b.Error(err)
		return nil
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		b.Errorf("%s: %v: %.300s", res.Status, err, answer)
	}
	return answer
}

// BenchmarkFitsAlone is the service's own part of it: no socket, no client.
func BenchmarkFitsAlone(b *testing.B) {
	catalogs := librarytest.New(catalog.NewSnapshot("demo", revision, demo.Contents()))
	handler, err := httpapi.New(httpapi.Config{Library: catalogs.Library, Log: slog.New(slog.NewJSONHandler(io.Discard, nil))})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		r := httptest.NewRequest("POST", "/v1/fits", strings.NewReader(benchedRequests[i%len(benchedRequests)]))
		i++
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatalf("%d: %s", w.Code, w.Body)
		}
	}
}

// BenchmarkHardwareShare holds the hardware of both ends, worked out in full
// and from nothing, against a whole answer over the same shelf of 500 sleeves,
// 100 spacers and 60 adapters. Bound to a quarter.
func BenchmarkHardwareShare(b *testing.B) {
	contents := demo.GenerateSizes(1, demo.Sizes{Dampers: 480, Sleeves: 500, Spacers: 100, Adapters: 60})
	snapshot := catalog.NewSnapshot("demo", revision, contents)
	catalogs := librarytest.New(snapshot)
	handler, err := httpapi.New(httpapi.Config{Library: catalogs.Library, Log: slog.New(slog.NewJSONHandler(io.Discard, nil))})
	if err != nil {
		b.Fatal(err)
	}
	bolt, err := mount.ParseBolt("M12", unit.Inches)
	if err != nil {
		b.Fatal(err)
	}
	bracket := mount.Bracket{Bolt: bolt, Opening: unit.Inch + unit.Inch/2, Plate: 3 * unit.Inch / 16, Shear: mount.DoubleShear}
	ends := map[mount.Style]mount.End{}
	for _, d := range snapshot.Dampers() {
		ends[d.Upper.Style] = d.Upper
	}
	var whole, hardware time.Duration
	for i := 0; b.Loop(); i++ {
		start := time.Now()
		r := httptest.NewRequest("POST", "/v1/fits", strings.NewReader(benchedRequests[i%len(benchedRequests)]))
		r.Header.Set("Content-Type", "application/json")
		handler.ServeHTTP(httptest.NewRecorder(), r)
		between := time.Now()
		snapshot.Shelf().BoltUp(ends[mount.Stud], mount.Bracket{}, mount.Options{Detail: true})
		snapshot.Shelf().BoltUp(ends[mount.Eye], bracket, mount.Options{Detail: true})
		whole, hardware = whole+between.Sub(start), hardware+time.Since(between)
	}
	share := hardware.Seconds() / whole.Seconds()
	b.ReportMetric(share, "hardware/answer")
	if share > 0.25 {
		b.Errorf("hardware takes %.2f of a whole answer, want at most a quarter", share)
	}
}
