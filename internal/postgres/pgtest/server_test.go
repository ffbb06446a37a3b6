package pgtest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/pglocal"
	"midstroke/migrations"
)

func TestWithoutAnyPostgresTheMessageSaysWhatToDo(t *testing.T) {
	closed := func(context.Context) (*server, error) { return nil, fmt.Errorf("a way: %w", errNoWay) }
	_, err := find(t.Context(), "", closed, closed)
	if err == nil {
		t.Fatal("a server was found")
	}
	for _, want := range []string{"TEST_DATABASE_URL", "apt-get install", "dnf install", "brew install", "Docker", "14 or newer"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q lacks %q", err, want)
		}
	}
}

// A way that is open but broken is told and not passed over: the next one
// would hide it.
func TestBrokenWayIsNotPassedOver(t *testing.T) {
	broken := errors.New("disk full")
	_, err := find(t.Context(), "",
		func(context.Context) (*server, error) { return nil, broken },
		func(context.Context) (*server, error) { t.Error("the next way was tried"); return nil, errNoWay })
	if !errors.Is(err, broken) {
		t.Errorf("%v, want %v", err, broken)
	}
}

// TestOneOldestVersion: what is looked for, what is started and what the tables
// are written for is one version of Postgres.
func TestOneOldestVersion(t *testing.T) {
	script, err := os.ReadFile("../../../.ci/need")
	if err != nil {
		t.Fatal(err)
	}
	if want := fmt.Sprintf("\noldest=%d ", migrations.OldestMajor); !strings.Contains(string(script), want) {
		t.Errorf(".ci/need has no %q", want)
	}
	if pglocal.OldestMajor != migrations.OldestMajor {
		t.Errorf("a private Postgres may be %d, the tables need %d", pglocal.OldestMajor, migrations.OldestMajor)
	}
}

func TestGivenServerMustDo(t *testing.T) {
	unwanted := func(context.Context) (*server, error) { t.Error("another way was tried"); return nil, errNoWay }
	for _, c := range []struct{ given, says string }{
		{"host=localhost", "must have the form"},
		{"postgres://127.0.0.1:1/x?sslmode=disable&connect_timeout=5", "can't be used"},
		{withoutRights(t), "may not create databases"},
	} {
		if _, err := find(t.Context(), c.given, unwanted); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q in it", c.given, err, c.says)
		}
	}
}

// withoutRights is the URL of a role that may do nothing.
func withoutRights(t *testing.T) string {
	t.Helper()
	u, err := url.Parse(Empty(t))
	if err != nil {
		t.Fatal(err)
	}
	query := u.Query()
	query.Set("role", "pg_monitor") // there in every Postgres
	u.RawQuery = query.Encode()
	admin := *u
	query.Del("role")
	admin.RawQuery = query.Encode()
	conn, err := pgx.Connect(t.Context(), admin.String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	var may bool
	if err := conn.QueryRow(t.Context(), "SELECT pg_has_role('pg_monitor', 'MEMBER')").Scan(&may); err != nil {
		t.Fatal(err)
	}
	if !may {
		// The private server's role isn't a member; its superuser is.
		u.User = url.User("postgres")
	}
	return u.String()
}

func TestSweepDropsWhatIsOld(t *testing.T) {
	h := need(t)
	name := func(age time.Duration) string {
		return testPrefix + time.Now().UTC().Add(-age).Format(stamp) + "_sweep"
	}
	old, young, unknown := name(25*time.Hour), name(time.Hour), testPrefix+"of_somebody"
	for _, n := range []string{old, young, unknown} {
		if err := h.server.exec("CREATE DATABASE " + n); err != nil {
			t.Fatal(err)
		}
		defer func() { _ = h.server.exec("DROP DATABASE IF EXISTS " + n) }()
	}
	conn, err := pgx.Connect(t.Context(), h.server.url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if err := sweep(t.Context(), conn); err != nil {
		t.Fatal(err)
	}
	for n, want := range map[string]bool{old: false, young: true, unknown: true} {
		var there bool
		if err := conn.QueryRow(t.Context(), "SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)", n).Scan(&there); err != nil || there != want {
			t.Errorf("%s is there: %v, want %v (%v)", n, there, want, err)
		}
	}
}
