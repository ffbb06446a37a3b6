package pgtest

import (
	"context"
	"errors"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/migrations"
)

// The container way, for real, wherever a Docker engine answers. Without one
// it can't be tried: the one test here that is skipped.
func TestContainer(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute) // the image may have to come first
	defer cancel()
	if err := engine(ctx); errors.Is(err, errNoWay) {
		t.Skipf("no Docker engine answers: %v", err)
	} else if err != nil {
		t.Fatal(err)
	}
	srv, err := find(ctx, "", container)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := srv.stop(ctx); err != nil {
			t.Error(err)
		}
		if conn, err := pgx.Connect(ctx, srv.url); err == nil {
			_ = conn.Close(ctx)
			t.Error("stopped, the server still answers")
		}
	}()
	if srv.role != plainRole {
		t.Errorf("tests would work as %q, want %q", srv.role, plainRole)
	}
	name, err := makeTemplate(srv)
	if err != nil {
		t.Fatal(err)
	}
	if pending, err := migrations.Pending(ctx, srv.database(name)); err != nil || pending {
		t.Errorf("migrations are pending: %v, %v", pending, err)
	}
}

// A container would outlive a test that is killed, if its program didn't see that its
// input closes.
func TestProgramEndsWithItsInput(t *testing.T) {
	p, said, err := startProgram(t.Context(), exec.Command("sh", "-c", "echo here I am; cat; echo gone >&2; exit 3"))
	if err != nil || said != "here I am" {
		t.Fatalf("it says %q, %v", said, err)
	}
	select {
	case err := <-p.ended:
		t.Fatalf("it has ended before its input: %v", err)
	case <-time.After(50 * time.Millisecond):
	}
	if err := p.end(t.Context()); err == nil || err.Error() != "exit status 3: gone" {
		t.Errorf("its end: %v, want exit status 3: gone", err)
	}
}

func TestProgramThatSaysNothing(t *testing.T) {
	_, said, err := startProgram(t.Context(), exec.Command("sh", "-c", "echo no room >&2; exit 3"))
	if err == nil || !strings.Contains(err.Error(), "no room") {
		t.Errorf("%q, %v, want an error with what it writes", said, err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	waits := exec.Command("cat")
	if _, said, err := startProgram(ctx, waits); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("%q, %v, want %v", said, err, context.DeadlineExceeded)
	}
	if waits.ProcessState == nil {
		t.Error("the program goes on")
	}
}
