package httpapi_test

import (
	"bytes"
	"strings"
	"testing"

	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"

	"midstroke/internal/httpapi"
)

// TestAnAnswerAskedForAgainIsRemembered counts the searches: one for the first and
// one for the second time, and none from then on, until something changes that the
// answer follows from.
func TestAnAnswerAskedForAgainIsRemembered(t *testing.T) {
	s := newShops(t)
	spans := tracetest.NewSpanRecorder()
	s.start(t, httpapi.Config{Keys: s.ring, Tracer: sdktrace.NewTracerProvider(sdktrace.WithSpanProcessor(spans))})
	found := func() (n int) {
		for _, span := range spans.Ended() {
			if span.Name() == "find the fits" {
				n++
			}
		}
		return n
	}
	const target = "/v1/fits?units=in&readings=17+5/16&upper=eye&lower=eye&suspension=solid_axle"
	bodies := map[string][]byte{}
	for _, way := range []struct {
		name string
		ask  func() *answer
	}{
		{"by POST", func() *answer { return s.post(t, "/v1/fits", eyeToEye) }},
		{"by GET", func() *answer { return s.get(t, target) }},
		{"as CSV", func() *answer { return s.get(t, target, "Accept", "text/csv") }},
		{"in Spanish", func() *answer { return s.post(t, "/v1/fits", eyeToEye, "Accept-Language", "es") }},
		{"by the north", func() *answer { return s.post(t, "/v1/fits", eyeToEye, s.bearer("north server")...) }},
		{"by the south", func() *answer { return s.post(t, "/v1/fits", eyeToEye, s.bearer("south server")...) }},
		{"by another key of the north", func() *answer { return s.get(t, target+"&"+s.query("north server"), "Origin", pageOrigin) }},
	} {
		before := found()
		first := way.ask()
		for range 3 {
			again := way.ask()
			if again.status != 200 || !bytes.Equal(again.body, first.body) || again.header.Get("ETag") != first.header.Get("ETag") ||
				again.header.Get("Cache-Control") != first.header.Get("Cache-Control") {
				t.Errorf("%s: answered again by %d, ETag %s: %.300s", way.name, again.status, again.header.Get("ETag"), again.body)
			}
		}
		if n := found() - before; n != 2 {
			t.Errorf("%s: %d searches for four times the same, want 2", way.name, n)
		}
		bodies[way.name] = first.body
	}
	if north, south := bodies["by the north"], bodies["by the south"]; !bytes.Contains(north, []byte("north-2-")) || bytes.Contains(north, []byte("south-2-")) || !bytes.Contains(south, []byte("south-2-")) {
		t.Error("one shop got the answer of another")
	}

	// Another answer may have taken its place since.
	s.get(t, target)
	tag := s.get(t, target).header.Get("ETag")
	before := found()
	if a := s.get(t, target, "If-None-Match", tag); a.status != 304 || found() != before {
		t.Errorf("with its tag: %d after %d searches, want 304 after none", a.status, found()-before)
	}
	s.library.SetStale(true)
	if a := s.get(t, target); !strings.Contains(string(a.body), `"stale":true`) {
		t.Errorf("once stale: %.200s", a.body)
	}
	s.library.SetStale(false)
	s.library.Publish(1, s.snapshot("north", 3))
	if a := s.post(t, "/v1/fits", eyeToEye, s.bearer("north server")...); !bytes.Contains(a.body, []byte("north-3-")) {
		t.Errorf("once another revision is published: %.200s", a.body)
	}
}
