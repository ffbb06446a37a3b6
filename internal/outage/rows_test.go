package outage_test

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"
)

// row is one fault.
type row struct {
	name string
	// quick says that it is part of the short form.
	quick bool
	run   func(*stage, *result)
}

// result is what a row prints.
type result struct {
	requests, failed, wrong int
	stale, recovered        time.Duration // 0 where that doesn't apply
	memory                  int64
	more                    []string
}

// note adds something to the line of a row.
func (r *result) note(format string, values ...any) {
	r.more = append(r.more, fmt.Sprintf(format, values...))
}

// add adds what came of a load. What was shed isn't failed.
func (r *result) add(o *outcome) {
	r.requests += o.Sent
	r.failed += o.Failed
	r.wrong += o.Wrong
	if o.Failed > 0 {
		r.note("answers by status %v", o.Statuses)
	}
}

func (r *result) line(name string) string {
	shown := func(d time.Duration) string {
		if d == 0 {
			return "-"
		}
		return d.Round(10 * time.Millisecond).String()
	}
	return fmt.Sprintf("%-44s %6d requests  %d failed  %d wrong  stale after %-6s recovered after %-6s top %4d MiB  %s",
		name, r.requests, r.failed, r.wrong, shown(r.stale), shown(r.recovered), r.memory>>20, strings.Join(r.more, ", "))
}

// rows are all faults, in the order in which they come.
var rows = []row{
	{"Postgres killed", true, postgresFault(killed)},
	{"Postgres frozen", true, postgresFault(frozen)},
	{"Postgres slow by 2 s", false, postgresFault(slowed)},
	{"connections reset", false, postgresFault(wasReset)},
	{"connections half open", false, postgresFault(halfOpened)},
	{"Postgres killed during a load", false, duringLoad(killed)},
	{"Postgres frozen during a load", false, duringLoad(frozen)},
	{"Postgres slow by 2 s during a load", false, duringLoad(slowed)},
	{"connections reset during a load", false, duringLoad(wasReset)},
	{"connections half open during a load", false, duringLoad(halfOpened)},
	{"Postgres has no room on disk", false, diskFull},
	{"Postgres restored to an older history", false, restoredToOlder},
	{"four hung drafts", false, hungDrafts},
	{"replica killed in an upload", false, replicaKilledInUpload},
	{"SIGTERM in an upload, Postgres frozen", false, stopWhileFrozen},
	{"unread log", true, unreadLog},
	{"announced bodies", false, announcedBodies},
	{"idle connections", false, idleConnections},
	{"eight exports", false, eightExports},
	{"rolling restart of two replicas", true, rollingRestart},
	{"16 callers with explain", false, explainCallers},
	{"four times the capacity", false, overload},
	{"mutated requests", true, mutatedRequests},
}

// TestFaults runs the rows one after the other, since each measures.
func TestFaults(t *testing.T) {
	dampers := 20_000
	if full {
		dampers = 200_000
	}
	// More of them, such as 1,000,000, take minutes to be written before the first row.
	if n, err := strconv.Atoi(os.Getenv("MIDSTROKE_FAULTS_DAMPERS")); err == nil {
		dampers = n
	}
	s := newStage(t, dampers)
	for _, r := range rows {
		if !full && !r.quick {
			continue
		}
		t.Run(r.name, func(t *testing.T) {
			on := *s
			on.T = t
			on.proxies = nil
			defer func() { s.server = on.server }() // it may have been started again
			var got result
			r.run(&on, &got)
			fmt.Println(got.line(r.name))
			if got.failed > 0 || got.wrong > 0 {
				t.Errorf("%d failed, %d wrong", got.failed, got.wrong)
			}
		})
	}
}

// within fails the row where something took longer than it may. The short form
// runs beside other tests, so it allows for a busy machine.
func (s *stage) within(what string, took, most time.Duration) {
	s.Helper()
	if !full {
		most *= 5
	}
	if took > most {
		s.Errorf("%s took %s, at most %s", what, took.Round(10*time.Millisecond), most)
	}
}
