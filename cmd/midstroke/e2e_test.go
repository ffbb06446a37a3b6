package main_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres/pgtest"
)

// binary is the program as it is shipped, built once for all tests.
var binary string

func TestMain(m *testing.M) {
	os.Exit(func() int {
		dir, err := os.MkdirTemp("", "midstroke")
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(dir)
		if err := os.Chmod(dir, 0o755); err != nil { // other users run it, too
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		binary = filepath.Join(dir, "midstroke")
		build := exec.Command("go", "build", "-o", binary, ".")
		build.Env = append(os.Environ(), "CGO_ENABLED=0") // as make build does
		if out, err := build.CombinedOutput(); err != nil {
			fmt.Fprintf(os.Stderr, "build: %v\n%s", err, out)
			return 1
		}
		return m.Run()
	}())
}

// request is the first example of the contract's main path, in short.
const request = `{"units":"in","readings":["17 5/16"],"upper":{"style":"eye"},"lower":{"style":"eye"},"suspension":"solid_axle","top":3}`

// usedDataDir is a data folder with the tables and the demo catalogue, as "midstroke migrate"
// leaves it. It is a copy, since making one takes some 3 s of a processor.
func usedDataDir(t *testing.T) string {
	t.Helper()
	made, err := prototype()
	if err != nil {
		t.Fatal(err)
	}
	dir := pgtest.DataDir(t)
	if out, err := exec.Command("cp", "-Rp", made, dir).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return dir
}

// prototype makes the folder that usedDataDir copies.
var prototype = sync.OnceValues(func() (string, error) {
	dir := filepath.Join(filepath.Dir(binary), "prototype")
	if out, err := command("migrate", "--data-dir", dir).CombinedOutput(); err != nil {
		return "", fmt.Errorf("midstroke migrate: %w: %s", err, out)
	}
	return dir, nil
})

// command prepares the program without the settings in the environment.
func command(args ...string) *exec.Cmd {
	cmd := exec.Command(binary, args...)
	for _, setting := range os.Environ() {
		if !strings.HasPrefix(setting, "MIDSTROKE_") && !strings.HasPrefix(setting, "DATABASE_URL=") {
			cmd.Env = append(cmd.Env, setting)
		}
	}
	return cmd
}

// server is a running "midstroke serve".
type server struct {
	cmd    *exec.Cmd
	url    string
	log    journal
	out    output // what it says once it answers
	exited chan error
}

var greeting = regexp.MustCompile(`http://127\.0\.0\.1:[0-9]+`)

func serve(t *testing.T, args ...string) *server {
	t.Helper()
	s := &server{cmd: command(append([]string{"serve", "--listen", "127.0.0.1:0"}, args...)...), exited: make(chan error, 1)}
	s.cmd.Stderr = &s.log
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = s.cmd.Process.Kill() // of one that a failed test left
		if t.Failed() {
			t.Logf("the log of serve:\n%s", s.log.String())
		}
	})
	lines := make(chan string)
	go func() {
		defer close(lines)
		for scan := bufio.NewScanner(out); scan.Scan(); {
			lines <- scan.Text()
		}
	}()
	deadline := time.After(60 * time.Second)
	for s.url == "" {
		select {
		case line, ok := <-lines:
			if !ok {
				t.Fatalf("serve ended before it answered: %v\n%s", s.cmd.Wait(), s.log.String())
			}
			s.url = greeting.FindString(line)
		case <-deadline:
			t.Fatal("serve said nothing for 60 s")
		}
	}
	go func() {
		for line := range lines {
			s.out.add(line)
		}
		s.exited <- s.cmd.Wait()
	}()
	return s
}

// journal is a log that is read while it is written.
type journal struct {
	mu  sync.Mutex
	all bytes.Buffer
}

func (j *journal) Write(b []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.all.Write(b)
}

func (j *journal) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.all.String()
}

// output is lines that are written while they are read.
type output struct {
	mu    sync.Mutex
	lines []string
}

func (o *output) add(line string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.lines = append(o.lines, line)
}

func (o *output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return strings.Join(o.lines, "\n")
}

// interrupt does as Ctrl-C does and waits for the end.
func (s *server) interrupt(t *testing.T) {
	t.Helper()
	if err := s.cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	select {
	case err := <-s.exited:
		if err != nil {
			t.Errorf("serve ended with %v", err)
		}
	case <-time.After(30 * time.Second):
		t.Error("serve did not end within 30 s of Ctrl-C")
	}
}

// fits is as much of an answer as the tests look at.
type fits struct {
	Outcome string
	Catalog struct {
		Name     string
		Revision int
		Stale    bool
	}
	Fits []struct {
		Damper struct{ Code string }
	}
}

func (s *server) ask(t *testing.T) fits {
	t.Helper()
	res, err := http.Post(s.url+"/v1/fits", "application/json", strings.NewReader(request))
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("%s: %v: %s", res.Status, err, body)
	}
	var answer fits
	if err := json.Unmarshal(body, &answer); err != nil {
		t.Fatalf("%v: %s", err, body)
	}
	return answer
}

func (s *server) ready(t *testing.T) (status int, stale bool) {
	t.Helper()
	res, err := http.Get(s.url + "/readyz")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	var body struct{ Stale bool }
	if err := json.NewDecoder(res.Body).Decode(&body); err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, body.Stale
}

// postmaster gives the process of the private Postgres in a data folder.
func postmaster(t *testing.T, dir string) int {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(dir, "cluster", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	var pid int
	if _, err := fmt.Sscan(string(raw), &pid); err != nil {
		t.Fatal(err)
	}
	return pid
}

func alive(pid int) bool { return syscall.Kill(pid, 0) == nil }

func within(t *testing.T, limit time.Duration, what string, so func() bool) {
	t.Helper()
	for end := time.Now().Add(limit); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if so() {
			return
		}
	}
	t.Fatalf("not within %s: %s", limit, what)
}

// TestServeFromNothingToTheEnd goes through the life of a service on a bare
// machine: the first start, answers, the loss of its database, the end, and a
// second start on what the first one left.
func TestServeFromNothingToTheEnd(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	s := serve(t, "--data-dir", dir)
	first := s.ask(t)
	if first.Outcome != "fits" || len(first.Fits) == 0 || first.Catalog.Name != "demo" || first.Catalog.Stale {
		t.Fatalf("the first answer: %+v", first)
	}
	if status, stale := s.ready(t); status != 200 || stale {
		t.Errorf("readyz: %d, stale %v", status, stale)
	}

	pid := postmaster(t, dir)
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	within(t, 10*time.Second, "stale after the database was killed", func() bool {
		status, stale := s.ready(t)
		if status != 200 {
			t.Fatalf("readyz is %d without the database", status)
		}
		return stale
	})
	if got := s.ask(t); got.Outcome != "fits" || len(got.Fits) != len(first.Fits) {
		t.Errorf("without the database: %+v, want what was answered before", got)
	}
	within(t, 30*time.Second, "fresh again once the database is back", func() bool {
		_, stale := s.ready(t)
		return !stale
	})
	if got := s.ask(t); got.Catalog.Revision != first.Catalog.Revision || got.Catalog.Stale {
		t.Errorf("once the database is back: %+v", got.Catalog)
	}

	s.sendWrongRequests(t)
	pid = postmaster(t, dir)
	s.interrupt(t)
	if alive(pid) {
		t.Errorf("the private Postgres (%d) outlived its service", pid)
	}
	if got := differences(t, s.log.String()); len(got) > 0 {
		t.Errorf("without --check-contract the log has %q", got)
	}

	again := serve(t, "--data-dir", dir, "--check-contract")
	if got := again.ask(t); got.Catalog.Revision != first.Catalog.Revision {
		t.Errorf("after a second start revision %d, want the %d that was there", got.Catalog.Revision, first.Catalog.Revision)
	}
	again.sendWrongRequests(t)
	again.interrupt(t)
	want := []string{`request; POST; /v1/fits; /top; type "integer"`, "request; POST; /v1/fits; ; the contract has no such member"}
	if got := differences(t, again.log.String()); !slices.Equal(got, want) {
		t.Errorf("with --check-contract the log has %q, want %q", got, want)
	}
}

// TestServeLeavesNoOrphan kills the service without warning, after another one
// has failed to start on the same folder.
func TestServeLeavesNoOrphan(t *testing.T) {
	t.Parallel()
	dir := usedDataDir(t)
	s := serve(t, "--data-dir", dir)
	pid := postmaster(t, dir)
	out, err := command("serve", "--listen", "127.0.0.1:0", "--data-dir", dir).CombinedOutput()
	if err == nil || !strings.Contains(string(out), fmt.Sprint(s.cmd.Process.Pid)) {
		t.Errorf("a second service on one folder: %v, and it doesn't name the first, %d:\n%s", err, s.cmd.Process.Pid, out)
	}
	if err := s.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if err := <-s.exited; err == nil {
		t.Error("killed, and yet it ended well")
	}
	within(t, 10*time.Second, "the end of the private Postgres", func() bool { return !alive(pid) })
}

// TestImportReachesEveryService publishes a revision beside two services on
// one database, the second of which only knows its address: both must take the
// revision over without being told. Then the database goes, with the service
// that ran it, and the other must say so and answer on.
func TestImportReachesEveryService(t *testing.T) {
	t.Parallel()
	dir := usedDataDir(t)
	owner := serve(t, "--data-dir", dir)
	url, err := pglocal.Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	guest := serve(t, "--database-url", url)
	before := guest.ask(t).Catalog.Revision

	out, err := command("import", "../../testdata/demo", "--catalog", "demo", "--data-dir", dir).CombinedOutput()
	if err != nil {
		t.Fatalf("import: %v\n%s", err, out)
	}
	for _, s := range []*server{owner, guest} {
		within(t, 10*time.Second, "the new revision in answers", func() bool { return s.ask(t).Catalog.Revision == before+1 })
	}

	// The command line answers from the same database.
	fit := command("fit", "--data-dir", dir)
	fit.Stdin = strings.NewReader(request)
	raw, err := fit.Output()
	if err != nil {
		t.Fatal(err)
	}
	var answer fits
	if err := json.Unmarshal(raw, &answer); err != nil || answer.Catalog.Revision != before+1 {
		t.Errorf("fit: %v: %+v", err, answer)
	}

	owner.interrupt(t)
	within(t, 10*time.Second, "stale without the database", func() bool {
		status, stale := guest.ready(t)
		return status == http.StatusOK && stale
	})
	if got := guest.ask(t); got.Catalog.Revision != before+1 || !got.Catalog.Stale || got.Outcome != "fits" {
		t.Errorf("without the database: %+v", got)
	}
	guest.interrupt(t)
}

// TestServeWaitsForADatabaseThatIsNotThereYet starts the service first.
func TestServeWaitsForADatabaseThatIsNotThereYet(t *testing.T) {
	t.Parallel()
	cmd := command("serve", "--listen", "127.0.0.1:0", "--database-url", "postgres://nobody@127.0.0.1:1/none?connect_timeout=1")
	var log bytes.Buffer
	cmd.Stderr = &log
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	select {
	case err := <-ended:
		t.Fatalf("it gave up: %v\n%s", err, log.String())
	case <-time.After(1500 * time.Millisecond):
	}
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := <-ended; err != nil {
		t.Errorf("told to stop while waiting: %v\n%s", err, log.String())
	}
	if !strings.Contains(log.String(), "trying again") {
		t.Errorf("the log says nothing of the wait:\n%s", log.String())
	}
}
