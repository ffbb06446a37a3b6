package httpapi_test

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"

	"midstroke/api"
	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/testdata/demo"
)

// contract loads the document once; every exchange of the tests is held
// against it.
var contract = sync.OnceValues(func() (*openapi3.T, error) {
	openapi3filter.RegisterBodyDecoder("image/svg+xml", func(body io.Reader, _ http.Header, _ *openapi3.SchemaRef, _ openapi3filter.EncodingFn) (any, error) {
		raw, err := io.ReadAll(body)
		if err != nil {
			return nil, err
		}
		dec := xml.NewDecoder(bytes.NewReader(raw))
		for {
			if _, err := dec.Token(); errors.Is(err, io.EOF) {
				return string(raw), nil
			} else if err != nil {
				return nil, err
			}
		}
	})
	for _, text := range []string{"text/html", "text/javascript", "application/yaml", "application/zip", "text/csv", "application/x-ndjson", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"} {
		openapi3filter.RegisterBodyDecoder(text, openapi3filter.PlainBodyDecoder)
	}
	return api.Load()
})

// service is a Handler over the demo catalogue, held to the contract.
type service struct {
	*httpapi.Handler
	live *catalog.Live
	doc  *openapi3.T
	log  *lockedBuffer
}

// lockedBuffer is a log that several requests write at once.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func (l *lockedBuffer) Reset() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.b.Reset()
}

// revision is the one that the service under test holds.
const revision = 7

// demoSnapshot is made once: it never changes.
var demoSnapshot = sync.OnceValue(func() *catalog.Snapshot {
	return catalog.NewSnapshot("demo", revision, demo.Contents())
})

func newService(tb testing.TB) *service {
	tb.Helper()
	s := &service{live: new(catalog.Live), log: new(lockedBuffer)}
	s.live.Store(demoSnapshot())
	return s.start(tb, httpapi.Config{Live: s.live})
}

func (s *service) start(tb testing.TB, c httpapi.Config) *service {
	tb.Helper()
	if c.Log == nil {
		c.Log = slog.New(slog.NewJSONHandler(s.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	}
	var err error
	if s.doc, err = contract(); err != nil {
		tb.Fatalf("the contract can't be loaded: %v", err)
	}
	if s.Handler, err = httpapi.New(c); err != nil {
		tb.Fatal(err)
	}
	return s
}

// answer is what came back.
type answer struct {
	status int
	header http.Header
	body   []byte
}

// get sends a GET with header fields given as name, value, ….
func (s *service) get(tb testing.TB, target string, header ...string) *answer {
	tb.Helper()
	return s.do(tb, http.MethodGet, target, "", header...)
}

// post sends a JSON body.
func (s *service) post(tb testing.TB, target, body string, header ...string) *answer {
	tb.Helper()
	return s.do(tb, http.MethodPost, target, body, append([]string{"Content-Type", "application/json"}, header...)...)
}

// do sends a request and holds it, where it was answered as a success, and
// its answer, always, against the contract.
func (s *service) do(tb testing.TB, method, target, body string, header ...string) *answer {
	tb.Helper()
	r := httptest.NewRequest(method, target, strings.NewReader(body))
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	a := &answer{w.Code, w.Header(), w.Body.Bytes()}
	s.hold(tb, r, body, a)
	return a
}

// ask sends a GET without holding it against the contract, which costs more
// than all the rest, for tests that send hundreds.
func (s *service) ask(target string) *answer {
	w := httptest.NewRecorder()
	s.ServeHTTP(w, httptest.NewRequest(http.MethodGet, target, nil))
	return &answer{w.Code, w.Header(), w.Body.Bytes()}
}

// hold fails the test where an exchange isn't as the contract says.
func (s *service) hold(tb testing.TB, r *http.Request, body string, a *answer) {
	tb.Helper()
	route, params := s.route(r)
	if route == nil {
		if pagesLoad(r.URL.Path) {
			return
		}
		if a.status != http.StatusNotFound && a.status != http.StatusMethodNotAllowed && r.Method != http.MethodOptions {
			tb.Errorf("%s %s is answered by %d but isn't in the contract", r.Method, r.URL.Path, a.status)
		}
		return
	}
	r.Body = io.NopCloser(strings.NewReader(body))
	in := &openapi3filter.RequestValidationInput{
		Request: r, PathParams: params, Route: route,
		Options: &openapi3filter.Options{MultiError: true, SkipSettingDefaults: true, IncludeResponseStatus: true, AuthenticationFunc: openapi3filter.NoopAuthenticationFunc},
	}
	asText := r.URL.Query().Get("errors") == "text"
	if a.status < 300 && !asText {
		if err := openapi3filter.ValidateRequest(context.Background(), in); err != nil {
			tb.Errorf("%s %s was answered by %d though the contract refuses it: %v", r.Method, r.URL, a.status, err)
		}
	}
	out := &openapi3filter.ResponseValidationInput{
		RequestValidationInput: in, Status: a.status, Header: a.header, Options: in.Options,
	}
	out.SetBodyBytes(a.body)
	if err := openapi3filter.ValidateResponse(context.Background(), out); err != nil {
		tb.Errorf("the answer %d to %s %s isn't as the contract has it: %v\n%.2000s", a.status, r.Method, r.URL, err, a.body)
	}
}

// pagesLoad says whether a path is that of a script or a style sheet of our own
// pages, which are no part of the contract.
func pagesLoad(path string) bool {
	for _, page := range []string{"/docs/", "/widget/counter.", "/widget/sheet."} {
		if strings.HasPrefix(path, page) && (strings.HasSuffix(path, ".js") || strings.HasSuffix(path, ".css")) {
			return true
		}
	}
	return false
}

// route finds the operation of a request, nil where there is none.
func (s *service) route(r *http.Request) (*routers.Route, map[string]string) {
	for path, item := range s.doc.Paths.Map() {
		params, ok := match(path, r.URL.Path)
		if !ok {
			continue
		}
		if op := item.GetOperation(r.Method); op != nil {
			return &routers.Route{Spec: s.doc, Path: path, PathItem: item, Method: r.Method, Operation: op}, params
		}
	}
	return nil, nil
}

// match holds a path against one of the contract's.
func match(template, path string) (map[string]string, bool) {
	want, got := strings.Split(template, "/"), strings.Split(path, "/")
	if len(want) != len(got) {
		return nil, false
	}
	params := map[string]string{}
	for i, segment := range want {
		if name, ok := strings.CutPrefix(segment, "{"); ok && got[i] != "" {
			params[strings.TrimSuffix(name, "}")] = got[i]
		} else if segment != got[i] {
			return nil, false
		}
	}
	return params, true
}

// decode reads a JSON answer of a status, failing the test where it is
// another.
func decode[T any](tb testing.TB, a *answer, status int) T {
	tb.Helper()
	var value T
	if a.status != status {
		tb.Fatalf("answered by %d, want %d: %s", a.status, status, a.body)
	}
	if err := json.Unmarshal(a.body, &value); err != nil {
		tb.Fatalf("the answer isn't JSON: %v: %s", err, a.body)
	}
	return value
}

// problem is a problem document as RFC 9457 has it.
type problem struct {
	Type, Title, Detail, Instance string
	Status                        int
	Errors                        []struct {
		Pointer                 *string
		Parameter, Code, Detail string
		File, Sheet, Cell       string
		Column, Value, Cure     string
		Line                    int
	}
	Unlisted int
	Changes  string
}

// refused reads a problem of a status and holds it to what every problem
// promises.
func refused(tb testing.TB, a *answer, status int) problem {
	tb.Helper()
	p := decode[problem](tb, a, status)
	if got := a.header.Get("Content-Type"); got != "application/problem+json" {
		tb.Errorf("a problem came as %q", got)
	}
	if err := p.check(status); err != nil {
		tb.Errorf("%v: %s", err, a.body)
	}
	if id := a.header.Get("X-Request-Id"); !strings.HasSuffix(p.Instance, "#"+id) {
		tb.Errorf("instance %q doesn't end in the request id %q", p.Instance, id)
	}
	return p
}

func (p *problem) check(status int) error {
	switch {
	case p.Status != status:
		return errors.New("the document's status isn't the answer's")
	case p.Type == "" || p.Title == "" || p.Detail == "":
		return errors.New("type, title or detail is missing")
	}
	for _, e := range p.Errors {
		if (e.Pointer == nil) == (e.Parameter == "" && e.Code != "no_name") && e.File == "" {
			return errors.New("a fault must have a pointer or a parameter")
		}
		if e.Code == "" || e.Detail == "" {
			return errors.New("a fault must have code and detail")
		}
	}
	return nil
}
