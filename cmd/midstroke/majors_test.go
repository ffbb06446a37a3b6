package main_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"midstroke/internal/postgres/pgtest"
)

// TestAnotherMajorTakesTheDataOver carries a private database from one major version of
// Postgres to another and back, by backup and restore. All three give the same bytes. It
// needs the server programs of another major, which few machines have: see make test-majors.
func TestAnotherMajorTakesTheDataOver(t *testing.T) {
	other := os.Getenv("MIDSTROKE_TEST_OTHER_POSTGRES")
	if other == "" {
		t.Skip("MIDSTROKE_TEST_OTHER_POSTGRES names no folder with another major's server programs")
	}
	usual := os.Getenv("PATH")
	others := other + string(os.PathListSeparator) + usual
	must := func(args ...string) {
		t.Helper()
		if said, code := run(t, args...); code != 0 {
			t.Fatalf("%v: exit %d: %s", args, code, said)
		}
	}
	major := func(dir string) string {
		raw, err := os.ReadFile(filepath.Join(dir, "cluster", "PG_VERSION"))
		if err != nil {
			t.Fatal(err)
		}
		return strings.TrimSpace(string(raw))
	}

	t.Setenv("PATH", others)
	from := pgtest.DataDir(t)
	must("import", folderOf(t, "A", 50), "--catalog", "own", "--data-dir", from)
	out, err := command("key", "create", "--shop", "own", "--use", "admin", "--data-dir", from).Output()
	if err != nil {
		t.Fatal(err)
	}
	key := strings.TrimSpace(string(out))
	s := serve(t, "--data-dir", from)
	want := answers(t, s, key)
	s.interrupt(t)

	for _, path := range []struct{ old, new string }{{others, usual}, {usual, others}} {
		t.Setenv("PATH", path.old)
		file := filepath.Join(t.TempDir(), "midstroke.backup")
		must("backup", file, "--data-dir", from)
		t.Setenv("PATH", path.new)
		to := pgtest.DataDir(t)
		must("restore", file, "--data-dir", to)
		if major(from) == major(to) {
			t.Fatalf("both are of Postgres %s: name the programs of another major", major(from))
		}
		s := serve(t, "--data-dir", to)
		compare(t, "from Postgres "+major(from)+" to "+major(to), answers(t, s, key), want)
		s.interrupt(t)
		t.Logf("Postgres %s took over what %s wrote: %d answers are the same", major(to), major(from), len(want))
		from = to
	}
}
