package httpapi

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"net"
	"net/http"
	"net/netip"
	"runtime"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/fit"
	"midstroke/internal/limit"
	"midstroke/internal/shop"
)

// Limits say how much callers may ask for. Their zero value sets no rates, and
// bounds the work that goes on at once by the processors.
type Limits struct {
	// Address is for each address that asks without a key, and for each that
	// asks with a widget's key.
	Address limit.Rate
	// WidgetKey and ServerKey are for each key of that use; ServerKey is for
	// administrators' keys as well.
	WidgetKey, ServerKey limit.Rate
	// Proxies are those whose X-Forwarded-For is believed. Without any, the
	// address of a caller is that of its connection.
	Proxies []netip.Prefix
	// AtOnce is how many answers are computed at once. Defaults to the number of
	// processors.
	AtOnce int
	// Threads is told of long work. It may be nil.
	Threads *limit.Threads
}

// lane is a kind of work that has turns of its own, so that quick answers don't
// wait for slow ones.
type lane uint8

// The lanes.
const (
	// quick is for answers of about a millisecond.
	quick lane = iota
	// slow is for those that go through a large catalogue.
	slow
	// files is for whole revisions that pass through: uploads and exports.
	files
	// pairs is for comparisons, which hold two whole revisions.
	pairs
	// batches is for the rows of files of requests, some at a time.
	batches
	lanes = iota
)

var laneNames = [lanes]string{quick: "quick", slow: "slow", files: "files", pairs: "pairs", batches: "batches"}

// heavyCost is from where an answer is slow; an ordinary one costs 1.
const heavyCost = 10

// limiter holds callers to Limits.
type limiter struct {
	turns                         [lanes]*limit.Turns
	threads                       *limit.Threads
	address, widgetKey, serverKey *limit.Rates
	refusals                      *limit.Spacing
	turnedAway                    atomic.Int64 // callers that are about to be told
}

func newLimiter(l Limits) *limiter {
	atOnce := cmp.Or(l.AtOnce, runtime.GOMAXPROCS(0))
	// Slow answers leave processors to quick ones.
	few := max(1, atOnce/2)
	return &limiter{
		threads:  l.Threads,
		refusals: limit.NewSpacing(limit.SpacingConfig{Apart: time.Second / time.Duration(refusalsPerSecond*atOnce), Soonest: soonestRefusal, Latest: latestRefusal}),
		turns: [lanes]*limit.Turns{
			// A full queue takes some 20 times as long as one answer, about 10 ms.
			quick: limit.NewTurns(limit.TurnsConfig{AtOnce: atOnce, Waiting: 20 * atOnce, Patience: 500 * time.Millisecond}),
			slow:  limit.NewTurns(limit.TurnsConfig{AtOnce: few, Waiting: math.MaxInt32, Patience: 5 * time.Second, Threads: l.Threads}),
			files: limit.NewTurns(limit.TurnsConfig{AtOnce: max(4, few), Waiting: 32, Patience: time.Minute, Threads: l.Threads}),
			// Rows wait long, since their files do; each turn is short.
			batches: limit.NewTurns(limit.TurnsConfig{AtOnce: atOnce, Waiting: math.MaxInt32, Patience: time.Minute, Threads: l.Threads}),
			pairs:   limit.NewTurns(limit.TurnsConfig{AtOnce: 1, Waiting: 16, Patience: 30 * time.Second, Threads: l.Threads}),
		},
		address: limit.NewRates(l.Address), widgetKey: limit.NewRates(l.WidgetKey), serverKey: limit.NewRates(l.ServerKey),
	}
}

// payer is the name by which a caller takes its turns.
func payer(c echo.Context) string {
	if key := callerOf(c).key; key != nil {
		return "key " + key.Prefix
	}
	return addressOf(c)
}

// addressOf is the address of a caller. An IPv6 network of 64 bits is one
// caller, since it is given to one.
func addressOf(c echo.Context) string {
	text := c.RealIP()
	address, err := netip.ParseAddr(text)
	if err != nil || address.Unmap().Is4() {
		return text
	}
	network, err := address.Prefix(64)
	if err != nil {
		return text
	}
	return network.String()
}

// The names of the rates.
const (
	rateAddress   = "address"
	rateWidgetKey = "widget-key"
	rateServerKey = "server-key"
)

// policy is one rate that a caller is held to.
type policy struct {
	name  string
	rates *limit.Rates
	who   string
}

// policies lists the rates that a caller is held to.
func (l *limiter) policies(c echo.Context) (held []policy) {
	add := func(name string, rates *limit.Rates, who string) {
		if rates != nil {
			held = append(held, policy{name, rates, who})
		}
	}
	key := callerOf(c).key
	switch {
	case key == nil:
		add(rateAddress, l.address, addressOf(c))
	case key.Use == shop.Widget:
		add(rateWidgetKey, l.widgetKey, key.Prefix)
		add(rateAddress, l.address, addressOf(c)+" "+key.Prefix)
	default:
		add(rateServerKey, l.serverKey, key.Prefix)
	}
	return held
}

// charge takes tokens of a caller by each of its rates, or by none where one of
// them hasn't got as many. It tells what is left in the fields of the
// IETF's draft-ietf-httpapi-ratelimit-headers.
func (l *limiter) charge(c echo.Context, tokens int) error {
	held := l.policies(c)
	if held == nil {
		return nil
	}
	now := time.Now()
	left, taken := make([]limit.Allowance, len(held)), make([]bool, len(held))
	exhausted := -1 // the one that takes the longest
	for i, p := range held {
		if left[i], taken[i] = p.rates.Take(p.who, tokens, now); !taken[i] && (exhausted < 0 || left[i].Enough > left[exhausted].Enough) {
			exhausted = i
		}
	}
	var policyFields, leftFields []string
	for i, p := range held {
		if exhausted >= 0 && taken[i] {
			left[i] = p.rates.GiveBack(p.who, tokens, now)
		}
		rate := p.rates.Rate()
		policyFields = append(policyFields, fmt.Sprintf(`"%s";q=%d;w=%d`, p.name, rate.Quota, seconds(rate.Window)))
		leftFields = append(leftFields, fmt.Sprintf(`"%s";r=%d;t=%d`, p.name, left[i].Left, seconds(left[i].Full)))
	}
	header := c.Response().Header()
	header.Set("RateLimit-Policy", strings.Join(policyFields, ", "))
	header.Set("RateLimit", strings.Join(leftFields, ", "))
	if exhausted < 0 {
		return nil
	}
	most := held[exhausted].rates.Rate()
	return newProblem(tooManyRequests, rateExceeded, count("quota", most.Quota), count("seconds", seconds(most.Window))).
		with("Retry-After", strconv.Itoa(max(1, seconds(left[exhausted].Enough))))
}

// seconds gives a time in whole seconds, rounded up.
func seconds(d time.Duration) int { return int((d + time.Second - 1) / time.Second) }

// charged takes tokens for a request of the contract's main part. HEAD and
// OPTIONS are what spreadsheets send before each GET, and free.
func (h *Handler) charged(c echo.Context, tokens int) error {
	r := c.Request()
	if tokens == 0 || !strings.HasPrefix(c.Path(), "/v1/") || r.Method == http.MethodHead || r.Method == http.MethodOptions {
		return nil
	}
	return h.limits.charge(c, tokens)
}

// refuseWhenFull refuses a request for fits before it is read, if there is no room
// for it in the queue.
func (h *Handler) refuseWhenFull(c echo.Context) error {
	if c.Path() == "/v1/fits" && h.limits.turns[quick].Full(payer(c), 1) {
		return h.limits.turnAway(c)
	}
	return nil
}

// inTurn calls do when it is the caller's turn in a lane.
func (h *Handler) inTurn(c echo.Context, in lane, cost int, do func() error) error {
	turns := h.limits.turns[in]
	err := turns.Take(c.Request().Context(), payer(c), cost)
	switch {
	case errors.Is(err, limit.ErrBusy):
		return h.limits.turnAway(c)
	case err != nil:
		return err
	}
	defer turns.Done()
	return do()
}

// laneOf is the lane for an answer of a cost.
func laneOf(cost int) lane {
	if cost >= heavyCost {
		return slow
	}
	return quick
}

// A refusal costs a part of an answer, so a flood of them would leave no time for
// answers. Callers that are turned away are therefore told so at a bounded rate, never
// at once (one that asks again without waiting would keep the service busy), and
// before a usual client gives up. mostTurnedAway bounds how many wait for that.
const (
	refusalsPerSecond = 200 // for each processor
	soonestRefusal    = 400 * time.Millisecond
	latestRefusal     = 8 * time.Second
	mostTurnedAway    = 8000
)

// turnAway answers a caller for whom there is no time.
func (l *limiter) turnAway(c echo.Context) error {
	defer l.turnedAway.Add(-1)
	if l.turnedAway.Add(1) <= mostTurnedAway {
		timer := time.NewTimer(l.refusals.Wait(time.Now()))
		defer timer.Stop()
		select {
		case <-timer.C:
		case <-c.Request().Context().Done():
		}
	}
	return newProblem(tooManyRequests, overloaded).with("Retry-After", "1")
}

// fitsTokens is what a request for fits costs its caller, as the contract says:
// 1, 1 more for each 10 further fits or near misses, and 10 more to have
// everything counted.
func fitsTokens(r *fit.Request) int {
	tokens := 1 + max(0, r.Top-fit.DefaultTop)/10 + nearMissesAsked(r)/10
	if r.Explain {
		tokens += 10
	}
	return tokens
}

// fitsCost estimates what a request for fits costs the service, where an
// ordinary one costs 1. Measured: near misses take longer in a large catalogue,
// and to count 1,000 to 2,000 dampers takes about as long as an ordinary answer.
func fitsCost(r *fit.Request, dampers int) int {
	cost := 1 + max(0, r.Top-fit.DefaultTop)/10 + nearMissesAsked(r)*(1+dampers/250_000)/10
	if r.Explain {
		cost += dampers / 1000
	}
	return cost
}

// nearMissesAsked is how many near misses a request asks for.
func nearMissesAsked(r *fit.Request) int {
	if r.NearMisses == nil {
		return 0
	}
	return *r.NearMisses
}

// extractor tells the address of a caller.
func (l Limits) extractor() echo.IPExtractor {
	if len(l.Proxies) == 0 {
		return echo.ExtractIPDirect()
	}
	trust := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, proxy := range l.Proxies {
		trust = append(trust, echo.TrustIPRange(&net.IPNet{IP: proxy.Addr().AsSlice(), Mask: net.CIDRMask(proxy.Bits(), proxy.Addr().BitLen())}))
	}
	return echo.ExtractIPFromXFFHeader(trust...)
}
