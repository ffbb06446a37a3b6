package httpapi_test

import (
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strconv"
	"strings"
	"testing"
	"time"

	"midstroke/internal/httpapi"
	"midstroke/internal/limit"
)

// rated is the service for two shops with rates that a test uses up.
func rated(t *testing.T) *shops {
	t.Helper()
	s := newShops(t)
	s.start(t, httpapi.Config{Keys: s.ring, Limits: httpapi.Limits{
		Address:   limit.Rate{Quota: 12, Window: time.Hour},
		WidgetKey: limit.Rate{Quota: 30, Window: time.Hour},
		ServerKey: limit.Rate{Quota: 100, Window: time.Hour},
		Proxies:   []netip.Prefix{netip.MustParsePrefix("192.0.2.0/24")}, // httptest's address is in there
	}})
	return s
}

// unchecked sends a request without holding it against the contract, which
// costs more than all the rest.
func (s *service) unchecked(method, target, body string, header ...string) *answer {
	r := httptest.NewRequest(method, target, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return &answer{w.Code, w.Header(), w.Body.Bytes()}
}

// TestRatesOfCallers asks as often as each kind of caller may, and once more.
func TestRatesOfCallers(t *testing.T) {
	s := rated(t)
	explained := strings.Replace(eyeToEye, "{", `{"explain":true,"near_misses":20,`, 1)
	for _, c := range []struct {
		name   string
		header []string
		body   string
		times  int
		policy string
		left   string
	}{
		{"no key", nil, eyeToEye, 12, `"address";q=12;w=3600`, `"address";r=11;t=300`},
		{"no key, another address", []string{"X-Forwarded-For", "198.51.100.7"}, eyeToEye, 12, `"address";q=12;w=3600`, `"address";r=11;t=300`},
		// 1, 10 to explain and 2 for 20 near misses.
		{"server key that explains", s.bearer("north server"), explained, 7, `"server-key";q=100;w=3600`, `"server-key";r=87;t=468`},
		{"another key of the same shop", s.bearer("north admin"), eyeToEye, 100, `"server-key";q=100;w=3600`, `"server-key";r=99;t=36`},
		{
			"widget", append(s.bearer("south widget"), "Origin", pageOrigin), eyeToEye, 12,
			`"widget-key";q=30;w=3600, "address";q=12;w=3600`, `"widget-key";r=29;t=120, "address";r=11;t=300`,
		},
	} {
		for i := range c.times {
			a := s.unchecked(http.MethodPost, "/v1/fits", c.body, c.header...)
			if a.status != http.StatusOK {
				t.Fatalf("%s: request %d is answered by %d: %s", c.name, i+1, a.status, a.body)
			}
			if i == 0 && (a.header.Get("RateLimit-Policy") != c.policy || a.header.Get("RateLimit") != c.left) {
				t.Errorf("%s: %s, %s; want %s, %s", c.name, a.header.Get("RateLimit-Policy"), a.header.Get("RateLimit"), c.policy, c.left)
			}
		}
		a := s.post(t, "/v1/fits", c.body, c.header...)
		if p := refused(t, a, http.StatusTooManyRequests); p.Code != "rate_exceeded" {
			t.Errorf("%s: %s", c.name, p.Code)
		}
		if after, err := strconv.Atoi(a.header.Get("Retry-After")); err != nil || after < 1 || after > 3600 {
			t.Errorf("%s: Retry-After is %q", c.name, a.header.Get("Retry-After"))
		}
	}
	page := string(s.get(t, "/metrics").body)
	for _, line := range []string{`midstroke_rate_refused_total{rate="address"} 3`, `midstroke_rate_refused_total{rate="server-key"} 2`, `midstroke_work_shed_total{lane="quick"} 0`} {
		if !strings.Contains(page, line) {
			t.Errorf("/metrics lacks %s", line)
		}
	}
}

// TestWhatIsNotCharged: spreadsheets send HEAD before each GET, and operators
// ask for metrics as often as they like.
func TestWhatIsNotCharged(t *testing.T) {
	s := rated(t)
	for range 20 {
		for _, target := range []string{"/healthz", "/metrics", "/", "/docs/codes"} {
			if a := s.ask(target); a.status != http.StatusOK {
				t.Fatalf("%s is answered by %d", target, a.status)
			}
		}
		if a := s.unchecked(http.MethodHead, "/v1/fits?units=in&readings=17&upper=eye&lower=eye&suspension=solid_axle", ""); a.status != http.StatusOK {
			t.Fatalf("HEAD is answered by %d", a.status)
		}
	}
	if a := s.get(t, "/v1/dampers?units=mm"); a.header.Get("RateLimit") != `"address";r=11;t=300` {
		t.Errorf("after all that %q is left", a.header.Get("RateLimit"))
	}
}

// TestForwardedAddressesAreBelievedOfProxiesAlone sends a header that anybody
// can send.
func TestForwardedAddressesAreBelievedOfProxiesAlone(t *testing.T) {
	s := rated(t)
	ask := func(from, forwarded string) int {
		r := httptest.NewRequest(http.MethodGet, "/v1/dampers?units=mm", nil)
		r.RemoteAddr = from + ":1234"
		if strings.Contains(from, ":") {
			r.RemoteAddr = "[" + from + "]:1234"
		}
		r.Header.Set("X-Forwarded-For", forwarded)
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		return w.Code
	}
	for i := range 12 {
		if status := ask("203.0.113.5", "198.51.100."+strconv.Itoa(i)); status != http.StatusOK {
			t.Fatalf("request %d: %d", i, status)
		}
	}
	if status := ask("203.0.113.5", "198.51.100.200"); status != http.StatusTooManyRequests {
		t.Errorf("who makes up addresses is answered by %d", status)
	}
	if status := ask("192.0.2.9", "10.1.1.1, 198.51.100.201"); status != http.StatusOK {
		t.Errorf("behind the proxy another one is answered by %d", status)
	}
	// An IPv6 network of 64 bits is one caller.
	for i := range 12 {
		if status := ask("2001:db8:0:1::"+strconv.Itoa(i), ""); status != http.StatusOK {
			t.Fatalf("request %d over IPv6: %d", i, status)
		}
	}
	if status := ask("2001:db8:0:1:ffff::1", ""); status != http.StatusTooManyRequests {
		t.Errorf("another address of the network: %d", status)
	}
	if status := ask("2001:db8:0:2::1", ""); status != http.StatusOK {
		t.Errorf("another network: %d", status)
	}
}

// TestARefusedRequestCostsNothing: a widget's key has tokens, its address has none.
// By hand: 30 less the 12 that were answered.
func TestARefusedRequestCostsNothing(t *testing.T) {
	s := rated(t)
	header := append(s.bearer("south widget"), "Origin", pageOrigin)
	for range 12 {
		if a := s.unchecked("POST", "/v1/fits", eyeToEye, header...); a.status != http.StatusOK {
			t.Fatalf("%d: %s", a.status, a.body)
		}
	}
	for range 5 {
		a := s.unchecked("POST", "/v1/fits", eyeToEye, header...)
		if left := a.header.Get("RateLimit"); a.status != http.StatusTooManyRequests || !strings.HasPrefix(left, `"widget-key";r=18;`) {
			t.Errorf("%d, %s; want 429 with 18 left to the key", a.status, left)
		}
	}
}
