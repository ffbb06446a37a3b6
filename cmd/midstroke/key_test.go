package main_test

import (
	"encoding/json"
	"io"
	"net/http"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"time"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres/pgtest"
)

// with asks for fits with a key, and gives the status and the answer's catalogue.
func (s *server) with(t *testing.T, key string, header ...string) (status int, catalog string) {
	t.Helper()
	status, catalog, _ = s.answer(t, key, header...)
	return status, catalog
}

// answer is with, and the revision as well.
func (s *server) answer(t *testing.T, key string, header ...string) (status int, catalog string, revision int) {
	t.Helper()
	r, err := http.NewRequest(http.MethodPost, s.url+"/v1/fits", strings.NewReader(request))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+key)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	var answer fits
	_ = json.Unmarshal(body, &answer) // a problem has no catalogue
	return res.StatusCode, answer.Catalog.Name, answer.Catalog.Revision
}

// midstroke runs a command that must succeed and gives what it wrote.
func midstroke(t *testing.T, args ...string) string {
	t.Helper()
	out, err := command(args...).Output()
	if err != nil {
		var said string
		if exit, ok := err.(*exec.ExitError); ok { //nolint:errorlint // Output gives it as it is
			said = string(exit.Stderr)
		}
		t.Fatalf("midstroke %s: %v\n%s", strings.Join(args, " "), err, said)
	}
	return strings.TrimSpace(string(out))
}

var shownKey = regexp.MustCompile(`midstroke_(widget|server|admin)_[0-9a-z]{8}_[0-9a-z]{32}`)

// TestKeysFromTheFirstStartToRevocation starts on an empty folder and uses the keys
// that it shows. Then it makes a shop with its own catalogue and key while two
// instances run, and revokes the key.
func TestKeysFromTheFirstStartToRevocation(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	s := serve(t, "--data-dir", dir)
	within(t, 5*time.Second, "the demo's three keys", func() bool { return len(shownKey.FindAllString(s.out.String(), -1)) == 3 })
	for _, key := range shownKey.FindAllString(s.out.String(), -1) {
		var header []string
		if strings.Contains(key, "_widget_") {
			if status, _ := s.with(t, key); status != 403 {
				t.Errorf("a widget's key without a page: %d", status)
			}
			header = []string{"Origin", s.url}
		}
		if status, catalog := s.with(t, key, header...); status != 200 || catalog != "demo" {
			t.Errorf("%s: %d from %q", key[:20], status, catalog)
		}
	}

	url, err := pglocal.Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	other := serve(t, "--database-url", url)
	if out := other.out.String(); shownKey.MatchString(out) {
		t.Errorf("an instance on a named database showed keys:\n%s", out)
	}

	key := midstroke(t, "key", "create", "--shop", "north", "--use", "server", "--expires", "90d", "--database-url", url)
	if !shownKey.MatchString(key) || strings.Contains(key, "\n") {
		t.Fatalf("key create wrote %q", key)
	}
	midstroke(t, "import", "../../testdata/demo", "--catalog", "north", "--database-url", url)
	for _, each := range []*server{s, other} {
		within(t, 10*time.Second, "the shop's catalogue in answers", func() bool {
			status, catalog := each.with(t, key)
			return status == 200 && catalog == "north"
		})
		if got := each.ask(t); got.Catalog.Name != "demo" {
			t.Errorf("without a key answered from %+v", got.Catalog)
		}
	}
	list := midstroke(t, "key", "list", "--shop", "north", "--database-url", url)
	if !strings.Contains(list, "server") || !strings.Contains(list, "good") || strings.Contains(list, key[len(key)-32:]) {
		t.Errorf("key list:\n%s", list)
	}

	midstroke(t, "key", "revoke", strings.Split(key, "_")[2], "--database-url", url)
	for _, each := range []*server{s, other} {
		within(t, time.Second, "the end of the key", func() bool {
			status, _ := each.with(t, key)
			return status == 401
		})
	}
	other.interrupt(t)
	s.interrupt(t)
	for _, each := range []*server{s, other} {
		if log := each.log.String(); strings.Contains(log, key[len(key)-32:]) {
			t.Error("the log has the key")
		}
	}

	again := serve(t, "--data-dir", dir)
	time.Sleep(100 * time.Millisecond) // something may come after the greeting
	if out := again.out.String(); shownKey.MatchString(out) {
		t.Errorf("a second start showed keys:\n%s", out)
	}
	again.interrupt(t)
}

func TestKeyCreateSaysWhatIsWrong(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		args []string
		says string
	}{
		"no use":              {[]string{"--shop", "north"}, "--use"},
		"an unknown use":      {[]string{"--shop", "north", "--use", "root"}, "--use"},
		"no shop":             {[]string{"--shop", " ", "--use", "admin"}, "--shop"},
		"a widget, no origin": {[]string{"--shop", "north", "--use", "widget"}, "--origin"},
		"a widget, a page":    {[]string{"--shop", "north", "--use", "widget", "--origin", "https://a.example/page"}, "https://a.example/page"},
		"a server's origin":   {[]string{"--shop", "north", "--use", "server", "--origin", "https://a.example"}, "--origin"},
		"expired":             {[]string{"--shop", "north", "--use", "server", "--expires", "2001-01-01"}, "past"},
		"no time":             {[]string{"--shop", "north", "--use", "server", "--expires", "soon"}, "soon"},
	} {
		out, err := command(append([]string{"key", "create"}, c.args...)...).CombinedOutput()
		if exit, ok := err.(*exec.ExitError); !ok || exit.ExitCode() != 2 || !strings.Contains(string(out), c.says) { //nolint:errorlint // as above
			t.Errorf("%s: %v\n%s", name, err, out)
		}
	}
}

// TestTheFirstKeysAreMadeOnce makes a shop's first keys twice.
func TestTheFirstKeysAreMadeOnce(t *testing.T) {
	t.Parallel()
	url := ownPostgres(t).URL()
	first := []string{"key", "first", "--shop", "corner", "--database-url", url}
	said, code := run(t, first...)
	if code != 0 || !strings.Contains(said, "midstroke_admin_") || !strings.Contains(said, "midstroke_server_") || strings.Contains(said, "midstroke_widget_") {
		t.Errorf("exit %d: %s", code, said)
	}
	if said, code = run(t, first...); code != 0 || !strings.Contains(said, "keys already") || strings.Contains(said, "midstroke_admin_") {
		t.Errorf("again: exit %d: %s", code, said)
	}
	said, code = run(t, "key", "first", "--shop", "other", "--origin", "https://other.example", "--database-url", url)
	if code != 0 || !strings.Contains(said, "midstroke_widget_") {
		t.Errorf("with an origin: exit %d: %s", code, said)
	}
	if said, code = run(t, "key", "first", "--shop", "third", "--origin", "nowhere", "--database-url", url); code != 2 || !strings.Contains(said, "origin") {
		t.Errorf("with an origin that is none: exit %d: %s", code, said)
	}
}
