package limit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Rate is how much each caller may take: Quota tokens at once, which come back
// evenly within Window. The zero value sets no limit.
type Rate struct {
	Quota  int
	Window time.Duration
}

// mostQuota keeps the arithmetic exact.
const mostQuota = 1_000_000_000

// UnmarshalText reads a rate such as 200/10s, 20/s or 600/min; 0 sets none.
func (r *Rate) UnmarshalText(text []byte) error {
	written := strings.TrimSpace(string(text))
	if written == "0" || written == "" {
		*r = Rate{}
		return nil
	}
	count, span, _ := strings.Cut(written, "/")
	quota, err := strconv.Atoi(strings.TrimSpace(count))
	window, ok := parseWindow(strings.TrimSpace(span))
	if err != nil || quota < 1 || quota > mostQuota || !ok {
		return fmt.Errorf("%q is no rate: write how many within what time, such as 200/10s, 20/s or 600/min; 0 sets none", written)
	}
	*r = Rate{quota, window}
	return nil
}

// parseWindow reads a time of a second to a day, such as 10s, min or h.
func parseWindow(text string) (time.Duration, bool) {
	text = strings.Replace(text, "min", "m", 1)
	if text == "s" || text == "m" || text == "h" {
		text = "1" + text
	}
	window, err := time.ParseDuration(text)
	return window, err == nil && window >= time.Second && window <= 24*time.Hour && window%time.Second == 0
}

// String gives the rate as it is written, such as 200/10s.
func (r Rate) String() string {
	if r.Quota == 0 {
		return "0"
	}
	return fmt.Sprintf("%d/%ds", r.Quota, r.Window/time.Second)
}

// Rates holds each caller to one Rate. It is safe for concurrent use.
type Rates struct {
	rate Rate
	most int // callers that are remembered

	mu      sync.Mutex
	buckets map[string]bucket
	swept   time.Time
	shed    int64
}

// bucket is what a caller had left at a moment.
type bucket struct {
	left float64
	at   time.Time
}

// mostCallers is how many callers are remembered. Beyond that the rest share one
// bucket.
const mostCallers = 1 << 16

// overflow is whose bucket they share. No caller has that name.
const overflow = ""

// NewRates makes rates, nil where the rate sets no limit.
func NewRates(r Rate) *Rates {
	if r.Quota == 0 {
		return nil
	}
	return &Rates{rate: r, most: mostCallers, buckets: map[string]bucket{}}
}

// Rate is what each caller is held to.
func (r *Rates) Rate() Rate { return r.rate }

// Allowance is what a caller has left.
type Allowance struct {
	Left int
	// Full is when it has everything again, Enough when it has what it asked
	// for.
	Full, Enough time.Duration
}

// Take takes tokens of a caller, or nothing where it hasn't got as many. More
// than the whole quota is never asked of it.
func (r *Rates) Take(who string, tokens int, now time.Time) (Allowance, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	tokens = min(tokens, r.rate.Quota)
	b, ok := r.buckets[who]
	if !ok {
		if len(r.buckets) >= r.most && now.Sub(r.swept) >= time.Second {
			r.sweep(now)
		}
		if len(r.buckets) >= r.most {
			who = overflow
			b, ok = r.buckets[who]
		}
	}
	left := float64(r.rate.Quota)
	if ok {
		left = r.refilled(b, now)
	}
	enough := left >= float64(tokens)
	if enough {
		left -= float64(tokens)
	} else {
		r.shed++
	}
	r.buckets[who] = bucket{left, now}
	a := r.allowance(left)
	if !enough {
		a.Enough = r.time(float64(tokens) - left)
	}
	return a, enough
}

// GiveBack gives a caller tokens back that it took for what wasn't done.
func (r *Rates) GiveBack(who string, tokens int, now time.Time) Allowance {
	r.mu.Lock()
	defer r.mu.Unlock()
	b, ok := r.buckets[who]
	if !ok {
		if b, ok = r.buckets[overflow]; !ok {
			return r.allowance(float64(r.rate.Quota)) // it was forgotten, being full
		}
		who = overflow
	}
	left := math.Min(float64(r.rate.Quota), r.refilled(b, now)+float64(min(tokens, r.rate.Quota)))
	r.buckets[who] = bucket{left, now}
	return r.allowance(left)
}

func (r *Rates) allowance(left float64) Allowance {
	return Allowance{Left: int(left), Full: r.time(float64(r.rate.Quota) - left)}
}

// refilled is what a bucket has at a moment.
func (r *Rates) refilled(b bucket, now time.Time) float64 {
	back := max(0, now.Sub(b.at).Seconds()) * float64(r.rate.Quota) / r.rate.Window.Seconds()
	return math.Min(float64(r.rate.Quota), b.left+back)
}

// time is how long so many tokens take to come back.
func (r *Rates) time(tokens float64) time.Duration {
	return time.Duration(math.Ceil(tokens / float64(r.rate.Quota) * float64(r.rate.Window)))
}

// sweep forgets the callers whose buckets are full again. r.mu is held.
func (r *Rates) sweep(now time.Time) {
	r.swept = now
	for who, b := range r.buckets {
		if r.refilled(b, now) >= float64(r.rate.Quota) {
			delete(r.buckets, who)
		}
	}
}

// Shed counts what was refused since the start.
func (r *Rates) Shed() int64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.shed
}
