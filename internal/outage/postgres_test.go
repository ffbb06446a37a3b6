package outage_test

import (
	"bytes"
	"net/http"
	"os"
	"os/exec"
	"syscall"
	"time"
)

// fault breaks the way to Postgres, and heal mends it again. heal returns when
// Postgres could be reached again.
type fault struct {
	brk, heal func(*service)
	// brief faults are over at once, so that they needn't show.
	brief bool
}

var (
	killed = fault{
		brk:  func(v *service) { v.killPostgres() },
		heal: func(v *service) { v.startPostgres() },
	}
	frozen = fault{
		brk:  func(v *service) { v.signalPostgres(syscall.SIGSTOP) },
		heal: func(v *service) { v.signalPostgres(syscall.SIGCONT) },
	}
	slowed = fault{
		brk:  func(v *service) { v.proxy.slow(2 * time.Second) },
		heal: func(v *service) { v.proxy.heal() },
	}
	wasReset = fault{
		brk:   func(v *service) { v.proxy.reset() },
		heal:  func(*service) {},
		brief: true,
	}
	halfOpened = fault{
		brk:  func(v *service) { v.proxy.halfOpen() },
		heal: func(v *service) { v.proxy.heal() },
	}
)

// Whatever happens to Postgres, it shows, and is over, within these times.
const (
	showsWithin   = 2 * time.Second
	recoversAfter = 2 * time.Second
	lasts         = 5 * time.Second
)

// postgresFault is a fault while one shop asks steadily.
func postgresFault(f fault) func(*stage, *result) {
	return func(s *stage, r *result) {
		v := s.serve()
		s.breakIt(v, f, r, func() {})
	}
}

// duringLoad is a fault while a large revision is being loaded. After the fault
// it must be answered from.
func duringLoad(f fault) func(*stage, *result) {
	return func(s *stage, r *result) {
		v := s.serve()
		asked := v.steady(big, 20, 4)
		asked.Seconds = 1
		r.add(run(s.T, asked)) // so that its next revision is loaded by itself
		number := 0
		s.breakIt(v, f, r, func() {
			number = s.publish(big, s.dampers)
			time.Sleep(100 * time.Millisecond)
		})
		took := s.until(time.Minute, "the large revision", func() bool { return v.revision(big) == number })
		r.note("new revision %s later", took.Round(100*time.Millisecond))
	}
}

// breakIt injects a fault under load, measures when it shows, mends it and
// measures when all is as before.
func (s *stage) breakIt(v *service, f fault, r *result, before func()) {
	s.Helper()
	v.forgetPeak()
	l := start(s.T, v.checked(v.steady(quiet, 100, 16)))
	time.Sleep(500 * time.Millisecond)
	before()
	broken := time.Now()
	f.brk(v)
	if !f.brief {
		s.until(4*showsWithin, "stale", v.stale)
		r.stale = time.Since(broken)
		s.within("to show that the database is gone", r.stale, showsWithin)
		if !full {
			time.Sleep(time.Second)
		} else {
			time.Sleep(max(0, lasts-r.stale))
		}
	}
	f.heal(v)
	healed := time.Now()
	if f.brief {
		time.Sleep(100 * time.Millisecond)
	}
	s.until(10*recoversAfter, "fresh again", func() bool { return !v.stale() })
	r.recovered = time.Since(healed)
	s.within("to recover", r.recovered, recoversAfter)
	time.Sleep(500 * time.Millisecond)
	o := l.end(s.T)
	r.add(o)
	r.memory = v.memory(true)
	r.note("p99 %.0f ms", o.P99*1000)
}

// restoredToOlder restores the database from a copy that is older than what the
// service answers from, and then publishes another revision under the same number.
func restoredToOlder(s *stage, r *result) {
	s.stopPostgres()
	copied := s.dir + "-older"
	s.copyFolder(s.dir, copied)
	defer os.RemoveAll(copied)
	s.startPostgres()
	v := s.serve()
	number := s.publish(quiet, 1500)
	s.until(20*time.Second, "the revision that will be lost", func() bool { return v.revision(quiet) == number })
	first := v.answer(quiet)

	l := start(s.T, v.steady(quiet, 100, 16))
	s.killPostgres()
	broken := time.Now()
	s.until(4*showsWithin, "stale", v.stale)
	r.stale = time.Since(broken)
	s.within("to show that the database is gone", r.stale, showsWithin)
	if err := os.RemoveAll(s.dir); err != nil {
		s.Fatal(err)
	}
	s.copyFolder(copied, s.dir)
	s.startPostgres()
	healed := time.Now()
	s.until(10*recoversAfter, "the older history", func() bool { return v.revision(quiet) == number-1 && !v.stale() })
	r.recovered = time.Since(healed)
	s.within("to answer from the older history", r.recovered, recoversAfter)
	if again := s.publish(quiet, 300); again != number {
		s.Errorf("the other revision is %d, not %d again", again, number)
	}
	took := s.until(20*time.Second, "the other revision of the same number", func() bool { return v.revision(quiet) == number })
	r.add(l.end(s.T))
	if bytes.Equal(v.answer(quiet), first) {
		s.Errorf("revision %d is answered from as it was in the other history", number)
	}
	r.memory = v.memory(true)
	r.note("another revision %d after %s", number, took.Round(10*time.Millisecond))
}

// answer is what a shop is answered to the first of its requests.
func (v *service) answer(shopName string) []byte {
	v.Helper()
	status, answer := v.do(http.MethodPost, "/v1/fits", v.keys[shopName], "application/json", bodies(10, "")[0])
	if status != http.StatusOK {
		v.Fatalf("%d: %s", status, answer)
	}
	return answer
}

func (s *stage) copyFolder(from, to string) {
	s.Helper()
	if out, err := exec.Command("cp", "-a", from, to).CombinedOutput(); err != nil {
		s.Fatalf("%v: %s", err, out)
	}
}
