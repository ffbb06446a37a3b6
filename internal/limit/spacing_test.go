package limit_test

import (
	"slices"
	"sync"
	"testing"
	"time"

	"midstroke/internal/limit"
)

// TestEventsAreSpaced: the waits are worked out by hand.
func TestEventsAreSpaced(t *testing.T) {
	const ms = time.Millisecond
	s := limit.NewSpacing(limit.SpacingConfig{Apart: 10 * ms, Soonest: 100 * ms, Latest: 125 * ms})
	begun := time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC)
	for _, c := range []struct{ at, wait time.Duration }{
		{0, 100 * ms}, {0, 110 * ms}, {0, 120 * ms}, // together
		{20 * ms, 110 * ms}, // 10 ms after the last, which comes at 120
		{60 * ms, 100 * ms}, // 160, more than 10 ms after 130
		{time.Second, 100 * ms},
	} {
		if got := s.Wait(begun.Add(c.at)); got != c.wait {
			t.Errorf("after %v it waits %v, want %v", c.at, got, c.wait)
		}
	}
}

// TestEventsThatWaitTooLong: of many at once, those for which there is no time come in
// the later half, about as many in each quarter of it.
func TestEventsThatWaitTooLong(t *testing.T) {
	const late = 40_000
	s := limit.NewSpacing(limit.SpacingConfig{Apart: time.Second, Soonest: time.Second, Latest: 8 * time.Second})
	now := time.Now()
	for range 8 {
		s.Wait(now)
	}
	var in [4]int
	for range late {
		wait := s.Wait(now)
		if wait <= 4*time.Second || wait > 8*time.Second {
			t.Fatalf("it waits %v", wait)
		}
		in[(wait-4*time.Second-1)/time.Second]++
	}
	for _, n := range in {
		if n < late/4-1000 || n > late/4+1000 { // 11 standard deviations of the binomial
			t.Errorf("they come %v times in the quarters", in)
		}
	}
}

func TestEventsFromEverywhereAreSpaced(t *testing.T) {
	const many = 1000
	s := limit.NewSpacing(limit.SpacingConfig{Apart: time.Millisecond, Soonest: time.Second, Latest: time.Hour})
	now := time.Now()
	var all sync.WaitGroup
	waits := make([]time.Duration, many)
	for i := range waits {
		all.Go(func() { waits[i] = s.Wait(now) })
	}
	all.Wait()
	slices.Sort(waits)
	for i, wait := range waits {
		if want := time.Second + time.Duration(i)*time.Millisecond; wait != want {
			t.Fatalf("the %d-th waits %v, want %v", i, wait, want)
		}
	}
}
