package loadtest_test

import (
	"bufio"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"

	"midstroke/internal/loadtest"
)

// TestAnswersAreReceived reads what a server writes.
func TestAnswersAreReceived(t *testing.T) {
	in := bufio.NewReader(strings.NewReader("HTTP/1.1 200 OK\r\ncontent-length: 3\r\nX: y\r\n\r\nabcHTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\ndeHTTP/1.1 429 Too Many\r\nContent-Length: 0\r\n\r\n"))
	for _, want := range []struct {
		status, length int
		keep           []byte
		body           string
	}{{200, 3, nil, ""}, {200, 2, []byte("old"), "de"}, {429, 0, []byte("old"), ""}} {
		status, length, body, err := loadtest.Receive(in, want.keep)
		if status != want.status || length != want.length || string(body) != want.body || err != nil {
			t.Errorf("got %d, %d bytes, %q, %v; want %+v", status, length, body, err, want)
		}
	}
	if _, _, _, err := loadtest.Receive(in, nil); !errors.Is(err, io.EOF) {
		t.Errorf("at the end: %v", err)
	}
	for _, text := range []string{"HTTP/1.1\n", "HTTP/1.1 200 OK\r\n\r\n", "HTTP/1.1 200 OK\r\nContent-Length: 3\r\n\r\nab", "HTTP/1.1 two OK\r\nContent-Length: 0\r\n\r\n"} {
		if _, _, _, err := loadtest.Receive(bufio.NewReader(strings.NewReader(text)), []byte{}); err == nil {
			t.Errorf("%q is taken for an answer", text)
		}
	}
}

// TestRequestsAreRead has a request read by the standard library.
func TestRequestsAreRead(t *testing.T) {
	r, err := http.ReadRequest(bufio.NewReader(strings.NewReader(string(loadtest.AppendPost(nil, "/v1/fits", "mk_1", `{"a":1}`, "Idempotency-Key: x")))))
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(r.Body)
	if err != nil || r.Method != "POST" || r.URL.Path != "/v1/fits" || string(body) != `{"a":1}` || r.Header.Get("Authorization") != "Bearer mk_1" ||
		r.Header.Get("Idempotency-Key") != "x" || r.Header.Get("Content-Type") != "application/json" {
		t.Errorf("%+v %q %v", r, body, err)
	}
}
