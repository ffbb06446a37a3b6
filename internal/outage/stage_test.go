package outage_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/migrations"
	"midstroke/testdata/demo"
)

// The shops of a stage: quiet is who is looked at, and big has a large catalogue.
const (
	quiet = "quiet"
	big   = "big"
)

// stage is a Postgres with two shops. Services reach it through proxies.
type stage struct {
	*testing.T
	dir     string
	server  *pglocal.Server
	store   *postgres.Store // of the tables' owner, past every proxy
	keys    map[string]string
	proxies []*proxy
	dampers int // of the big catalogue
}

// newStage sets the stage for all rows.
func newStage(t *testing.T, dampers int) *stage {
	t.Helper()
	s := &stage{T: t, dir: pgtest.DataDir(t), keys: map[string]string{}, dampers: dampers}
	s.startPostgres()
	t.Cleanup(s.stopPostgres)
	if _, err := migrations.Up(t.Context(), s.server.URL()); err != nil {
		t.Fatal(err)
	}
	var err error
	if s.store, err = postgres.Open(t.Context(), s.server.URL()); err != nil {
		t.Fatal(err)
	}
	for name, n := range map[string]int{"demo": 100, quiet: 2000, big: dampers} {
		s.publish(name, n)
		text, key := shop.NewKey(shop.Admin)
		key.Shop = name
		if err := s.store.CreateKey(t.Context(), key); err != nil {
			t.Fatal(err)
		}
		s.keys[name] = text
	}
	return s
}

// publish makes a catalogue of a shop of the same name the newest.
func (s *stage) publish(name string, dampers int) int {
	s.Helper()
	if err := s.store.EnsureCatalog(s.Context(), name, name); err != nil {
		s.Fatal(err)
	}
	number, err := s.store.Publish(s.Context(), name, demo.Generate(1, dampers), "")
	if err != nil {
		s.Fatal(err)
	}
	return number
}

func (s *stage) startPostgres() {
	s.Helper()
	var err error
	s.server, err = pglocal.Start(context.Background(), pglocal.Config{Dir: s.dir, Logins: []string{migrations.ServiceRole, migrations.KeeperRole}})
	if err != nil {
		s.Fatal(err)
	}
	for _, p := range s.proxies {
		p.mu.Lock()
		p.upstream = s.socket()
		p.mu.Unlock()
	}
}

func (s *stage) stopPostgres() {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	_ = s.server.Stop(ctx) // it may have been killed
}

// socket is where Postgres listens.
func (s *stage) socket() string {
	c, err := pgconn.ParseConfig(s.server.URL())
	if err != nil {
		s.Fatal(err)
	}
	return filepath.Join(c.Host, fmt.Sprintf(".s.PGSQL.%d", c.Port))
}

// postgresProcesses are the server and all of its children.
func (s *stage) postgresProcesses() []int {
	raw, err := os.ReadFile(filepath.Join(s.dir, "cluster", "postmaster.pid"))
	if err != nil {
		s.Fatal(err)
	}
	first, _, _ := strings.Cut(string(raw), "\n")
	server, err := strconv.Atoi(first)
	if err != nil {
		s.Fatal(err)
	}
	all := []int{server}
	stats, _ := filepath.Glob("/proc/[0-9]*/stat") // the pattern is good
	for _, path := range stats {
		raw, err := os.ReadFile(path)
		if err != nil {
			continue // it has ended
		}
		// pid (name) state parent …; a name may have blanks.
		fields := strings.Fields(string(raw[bytes.LastIndexByte(raw, ')')+1:]))
		if parent, err := strconv.Atoi(fields[1]); err == nil && parent == server {
			pid, _ := strconv.Atoi(filepath.Base(filepath.Dir(path)))
			all = append(all, pid)
		}
	}
	return all
}

// signalPostgres sends a signal to the server and all of its children.
func (s *stage) signalPostgres(signal syscall.Signal) {
	for _, pid := range s.postgresProcesses() {
		_ = syscall.Kill(pid, signal) // a child may just have ended
	}
}

// killPostgres ends it without warning and waits until it is gone.
func (s *stage) killPostgres() {
	s.signalPostgres(syscall.SIGKILL)
	<-s.server.Done()
	s.stopPostgres() // lets go of the folder
}

// service is a running program.
type service struct {
	*stage
	cmd    *exec.Cmd
	url    string
	proxy  *proxy
	exited chan struct{}
	err    error // once it has exited

	mu  sync.Mutex
	log bytes.Buffer
}

// serve starts a service behind a proxy of its own, and waits until it is ready.
func (s *stage) serve(args ...string) *service {
	s.Helper()
	v := s.prepare(args...)
	v.readLog()
	v.begin()
	return v
}

// readLog keeps the log of a service that isn't started yet.
func (v *service) readLog() {
	reader, writer := io.Pipe()
	v.cmd.Stderr = writer
	go v.read(reader)
}

// prepare is serve without the start.
func (s *stage) prepare(args ...string) *service {
	s.Helper()
	v := &service{stage: s, proxy: newProxy(s.T, s.socket()), exited: make(chan struct{})}
	s.proxies = append(s.proxies, v.proxy)
	c, err := pgconn.ParseConfig(s.server.URL())
	if err != nil {
		s.Fatal(err)
	}
	database := func(role string) string {
		u := url.URL{Scheme: "postgres", User: url.User(role), Host: v.proxy.address(), Path: c.Database, RawQuery: "sslmode=disable"}
		return u.String()
	}
	v.cmd = exec.Command(binary, append([]string{
		"serve", "--listen", "127.0.0.1:0",
		"--database-url", database(migrations.ServiceRole), "--keeper-url", database(migrations.KeeperRole),
	}, args...)...)
	for _, setting := range os.Environ() {
		if !strings.HasPrefix(setting, "MIDSTROKE_") && !strings.HasPrefix(setting, "DATABASE_URL=") && !strings.HasPrefix(setting, "PG") {
			v.cmd.Env = append(v.cmd.Env, setting)
		}
	}
	return v
}

// begin starts the process and waits until it says where it answers.
func (v *service) begin() {
	v.Helper()
	out, err := v.cmd.StdoutPipe()
	if err != nil {
		v.Fatal(err)
	}
	if err := v.cmd.Start(); err != nil {
		v.Fatal(err)
	}
	v.Cleanup(func() {
		_ = v.cmd.Process.Kill()
		<-v.exited
		if v.Failed() {
			v.Logf("the log of a service:\n%s", v.lastLines(30))
		}
	})
	first := make(chan string, 1)
	go func() {
		for scan := bufio.NewScanner(out); scan.Scan(); {
			if _, rest, ok := strings.Cut(scan.Text(), "http://"); ok {
				address, _, _ := strings.Cut(rest, " ")
				select {
				case first <- "http://" + address:
				default:
				}
			}
		}
		v.err = v.cmd.Wait()
		close(v.exited)
	}()
	select {
	case v.url = <-first:
	case <-v.exited:
		v.Fatalf("the service ended before it answered: %v\n%s", v.err, v.lastLines(30))
	case <-time.After(60 * time.Second):
		v.Fatalf("the service said nothing for 60 s\n%s", v.lastLines(30))
	}
}

func (v *service) read(from io.Reader) {
	piece := make([]byte, 64<<10)
	for {
		n, err := from.Read(piece)
		v.mu.Lock()
		v.log.Write(piece[:n])
		v.mu.Unlock()
		if err != nil {
			return
		}
	}
}

func (v *service) lastLines(n int) string {
	v.mu.Lock()
	defer v.mu.Unlock()
	lines := slices.DeleteFunc(strings.Split(v.log.String(), "\n"), func(line string) bool { return strings.Contains(line, `"msg":"request"`) })
	return strings.Join(lines[max(0, len(lines)-n):], "\n")
}

// stop ends a service as an orchestrator does, and says how long that took.
func (v *service) stop() time.Duration {
	v.Helper()
	begun := time.Now()
	_ = v.cmd.Process.Signal(syscall.SIGTERM)
	select {
	case <-v.exited:
	case <-time.After(60 * time.Second):
		v.Error("a service did not end within 60 s of SIGTERM")
	}
	return time.Since(begun)
}

// request is what the quiet shop asks all the time.
const request = `{"units":"in","readings":["%s"],"upper":{"style":"eye"},"lower":{"style":"eye"},"suspension":"solid_axle","top":%d%s}`

// bodies are requests of different lengths.
func bodies(top int, more string) (all []string) {
	for _, reading := range []string{"14 1/8", "15 1/2", "16 5/8", "17 5/16", "18 1/4"} {
		all = append(all, fmt.Sprintf(request, reading, top, more))
	}
	return all
}

// steady is the order of a shop that asks a service steadily.
func (v *service) steady(shopName string, rate float64, clients int) order {
	return order{URL: v.url, Key: v.keys[shopName], Bodies: bodies(10, ""), Rate: rate, Clients: clients}
}

// checked is an order whose answers must stay what they are now.
func (v *service) checked(o order) order {
	v.Helper()
	for _, body := range o.Bodies {
		status, answer := v.do(http.MethodPost, "/v1/fits", o.Key, "application/json", body)
		if status != http.StatusOK {
			v.Fatalf("a request is answered by %d: %s", status, answer)
		}
		o.Want = append(o.Want, fingerprint(answer))
	}
	return o
}

// patientClient waits for what takes long.
var patientClient = &http.Client{Timeout: 2 * time.Minute}

// do sends one request. The status is 0 where there is no answer.
func (v *service) do(method, target, key, contentType, body string) (status int, answer []byte) {
	r, err := http.NewRequest(method, v.url+target, strings.NewReader(body))
	if err != nil {
		v.Fatal(err)
	}
	if contentType != "" {
		r.Header.Set("Content-Type", contentType)
	}
	if key != "" {
		r.Header.Set("Authorization", "Bearer "+key)
	}
	res, err := patientClient.Do(r)
	if err != nil {
		return 0, nil
	}
	defer res.Body.Close()
	answer, err = io.ReadAll(res.Body)
	if err != nil {
		return 0, nil
	}
	return res.StatusCode, answer
}

// stale asks whether a service says that it is stale.
func (v *service) stale() bool {
	_, body := v.do(http.MethodGet, "/readyz", "", "", "")
	var ready struct{ Stale bool }
	_ = json.Unmarshal(body, &ready) // no answer is not stale
	return ready.Stale
}

// until waits for something and says how long it took.
func (s *stage) until(most time.Duration, what string, so func() bool) time.Duration {
	s.Helper()
	begun := time.Now()
	for time.Since(begun) < most {
		if so() {
			return time.Since(begun)
		}
		time.Sleep(10 * time.Millisecond)
	}
	s.Errorf("not within %s: %s", most, what)
	return time.Since(begun)
}

// memory is what a process holds at the moment, or held at most since the last
// call of forgetPeak, in bytes.
func (v *service) memory(peak bool) int64 {
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", v.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	field := "VmRSS:"
	if peak {
		field = "VmHWM:"
	}
	_, rest, _ := strings.Cut(string(raw), field)
	kib, err := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
	if err != nil {
		v.Fatal(err)
	}
	return kib << 10
}

// forgetPeak begins to measure the peak anew (proc(5), clear_refs).
func (v *service) forgetPeak() {
	err := os.WriteFile(fmt.Sprintf("/proc/%d/clear_refs", v.cmd.Process.Pid), []byte("5"), 0)
	if err != nil && !errors.Is(err, os.ErrPermission) {
		v.Log(err)
	}
}
