package main_test

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/pglocal"
	"midstroke/migrations"
)

// ownPostgres is a server that somebody else runs, with the roles of "midstroke
// rights".
func ownPostgres(t *testing.T) *pglocal.Server {
	t.Helper()
	srv, err := pglocal.Temporary(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = srv.Stop(context.Background()) })
	return srv
}

// run runs the program to its end.
func run(t *testing.T, args ...string) (said string, code int) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 60*time.Second)
	defer cancel()
	prepared := command(args...)
	cmd := exec.CommandContext(ctx, prepared.Path, args...)
	cmd.Env = prepared.Env
	out, err := cmd.CombinedOutput()
	if ctx.Err() != nil {
		t.Fatalf("%v doesn't end: %s", args, out)
	}
	if err != nil {
		return string(out), cmd.ProcessState.ExitCode()
	}
	return string(out), 0
}

// TestServeAsRolesThatOwnNothing sets up a database as the README says, and works
// with it over HTTP.
func TestServeAsRolesThatOwnNothing(t *testing.T) {
	t.Parallel()
	srv := ownPostgres(t)
	script, _ := run(t, "rights")
	admin, err := pgx.Connect(t.Context(), srv.AdminURL())
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close(context.Background())
	if _, err := admin.Exec(t.Context(), script); err != nil {
		t.Fatal(err)
	}
	as := []string{"--database-url", srv.LoginURL(migrations.ServiceRole), "--keeper-url", srv.LoginURL(migrations.KeeperRole)}
	if said, code := run(t, append([]string{"serve", "--listen", "127.0.0.1:0"}, as...)...); code != 1 || !strings.Contains(said, "run midstroke migrate") {
		t.Errorf("before the tables are made: exit %d, %s", code, said)
	}
	if said, code := run(t, "migrate", "--database-url", srv.URL()); code != 0 {
		t.Fatalf("exit %d: %s", code, said)
	}
	for _, shop := range []string{"north", "south"} {
		if said, code := run(t, "import", "../../testdata/demo", "--catalog", shop, "--shop", shop, "--database-url", srv.URL()); code != 0 {
			t.Fatalf("exit %d: %s", code, said)
		}
	}
	out, err := command("key", "create", "--shop", "north", "--use", "admin", "--database-url", srv.URL()).Output()
	if err != nil {
		t.Fatal(err)
	}
	key := strings.TrimSpace(string(out))
	if said, code := run(t, "key", "create", "--shop", "north", "--use", "admin", "--database-url", srv.LoginURL(migrations.ServiceRole)); code != 1 || !strings.Contains(said, "only the role that owns") {
		t.Errorf("a key made by the service's role: exit %d, %s", code, said)
	}
	s := serve(t, as...)
	if strings.Contains(s.log.String(), "midstroke rights") {
		t.Errorf("the log warns of too many rights: %s", s.log.String())
	}
	ask := func(method, path, body, ifMatch string) (status int, answer string) {
		t.Helper()
		r, err := http.NewRequest(method, s.url+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Authorization", "Bearer "+key)
		r.Header.Set("Content-Type", "text/csv")
		if ifMatch != "" {
			r.Header.Set("If-Match", ifMatch)
		}
		res, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		raw, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		return res.StatusCode, string(raw)
	}
	const file = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style\na,twin_tube,300 mm,450 mm,1 mm,50 mm,eye,eye\n"
	for _, c := range []struct {
		method, path, body, ifMatch string
		status                      int
	}{
		{"POST", "/v1/catalogs/north/revisions", file, "", 201},
		{"GET", "/v1/catalogs/north/revisions", "", "", 200},
		{"GET", "/v1/catalogs/north/revisions/2/changes/1?units=mm", "", "", 200},
		{"POST", "/v1/catalogs/north/revisions/2/publish", "", "*", 200},
		{"POST", "/v1/catalogs/north/revisions/1/rollback", "", "*", 200},
		{"GET", "/v1/catalogs/north/revisions/2/export?units=mm", "", "", 200},
		{"POST", "/v1/catalogs/south/revisions", file, "", 404},
		{"GET", "/v1/catalogs/south/revisions", "", "", 404},
		{"POST", "/v1/catalogs/south/revisions/1/rollback", "", "*", 404},
		{"GET", "/v1/catalogs/south/revisions/1/export?units=mm", "", "", 404},
	} {
		if status, answer := ask(c.method, c.path, c.body, c.ifMatch); status != c.status {
			t.Errorf("%s %s: %d, want %d: %.500s", c.method, c.path, status, c.status, answer)
		}
	}
	if said, code := run(t, "key", "revoke", key, "--database-url", srv.URL()); code != 0 {
		t.Fatalf("exit %d: %s", code, said)
	}
	within(t, time.Second, "that the key ended", func() bool {
		status, _ := ask("GET", "/v1/catalogs/north/revisions", "", "")
		return status == http.StatusUnauthorized
	})
	s.interrupt(t)
}

// TestWhatIsWrongWithADatabaseIsToldAtOnce: what no waiting mends ends the start.
func TestWhatIsWrongWithADatabaseIsToldAtOnce(t *testing.T) {
	t.Parallel()
	srv := ownPostgres(t)
	for what, c := range map[string]struct{ url, says string }{
		"a role that isn't there":     {srv.LoginURL("nobody_at_all"), `role "nobody_at_all" does not exist`},
		"a database that isn't there": {strings.Replace(srv.URL(), "/midstroke?", "/nothing?", 1), `database "nothing" does not exist`},
		"a host that isn't there":     {"postgres://midstroke@no-such-host.invalid/midstroke", "no-such-host.invalid"},
		"no URL":                      {"postgres://midstroke@host:port/midstroke", "DATABASE_URL"},
	} {
		start := time.Now()
		if said, code := run(t, "serve", "--listen", "127.0.0.1:0", "--database-url", c.url); code != 1 || !strings.Contains(said, c.says) || time.Since(start) > 20*time.Second {
			t.Errorf("%s: exit %d after %v, %s", what, code, time.Since(start), said)
		}
	}
	admin, err := pgx.Connect(t.Context(), srv.AdminURL())
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close(context.Background())
	if _, code := run(t, "migrate", "--database-url", srv.URL()); code != 0 {
		t.Fatal("migrate failed")
	}
	if _, err := admin.Exec(t.Context(), "INSERT INTO goose_db_version (version_id, is_applied) VALUES (990, true)"); err != nil {
		t.Fatal(err)
	}
	if said, code := run(t, "serve", "--listen", "127.0.0.1:0", "--database-url", srv.URL()); code != 1 || !strings.Contains(said, "at step 990") {
		t.Errorf("tables of a newer program: exit %d, %s", code, said)
	}
}

// TestAPrivatePostgresGivesRequestsTheirRole looks at who is connected.
func TestAPrivatePostgresGivesRequestsTheirRole(t *testing.T) {
	t.Parallel()
	dir := usedDataDir(t)
	s := serve(t, "--data-dir", dir)
	url, err := pglocal.Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	admin, err := pgx.Connect(t.Context(), strings.Replace(url, "//midstroke@", "//postgres@", 1))
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close(context.Background())
	connected := func(role string) (n int) {
		t.Helper()
		if err := admin.QueryRow(t.Context(), "SELECT count(*) FROM pg_stat_activity WHERE usename = $1", role).Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	within(t, 5*time.Second, "that the owner has gone", func() bool { return connected("midstroke") == 0 })
	if connected(migrations.ServiceRole) == 0 || connected(migrations.KeeperRole) == 0 {
		t.Error("the two roles aren't connected")
	}
	var answer struct{ Outcome string }
	res, err := http.Post(s.url+"/v1/fits", "application/json", strings.NewReader(request))
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if err := json.NewDecoder(res.Body).Decode(&answer); err != nil || answer.Outcome != "fits" {
		t.Errorf("%+v, %v", answer, err)
	}
	s.interrupt(t)
}
