package main_test

import (
	"archive/zip"
	"bytes"
	"context"
	"io"
	"io/fs"
	"maps"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/postgres/pgtest"
	"midstroke/migrations"
)

// answers asks a service about everything that a shop keeps, and gives the answers by
// what was asked.
func answers(t *testing.T, s *server, key string) map[string]string {
	t.Helper()
	all := map[string]string{}
	ask := func(name, method, path, key, body string) {
		r, err := http.NewRequestWithContext(t.Context(), method, s.url+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/json")
		if key != "" {
			r.Header.Set("Authorization", "Bearer "+key)
		}
		res, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		raw, err := io.ReadAll(res.Body)
		if err != nil || res.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s: %v: %s", name, res.Status, err, raw)
		}
		all[name] = res.Header.Get("ETag") + "\n" + string(raw)
	}
	ask("fits of the demo", "POST", "/v1/fits", "", request)
	ask("fits of the shop", "POST", "/v1/fits", key, request)
	ask("revisions", "GET", "/v1/catalogs/own/revisions", key, "")
	ask("export", "GET", "/v1/catalogs/own/revisions/1/export?format=ndjson&units=mm", key, "")
	ask("catalogues", "GET", "/v1/catalogs", key, "")
	for _, list := range []string{"dampers", "sleeves", "spacers", "adapters"} {
		ask(list, "GET", "/v1/"+list+"?units=in&limit=500", key, "")
	}
	return all
}

// TestARestoreGivesTheSameAnswers backs a private database up while it is used, and
// restores it twice: into another private one, and into one that somebody else runs,
// where the service works as roles that own nothing. Both give the same bytes.
func TestARestoreGivesTheSameAnswers(t *testing.T) {
	t.Parallel()
	dir, second := usedDataDir(t), pgtest.DataDir(t)
	file := filepath.Join(t.TempDir(), "midstroke.backup")
	s := serve(t, "--data-dir", dir)
	for range 2 { // two revisions
		if said, code := run(t, "import", folderOf(t, "A", 50), "--catalog", "own", "--data-dir", dir); code != 0 {
			t.Fatalf("exit %d: %s", code, said)
		}
	}
	out, err := command("key", "create", "--shop", "own", "--use", "admin", "--data-dir", dir).Output()
	if err != nil {
		t.Fatal(err)
	}
	key := strings.TrimSpace(string(out))
	want := answers(t, s, key)
	if said, code := run(t, "backup", file, "--data-dir", dir); code != 0 || !strings.Contains(said, file) {
		t.Fatalf("backup: exit %d: %s", code, said)
	}
	if said, code := run(t, "backup", file, "--data-dir", dir); code != 1 || !strings.Contains(said, "exists already") {
		t.Errorf("a second backup of that name: exit %d: %s", code, said)
	}
	if said, code := run(t, "restore", file, "--data-dir", dir); code != 1 || !strings.Contains(said, "isn't empty: it has 2 shops") {
		t.Errorf("a restore onto the same database: exit %d: %s", code, said)
	}
	if got := answers(t, s, key); !maps.Equal(got, want) {
		t.Error("the refused restore changed answers")
	}
	s.interrupt(t)

	if said, code := run(t, "restore", file, "--data-dir", second); code != 0 {
		t.Fatalf("restore: exit %d: %s", code, said)
	}
	again := serve(t, "--data-dir", second)
	compare(t, "another private database", answers(t, again, key), want)
	again.interrupt(t)

	srv := ownPostgres(t)
	if said, code := run(t, "restore", file, "--database-url", srv.URL()); code != 0 {
		t.Fatalf("restore: exit %d: %s", code, said)
	}
	script, _ := run(t, "rights")
	admin, err := pgx.Connect(t.Context(), srv.AdminURL())
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close(context.Background())
	if _, err := admin.Exec(t.Context(), script); err != nil {
		t.Fatal(err)
	}
	own := serve(t, "--database-url", srv.LoginURL(migrations.ServiceRole), "--keeper-url", srv.LoginURL(migrations.KeeperRole))
	compare(t, "a database of somebody else's", answers(t, own, key), want)
	own.interrupt(t)
}

func compare(t *testing.T, where string, got, want map[string]string) {
	t.Helper()
	for _, name := range slices.Sorted(maps.Keys(want)) {
		if got[name] != want[name] {
			t.Errorf("%s: %s is\n%.400s\nwant\n%.400s", where, name, got[name], want[name])
		}
	}
}

// TestABackupThatCantBeWrittenLeavesNothing makes backups where there is no room and
// no folder, and restores files that are none.
func TestABackupThatCantBeWrittenLeavesNothing(t *testing.T) {
	t.Parallel()
	url, folder := ownPostgres(t).URL(), t.TempDir()
	if said, code := run(t, "migrate", "--database-url", url); code != 0 {
		t.Fatalf("exit %d: %s", code, said)
	}
	// A limit on the size of files is what a full disk looks like to a program.
	small := command("backup", filepath.Join(folder, "small.backup"), "--database-url", url)
	small.Args = append([]string{"sh", "-c", `ulimit -f 8; exec "$0" "$@"`}, small.Args...)
	small.Path = "/bin/sh"
	out, err := small.CombinedOutput()
	if err == nil || !strings.Contains(string(out), "file too large") {
		t.Errorf("without room: %v: %s", err, out)
	}
	if said, code := run(t, "backup", filepath.Join(folder, "none", "x.backup"), "--database-url", url); code != 1 || !strings.Contains(said, "no such file or directory") {
		t.Errorf("without a folder: exit %d: %s", code, said)
	}
	// A file is no folder. Whether the backup exists can't be told either.
	file := filepath.Join(folder, "good.backup")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if said, code := run(t, "backup", filepath.Join(file, "x.backup"), "--database-url", url); code != 1 ||
		!strings.Contains(said, "no backup was made: ") || !strings.Contains(said, "not a directory") || strings.Contains(said, "exists already") {
		t.Errorf("in a file: exit %d: %s", code, said)
	}
	if err := os.Remove(file); err != nil {
		t.Fatal(err)
	}
	empty := pgtest.DataDir(t)
	if said, code := run(t, "backup", file, "--data-dir", empty); code != 1 || !strings.Contains(said, "nothing to back up") {
		t.Errorf("of a folder that doesn't exist: exit %d: %s", code, said)
	}
	if _, err := os.Lstat(empty); !os.IsNotExist(err) {
		t.Errorf("a database was set up to be backed up: %v", err)
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
		t.Errorf("%v was left behind (%v)", left, err)
	}

	if said, code := run(t, "backup", file, "--database-url", url); code != 0 {
		t.Fatalf("exit %d: %s", code, said)
	}
	good, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string]struct {
		file []byte
		says string
	}{
		"cut short":                    {good[:len(good)*2/3], "cut short: "},
		"no backup":                    {bytes.Repeat([]byte("text\n"), 100), "cut short: "},
		"newer":                        {contentsChanged(t, good, `"step":`, `"step":9`), "and this program knows steps up to"},
		"fewer rows than were counted": {contentsChanged(t, good, `"rows":`, `"rows":9`), "were counted when it was written"},
	} {
		path, target := filepath.Join(folder, "bad.backup"), pgtest.DataDir(t)
		if err := os.WriteFile(path, bad.file, 0o600); err != nil {
			t.Fatal(err)
		}
		if said, code := run(t, "restore", path, "--data-dir", target); code != 1 || !strings.Contains(said, bad.says) {
			t.Errorf("%s: exit %d: %s", name, code, said)
		}
		if _, err := os.Stat(target); !os.IsNotExist(err) {
			t.Errorf("%s: a database was set up for it: %v", name, err)
		}
	}
}

// contentsChanged changes what a backup says of itself.
func contentsChanged(t *testing.T, file []byte, from, to string) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range in.File {
		if f.Name != "contents.json" {
			if err := w.Copy(f); err != nil {
				t.Fatal(err)
			}
			continue
		}
		contents, err := fs.ReadFile(in, f.Name)
		if err != nil || !bytes.Contains(contents, []byte(from)) {
			t.Fatalf("%v: %s", err, contents)
		}
		entry, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := entry.Write(bytes.ReplaceAll(contents, []byte(from), []byte(to))); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
