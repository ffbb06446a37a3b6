package httpapi_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"midstroke/internal/httpapi"
	"midstroke/internal/library/librarytest"
	"midstroke/testdata/demo"
)

func TestReadinessFollowsTheSnapshot(t *testing.T) {
	s := &service{library: librarytest.Empty(), log: new(lockedBuffer)}
	s.start(t, httpapi.Config{StartWait: 50 * time.Millisecond})
	if a := s.get(t, "/healthz"); a.status != 200 {
		t.Errorf("healthz before the first snapshot: %d", a.status)
	}
	a := s.get(t, "/readyz")
	refused(t, a, 503)
	if a.header.Get("Retry-After") == "" {
		t.Error("503 without Retry-After")
	}
	refused(t, s.post(t, "/v1/fits", eyeToEye), 503)

	s.library.Publish(1, demoSnapshot())
	s.library.SetStale(true)
	type ready struct{ Ready, Stale bool }
	if got := decode[ready](t, s.get(t, "/readyz"), 200); !got.Ready || !got.Stale {
		t.Errorf("readyz of a stale snapshot: %+v", got)
	}
	type fits struct {
		Catalog struct {
			Stale    bool
			Revision int
		}
	}
	if got := decode[fits](t, s.post(t, "/v1/fits", eyeToEye), 200); !got.Catalog.Stale || got.Catalog.Revision != revision {
		t.Errorf("a fit of a stale snapshot: %+v", got)
	}
}

func TestStoppingFinishesWhatBegan(t *testing.T) {
	s := newService(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() {
		done <- s.Serve(ctx, l, httpapi.Stop{Delay: func() time.Duration { return 300 * time.Millisecond }, Grace: 5 * time.Second})
	}()
	base := "http://" + l.Addr().String()

	// A request of which half has arrived.
	conn, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "POST /v1/fits HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n%s", len(eyeToEye), eyeToEye[:10])
	waitFor(t, func() bool { return status(base+"/readyz") == 200 })

	stop()
	waitFor(t, func() bool { return status(base+"/readyz") == 503 })
	if res, err := http.Get(base + "/healthz"); err != nil || !res.Close {
		t.Errorf("while draining: %v, and the connection isn't told to close", err)
	} else {
		res.Body.Close()
	}
	if got := status(base + "/healthz"); got != 200 {
		t.Errorf("healthz while draining: %d", got)
	}
	waitFor(t, func() bool { return status(base+"/healthz") == 0 })
	if _, err := io.WriteString(conn, eyeToEye[10:]); err != nil {
		t.Fatal(err)
	}
	res, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil {
		t.Fatalf("what began was not finished: %v", err)
	}
	res.Body.Close()
	if res.StatusCode != 200 {
		t.Errorf("what began was answered by %s", res.Status)
	}
	if err := <-done; err != nil {
		t.Errorf("Serve: %v", err)
	}
}

// TestStoppingAnswersASlowBody: whoever still sends a body when the service ends is
// told, and isn't cut off.
func TestStoppingAnswersASlowBody(t *testing.T) {
	s := newService(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l, httpapi.Stop{Grace: 300 * time.Millisecond}) }()
	conn, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "POST /v1/fits HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nExpect: 100-continue\r\nContent-Length: %d\r\n\r\n", len(eyeToEye))
	in := bufio.NewReader(conn)
	// Go on is said when the body is about to be read. A request that nobody reads yet is
	// cut off by net/http.
	if goOn, err := http.ReadResponse(in, nil); err != nil || goOn.StatusCode != http.StatusContinue {
		t.Fatalf("no %d: %v, %v", http.StatusContinue, goOn, err)
	}
	if _, err := io.WriteString(conn, eyeToEye[:10]); err != nil {
		t.Fatal(err)
	}
	begun := time.Now()
	stop()
	res, err := http.ReadResponse(in, nil)
	if err != nil {
		t.Fatalf("the slow body was cut off: %v", err)
	}
	body, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusServiceUnavailable || res.Header.Get("Retry-After") == "" || res.Header.Get("Content-Type") != "application/problem+json" {
		t.Errorf("answered by %s, %v: %s", res.Status, err, body)
	}
	if err := <-done; err != nil {
		t.Errorf("Serve: %v", err)
	}
	if took := time.Since(begun); took > 3*time.Second {
		t.Errorf("it took %s", took)
	}
}

// status gives the status of a GET, 0 where nothing answers.
func status(url string) int {
	client := &http.Client{Timeout: time.Second, Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := client.Get(url)
	if err != nil {
		return 0
	}
	res.Body.Close()
	return res.StatusCode
}

func waitFor(t *testing.T, so func() bool) {
	t.Helper()
	for end := time.Now().Add(5 * time.Second); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		if so() {
			return
		}
	}
	t.Fatal("waited for 5 s in vain")
}

func TestMetricsTellOfRequestsAndSnapshot(t *testing.T) {
	s := &service{library: librarytest.New(demoSnapshot()), log: new(lockedBuffer)}
	s.start(t, httpapi.Config{Confirmed: func() time.Time { return time.Now().Add(-time.Minute) }})
	s.post(t, "/v1/fits", eyeToEye)
	s.post(t, "/v1/fits", "{}")
	s.get(t, "/v1/no-such-path")
	page := string(s.get(t, "/metrics").body)
	for _, line := range []string{
		`midstroke_http_requests_total{method="POST",route="/v1/fits",status="200"} 1`,
		`midstroke_http_requests_total{method="POST",route="/v1/fits",status="422"} 1`,
		`midstroke_http_requests_total{method="GET",route="none",status="404"} 1`,
		`midstroke_http_request_duration_seconds_count{route="/v1/fits",status="200"} 1`,
		fmt.Sprintf(`midstroke_snapshot_revision{catalog="demo"} %d`, revision),
		fmt.Sprintf(`midstroke_snapshot_parts{catalog="demo",kind="damper"} %d`, len(demo.Contents().Dampers)),
		`midstroke_snapshot_stale 0`,
		`midstroke_snapshot_age_seconds 60.`,
	} {
		if !strings.Contains(page, line) {
			t.Errorf("/metrics lacks %s", line)
		}
	}
}

// TestAShareOfTheLog: of what went well one in very many is logged, and of what
// didn't, all.
func TestAShareOfTheLog(t *testing.T) {
	s := &service{library: librarytest.New(demoSnapshot()), log: new(lockedBuffer)}
	s.start(t, httpapi.Config{LogOneIn: 1 << 30})
	for range 20 {
		s.post(t, "/v1/fits", eyeToEye)
	}
	s.post(t, "/v1/fits", "{}")
	if text := s.log.String(); strings.Contains(text, `"status":200`) || strings.Count(text, `"status":422`) != 1 {
		t.Errorf("the log has %s", text)
	}
	if page := string(s.get(t, "/metrics").body); !strings.Contains(page, `midstroke_http_requests_total{method="POST",route="/v1/fits",status="200"} 20`) {
		t.Error("requests that aren't logged aren't counted")
	}
}
