package logbuffer_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"midstroke/internal/logbuffer"
)

// gate is an output that is written only while it is open.
type gate struct {
	mu   sync.Mutex
	open *sync.Cond
	shut bool
	fail error
	got  bytes.Buffer
}

func newGate(shut bool) *gate {
	g := &gate{shut: shut}
	g.open = sync.NewCond(&g.mu)
	return g
}

func (g *gate) Write(p []byte) (int, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	for g.shut {
		g.open.Wait()
	}
	if g.fail != nil {
		return 0, g.fail
	}
	return g.got.Write(p)
}

func (g *gate) set(shut bool, fail error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.shut, g.fail = shut, fail
	g.open.Broadcast()
}

func (g *gate) text() string {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.got.String()
}

func TestLinesComeInOrderAndWhole(t *testing.T) {
	g := newGate(false)
	b := logbuffer.New(g, 0)
	log := slog.New(slog.NewJSONHandler(b, nil))
	for i := range 1000 {
		log.Info("line", "n", i)
	}
	b.Close(time.Second)
	got := strings.Split(strings.TrimSpace(g.text()), "\n")
	if len(got) != 1000 || b.Lost() != 0 {
		t.Fatalf("%d lines, %d lost", len(got), b.Lost())
	}
	for i, line := range got {
		if !strings.HasSuffix(line, fmt.Sprintf(`"n":%d}`, i)) {
			t.Fatalf("line %d is %s", i, line)
		}
	}
}

// TestNobodyWaitsForTheReader fills the buffer of a log that nobody reads. Then
// the log is read again: it has the first lines, and says how many are missing.
func TestNobodyWaitsForTheReader(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := newGate(true)
		b := logbuffer.New(g, 100)
		if n, err := b.Write([]byte("first\n")); n != 6 || err != nil {
			t.Errorf("a line that waits: %d, %v", n, err)
		}
		time.Sleep(time.Second) // it is being written
		for range 25 {
			_, _ = b.Write([]byte("123456789\n")) // 10 of them fill 100 bytes
		}
		if b.Lost() != 15 {
			t.Errorf("%d lines lost, want 15", b.Lost())
		}
		g.set(false, nil)
		time.Sleep(time.Second)
		b.Close(time.Second)
		text := g.text()
		if strings.Count(text, "123456789\n") != 10 || !strings.Contains(text, `"lines":15}`) {
			t.Errorf("once it is read: %s", text)
		}
		if i := strings.Index(text, `"lines":15`); i < strings.LastIndex(text, "123456789") {
			t.Errorf("it tells of the loss before the lines that came first: %s", text)
		}
	})
}

func TestLinesThatCannotBeWrittenAreTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := newGate(false)
		g.set(false, errors.New("no space left"))
		b := logbuffer.New(g, 0)
		_, _ = io.WriteString(b, "one\n")
		time.Sleep(time.Second)
		_, _ = io.WriteString(b, "two\n")
		time.Sleep(time.Second)
		if b.Lost() != 2 {
			t.Errorf("%d lines lost, want 2", b.Lost())
		}
		g.set(false, nil)
		_, _ = io.WriteString(b, "three\n")
		b.Close(time.Second)
		if text := g.text(); !strings.HasPrefix(text, "three\n") || !strings.Contains(text, `"lines":2}`) {
			t.Errorf("once there is space: %s", text)
		}
	})
}

// TestCloseDoesNotWaitForEver closes the log that nobody reads.
func TestCloseDoesNotWaitForEver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := newGate(true)
		b := logbuffer.New(g, 0)
		_, _ = io.WriteString(b, "one\n")
		begun := time.Now()
		b.Close(time.Second)
		if took := time.Since(begun); took != time.Second {
			t.Errorf("it took %s, want 1s", took)
		}
		_, _ = io.WriteString(b, "late\n")
		if b.Lost() != 1 {
			t.Errorf("%d lines lost, want the late one", b.Lost())
		}
		g.set(false, nil) // let the goroutine end
	})
}
