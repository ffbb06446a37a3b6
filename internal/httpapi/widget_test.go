package httpapi_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"midstroke/internal/widget"
)

func TestTheWidgetIsSentToBeKept(t *testing.T) {
	s := newService(t)
	files, err := widget.Load()
	if err != nil {
		t.Fatal(err)
	}
	for target, cache := range map[string]string{
		widget.ScriptPath:              "public, max-age=300",
		widget.VersionPath(files.Hash): "public, max-age=31536000, immutable",
		widget.ManifestPath:            "no-cache",
		"/widget/counter.js":           "no-cache",
	} {
		plain := s.get(t, target, "Origin", "https://shop.example")
		zipped := s.get(t, target, "Accept-Encoding", "gzip", "Origin", "https://shop.example")
		for _, a := range []*answer{plain, zipped} {
			if a.status != 200 || a.header.Get("Cache-Control") != cache {
				t.Errorf("%s: %d, Cache-Control %q, want %q", target, a.status, a.header.Get("Cache-Control"), cache)
			}
			// A script with an integrity is fetched as any page's own data are.
			if got := a.header.Get("Access-Control-Allow-Origin"); got != "*" {
				t.Errorf("%s: Access-Control-Allow-Origin %q", target, got)
			}
			if got := a.header.Get("Vary"); got != "Accept-Encoding, Origin" {
				t.Errorf("%s varies by %q", target, got)
			}
		}
		if target == widget.ManifestPath {
			// too short to be compressed
		} else if zipped.header.Get("Content-Encoding") != "gzip" || plain.header.Get("Content-Encoding") != "" || zipped.header.Get("ETag") == plain.header.Get("ETag") {
			t.Errorf("%s: encodings %q and %q, tags %s and %s", target, zipped.header.Get("Content-Encoding"), plain.header.Get("Content-Encoding"),
				zipped.header.Get("ETag"), plain.header.Get("ETag"))
		}
		if again := s.get(t, target, "If-None-Match", plain.header.Get("ETag")); again.status != http.StatusNotModified || len(again.body) != 0 {
			t.Errorf("%s again: %d with %d bytes, want 304", target, again.status, len(again.body))
		}
		if head := s.do(t, "HEAD", target, ""); head.status != 200 || len(head.body) != 0 {
			t.Errorf("HEAD %s: %d with %d bytes", target, head.status, len(head.body))
		}
	}
}

func TestAnotherVersionOfTheWidgetLeadsToTheNewest(t *testing.T) {
	a := newService(t).get(t, widget.VersionPath(strings.Repeat("0", 32)))
	if a.status != http.StatusFound || a.header.Get("Location") != widget.ScriptPath || a.header.Get("Cache-Control") != "no-store" {
		t.Errorf("%d to %q, Cache-Control %q", a.status, a.header.Get("Location"), a.header.Get("Cache-Control"))
	}
}

func TestTheManifestNamesWhatIsServed(t *testing.T) {
	s := newService(t)
	var manifest struct{ Script, Newest string }
	if err := json.Unmarshal(s.get(t, widget.ManifestPath).body, &manifest); err != nil {
		t.Fatal(err)
	}
	versioned, newest := s.get(t, manifest.Script), s.get(t, manifest.Newest)
	if versioned.status != 200 || string(versioned.body) != string(newest.body) {
		t.Errorf("%s is answered by %d and isn't %s", manifest.Script, versioned.status, manifest.Newest)
	}
}
