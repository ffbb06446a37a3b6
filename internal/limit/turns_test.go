package limit_test

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"midstroke/internal/limit"
)

func turns(atOnce, waiting int, patience time.Duration) *limit.Turns {
	return limit.NewTurns(limit.TurnsConfig{AtOnce: atOnce, Waiting: waiting, Patience: patience})
}

// TestNoMoreAtOnce lets 100 pieces of work in, of which never more than 3 go on.
func TestNoMoreAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		turn := turns(3, 100, time.Hour)
		var all sync.WaitGroup
		for i := range 100 {
			all.Go(func() {
				if err := turn.Take(t.Context(), fmt.Sprint("caller ", i%7), 1); err != nil {
					t.Error(err)
					return
				}
				defer turn.Done()
				if s := turn.State(); s.Running > 3 {
					t.Errorf("%d at once", s.Running)
				}
				time.Sleep(time.Second)
			})
		}
		all.Wait()
		if s := turn.State(); s != (limit.TurnsState{}) {
			t.Errorf("in the end: %+v", s)
		}
	})
}

// TestCallersTakeTurns: by hand, a caller with ten pieces of work and one that
// comes after it with two are served one after the other, and one with work of
// cost 4 is served as often by cost.
func TestCallersTakeTurns(t *testing.T) {
	for _, c := range []struct {
		name  string
		costs map[string]int
		comes []string
		want  []string
	}{
		{"much and little", nil, []string{"a", "a", "a", "a", "b", "b"}, []string{"a", "b", "a", "b", "a", "a"}},
		{"dear and cheap", map[string]int{"a": 4}, []string{"a", "a", "b", "b", "b", "b", "b"}, []string{"a", "b", "b", "b", "b", "a", "b"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				turn := turns(1, 100, time.Hour)
				if err := turn.Take(t.Context(), "first", 1); err != nil {
					t.Fatal(err)
				}
				var served []string
				for _, who := range c.comes {
					go func() {
						if err := turn.Take(t.Context(), who, max(1, c.costs[who])); err != nil {
							t.Error(err)
						}
						served = append(served, who)
						turn.Done()
					}()
					synctest.Wait()
				}
				turn.Done()
				synctest.Wait()
				if !slices.Equal(served, c.want) {
					t.Errorf("served %v, want %v", served, c.want)
				}
			})
		})
	}
}

// TestTheLongestLineIsCut: when too much waits, a flood gives way to others and
// not they to it.
func TestTheLongestLineIsCut(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		turn := turns(1, 4, time.Hour)
		_ = turn.Take(t.Context(), "first", 1)
		results := map[string][]error{}
		ask := func(who string) {
			go func() {
				err := turn.Take(t.Context(), who, 1)
				results[who] = append(results[who], err)
				if err == nil {
					turn.Done()
				}
			}()
			synctest.Wait()
		}
		for range 6 {
			ask("flood")
		}
		if !turn.Full("flood", 1) || turn.Full("other", 1) {
			t.Error("the flood isn't refused at once, or another one is")
		}
		ask("other")
		ask("other")
		turn.Done()
		synctest.Wait()
		refused := 0
		for _, err := range results["flood"] {
			if errors.Is(err, limit.ErrBusy) {
				refused++
			}
		}
		if refused != 4 || len(results["flood"]) != 6 {
			t.Errorf("of 6 of the flood %d were refused, want 4", refused)
		}
		if got := results["other"]; len(got) != 2 || got[0] != nil || got[1] != nil {
			t.Errorf("the other one got %v", got)
		}
		if s := turn.State(); s.Running != 0 || s.Waiting != 0 || s.Shed != 5 {
			t.Errorf("in the end: %+v, want 5 shed", s)
		}
	})
}

func TestNobodyWaitsForEver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		turn := turns(1, 10, time.Second)
		_ = turn.Take(t.Context(), "first", 1)
		begun := time.Now()
		if err := turn.Take(t.Context(), "a", 1); !errors.Is(err, limit.ErrBusy) || time.Since(begun) != time.Second {
			t.Errorf("after %s: %v", time.Since(begun), err)
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Millisecond)
		defer cancel()
		if err := turn.Take(ctx, "a", 1); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("who went away is told %v", err)
		}
		turn.Done()
		if s := turn.State(); s.Running != 0 || s.Waiting != 0 {
			t.Errorf("in the end: %+v", s)
		}
		if err := turn.Take(t.Context(), "a", 1); err != nil {
			t.Error(err)
		}
	})
}

// TestWorkOfAnyCostMayWait: one piece that costs more than may wait does so
// where nothing else waits.
func TestWorkOfAnyCostMayWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		turn := turns(1, 10, time.Second)
		_ = turn.Take(t.Context(), "first", 1)
		go func() {
			if err := turn.Take(t.Context(), "a", 500); err != nil {
				t.Error(err)
			}
			turn.Done()
		}()
		synctest.Wait()
		turn.Done()
		synctest.Wait()
	})
}

// TestAllGetIntoLineFirst has ten pieces of work come at once on one processor. All are
// in line or turned away before the first of them begins.
func TestAllGetIntoLineFirst(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	var seen limit.TurnsState
	for range 20 { // the kernel may stop the test's thread in the midst of it
		turn, come := turns(1, 4, time.Hour), make(chan struct{})
		var first sync.Once
		var all sync.WaitGroup
		for range 10 {
			all.Go(func() {
				<-come
				if err := turn.Take(t.Context(), "caller", 1); err != nil {
					return
				}
				defer turn.Done()
				first.Do(func() { seen = turn.State() })
			})
		}
		time.Sleep(time.Millisecond) // until all wait
		close(come)
		all.Wait()
		if seen == (limit.TurnsState{Running: 1, Waiting: 4, Shed: 5}) {
			return
		}
	}
	t.Errorf("when the first began: %+v; want 4 in line and 5 turned away", seen)
}
