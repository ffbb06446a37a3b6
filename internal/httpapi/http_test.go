package httpapi_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"midstroke/internal/contract"
)

// eyeToEye is a small request that finds fits in the demo catalogue.
const eyeToEye = `{"units":"in","readings":["17 5/16"],"upper":{"style":"eye"},"lower":{"style":"eye"},"suspension":"solid_axle"}`

func TestWhatHTTPForbidsIsAProblem(t *testing.T) {
	s := newService(t)
	for name, c := range map[string]struct {
		method, target, body string
		header               []string
		status               int
		kind                 string
		sets                 []string // header fields of the answer, name, value
	}{
		"no such path":              {"GET", "/v1/nothing", "", nil, 404, "not-found", nil},
		"a path gone on with":       {"GET", "/v1/fits/", "", nil, 404, "not-found", nil},
		"a method it doesn't take":  {"DELETE", "/v1/fits", "", nil, 405, "method-not-allowed", []string{"Allow", "OPTIONS, GET, HEAD, POST"}},
		"GET where POST is wanted":  {"GET", "/v1/hardware", "", nil, 405, "method-not-allowed", []string{"Allow", "OPTIONS, POST"}},
		"POST where GET is wanted":  {"POST", "/v1/dampers", "", nil, 405, "method-not-allowed", []string{"Allow", "OPTIONS, GET, HEAD"}},
		"an empty body":             {"POST", "/v1/fits", "", jsonBody(), 400, "not-json", nil},
		"half a body":               {"POST", "/v1/fits", `{"units":`, jsonBody(), 400, "not-json", nil},
		"a body and something more": {"POST", "/v1/fits", eyeToEye + "{}", jsonBody(), 400, "not-json", nil},
		"a form":                    {"POST", "/v1/fits", "a=b", []string{"Content-Type", "application/x-www-form-urlencoded"}, 415, "unsupported-media-type", []string{"Accept", "application/json"}},
		"no media type":             {"POST", "/v1/fits", eyeToEye, nil, 415, "unsupported-media-type", nil},
		"another charset":           {"POST", "/v1/fits", eyeToEye, []string{"Content-Type", "application/json; charset=latin1"}, 415, "unsupported-media-type", nil},
		"a parameter of no meaning": {"POST", "/v1/fits", eyeToEye, []string{"Content-Type", "application/json; version=2"}, 415, "unsupported-media-type", nil},
		"a compressed body":         {"POST", "/v1/fits", eyeToEye, jsonBody("Content-Encoding", "gzip"), 415, "unsupported-media-type", nil},
		"an answer as XML":          {"POST", "/v1/fits", eyeToEye, jsonBody("Accept", "application/xml"), 406, "not-acceptable", nil},
		"a list as a picture":       {"GET", "/v1/dampers?units=in", "", []string{"Accept", "image/png"}, 406, "not-acceptable", nil},
		"a catalogue that needs a key": {"POST", "/v1/fits", eyeToEye[:len(eyeToEye)-1] + `,"catalog":"other"}`, jsonBody(), 401, "key-needed",
			[]string{"WWW-Authenticate", `Bearer realm="midstroke"`}},
		"a revision not held":          {"POST", "/v1/fits", eyeToEye[:len(eyeToEye)-1] + `,"revision":6}`, jsonBody(), 404, "not-found", nil},
		"a revision not held, by GET":  {"GET", "/v1/dampers?units=in&revision=8", "", nil, 404, "not-found", nil},
		"a query that can't be parsed": {"GET", "/v1/dampers?units=%zz", "", nil, 422, "invalid-request", nil},
		"a semicolon in a query":       {"GET", "/v1/fits?units=in;upper=eye", "", nil, 422, "invalid-request", nil},
	} {
		t.Run(name, func(t *testing.T) {
			p := refused(t, s.do(t, c.method, c.target, c.body, c.header...), c.status)
			if want := "/docs/problems#" + c.kind; p.Type != want {
				t.Errorf("type %q, want %q", p.Type, want)
			}
		})
		a := s.do(t, c.method, c.target, c.body, c.header...)
		for i := 0; i < len(c.sets); i += 2 {
			if got := a.header.Get(c.sets[i]); got != c.sets[i+1] {
				t.Errorf("%s: %s is %q, want %q", name, c.sets[i], got, c.sets[i+1])
			}
		}
	}
}

func jsonBody(header ...string) []string {
	return append([]string{"Content-Type", "application/json"}, header...)
}

func TestMediaTypesOfABody(t *testing.T) {
	s := newService(t)
	for _, field := range []string{"application/json", "Application/JSON", "application/json;charset=UTF-8", `application/json; charset="utf-8"`} {
		if a := s.do(t, "POST", "/v1/fits", eyeToEye, "Content-Type", field); a.status != 200 {
			t.Errorf("Content-Type %q: %d, want 200: %s", field, a.status, a.body)
		}
	}
}

func TestARevisionNotHeldNamesTheOneThatAnswers(t *testing.T) {
	p := refused(t, newService(t).get(t, "/v1/dampers?units=in&revision=8"), 404)
	if want := fmt.Sprintf(`There is no published revision 8 of "demo"; answers come from revision %d`, revision); p.Detail != want {
		t.Errorf("detail %q, want %q", p.Detail, want)
	}
	if len(p.Errors) != 1 || p.Errors[0].Parameter != "revision" {
		t.Errorf("errors %+v, want one about revision", p.Errors)
	}
}

func TestAGiantBodyIsRefusedUnread(t *testing.T) {
	s := newService(t)
	server := httptest.NewServer(s)
	defer server.Close()
	const size = 10 << 20
	for name, announced := range map[string]int64{"its length announced": size, "in chunks of no announced length": -1} {
		t.Run(name, func(t *testing.T) {
			var read *counter
			var res *http.Response
			// Half a second after its answer the server closes the connection. On a busy
			// machine that can break off the sending before the client has read the answer.
			for range 5 {
				read = &counter{r: io.LimitReader(blanks{}, size)}
				r, err := http.NewRequest("POST", server.URL+"/v1/fits", read)
				if err != nil {
					t.Fatal(err)
				}
				r.ContentLength = announced
				r.Header.Set("Content-Type", "application/json")
				if res, err = server.Client().Do(r); err == nil {
					break
				}
				t.Log(err)
			}
			if res == nil {
				t.Fatal("never answered")
			}
			defer res.Body.Close()
			if res.StatusCode != http.StatusRequestEntityTooLarge || res.Header.Get("Content-Type") != "application/problem+json" {
				t.Errorf("answered by %s as %s, want 413 as a problem", res.Status, res.Header.Get("Content-Type"))
			}
			// The limit, and what fits the buffers of two sockets.
			if n := read.n.Load(); n > 6<<20 {
				t.Errorf("%d bytes were taken before the refusal", n)
			}
		})
	}
}

type blanks struct{}

func (blanks) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

// counter counts what is taken of r, by a client that may still be at it when
// the answer is there.
type counter struct {
	r io.Reader
	n atomic.Int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n.Add(int64(n))
	return n, err
}

func TestValidatorsAreOfTheRepresentation(t *testing.T) {
	s := newService(t)
	const target = "/v1/fits?units=in&readings=17+5/16&upper=eye&lower=eye&suspension=solid_axle"
	first := s.get(t, target)
	tag := first.header.Get("ETag")
	if first.status != 200 || tag == "" || strings.HasPrefix(tag, "W/") {
		t.Fatalf("answered by %d with ETag %q, want 200 and a strong one: %s", first.status, tag, first.body)
	}
	if got := first.header.Get("Vary"); got != "Accept, Accept-Encoding, Accept-Language, Origin" {
		t.Errorf("Vary %q", got)
	}
	if again := s.get(t, target, "If-None-Match", `"other", `+tag); again.status != 304 || len(again.body) != 0 || again.header.Get("ETag") != tag {
		t.Errorf("asked again: %d with %d bytes and ETag %q, want a bare 304", again.status, len(again.body), again.header.Get("ETag"))
	}
	if head := s.do(t, "HEAD", target, ""); head.status != 200 || len(head.body) != 0 || head.header.Get("ETag") != tag ||
		head.header.Get("Content-Length") != fmt.Sprint(len(first.body)) {
		t.Errorf("HEAD: %d with %d bytes, ETag %q, Content-Length %q", head.status, len(head.body), head.header.Get("ETag"), head.header.Get("Content-Length"))
	}
	if csv := s.get(t, target, "Accept", "text/csv"); csv.header.Get("ETag") == tag {
		t.Error("CSV has the validator of JSON")
	}
	posted := s.post(t, "/v1/fits", eyeToEye)
	if posted.header.Get("ETag") != tag || !bytes.Equal(posted.body, first.body) {
		t.Error("the same request by POST has another answer")
	}
	if a := s.post(t, "/v1/fits", eyeToEye, "If-None-Match", tag); a.status != 200 {
		t.Errorf("POST with If-None-Match: %d, want 200", a.status)
	}
	s.library.SetStale(true)
	if stale := s.get(t, target, "If-None-Match", tag); stale.status != 200 || !strings.Contains(string(stale.body), `"stale":true`) {
		t.Errorf("once stale: %d: %.200s", stale.status, stale.body)
	}
}

func TestRequestIDsGoThroughToTheLog(t *testing.T) {
	s := newService(t)
	a := s.post(t, "/v1/fits?errors=none-such", eyeToEye, "X-Request-Id", "ticket-4411")
	if got := a.header.Get("X-Request-Id"); got != "ticket-4411" {
		t.Errorf("X-Request-Id %q", got)
	}
	if got := s.get(t, "/healthz", "X-Request-Id", "a b").header.Get("X-Request-Id"); got == "" || got == "a b" {
		t.Errorf("an id that can't stand was answered by %q", got)
	}
	var line struct {
		Msg, Method, Route string
		RequestID          string `json:"request_id"`
		Status             int
		US                 *int64
	}
	first, _, _ := strings.Cut(s.log.String(), "\n")
	if err := json.Unmarshal([]byte(first), &line); err != nil {
		t.Fatal(err)
	}
	if line.RequestID != "ticket-4411" || line.Method != "POST" || line.Route != "/v1/fits" || line.Status != a.status || line.US == nil {
		t.Errorf("the log says %s", first)
	}
	if strings.Contains(s.log.String(), "17 5/16") || strings.Contains(s.log.String(), "none-such") {
		t.Error("the log holds what the caller sent")
	}
}

func TestAPanicIsAProblemWithItsRequestID(t *testing.T) {
	s := newService(t)
	s.AddBroken("/broken")
	w := httptest.NewRecorder()
	s.ServeHTTP(w, httptest.NewRequest("GET", "/broken", nil))
	p := refused(t, &answer{w.Code, w.Header(), w.Body.Bytes()}, 500)
	if strings.Contains(p.Detail, "on purpose") {
		t.Error("the caller is told of the inside")
	}
	if log := s.log.String(); !strings.Contains(log, "broken on purpose") || !strings.Contains(log, "stack") ||
		!strings.Contains(log, w.Header().Get("X-Request-Id")) {
		t.Errorf("the log says too little: %s", log)
	}
}

func TestPagesOfOtherOriginsMayReadAndPost(t *testing.T) {
	s := newService(t)
	const origin = "https://shop.example"
	for _, target := range []string{"/v1/dampers?units=in", "/v1/dampers", "/openapi.json"} {
		a := s.get(t, target, "Origin", origin)
		if got := a.header.Get("Access-Control-Allow-Origin"); got != "*" {
			t.Errorf("%s: Access-Control-Allow-Origin %q", target, got)
		}
		if a.header.Get("Access-Control-Allow-Credentials") != "" {
			t.Errorf("%s lets credentials through", target)
		}
	}
	for _, target := range []string{"/metrics", "/readyz", "/docs"} {
		if got := s.get(t, target, "Origin", origin).header.Get("Access-Control-Allow-Origin"); got != "" {
			t.Errorf("%s: Access-Control-Allow-Origin %q, want none", target, got)
		}
	}
	preflight := s.do(t, "OPTIONS", "/v1/fits", "", "Origin", origin,
		"Access-Control-Request-Method", "POST", "Access-Control-Request-Headers", "content-type")
	if preflight.status != 204 || !strings.Contains(preflight.header.Get("Access-Control-Allow-Methods"), "POST") ||
		!strings.Contains(preflight.header.Get("Access-Control-Allow-Headers"), "Content-Type") {
		t.Errorf("preflight: %d, %v", preflight.status, preflight.header)
	}
	if a := s.do(t, "OPTIONS", "/v1/fits", ""); a.status != 204 || a.header.Get("Allow") == "" {
		t.Errorf("OPTIONS: %d, Allow %q", a.status, a.header.Get("Allow"))
	}
	if a := s.do(t, "OPTIONS", "/v1/nothing", "", "Origin", origin); a.status != 404 {
		t.Errorf("OPTIONS of no path: %d, want 404", a.status)
	}
}

func TestRoutesAndContractAreTheSame(t *testing.T) {
	s := newService(t)
	var documented []string
	for path, item := range s.doc.Paths.Map() {
		for method := range item.Operations() {
			documented = append(documented, method+" "+path)
			if method == http.MethodGet && item.Head == nil {
				// Where the contract doesn't say it, HEAD is what RFC 9110
				// makes of GET.
				documented = append(documented, http.MethodHead+" "+path)
			}
		}
	}
	routes := s.Routes()
	for _, r := range routes {
		if _, path, _ := strings.Cut(r, " "); contract.PageLoads(path) {
			continue
		}
		if !slices.Contains(documented, r) {
			t.Errorf("%s is served but not in the contract", r)
		}
	}
	for _, d := range documented {
		if !slices.Contains(routes, d) {
			t.Errorf("%s is in the contract but not served", d)
		}
	}
}
