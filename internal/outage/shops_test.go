package outage_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"os"
	"sync"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/shop"
)

// revision asks which revision of a shop's catalogue is answered from.
func (v *service) revision(shopName string) int {
	_, body := v.do(http.MethodPost, "/v1/fits", v.keys[shopName], "application/json", bodies(1, "")[0])
	var answer struct{ Catalog struct{ Revision int } }
	_ = json.Unmarshal(body, &answer) // a problem has no catalogue
	return answer.Catalog.Revision
}

func listTarget(shopName string) string { return "/v1/catalogs/" + shopName + "/revisions" }

// hungDrafts lets four uploads of one shop wait for a lock that is never given.
// Meanwhile another shop lists its revisions and revokes a key.
func hungDrafts(s *stage, r *result) {
	v := s.serve()
	file := exported(v, quiet) // which loads it, too
	conn, err := pgx.Connect(s.Context(), s.server.URL())
	if err != nil {
		s.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(s.Context()))
	tx, err := conn.Begin(s.Context())
	if err != nil {
		s.Fatal(err)
	}
	if _, err := tx.Exec(s.Context(), "LOCK TABLE sleeves IN ACCESS EXCLUSIVE MODE"); err != nil {
		s.Fatal(err)
	}
	text, key := shop.NewKey(shop.Server)
	key.Shop = quiet
	if err := s.store.CreateKey(s.Context(), key); err != nil {
		s.Fatal(err)
	}
	var uploads sync.WaitGroup
	statuses := make([]int, 4)
	for i := range statuses {
		uploads.Go(func() {
			statuses[i], _ = v.do(http.MethodPost, listTarget(big), v.keys[big], "application/zip", string(file))
		})
	}
	time.Sleep(500 * time.Millisecond)
	l := start(s.T, v.checked(v.steady(quiet, 50, 8)))
	slowest := time.Duration(0)
	for range 40 {
		begun := time.Now()
		status, _ := v.do(http.MethodGet, listTarget(quiet), v.keys[quiet], "", "")
		slowest = max(slowest, time.Since(begun))
		r.requests++
		if status != http.StatusOK {
			r.failed++
		}
	}
	if err := s.store.RevokeKey(s.Context(), key.Prefix); err != nil {
		s.Fatal(err)
	}
	took := s.until(10*time.Second, "the end of the key", func() bool {
		status, _ := v.do(http.MethodGet, listTarget(quiet), text, "", "")
		return status == http.StatusUnauthorized
	})
	s.within("the end of a key", took, time.Second)
	s.within("a list", slowest, time.Second)
	r.add(l.end(s.T))
	_ = tx.Rollback(s.Context())
	uploads.Wait()
	r.memory = v.memory(true)
	r.note("slowest list %s, key ended after %s, uploads answered %v", slowest.Round(time.Millisecond), took.Round(time.Millisecond), statuses)
}

// replicaKilledInUpload kills a replica that is writing a draft. The next upload
// of the same catalogue must work.
func replicaKilledInUpload(s *stage, r *result) {
	dying, v := s.serve(), s.serve()
	file, large := exported(v, quiet), exported(v, big)
	l := start(s.T, v.checked(v.steady(quiet, 50, 8)))
	go func() {
		_, _ = dying.do(http.MethodPost, listTarget(big), dying.keys[big], "application/zip", string(large))
	}()
	time.Sleep(time.Second)
	_ = dying.cmd.Process.Kill()
	begun := time.Now()
	status, body := v.do(http.MethodPost, listTarget(big), v.keys[big], "application/zip", string(file))
	r.recovered = time.Since(begun)
	if status != http.StatusCreated {
		s.Errorf("the next upload is answered by %d: %s", status, body)
	}
	r.add(l.end(s.T))
	r.memory = v.memory(true)
}

// exported gives a shop's catalogue as a file.
func exported(v *service, shopName string) []byte {
	status, body := v.do(http.MethodGet, fmt.Sprintf("%s/%d/export?units=mm", listTarget(shopName), v.revision(shopName)), v.keys[shopName], "", "")
	if status != http.StatusOK {
		v.Errorf("an export is answered by %d: %.200s", status, body)
	}
	return body
}

// stopWhileFrozen stops a service in the middle of an upload while Postgres
// doesn't answer.
func stopWhileFrozen(s *stage, r *result) {
	v := s.serve()
	conn, err := net.Dial("tcp", v.url[len("http://"):])
	if err != nil {
		s.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: text/csv\r\nContent-Length: 100000\r\n\r\ncode,", listTarget(quiet), v.keys[quiet])
	time.Sleep(500 * time.Millisecond)
	s.signalPostgres(syscall.SIGSTOP)
	defer s.signalPostgres(syscall.SIGCONT)
	answered := make(chan string, 1)
	go func() {
		head := make([]byte, 12)
		_ = conn.SetReadDeadline(time.Now().Add(30 * time.Second))
		n, _ := conn.Read(head)
		answered <- string(head[:n])
	}()
	took := v.stop()
	r.requests = 1
	if got := <-answered; got != "HTTP/1.1 503" {
		r.failed++
		s.Errorf("the upload is answered by %q", got)
	}
	s.within("to stop", took, 10*time.Second)
	r.note("ended after %s", took.Round(100*time.Millisecond))
}

// unreadLog starts a service whose log nobody reads.
func unreadLog(s *stage, r *result) {
	v := s.prepare("--log-level", "debug")
	unread, log, err := os.Pipe()
	if err != nil {
		s.Fatal(err)
	}
	defer unread.Close()
	v.cmd.Stderr = log
	v.begin()
	_ = log.Close()
	o := v.checked(v.steady(quiet, 0, 4))
	o.Seconds = 4
	got := run(s.T, o)
	r.add(got)
	// A pipe takes 64 KiB, some 260 lines.
	if got.Sent < 400 {
		s.Errorf("only %d requests were answered", got.Sent)
	}
	r.memory = v.memory(true)
	r.note("ended after %s", v.stop().Round(100*time.Millisecond))
}
