package httpapi_test

import (
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
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
// same place without a corner, at 10,000 dampers, turn by turn: on a corner that was
// asked about before, and on one that never was.
func BenchmarkRatedAnswer(b *testing.B) {
	catalogs := librarytest.New(catalog.NewSnapshot("demo", revision, demo.Generate(demo.Seed, 10_000)))
	handler, err := httpapi.New(httpapi.Config{Library: catalogs.Library, Log: slog.New(slog.NewJSONHandler(io.Discard, nil))})
	if err != nil {
		b.Fatal(err)
	}
	example, err := os.ReadFile("../../testdata/examples/rear-axle-on-a-corner.json")
	if err != nil {
		b.Fatal(err)
	}
	known := string(example)
	plain, _, ok := strings.Cut(known, `"corner":`)
	if !ok || !strings.Contains(known, `"925 lb"`) {
		b.Fatalf("the example has another corner: %s", known)
	}
	plain = strings.TrimRight(plain, ", \n") + "}"
	asked := 0
	ask := func(body string) time.Duration {
		asked++
		body = strings.Replace(body, "flatbed hauler", "flatbed hauler "+strconv.Itoa(asked), 1)
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
	over := map[string][]float64{}
	for b.Loop() {
		took := map[string][]time.Duration{}
		for range turns {
			unknown := strings.Replace(known, `"925 lb"`, fmt.Sprint(380+float64(asked)/1000), 1)
			for kind, body := range map[string]string{"plain": plain, "known": known, "new": unknown} {
				took[kind] = append(took[kind], ask(body))
			}
		}
		for _, times := range took {
			slices.Sort(times)
		}
		for _, kind := range []string{"known", "new"} {
			over[kind] = append(over[kind], float64(took[kind][turns/2])/float64(took["plain"][turns/2]))
		}
	}
	b.ReportMetric(0, "ns/op") // of the comparison itself: says nothing
	for kind, ratios := range over {
		slices.Sort(ratios)
		b.ReportMetric(ratios[len(ratios)/2], kind+"/plain")
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
