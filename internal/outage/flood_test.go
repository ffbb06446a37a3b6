package outage_test

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httputil"
	"net/url"
	"os/exec"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"time"
)

// connections opens as many connections as the limits of this process and of the
// service allow, at most n, and sends each the same.
func (s *stage) connections(v *service, n int, sent string) (open []net.Conn) {
	s.Helper()
	var files syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &files); err == nil && files.Cur < files.Max {
		files.Cur = files.Max
		_ = syscall.Setrlimit(syscall.RLIMIT_NOFILE, &files) // then there are fewer
	}
	n = min(n, int(files.Cur)-500)
	for range n {
		conn, err := net.Dial("tcp", v.url[len("http://"):])
		if err != nil {
			s.Errorf("connection %d: %v", len(open)+1, err)
			return open
		}
		if _, err := io.WriteString(conn, sent); err != nil {
			s.Errorf("connection %d: %v", len(open)+1, err)
		}
		open = append(open, conn)
	}
	return open
}

// held measures a service while many connections are open to it.
func (s *stage) held(v *service, r *result, n int, sent string) {
	s.Helper()
	v.forgetPeak()
	before := v.memory(false)
	l := start(s.T, v.checked(v.steady(quiet, 50, 8)))
	open := s.connections(v, n, sent)
	time.Sleep(2 * time.Second)
	o := l.end(s.T)
	r.add(o)
	r.memory = v.memory(true)
	each := (r.memory - before) / int64(max(1, len(open)))
	r.note("%d connections, %d KiB each, p99 %.0f ms", len(open), each>>10, o.P99*1000)
	if each > 100<<10 {
		s.Errorf("a connection takes %d bytes", each)
	}
	for _, conn := range open {
		_ = conn.Close()
	}
}

// announcedBodies opens connections that announce a large body and send nothing
// of it.
func announcedBodies(s *stage, r *result) {
	n := 1000
	if full {
		n = 5000
	}
	s.held(s.serve(), r, n, "POST /v1/fits HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 1048576\r\n\r\n{")
}

// idleConnections opens connections that were used once.
func idleConnections(s *stage, r *result) {
	s.held(s.serve(), r, 10_000, "GET /healthz HTTP/1.1\r\nHost: x\r\n\r\n")
}

// eightExports lets eight callers export the large revision at once.
func eightExports(s *stage, r *result) {
	v := s.serve()
	number := v.revision(big)
	v.forgetPeak()
	before := v.memory(false)
	l := start(s.T, v.checked(v.steady(quiet, 50, 8)))
	var all sync.WaitGroup
	var bytes, failed atomic.Int64
	begun := time.Now()
	for range 8 {
		all.Go(func() {
			status, body := v.do(http.MethodGet, fmt.Sprintf("%s/%d/export?units=mm&format=ndjson", listTarget(big), number), v.keys[big], "", "")
			if status != http.StatusOK {
				failed.Add(1)
			}
			bytes.Add(int64(len(body)))
		})
	}
	all.Wait()
	took := time.Since(begun)
	o := l.end(s.T)
	r.add(o)
	r.requests += 8
	r.failed += int(failed.Load())
	r.memory = v.memory(true)
	r.note("%d MiB in %s, %d MiB more memory, p99 of another shop %.0f ms", bytes.Load()>>20, took.Round(100*time.Millisecond), (r.memory-before)>>20, o.P99*1000)
}

// balancer sends each request to the next of two services that is ready, as a
// plain proxy does: it asks each twice a second.
type balancer struct {
	mu    sync.Mutex
	ready []*httputil.ReverseProxy
	next  int
}

// watch asks services whether they are ready until stop is closed.
func (b *balancer) watch(services func() []*service, stop <-chan struct{}) {
	proxies := map[string]*httputil.ReverseProxy{}
	client := &http.Client{Timeout: time.Second}
	for {
		var ready []*httputil.ReverseProxy
		for _, v := range services() {
			res, err := client.Get(v.url + "/readyz")
			if err != nil {
				continue
			}
			res.Body.Close()
			if res.StatusCode != http.StatusOK {
				continue
			}
			if proxies[v.url] == nil {
				to, _ := url.Parse(v.url) // it answered there
				proxies[v.url] = httputil.NewSingleHostReverseProxy(to)
				proxies[v.url].Transport = &http.Transport{MaxIdleConnsPerHost: 64}
			}
			ready = append(ready, proxies[v.url])
		}
		b.mu.Lock()
		b.ready = ready
		b.mu.Unlock()
		select {
		case <-stop:
			return
		case <-time.After(500 * time.Millisecond):
		}
	}
}

func (b *balancer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	b.mu.Lock()
	if len(b.ready) == 0 {
		b.mu.Unlock()
		http.Error(w, "no service is ready", http.StatusBadGateway)
		return
	}
	b.next++
	to := b.ready[b.next%len(b.ready)]
	b.mu.Unlock()
	// The answer of a service that is quick would otherwise close the body while
	// it is still being sent on, which breaks the answer off.
	body, err := io.ReadAll(r.Body)
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	r.Body = io.NopCloser(bytes.NewReader(body))
	to.ServeHTTP(w, r)
}

// rollingRestart restarts two replicas behind a proxy, one after the other, with
// a large shop beside that is asked as well.
func rollingRestart(s *stage, r *result) {
	replicas := []*service{s.serve(), s.serve()}
	var mu sync.Mutex
	services := func() []*service {
		mu.Lock()
		defer mu.Unlock()
		return append([]*service{}, replicas...)
	}
	b, stop := new(balancer), make(chan struct{})
	defer close(stop)
	go b.watch(services, stop)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		s.Fatal(err)
	}
	front := &http.Server{Handler: b}
	go func() { _ = front.Serve(l) }()
	defer front.Close()
	s.until(5*time.Second, "a service that is ready", func() bool {
		b.mu.Lock()
		defer b.mu.Unlock()
		return len(b.ready) == 2
	})

	o := replicas[0].checked(replicas[0].steady(quiet, 100, 32))
	other := replicas[0].steady(big, 20, 32)
	o.URL, other.URL = "http://"+l.Addr().String(), "http://"+l.Addr().String()
	loads := []*load{start(s.T, o), start(s.T, other)}
	time.Sleep(time.Second)
	for i := range replicas {
		next := s.serve()
		mu.Lock()
		old := replicas[i]
		replicas[i] = next
		mu.Unlock()
		time.Sleep(time.Second) // until the proxy knows the new one
		mu.Lock()
		replicas = append(replicas, old) // it is still asked
		mu.Unlock()
		r.note("stopped in %s", old.stop().Round(100*time.Millisecond))
		mu.Lock()
		replicas = replicas[:2]
		mu.Unlock()
	}
	time.Sleep(time.Second)
	for _, l := range loads {
		r.add(l.end(s.T))
	}
	r.memory = max(replicas[0].memory(true), replicas[1].memory(true))
}

// explainCallers lets 16 callers of one shop have everything counted in a large
// catalogue, over and over. Another shop's p99 moves by at most three times.
func explainCallers(s *stage, r *result) {
	v := s.serve()
	v.revision(big)
	o := v.checked(v.steady(quiet, 50, 8))
	o.Seconds = 10
	alone := run(s.T, o)
	explain := order{URL: v.url, Key: v.keys[big], Bodies: bodies(10, `,"explain":true`), Clients: 16}
	l := start(s.T, explain)
	time.Sleep(time.Second)
	beside := run(s.T, o)
	flood := l.end(s.T)
	r.add(alone)
	r.add(beside)
	r.memory = v.memory(true)
	r.note("p99 %.1f ms alone, %.1f ms beside %d explained and %d shed", alone.P99*1000, beside.P99*1000, flood.OK, flood.Shed)
	if beside.P99 > 3*alone.P99 {
		s.Errorf("the p99 of another shop moved by %.1f times", beside.P99/alone.P99)
	}
}

// pin lets a service that isn't started yet run on one processor only.
func (v *service) pin(processor int) error {
	taskset, err := exec.LookPath("taskset")
	if err != nil {
		return err
	}
	v.cmd.Args = append([]string{"taskset", "--cpu-list", strconv.Itoa(processor), binary}, v.cmd.Args[1:]...)
	v.cmd.Path = taskset
	return nil
}

// overload sends four times what a service can answer. It answers nearly as many
// as it can, soon, and sheds the rest.
func overload(s *stage, r *result) {
	// Each has a processor of its own, else the load would take from the service
	// what it measures.
	v := s.prepare()
	if err := v.pin(0); err != nil {
		r.note("not pinned to a processor: %v", err)
	}
	v.readLog()
	v.begin()
	const clients = 3000 // who is turned away waits, and holds a connection
	closed := v.checked(v.steady(quiet, 0, 16))
	closed.Plain, closed.Processor = true, 1
	closed.Seconds = 5
	few := run(s.T, closed)
	// All clients connect at once in the beginning. What that costs passes, so it is told apart.
	capacity := closed
	capacity.Resting, capacity.Start, capacity.Seconds = clients-closed.Clients, 2, 8
	half := closed
	half.Clients, half.Start, half.Seconds = clients, 2, 12
	first := run(s.T, capacity).Goodput
	half.Rate = first / 2
	calm := run(s.T, half)
	flood := half
	flood.Rate, flood.Seconds = 4*first, 8
	// Other work on this machine comes and goes, so both are measured in turns.
	const turns = 3
	var most, goodput, sent float64
	var p99, startP99 []float64
	shed := 0
	for range turns {
		can, got := run(s.T, capacity), run(s.T, flood)
		most, goodput, sent = most+can.Goodput/turns, goodput+got.Goodput/turns, sent+float64(got.Sent)/got.Took/turns
		p99, startP99 = append(p99, got.P99), append(startP99, got.StartP99)
		shed += got.Shed
		r.add(can)
		r.add(got)
	}
	r.add(few)
	r.add(calm)
	slices.Sort(p99)
	slices.Sort(startP99)
	r.memory = v.memory(true)
	r.note("capacity %.0f/s with as many connections (%.0f/s with 16), sent %.1f times that, goodput %.2f of it, p99 %.1f ms at half load, %.1f ms at four times (%.1f ms at worst, %.0f ms in the first 2 s), %d shed",
		most, few.Goodput, sent/most, goodput/most, calm.P99*1000, p99[turns/2]*1000, p99[turns-1]*1000, startP99[turns/2]*1000, shed)
	if goodput < 0.9*most {
		s.Errorf("the goodput is %.3f of the capacity's", goodput/most)
	}
	if p99[turns/2] > 5*calm.P99 {
		s.Errorf("the p99 is %.1f times that at half load", p99[turns/2]/calm.P99)
	}
}
