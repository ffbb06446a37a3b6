package httpapi_test

import (
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

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

// anotherRequest is the i-th request of the day. None is sent twice, since the service
// remembers the answers to those that come again.
func anotherRequest(i int) string {
	return strings.Replace(benchedRequests[i%len(benchedRequests)], "ticket 4411", "ticket "+strconv.Itoa(i), 1)
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
		r := httptest.NewRequest("POST", "/v1/fits", strings.NewReader(anotherRequest(i)))
		i++
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatalf("%d: %s", w.Code, w.Body)
		}
	}
}

// BenchmarkRatedAnswer holds whole answers that judge the damping against those to the
// same requests without a corner, at 10,000 dampers, turn by turn. No corner comes twice.
func BenchmarkRatedAnswer(b *testing.B) {
	catalogs := librarytest.New(catalog.NewSnapshot("demo", revision, demo.Generate(demo.Seed, 10_000)))
	handler, err := httpapi.New(httpapi.Config{Library: catalogs.Library, Log: slog.New(slog.NewJSONHandler(io.Discard, nil))})
	if err != nil {
		b.Fatal(err)
	}
	ask := func(body string) time.Duration {
		r := httptest.NewRequest("POST", "/v1/fits", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		from := time.Now()
		handler.ServeHTTP(w, r)
		took := time.Since(from)
		if w.Code != http.StatusOK {
			b.Fatalf("%d: %s", w.Code, w.Body)
		}
		return took
	}
	const turns = 300
	var over []float64
	asked := 0
	for b.Loop() {
		var plain, rated []time.Duration
		for range turns {
			asked++
			body := anotherRequest(asked)
			plain = append(plain, ask(body))
			corner := fmt.Sprintf(`"corner": {"sprung_kg": %g, "sprung_laden_kg": 520, "unsprung_kg": 48, "wheel_rate_n_mm": 26, "tyre_rate_n_mm": %g, "damper_ratio": 0.9}, "top": 10`,
				300+float64(asked)/100, 200+float64(asked)/300)
			rated = append(rated, ask(strings.Replace(body, `"top": 10`, corner, 1)))
		}
		slices.Sort(plain)
		slices.Sort(rated)
		over = append(over, float64(rated[turns/2])/float64(plain[turns/2]))
	}
	slices.Sort(over)
	b.ReportMetric(0, "ns/op") // of the comparison itself: says nothing
	b.ReportMetric(over[len(over)/2], "rated/plain")
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
		r := httptest.NewRequest("POST", "/v1/fits", strings.NewReader(anotherRequest(i)))
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
