package outage_test

import (
	"encoding/json"
	"maps"
	"math"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"time"

	"midstroke/api"
)

// mutatedRequests sends what nobody should, one request at a time. Whatever it is, the
// service answers within a second, and never by a fault of its own.
func mutatedRequests(s *stage, r *result) {
	v := s.serve()
	m := newMutator(s)
	n := 1000
	switch {
	case os.Getenv("MIDSTROKE_TEST_LONG") != "":
		n = 1_000_000
	case full:
		n = 100_000
	}
	answered := map[int]int{}
	var slowest time.Duration
	begun := time.Now()
	for range n {
		method, target, body := m.request()
		sent := time.Now()
		status, answer := v.do(method, target, "", "application/json", body)
		took := time.Since(sent)
		answered[status/100]++
		slowest = max(slowest, took)
		r.requests++
		if status == 0 || status >= http.StatusInternalServerError || !json.Valid(answer) && method == http.MethodPost {
			r.failed++
			s.Errorf("%s %s %q is answered by %d: %s", method, target, body, status, answer)
		}
		if full && took > time.Second {
			s.Errorf("%s %s %q is answered after %s", method, target, body, took)
		}
		if s.Failed() && r.failed > 10 {
			break
		}
	}
	r.memory = v.memory(true)
	if answered[2] == 0 || answered[4] == 0 {
		s.Errorf("all requests were alike: %v", answered)
	}
	if strings.Contains(v.lastLines(1000), "panic") {
		s.Error("the log tells of a panic")
	}
	r.note("answers by hundreds of their status %v, the slowest after %s, %.0f a second", answered, slowest.Round(time.Millisecond), float64(n)/time.Since(begun).Seconds())
}

// mutator changes the contract's examples at random, the same way in every run.
type mutator struct {
	rnd *rand.Rand
	// bodies are the examples of each route.
	bodies map[string][]string
	routes []string
	values []any // of all examples
}

func newMutator(s *stage) *mutator {
	s.Helper()
	contract, err := api.Load()
	if err != nil {
		s.Fatal(err)
	}
	const seed = 7
	m := &mutator{rnd: rand.New(rand.NewPCG(seed, seed)), bodies: map[string][]string{}, values: extremes}
	for _, route := range []string{"/v1/fits", "/v1/hardware", "/v1/rates", "/v1/travel"} { // they compute, and write nothing
		media := contract.Paths.Find(route).Post.RequestBody.Value.Content["application/json"]
		for _, name := range slices.Sorted(maps.Keys(media.Examples)) {
			raw, err := json.Marshal(media.Examples[name].Value.Value)
			if err != nil {
				s.Fatal(err)
			}
			m.bodies[route] = append(m.bodies[route], string(raw))
			m.collect(parsed(string(raw)))
		}
		if len(m.bodies[route]) == 0 {
			s.Fatalf("the contract has no example of %s", route)
		}
		m.routes = append(m.routes, route)
	}
	return m
}

// extremes are values that programs often stumble over.
var extremes = []any{
	nil, true, false, "", " ", "\x00", "\ufffd", "16 5/8", "1/0", "-0", "1e400", "in", "mm", strings.Repeat("9", 400), strings.Repeat("x", 3000),
	0, -1, 1e-300, 1e300, -1e300, json.Number("1e999"), json.Number("123456789012345678901234567890"), []any{}, map[string]any{}, []any{nil, []any{[]any{}}},
}

func parsed(body string) (value any) {
	d := json.NewDecoder(strings.NewReader(body))
	d.UseNumber()
	_ = d.Decode(&value) // it was written by encoding/json
	return value
}

func (m *mutator) collect(value any) {
	m.values = append(m.values, value)
	switch value := value.(type) {
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(value)) {
			m.collect(value[name])
		}
	case []any:
		for _, one := range value {
			m.collect(one)
		}
	}
}

func pick[T any](m *mutator, from []T) T { return from[m.rnd.IntN(len(from))] }

// request gives the next one.
func (m *mutator) request() (method, target, body string) {
	route := pick(m, m.routes)
	body = pick(m, m.bodies[route])
	switch m.rnd.IntN(10) {
	case 0: // as a query, most of whose names are wrong
		query := url.Values{}
		members := parsed(body).(map[string]any)
		for _, name := range slices.Sorted(maps.Keys(members)) { // not as the map has them: that would draw other cases each time
			query.Add(name, text(m.changed(members[name], 0)))
		}
		return http.MethodGet, "/v1/fits?" + query.Encode(), ""
	case 1, 2, 3: // no JSON any more
		for range 1 + m.rnd.IntN(4) {
			body = m.torn(body)
		}
	default:
		value := parsed(body)
		for range 1 + m.rnd.IntN(3) {
			value = m.changed(value, 0)
		}
		body = text(value)
	}
	return http.MethodPost, route, body
}

func text(value any) string {
	raw, err := json.Marshal(value)
	if err != nil {
		return "1e999" // the number that encoding/json refuses
	}
	return string(raw)
}

// changed replaces one value at any depth.
func (m *mutator) changed(value any, depth int) any {
	const stay = 4 // one in so many times the change is here
	switch value := value.(type) {
	case map[string]any:
		if len(value) == 0 || depth > 0 && m.rnd.IntN(stay) == 0 {
			break
		}
		names := slices.Sorted(maps.Keys(value))
		name := pick(m, names)
		all := maps.Clone(value)
		switch m.rnd.IntN(8) {
		case 0:
			delete(all, name)
		case 1:
			all[name+"x"] = all[name]
		default:
			all[name] = m.changed(all[name], depth+1)
		}
		return all
	case []any:
		if len(value) == 0 || m.rnd.IntN(stay) == 0 {
			break
		}
		all := slices.Clone(value)
		i := m.rnd.IntN(len(all))
		if m.rnd.IntN(stay) == 0 {
			return append(all, all[i])
		}
		all[i] = m.changed(all[i], depth+1)
		return all
	case json.Number:
		if number, err := value.Float64(); err == nil && m.rnd.IntN(2) == 0 {
			return number * math.Exp(m.rnd.NormFloat64()) // so that more of them can be answered
		}
	}
	return pick(m, m.values)
}

// torn changes some bytes.
func (m *mutator) torn(body string) string {
	if body == "" {
		return text(pick(m, m.values))
	}
	from := m.rnd.IntN(len(body))
	to := min(len(body), from+m.rnd.IntN(20))
	switch m.rnd.IntN(4) {
	case 0:
		return body[:from] + body[to:]
	case 1:
		return body[:to] + body[from:]
	case 2:
		return body[:from] + string([]byte{byte(m.rnd.IntN(256))}) + body[min(len(body), from+1):]
	default:
		return body[:from] + text(pick(m, m.values)) + body[from:]
	}
}
