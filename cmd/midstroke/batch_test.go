package main

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

const someRequests = "vehicle,units,upper,lower,readings,suspension\n" +
	"a,in,eye,eye,16 5/8,solid_axle\nb,in,eye,eye,\"16,5\",solid_axle\n"

// batchRun runs midstroke batch on a file of its own, with an empty data folder.
func batchRun(t *testing.T, ctx context.Context, text string, args ...string) (code int, out, errs string, folder string) {
	t.Helper()
	folder = t.TempDir()
	file := filepath.Join(folder, "v.csv")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	var stdout, stderr bytes.Buffer
	args = append([]string{"batch", file, "--data-dir", filepath.Join(folder, "data")}, args...)
	code = run(ctx, args, console{strings.NewReader(""), &stdout, &stderr})
	return code, stdout.String(), stderr.String(), folder
}

func TestBatchAnswersAFile(t *testing.T) {
	t.Setenv("DATABASE_URL", "")
	code, out, errs, _ := batchRun(t, context.Background(), someRequests, "--pick", "outcome")
	if code != exitDone || !strings.Contains(out, "\r\na,in,eye,eye,16 5/8,solid_axle,fits,,\r\n") || !strings.Contains(errs, "1 of 2 rows have faults") {
		t.Errorf("exit %d\n%s\n%s", code, out, errs)
	}
	code, out, errs, _ = batchRun(t, context.Background(), strings.Replace(someRequests, "upper", "uper", 1))
	if code != exitWrong || out != "" || !strings.Contains(errs, "upper") {
		t.Errorf("a near name: exit %d\n%s\n%s", code, out, errs)
	}
}

func TestBatchLeavesNothingWhenItIsStopped(t *testing.T) {
	t.Setenv("DATABASE_URL", "")
	ctx, cancel := context.WithCancelCause(context.Background())
	cancel(errInterrupted)
	target := filepath.Join(t.TempDir(), "out.csv")
	code, _, errs, _ := batchRun(t, ctx, someRequests, "-o", target)
	left, err := os.ReadDir(filepath.Dir(target))
	if code != exitFailed || !strings.Contains(errs, "stopped") || err != nil || len(left) > 0 {
		t.Errorf("exit %d, left %v, %v: %s", code, left, err, errs)
	}
	code, _, errs, _ = batchRun(t, context.Background(), someRequests, "-o", target)
	if _, err := os.Stat(target); code != exitDone || errors.Is(err, os.ErrNotExist) {
		t.Errorf("exit %d, %v: %s", code, err, errs)
	}
}

func TestBatchAsksAService(t *testing.T) {
	service := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.String() != "/v1/batches?pick=outcome&units=mm" || r.Header.Get("Authorization") != "Bearer k" || r.Header.Get("Content-Type") != "text/csv" {
			w.WriteHeader(http.StatusTeapot)
		}
		_, _ = w.Write([]byte("answers"))
	}))
	defer service.Close()
	code, out, errs, _ := batchRun(t, context.Background(), someRequests, "--url", service.URL, "--key", "k", "--pick", "outcome", "--units", "mm")
	if code != exitDone || out != "answers" {
		t.Errorf("exit %d: %s%s", code, out, errs)
	}
	code, out, errs, _ = batchRun(t, context.Background(), someRequests, "--url", service.URL)
	if code != exitFailed || out != "" || !strings.Contains(errs, "418") {
		t.Errorf("exit %d: %s%s", code, out, errs)
	}
}

func TestBatchFollowsAFileInTheBackground(t *testing.T) {
	asked, cancelled := 0, false
	service := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch r.Method + " " + r.URL.Path {
		case "POST /v1/batches":
			w.Header().Set("Location", "/v1/batches/x")
			w.WriteHeader(http.StatusAccepted)
		case "GET /v1/batches/x":
			asked++
			state := map[bool]string{true: "running", false: "done"}[asked < 3]
			if asked == 2 {
				w.WriteHeader(http.StatusServiceUnavailable) // another instance starts
			}
			_, _ = w.Write([]byte(`{"state":"` + state + `","rows":2,"rows_done":1,"rows_with_faults":1,"result":"/v1/batches/x/result","problem":null}`))
		case "GET /v1/batches/x/result":
			_, _ = w.Write([]byte("answers"))
		case "DELETE /v1/batches/x":
			cancelled = true
		}
	}))
	defer service.Close()
	code, out, errs, _ := batchRun(t, context.Background(), someRequests, "--url", service.URL)
	if code != exitDone || out != "answers" || asked != 3 || !strings.Contains(errs, "1 of 2 rows have faults") {
		t.Errorf("exit %d, asked %d times: %s%s", code, asked, out, errs)
	}
	ctx, cancel := context.WithCancelCause(context.Background())
	asked = -1000
	time.AfterFunc(300*time.Millisecond, func() { cancel(errInterrupted) })
	if code, out, _, _ := batchRun(t, ctx, someRequests, "--url", service.URL); code != exitFailed || out != "" || !cancelled {
		t.Errorf("stopped: exit %d, %q, cancelled: %v", code, out, cancelled)
	}
}
