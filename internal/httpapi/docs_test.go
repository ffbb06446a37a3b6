package httpapi_test

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"html"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"

	"midstroke/internal/note"
)

func TestTheViewerIsTheOneThatTheReadmeNames(t *testing.T) {
	s := newService(t)
	zipped := s.get(t, "/docs/reference.js", "Accept-Encoding", "br;q=1, gzip;q=0.8")
	if got := zipped.header.Get("Content-Encoding"); got != "gzip" {
		t.Fatalf("Content-Encoding %q", got)
	}
	r, err := gzip.NewReader(bytes.NewReader(zipped.body))
	if err != nil {
		t.Fatal(err)
	}
	script, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	plain := s.get(t, "/docs/reference.js", "Accept-Encoding", "gzip;q=0")
	if plain.header.Get("Content-Encoding") != "" || !bytes.Equal(plain.body, script) {
		t.Error("unpacked it is another script")
	}
	if plain.header.Get("ETag") == zipped.header.Get("ETag") {
		t.Error("both codings have one validator")
	}
	sum := sha256.Sum256(script)
	readme, err := os.ReadFile("docs/README.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(readme), hex.EncodeToString(sum[:])) {
		t.Errorf("docs/README.md doesn't name the sum %x", sum)
	}
}

// Elements that load something name where from.
var loads = regexp.MustCompile(`(?:src|href|url)\s*[=:(]\s*['"]?([^'")\s>]+)`)

func TestPagesLoadNothingFromElsewhere(t *testing.T) {
	s := newService(t)
	for _, target := range []string{"/", "/sheet", "/docs", "/docs/problems", "/docs/codes", "/docs/start.js"} {
		a := s.get(t, target)
		for _, m := range loads.FindAllStringSubmatch(string(a.body), -1) {
			if where := m[1]; !strings.HasPrefix(where, "/") && !strings.HasPrefix(where, "data:") && !strings.HasPrefix(where, "#") {
				t.Errorf("%s loads %s", target, where)
			}
		}
		if strings.HasPrefix(a.header.Get("Content-Type"), "text/html") {
			csp := a.header.Get("Content-Security-Policy")
			if !strings.HasPrefix(csp, "default-src 'none'") || strings.Contains(csp, "unsafe-eval") || strings.Contains(csp, "http") {
				t.Errorf("%s has the policy %q", target, csp)
			}
		}
	}
}

func TestLinksOfThePagesLeadSomewhere(t *testing.T) {
	s := newService(t)
	link := regexp.MustCompile(`href="(/[^"]*)"`)
	for _, target := range []string{"/", "/sheet", "/docs/problems", "/docs/codes"} {
		for _, m := range link.FindAllStringSubmatch(string(s.get(t, target).body), -1) {
			if a := s.get(t, strings.ReplaceAll(m[1], "&amp;", "&")); a.status != 200 {
				t.Errorf("%s links to %s, which is answered by %d", target, m[1], a.status)
			}
		}
	}
}

func TestEveryProblemTypeLeadsToItsMeaning(t *testing.T) {
	s := newService(t)
	for _, lang := range note.Languages() {
		a := s.get(t, "/docs/problems", "Accept-Language", lang)
		page := string(a.body)
		p := refused(t, s.post(t, "/v1/fits", "{}", "Accept-Language", lang), 422)
		_, anchor, _ := strings.Cut(p.Type, "#")
		if !strings.Contains(page, `<dt id="`+anchor+`">`) || !strings.Contains(page, html.EscapeString(p.Title)) {
			t.Errorf("the page in %s has no place for %s, %s", lang, p.Type, p.Title)
		}
		if n := strings.Count(page, "<dt id="); n != 24 {
			t.Errorf("the page in %s explains %d problems, want 24", lang, n)
		}
		if got := a.header.Get("Content-Language"); got != lang || !strings.Contains(page, `<html lang="`+lang+`">`) {
			t.Errorf("asked for %s, the page comes in %q", lang, got)
		}
	}
}

// TestEveryCodeIsListed: the page has every code of the message files, with its
// words in every language, whatever language the page itself is in.
func TestEveryCodeIsListed(t *testing.T) {
	s := newService(t)
	for _, lang := range note.Languages() {
		page := html.UnescapeString(string(s.get(t, "/docs/codes", "Accept-Language", lang).body))
		for _, e := range note.Entries() {
			for _, of := range note.Languages() {
				if want := `<dd lang="` + of + `">` + e.Words(of) + "</dd>"; !strings.Contains(page, want) {
					t.Errorf("the page in %s lacks %s %s in %s", lang, e.Section, e.Code, of)
				}
			}
		}
		// A code that an answer has, and where links to it lead.
		for _, want := range []string{`<dt id="cautions.support_vehicle"><code>support_vehicle</code>`, `<dt id="faults.out_of_range"><code>out_of_range</code>`, `<h2 id="problems">`} {
			if !strings.Contains(page, want) {
				t.Errorf("the page in %s lacks %s", lang, want)
			}
		}
		if strings.Contains(page, `<h2 id=""`) || strings.Contains(page, "></h2>") {
			t.Errorf("a section of the page in %s has no title", lang)
		}
	}
}
