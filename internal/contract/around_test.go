package contract_test

import (
	"bytes"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"

	"midstroke/internal/contract"
)

var checker = sync.OnceValues(contract.New)

// line is what the log says of one difference.
type line struct {
	Level, Msg, Side, Method, Path, Parameter, Pointer, Reason string
	Status                                                     int
	Refused                                                    bool
	RequestID                                                  string `json:"request_id"`
}

// place is a difference in short.
func (l line) place() string {
	return strings.Join([]string{l.Level, l.Side, l.Method, l.Path, l.Parameter, l.Pointer, l.Reason}, "; ")
}

// told is a handler that answers as it is told to, whatever is asked.
type told struct {
	status int
	header []string
	body   string
}

func (a told) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	_, _ = io.Copy(io.Discard, r.Body)
	w.Header().Set("X-Request-Id", "id-1")
	for i := 0; i < len(a.header); i += 2 {
		w.Header().Set(a.header[i], a.header[i+1])
	}
	w.WriteHeader(a.status)
	_, _ = io.WriteString(w, a.body)
}

func asJSON(status int, body string) told {
	return told{status, []string{"Content-Type", "application/json"}, body}
}

// problem is how the service refuses a request.
var problem = told{422, []string{"Content-Type", "application/problem+json", "Cache-Control", "no-store"},
	`{"type":"/docs/problems#invalid-request","title":"a","status":422,"code":"c","detail":"b","values":{},"instance":"/v1/travel#id-1","errors":[]}`}

// exchange sends a request through a Checker and gives what came back, what the
// log says line by line, and the log itself.
func exchange(t *testing.T, next http.Handler, method, target, body string, header ...string) (*httptest.ResponseRecorder, []line, string) {
	t.Helper()
	c, err := checker()
	if err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	r := httptest.NewRequest(method, target, strings.NewReader(body))
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	c.Around(next, slog.New(slog.NewJSONHandler(&log, nil))).ServeHTTP(w, r)
	var lines []line
	for text := range strings.Lines(log.String()) {
		var l line
		if err := json.Unmarshal([]byte(text), &l); err != nil {
			t.Fatalf("%v: %s", err, text)
		}
		lines = append(lines, l)
	}
	return w, lines, log.String()
}

func places(lines []line) []string {
	var all []string
	for _, l := range lines {
		all = append(all, l.place())
	}
	slices.Sort(all)
	return all
}

func TestWrongAnswersAreLogged(t *testing.T) {
	for name, c := range map[string]struct {
		answer told
		want   []string
	}{
		"right":         {asJSON(200, `{"alive":true}`), nil},
		"another type":  {asJSON(200, `{"alive":"secret"}`), []string{`WARN; answer; GET; /healthz; ; /alive; type "boolean"`}},
		"nothing in it": {asJSON(200, `{}`), []string{"WARN; answer; GET; /healthz; ; ; required alive"}},
		"no object":     {asJSON(200, `["secret"]`), []string{`WARN; answer; GET; /healthz; ; ; type "object"`}},
		"no JSON":       {asJSON(200, `{"alive":secret}`), []string{"WARN; answer; GET; /healthz; ; ; failed to decode response body"}},
		"another kind": {told{200, []string{"Content-Type", "text/html"}, "<p>"},
			[]string{`WARN; answer; GET; /healthz; ; ; response header Content-Type has unexpected value: "text/html"`}},
		"a status that isn't in the contract": {asJSON(418, `{"alive":true}`), []string{"WARN; answer; GET; /healthz; ; ; status is not supported"}},
	} {
		w, lines, log := exchange(t, c.answer, "GET", "/healthz", "")
		if got := places(lines); !slices.Equal(got, c.want) {
			t.Errorf("%s: the log has %q, want %q", name, got, c.want)
		}
		if strings.Contains(log, "secret") {
			t.Errorf("%s: the log has a value: %s", name, log)
		}
		for _, l := range lines {
			if l.RequestID != "id-1" || l.Status != c.answer.status || l.Refused {
				t.Errorf("%s: %+v", name, l)
			}
		}
		if w.Code != c.answer.status || w.Body.String() != c.answer.body {
			t.Errorf("%s: passed on as %d %q", name, w.Code, w.Body)
		}
	}
}

func TestWrongRequestsAreLogged(t *testing.T) {
	const right = `{"units":"mm","linkage":{"kind":"inclined","damper":{"upper":[0,450,640],"lower":[80,430,260]}},"range":{"bump":75,"droop":65}}`
	changed := func(from, to string) string {
		if !strings.Contains(right, from) {
			t.Fatalf("%s isn't in the request", from)
		}
		return strings.Replace(right, from, to, 1)
	}
	const at = "INFO; request; POST; /v1/travel; "
	for name, c := range map[string]struct {
		target, body string
		header       []string
		want         string // what is said of the request, "" for nothing
	}{
		"right":                     {"/v1/travel", right, nil, ""},
		"a word of no meaning":      {"/v1/travel", changed(`"mm"`, `"secret"`), nil, at + `; /units; enum ["in","mm"]`},
		"a number for a word":       {"/v1/travel", changed(`"mm"`, `770077`), nil, at + `; /units; enum ["in","mm"]`},
		"too large a number":        {"/v1/travel", changed(`"range"`, `"points":770077,"range"`), nil, at + "; /points; maximum 1001"},
		"a member of no meaning":    {"/v1/travel", changed(`"range"`, `"secret":1,"range"`), nil, at + "; ; the contract has no such member"},
		"one within another":        {"/v1/travel", changed(`"bump"`, `"secret":1,"bump"`), nil, at + "; /range; the contract has no such member"},
		"a member missing":          {"/v1/travel", changed(`"units":"mm",`, ``), nil, at + "; /units; required"},
		"half a body":               {"/v1/travel", right[:60], nil, at + "; ; can't be read as the contract's schema says"},
		"no body":                   {"/v1/travel", "", nil, at + "; ; required"},
		"another media type":        {"/v1/travel", right, []string{"Content-Type", "text/secret"}, at + "; ; the contract has no such media type"},
		"a parameter of no meaning": {"/v1/travel?secret=1", right, nil, at + "*; ; the contract has no such parameter"},
		"a parameter's other value": {"/v1/travel?errors=secret", right, nil, at + `errors; ; enum ["text"]`},
		"an item of another type":   {"/v1/travel", changed(`[0,450,640]`, `[0,true,640]`), nil, at + `; /linkage/damper/upper/1; type "number"` + "\n" + at + `; /linkage/damper/upper/1; type "string"`},
	} {
		header := c.header
		if header == nil {
			header = []string{"Content-Type", "application/json"}
		}
		_, lines, log := exchange(t, problem, "POST", c.target, c.body, header...)
		if got := strings.Join(places(lines), "\n"); got != c.want {
			t.Errorf("%s: the log has %q, want %q", name, got, c.want)
		}
		if strings.Contains(log, "secret") || strings.Contains(log, "770077") {
			t.Errorf("%s: the log has what the caller sent: %s", name, log)
		}
	}
}

// A request that the contract refuses and the service doesn't is a warning.
func TestATakenRequestThatTheContractRefuses(t *testing.T) {
	_, lines, _ := exchange(t, asJSON(200, `{"units":"in"}`), "GET", "/v1/dampers?units=secret", "")
	if !slices.Contains(places(lines), `WARN; request; GET; /v1/dampers; units; ; enum ["in","mm"]`) {
		t.Errorf("the log has %q", places(lines))
	}
}

func TestPathsThatTheContractDoesNotHave(t *testing.T) {
	for _, c := range []struct {
		method, target string
		status         int
		want           string
	}{
		{"GET", "/v1/secret", 200, "WARN; answer; GET; ; ; ; the contract has no such path and method"},
		{"GET", "/v1/secret", 404, "INFO; request; GET; ; ; ; the contract has no such path and method"},
		{"SECRET", "/v1/fits", 405, "INFO; request; *; ; ; ; the contract has no such path and method"},
		{"OPTIONS", "/v1/fits", 204, ""},
		{"GET", "/widget/counter.js", 200, ""}, // of the service's own pages
	} {
		_, lines, log := exchange(t, told{status: c.status}, c.method, c.target, "")
		if got := strings.Join(places(lines), "\n"); got != c.want {
			t.Errorf("%s %s, answered by %d: the log has %q, want %q", c.method, c.target, c.status, got, c.want)
		}
		if strings.Contains(strings.ToLower(log), "secret") {
			t.Errorf("the log has what the caller sent: %s", log)
		}
	}
}

// A body that is only partly read isn't checked: the service didn't want it.
func TestABodyThatNobodyRead(t *testing.T) {
	refuses := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(413)
		_, _ = io.WriteString(w, strings.Replace(problem.body, "422", "413", 1))
	})
	_, lines, _ := exchange(t, refuses, "POST", "/v1/travel", `{"units":1}`, "Content-Type", "application/json")
	for _, l := range lines {
		if l.Side == "request" {
			t.Errorf("the log has %q", l.place())
		}
	}
}

// What the service sends goes out while it is written, and its controls of the
// connection reach the server.
func TestAnAnswerIsNotHeldBack(t *testing.T) {
	first := make(chan bool)
	next := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/json")
		_, _ = io.WriteString(w, `{"alive":`)
		if err := http.NewResponseController(w).Flush(); err != nil {
			t.Errorf("flush: %v", err)
		}
		<-first
		_, _ = io.WriteString(w, `true}`)
	})
	c, err := checker()
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(c.Around(next, slog.New(slog.DiscardHandler)))
	defer server.Close()
	response, err := http.Get(server.URL + "/healthz")
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	begin := make([]byte, len(`{"alive":`))
	if _, err := io.ReadFull(response.Body, begin); err != nil {
		t.Fatal(err)
	}
	close(first)
	if rest, err := io.ReadAll(response.Body); err != nil || string(begin)+string(rest) != `{"alive":true}` {
		t.Errorf("came as %s%s, %v", begin, rest, err)
	}
}
