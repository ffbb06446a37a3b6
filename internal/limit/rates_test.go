package limit_test

import (
	"fmt"
	"testing"
	"time"

	"midstroke/internal/limit"
)

func TestRatesAreRead(t *testing.T) {
	for text, want := range map[string]limit.Rate{
		"200/10s":      {Quota: 200, Window: 10 * time.Second},
		" 20 / s ":     {Quota: 20, Window: time.Second},
		"600/min":      {Quota: 600, Window: time.Minute},
		"600/1m":       {Quota: 600, Window: time.Minute},
		"5000/h":       {Quota: 5000, Window: time.Hour},
		"0":            {},
		"":             {},
		"20":           {},
		"20/":          {},
		"-1/s":         {},
		"0/s":          {},
		"1.5/s":        {},
		"20/500ms":     {},
		"20/1.5s":      {},
		"20/-1s":       {},
		"20/25h":       {},
		"1e3/s":        {},
		"2000000000/s": {},
	} {
		var got limit.Rate
		err := got.UnmarshalText([]byte(text))
		none := text == "" || text == "0"
		if got != want || (err == nil) != (none || want != limit.Rate{}) {
			t.Errorf("%q is %v, %v; want %v", text, got, err, want)
		}
		var again limit.Rate
		if err := again.UnmarshalText([]byte(got.String())); err != nil || again != got {
			t.Errorf("%v is written as %q and read as %v, %v", got, got, again, err)
		}
	}
}

// TestTokensComeBack, by hand: 10 in 5 s are one each half second.
func TestTokensComeBack(t *testing.T) {
	r := limit.NewRates(limit.Rate{Quota: 10, Window: 5 * time.Second})
	now := time.Unix(1_000_000, 0)
	for _, c := range []struct {
		after  time.Duration
		tokens int
		ok     bool
		want   limit.Allowance
	}{
		{0, 1, true, limit.Allowance{Left: 9, Full: 500 * time.Millisecond}},
		{0, 9, true, limit.Allowance{Left: 0, Full: 5 * time.Second}},
		{0, 2, false, limit.Allowance{Left: 0, Full: 5 * time.Second, Enough: time.Second}},
		{time.Second, 2, true, limit.Allowance{Left: 0, Full: 5 * time.Second}},
		{time.Hour, 100, true, limit.Allowance{Left: 0, Full: 5 * time.Second}}, // as many as there can be
		{-time.Hour, 1, false, limit.Allowance{Left: 0, Full: 5 * time.Second, Enough: 500 * time.Millisecond}},
	} {
		now = now.Add(c.after)
		got, ok := r.Take("a", c.tokens, now)
		if ok != c.ok || got != c.want {
			t.Errorf("%d tokens after %s: %+v, %v; want %+v, %v", c.tokens, c.after, got, ok, c.want, c.ok)
		}
		now = now.Add(max(0, -c.after))
	}
	if _, ok := r.Take("b", 10, now); !ok {
		t.Error("another caller has less")
	}
	if r.Shed() != 2 {
		t.Errorf("%d refused, want 2", r.Shed())
	}
}

func TestNoRate(t *testing.T) {
	if limit.NewRates(limit.Rate{}) != nil {
		t.Error("a rate of none is held to")
	}
}

// TestManyCallersTakeBoundedMemory: callers that come once and never again are
// forgotten when their buckets are full; if there are too many at once, the rest
// share one bucket.
func TestManyCallersTakeBoundedMemory(t *testing.T) {
	r := limit.NewRates(limit.Rate{Quota: 10, Window: time.Second})
	now := time.Unix(1_000_000, 0)
	refused := 0
	for i := range 100_000 {
		if _, ok := r.Take(fmt.Sprint(i), 1, now); !ok {
			refused++
		}
	}
	// 100,000 - 65,536 share 10 tokens.
	if refused != 100_000-65_536-10 {
		t.Errorf("%d refused", refused)
	}
	now = now.Add(10 * time.Second)
	if _, ok := r.Take("new", 1, now); !ok || r.Callers() > 10 {
		t.Errorf("later: %v, and %d callers are remembered", ok, r.Callers())
	}
}

func TestTokensAreGivenBack(t *testing.T) {
	r := limit.NewRates(limit.Rate{Quota: 10, Window: 10 * time.Second})
	now := time.Unix(1_000_000, 0)
	r.Take("a", 4, now)
	if got := r.GiveBack("a", 3, now); got.Left != 9 || got.Full != time.Second {
		t.Errorf("%+v, want 9 left", got)
	}
	if got := r.GiveBack("a", 3, now); got.Left != 10 || got.Full != 0 {
		t.Errorf("%+v, want no more than all", got)
	}
	if got := r.GiveBack("b", 3, now); got.Left != 10 {
		t.Errorf("of a caller that took nothing: %+v", got)
	}
}
