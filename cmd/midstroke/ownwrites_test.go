package main_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// caller sends requests with a key.
type caller struct {
	t   *testing.T
	url string
	key string
}

// send gives the answer's body, which must have a status.
func (c *caller) send(status int, method, path, body string, header ...string) []byte {
	c.t.Helper()
	r, err := http.NewRequest(method, c.url+path, strings.NewReader(body))
	if err != nil {
		c.t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+c.key)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		c.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != status {
		c.t.Fatalf("%s %s: %d, want %d: %s, %v", method, path, answer.StatusCode, status, text, err)
	}
	return text
}

// answeredFrom gives the catalogue and the revision that a request for fits is
// answered from, as "name 3".
func (c *caller) answeredFrom() string {
	c.t.Helper()
	var a fits
	if err := json.Unmarshal(c.send(200, "POST", "/v1/fits", request, "Content-Type", "application/json"), &a); err != nil {
		c.t.Fatal(err)
	}
	if a.Catalog.Stale {
		return fmt.Sprint(a.Catalog.Name, " ", a.Catalog.Revision, " stale")
	}
	return fmt.Sprint(a.Catalog.Name, " ", a.Catalog.Revision)
}

// upload makes a draft of one damper and gives its number.
func (c *caller) upload(catalog, code string) int {
	c.t.Helper()
	file := "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style\n" +
		code + ",monotube,300 mm,460 mm,1 mm,50 mm,eye,eye\n"
	var r struct{ Revision int }
	if err := json.Unmarshal(c.send(201, "POST", "/v1/catalogs/"+catalog+"/revisions", file, "Content-Type", "text/csv"), &r); err != nil {
		c.t.Fatal(err)
	}
	return r.Revision
}

var keyText = regexp.MustCompile(`midstroke_[a-z]+_[0-9a-z]{8}_[0-9a-z]{32}`)

// TestAnInstanceAnswersFromWhatItWrote publishes and goes back, makes keys, and asks
// at once, without waiting, many times.
func TestAnInstanceAnswersFromWhatItWrote(t *testing.T) {
	t.Parallel()
	dir := usedDataDir(t)
	s := serve(t, "--data-dir", dir)
	newKey := func(shop, use string) *caller {
		t.Helper()
		out, err := command("key", "create", "--data-dir", dir, "--shop", shop, "--use", use).Output()
		key := keyText.FindString(string(out))
		if err != nil || key == "" {
			t.Fatalf("%v: %s", err, out)
		}
		return &caller{t, s.url, key}
	}
	admin := newKey("north", "admin")
	for range 2 {
		key := newKey("north", "server")
		key.send(200, "GET", "/v1/catalogs", "")
	}
	server := newKey("north", "server")
	before, slowest := 0, time.Duration(0)
	for round := range 15 {
		number := admin.upload("north", fmt.Sprint("damper-", round))
		path := fmt.Sprint("/v1/catalogs/north/revisions/", number)
		began := time.Now()
		admin.send(200, "POST", path+"/publish", "", "If-Match", "*")
		slowest = max(slowest, time.Since(began))
		if got, want := server.answeredFrom(), fmt.Sprint("north ", number); got != want {
			t.Fatalf("round %d: after publishing answered from %s, want %s", round, got, want)
		}
		if list := server.send(200, "GET", "/v1/dampers?units=mm", ""); !bytes.Contains(list, []byte(fmt.Sprint(`"damper-`, round, `"`))) {
			t.Fatalf("round %d: listed %s", round, list)
		}
		if list := server.send(200, "GET", "/v1/catalogs", ""); !bytes.Contains(list, []byte(fmt.Sprint(`"north","revision":`, number, `,`))) {
			t.Fatalf("round %d: catalogues %s", round, list)
		}
		if before != 0 {
			admin.send(200, "POST", fmt.Sprint("/v1/catalogs/north/revisions/", before, "/rollback"), "", "If-Match", "*")
			if got, want := server.answeredFrom(), fmt.Sprint("north ", before); got != want {
				t.Fatalf("round %d: after going back answered from %s, want %s", round, got, want)
			}
		}
		before = number
	}
	t.Logf("the slowest publication took %v", slowest)

	// A key whose shop publishes its first catalogue at last is answered from that
	// one where it names none.
	folder := filepath.Join(filepath.Dir(dir), "second")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(folder) })
	admin, server = newKey("south", "admin"), newKey("south", "server")
	file := filepath.Join(folder, "dampers.csv")
	const rows = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style\na,monotube,300 mm,460 mm,1 mm,50 mm,eye,eye\n"
	if err := os.WriteFile(file, []byte(rows), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := command("import", "--data-dir", dir, "--shop", "south", "--catalog", "southern spares", file).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	number := admin.upload("south", "a")
	admin.send(200, "POST", fmt.Sprint("/v1/catalogs/south/revisions/", number, "/publish"), "", "If-Match", "*")
	if got, want := server.answeredFrom(), fmt.Sprint("south ", number); got != want {
		t.Errorf("answered from %s, want %s", got, want)
	}
	s.interrupt(t)
}
