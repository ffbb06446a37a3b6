package httpapi_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"sync"
	"testing"

	"github.com/klauspost/compress/zstd"

	"midstroke/testdata/examples"
)

// plainOf gives the body of an answer without its coding.
func plainOf(t *testing.T, a *answer) []byte {
	t.Helper()
	var r io.Reader = bytes.NewReader(a.body)
	switch coding := a.header.Get("Content-Encoding"); coding {
	case "gzip":
		zipped, err := gzip.NewReader(r) // the standard library's, not the one that wrote it
		if err != nil {
			t.Fatal(err)
		}
		r = zipped
	case "zstd":
		coded, err := zstd.NewReader(r)
		if err != nil {
			t.Fatal(err)
		}
		defer coded.Close()
		r = coded
	case "":
	default:
		t.Fatalf("Content-Encoding %q", coding)
	}
	body, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return body
}

const someFits = "/v1/fits?units=in&readings=17+5/16&upper=eye&lower=eye&suspension=solid_axle"

// TestCodedAnswersAreTheSame asks for every kind of answer in each coding.
func TestCodedAnswersAreTheSame(t *testing.T) {
	s := newService(t)
	for _, target := range []string{
		someFits, someFits + "&format=csv", "/v1/fits?a=1&b=1&c=1&d=1&e=1&f=1", "/v1/dampers?units=mm", "/v1/guide?units=in&upper=stud&lower=eye",
		"/widget/midstroke.js", "/widget/counter.js", "/docs/problems", "/docs/codes", "/openapi.yaml", "/openapi.json",
	} {
		plain := s.get(t, target)
		for _, coding := range []string{"gzip", "zstd"} {
			a := s.get(t, target, "Accept-Encoding", coding)
			if got := a.header.Get("Content-Encoding"); got != coding {
				t.Errorf("%s: asked for %s, got %q", target, coding, got)
			}
			if body := plainOf(t, a); !bytes.Equal(body, plain.body) && a.status == 200 {
				t.Errorf("%s: by %s it is another body", target, coding)
			}
			if a.status != plain.status || a.header.Get("Content-Length") != fmt.Sprint(len(a.body)) || len(a.body) >= len(plain.body) {
				t.Errorf("%s by %s: %d, %d of %d bytes, Content-Length %s", target, coding, a.status, len(a.body), len(plain.body), a.header.Get("Content-Length"))
			}
			if plain.status != 200 {
				continue
			}
			tag := a.header.Get("ETag")
			if tag == plain.header.Get("ETag") {
				t.Errorf("%s: both codings have the tag %s", target, tag)
			}
			for _, a := range []*answer{a, plain} {
				if !strings.Contains(a.header.Get("Vary"), "Accept-Encoding") {
					t.Errorf("%s: Vary %q", target, a.header.Get("Vary"))
				}
			}
			// Whichever copy is held, it is still right; a caller that can't
			// read it gets another.
			for _, held := range []string{tag, plain.header.Get("ETag")} {
				if again := s.get(t, target, "Accept-Encoding", coding, "If-None-Match", held); again.status != 304 || again.header.Get("ETag") != held {
					t.Errorf("%s: with %s: %d, %s", target, held, again.status, again.header.Get("ETag"))
				}
			}
			if again := s.get(t, target, "If-None-Match", tag); again.status != 200 {
				t.Errorf("%s: a copy by %s is right for a caller that doesn't read that", target, coding)
			}
			head := s.do(t, "HEAD", target, "", "Accept-Encoding", coding)
			if head.status != 200 || len(head.body) != 0 || head.header.Get("ETag") != tag || head.header.Get("Content-Encoding") != coding {
				t.Errorf("HEAD %s: %d, %s, %q", target, head.status, head.header.Get("ETag"), head.header.Get("Content-Encoding"))
			}
			if got := head.header.Get("Content-Length"); got != "" && got != fmt.Sprint(len(a.body)) {
				t.Errorf("HEAD %s: Content-Length %s, GET sends %d", target, got, len(a.body))
			}
		}
	}
}

// TestSmallAnswersAreNotCoded, unless nothing else is acceptable.
func TestSmallAnswersAreNotCoded(t *testing.T) {
	s := newService(t)
	target := someFits + "&format=text&pick=outcome"
	if a := s.get(t, target, "Accept-Encoding", "gzip"); a.header.Get("Content-Encoding") != "" || string(a.body) != "fits" {
		t.Errorf("%q: %s", a.header.Get("Content-Encoding"), a.body)
	}
	if a := s.get(t, target, "Accept-Encoding", "gzip, identity;q=0"); string(plainOf(t, a)) != "fits" || a.header.Get("Content-Encoding") != "gzip" {
		t.Errorf("%q: %s", a.header.Get("Content-Encoding"), a.body)
	}
}

// TestTenFitsAreShort holds the day's answer to what callers are promised: under
// 30 KB, and under 5 KB by gzip.
func TestTenFitsAreShort(t *testing.T) {
	s := newService(t)
	body, err := examples.Requests.ReadFile("rear-axle.json")
	if err != nil {
		t.Fatal(err)
	}
	for coding, most := range map[string]int{"identity": 30_000, "gzip": 5_000, "zstd": 5_000} {
		a := s.post(t, "/v1/fits", string(body), "Accept-Encoding", coding)
		if got := strings.Count(string(plainOf(t, a)), `"rank":`); got != 10 {
			t.Fatalf("%d fits", got)
		}
		t.Logf("ten fits take %d bytes by %s", len(a.body), coding)
		if len(a.body) >= most {
			t.Errorf("ten fits take %d bytes by %s, want less than %d", len(a.body), coding, most)
		}
	}
}

// TestBodiesAtOnce sends the contract's examples of questions from several callers at
// once: what reads bodies and writes answers shares room and texts. Package wire's own
// tests run without the race detector.
func TestBodiesAtOnce(t *testing.T) {
	s := newService(t)
	type request struct{ path, body string }
	var requests []request
	for _, path := range []string{"/v1/fits", "/v1/hardware", "/v1/travel", "/v1/rates"} {
		for _, example := range examplesOf(s.doc.Paths.Value(path).Post.RequestBody.Value.Content["application/json"]) {
			body, err := json.Marshal(example)
			if err != nil {
				t.Fatal(err)
			}
			requests = append(requests, request{path, string(body)})
		}
	}
	const callers = 4 // no more than wait for their turn
	if len(requests) < 2*callers {
		t.Fatalf("the contract has only %d examples", len(requests))
	}
	answers := make([][callers]*answer, len(requests))
	var wait sync.WaitGroup
	for caller := range callers {
		wait.Go(func() {
			for i, r := range requests {
				answers[i][caller] = s.unchecked("POST", r.path, r.body)
			}
		})
	}
	wait.Wait()
	alone := newService(t)
	for i, r := range requests {
		want := alone.post(t, r.path, r.body)
		for _, a := range answers[i] {
			if !bytes.Equal(a.body, want.body) {
				t.Errorf("%s: %d: %s\nwant %s", r.body, a.status, a.body, want.body)
			}
		}
	}
}

// TestCodedAnswersAtOnce sends many at once: coders are shared.
func TestCodedAnswersAtOnce(t *testing.T) {
	s := newService(t)
	plain := s.get(t, someFits)
	var wait sync.WaitGroup
	for range 4 { // no more than wait for their turn
		wait.Go(func() {
			for i := range 16 {
				a := s.unchecked("GET", someFits, "", "Accept-Encoding", []string{"gzip", "zstd"}[i%2])
				if body := plainOf(t, a); !bytes.Equal(body, plain.body) {
					t.Errorf("%d bytes, want %d", len(body), len(plain.body))
				}
			}
		})
	}
	wait.Wait()
}
