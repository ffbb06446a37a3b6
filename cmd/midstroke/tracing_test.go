package main_test

import (
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"

	"midstroke/internal/postgres/pgtest"
)

const (
	callersTrace = "0af7651916cd43dd8448eb211c80319c" // of the example in W3C Trace Context
	traceParent  = "00-" + callersTrace + "-b7ad6b7169203331-01"
)

// tracedExchange asks for fits as a part of a caller's trace, and lists revisions with
// a key in the query. It gives what the program wrote and the key.
func tracedExchange(t *testing.T) (written, key string) {
	t.Helper()
	dir := usedDataDir(t)
	s := serve(t, "--data-dir", dir)
	out, err := command("key", "create", "--shop", "demo", "--use", "server", "--data-dir", dir).Output()
	if err != nil {
		t.Fatal(err)
	}
	key = strings.TrimSpace(string(out))
	send := func(method, path, body string, header ...string) {
		t.Helper()
		r, err := http.NewRequest(method, s.url+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i < len(header); i += 2 {
			r.Header.Set(header[i], header[i+1])
		}
		res, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = io.Copy(io.Discard, res.Body)
		_ = res.Body.Close()
		if res.StatusCode != http.StatusOK {
			t.Fatalf("%s %s: %s", method, path, res.Status)
		}
	}
	send("POST", "/v1/fits", request, "Content-Type", "application/json", "Traceparent", traceParent)
	send("GET", "/v1/dampers?units=mm&limit=1&key="+key, "")
	send("GET", "/v1/catalogs/demo/revisions", "", "Authorization", "Bearer "+key, "Traceparent", traceParent)
	send("GET", "/readyz", "")
	s.interrupt(t)
	return s.log.String(), key
}

// line is one line of the log or one span.
type line struct {
	Msg, Route  string
	TraceID     string `json:"trace_id"`
	Name        string
	SpanContext struct{ TraceID string }
}

func linesOf(t *testing.T, written string) (all []line) {
	t.Helper()
	for text := range strings.Lines(written) {
		var one line
		if err := json.Unmarshal([]byte(text), &one); err != nil {
			t.Fatalf("%v: %s", err, text)
		}
		all = append(all, one)
	}
	return all
}

// TestTracesOfRequestsCoreAndSQL asks for spans on standard error.
func TestTracesOfRequestsCoreAndSQL(t *testing.T) {
	t.Setenv("OTEL_TRACES_EXPORTER", "console")
	written, key := tracedExchange(t)
	spans, logged := map[string]int{}, map[string]string{}
	for _, one := range linesOf(t, written) {
		switch {
		case one.Msg == "request":
			logged[one.Route] = one.TraceID
		case one.SpanContext.TraceID == callersTrace:
			spans[one.Name]++
		}
		if one.Name == "GET /readyz" {
			t.Error("what machines ask every few seconds has a span")
		}
	}
	for _, name := range []string{"POST /v1/fits", "take the snapshot", "find the fits", "write the answer", "GET /v1/catalogs/:name/revisions"} {
		if spans[name] != 1 {
			t.Errorf("the caller's trace has %d spans %q: %v", spans[name], name, spans)
		}
	}
	if spans["SELECT"] == 0 || spans["COMMIT"] == 0 {
		t.Errorf("the caller's trace has no SQL: %v", spans)
	}
	if logged["/v1/fits"] != callersTrace || logged["/v1/dampers"] == "" || logged["/v1/dampers"] == callersTrace {
		t.Errorf("the log joins requests to traces as %v", logged)
	}
	if strings.Contains(written, key) {
		t.Error("a span or a line of the log has a key")
	}
}

// TestNoTracesUnlessAsked: the log still names the caller's trace.
func TestNoTracesUnlessAsked(t *testing.T) {
	t.Parallel()
	written, _ := tracedExchange(t)
	for _, one := range linesOf(t, written) {
		if one.SpanContext.TraceID != "" {
			t.Errorf("a span: %s", one.Name)
		}
		if one.Msg == "request" && (one.TraceID != "") != (one.Route != "/v1/dampers") {
			t.Errorf("the log joins %s to the trace %q", one.Route, one.TraceID)
		}
	}
}

func TestAnUnknownExporterIsToldAtOnce(t *testing.T) {
	t.Setenv("OTEL_TRACES_EXPORTER", "pigeon")
	if said, code := run(t, "serve", "--listen", "127.0.0.1:0", "--data-dir", pgtest.DataDir(t)); code != 1 || !strings.Contains(said, `OTEL_TRACES_EXPORTER: "pigeon"`) {
		t.Errorf("exit %d: %s", code, said)
	}
}
