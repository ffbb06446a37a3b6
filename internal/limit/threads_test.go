package limit_test

import (
	"runtime"
	"testing"
	"time"

	"midstroke/internal/limit"
)

// There are spare threads from the beginning of the first long work until some time after
// the end of the last.
func TestThreadsAreSpareWhileLongWorkGoesOn(t *testing.T) {
	t.Setenv("GOMAXPROCS", "")
	before := runtime.GOMAXPROCS(0)
	defer runtime.GOMAXPROCS(before)
	const rest = 20 * time.Millisecond
	threads := limit.NewThreadsResting(rest)
	now := func() int { return runtime.GOMAXPROCS(0) }
	if threads.Processors() != before || now() != before {
		t.Fatalf("%d processors and %d threads, want %d", threads.Processors(), now(), before)
	}
	first := threads.Long()
	if now() <= before {
		t.Error("no thread was added")
	}
	second := threads.Long()
	first()
	time.Sleep(3 * rest)
	if now() <= before {
		t.Error("the threads were taken away while work went on")
	}
	second()
	third := threads.Long()
	time.Sleep(3 * rest)
	if now() <= before {
		t.Error("the threads were taken away by work that had ended before")
	}
	third()
	for deadline := time.Now().Add(10 * time.Second); now() != before; time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%d threads are left, want %d", now(), before)
		}
	}
}

// GOMAXPROCS in the environment is what the operator wants.
func TestThreadsLeaveTheEnvironment(t *testing.T) {
	t.Setenv("GOMAXPROCS", "3")
	before := runtime.GOMAXPROCS(0)
	defer limit.NewThreads().Long()()
	if now := runtime.GOMAXPROCS(0); now != before {
		t.Errorf("%d threads, want %d as before", now, before)
	}
	var none *limit.Threads
	none.Long()()
}
