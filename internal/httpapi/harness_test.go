package httpapi_test

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"

	"midstroke/api"
	"midstroke/internal/catalog"
	"midstroke/internal/contract"
	"midstroke/internal/httpapi"
	"midstroke/internal/library/librarytest"
	"midstroke/testdata/demo"
)

// checker and document are made once; every exchange of the tests is checked.
var (
	checker  = sync.OnceValues(contract.New)
	document = sync.OnceValues(api.Load)
)

// service is a Handler over the demo catalogue, held to the contract.
type service struct {
	*httpapi.Handler
	library *librarytest.Source
	doc     *openapi3.T
	log     *lockedBuffer
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
	s := &service{library: librarytest.New(demoSnapshot()), log: new(lockedBuffer)}
	return s.start(tb, httpapi.Config{})
}

func (s *service) start(tb testing.TB, c httpapi.Config) *service {
	tb.Helper()
	c.Library = s.library.Library
	c.BatchTime = cmp.Or(c.BatchTime, time.Minute) // on a busy machine the usual time passes
	if c.Log == nil {
		c.Log = slog.New(slog.NewJSONHandler(s.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	}
	var err error
	if s.doc, err = document(); err != nil {
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

// hold fails the test where an exchange isn't as the contract says. A request
// that the service refuses may be one that the contract refuses, too.
func (s *service) hold(tb testing.TB, r *http.Request, body string, a *answer) {
	tb.Helper()
	c, err := checker()
	if err != nil {
		tb.Fatalf("the contract can't be loaded: %v", err)
	}
	e := &contract.Exchange{Request: r, RequestBody: []byte(body), Status: a.status, Header: a.header, Body: append([]byte{}, a.body...)}
	differences := c.CheckAnswer(e)
	if !e.Refused() {
		differences = append(differences, c.CheckRequest(e)...)
	}
	for _, d := range differences {
		tb.Errorf("%s %s, answered by %d: the %s isn't as the contract says: %+v\n%.2000s", r.Method, r.URL, a.status, d.Side, d, a.body)
	}
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
	Code, Units                   string
	Values                        map[string]any
	Status                        int
	Errors                        []struct {
		Pointer                 *string
		Parameter, Code, Detail string
		Values                  map[string]any
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

// openPlace is a place of a template that no value was put in.
var openPlace = regexp.MustCompile(`\{[a-z_]+(:term)?\}`)

func (p *problem) check(status int) error {
	switch {
	case p.Status != status:
		return errors.New("the document's status isn't the answer's")
	case p.Type == "" || p.Title == "" || p.Detail == "" || p.Code == "" || p.Values == nil:
		return errors.New("type, title, detail, code or values is missing")
	case p.Detail == p.Code || openPlace.MatchString(p.Title+p.Detail):
		return errors.New("title or detail has no words")
	}
	for _, e := range p.Errors {
		if (e.Pointer == nil) == (e.Parameter == "" && e.Code != "no_name") && e.File == "" {
			return errors.New("a fault must have a pointer or a parameter")
		}
		if e.Code == "" || e.Detail == "" || e.Values == nil {
			return errors.New("a fault must have code, detail and values")
		}
	}
	return nil
}
