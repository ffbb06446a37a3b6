package outage_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"midstroke/internal/loadtest"
)

// loadOrder is the variable that makes the test's binary a load generator.
const loadOrder = "MIDSTROKE_LOAD_ORDER"

// order is what a load generator does.
type order struct {
	URL, Key string
	Bodies   []string
	// Want are the SHA-256 of the answers, where they are to be checked.
	Want []string
	// Rate is how many requests a second are sent, whatever becomes of them; 0
	// sends the next when the one before is answered.
	Rate float64
	// Clients is how many may be under way.
	Clients int
	// Resting is how many more clients there are where Rate is 0. Each request is sent
	// by the one that has rested longest.
	Resting int
	// Seconds is how long it goes on; 0: until the standard input ends.
	Seconds float64
	// Start is how many seconds at the beginning are judged apart from the rest.
	Start float64
	// Plain says that each client sends on a connection of its own, by the least work,
	// and looks only at the first answer to each body. A connection that fails ends its client.
	Plain bool
	// Processor is the only one to run on, 0 for any.
	Processor int
}

// outcome is what came of an order.
type outcome struct {
	Sent, OK, Shed, Failed, Wrong int
	Statuses                      map[string]int
	// P50 and P99 are of the answers with 200 after the start, in seconds; StartP99 is
	// of those before.
	P50, P99, StartP99 float64
	// Goodput is the answers with 200 in a second, after the start.
	Goodput float64
	// Took is how long it went on, in seconds.
	Took float64
	// Turns are when answers became stale or fresh, the first first.
	Turns []turn
}

type turn struct {
	At    time.Time
	Stale bool
}

// staleness is the part of an answer that says whether it is stale.
var staleness = [2][]byte{[]byte(`"stale":false`), []byte(`"stale":true`)}

// reference is the part of an answer that gives a request's own words back.
var reference = regexp.MustCompile(`"reference":(null|"[^"]*")`)

// fingerprint is the SHA-256 of an answer, whether it is stale or not, and
// whatever its request called itself.
func fingerprint(answer []byte) string {
	answer = reference.ReplaceAllLiteral(answer, []byte(`"reference":null`))
	sum := sha256.Sum256(bytes.Replace(answer, staleness[1], staleness[0], 1))
	return hex.EncodeToString(sum[:8])
}

// generator is a load generator while it works.
type generator struct {
	order
	begun  time.Time
	ctx    context.Context // ends when nothing more is to be sent
	client *http.Client

	mu sync.Mutex
	// took are the times of the answers with 200: at the start, and after it.
	took  [2][]time.Duration
	stale bool
	outcome
}

// generate does an order and prints its outcome.
func generate(text string) int {
	ctx, end := context.WithCancel(context.Background())
	defer end()
	g := &generator{ctx: ctx, outcome: outcome{Statuses: map[string]int{}}}
	if err := json.Unmarshal([]byte(text), &g.order); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	if g.Processor > 0 {
		// Where this can't be done, the row says so of the service.
		_ = exec.Command("taskset", "--all-tasks", "--cpu-list", "--pid", strconv.Itoa(g.Processor), strconv.Itoa(os.Getpid())).Run()
	}
	g.client = &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: g.Clients, MaxConnsPerHost: 0}}
	if g.Seconds > 0 {
		time.AfterFunc(time.Duration(g.Seconds*float64(time.Second)), end)
	} else {
		go func() {
			_, _ = io.Copy(io.Discard, os.Stdin)
			end()
		}()
	}
	g.begun = time.Now()
	if g.Rate > 0 {
		g.sendAtRate()
	} else {
		g.sendAtOnce()
	}
	g.Took = time.Since(g.begun).Seconds()
	if g.Seconds > 0 {
		g.Took = min(g.Took, g.Seconds) // nothing is sent while the last are waited for
	}
	_, g.StartP99 = percentiles(g.took[0])
	g.P50, g.P99 = percentiles(g.took[1])
	g.Goodput = float64(len(g.took[1])) / (g.Took - g.Start)
	if err := json.NewEncoder(os.Stdout).Encode(&g.outcome); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// percentiles gives the median and the slowest of a hundred, in seconds.
func percentiles(took []time.Duration) (p50, p99 float64) {
	slices.Sort(took)
	if n := len(took); n > 0 {
		p50, p99 = took[n/2].Seconds(), took[n*99/100].Seconds()
	}
	return p50, p99
}

// sendAtOnce keeps Clients requests under way: when one is answered, the client that has
// rested longest sends the next.
func (g *generator) sendAtOnce() {
	var all sync.WaitGroup
	resting := make(chan *client, g.Clients+g.Resting)
	for range cap(resting) {
		resting <- &client{generator: g}
	}
	var next atomic.Int64
	for range g.Clients {
		all.Go(func() {
			for ok := true; ok && g.ctx.Err() == nil; {
				c := <-resting
				ok = c.send(next.Add(1) - 1)
				resting <- c
			}
		})
	}
	all.Wait()
	close(resting)
	for c := range resting {
		c.close()
	}
}

// sendAtRate sends each request when it is due, however slow the service is, as long as
// fewer than Clients are under way. A further client is made when all others are busy.
func (g *generator) sendAtRate() {
	var all sync.WaitGroup
	defer all.Wait()
	due := make(chan int64)
	defer close(due)
	clients := 0
	for i := int64(0); ; i++ {
		time.Sleep(time.Until(g.begun.Add(time.Duration(float64(i) / g.Rate * float64(time.Second)))))
		if g.ctx.Err() != nil {
			return
		}
		select {
		case due <- i:
			continue
		default:
		}
		if clients == g.Clients {
			select {
			case due <- i:
			case <-g.ctx.Done():
			}
			continue
		}
		clients++
		all.Go(func() {
			c := client{generator: g}
			defer c.close()
			for ok := c.send(i); ok; {
				next, more := <-due
				ok = more && c.send(next)
			}
		})
	}
}

// body is that of the i-th request. Each is another one, since the service remembers
// the answers to those that it gets again and again.
func (g *generator) body(i int64) string {
	return `{"reference":"` + strconv.FormatInt(i, 10) + " of " + strconv.Itoa(os.Getpid()) + `",` + g.Bodies[i%int64(len(g.Bodies))][1:]
}

// client sends requests one after the other.
type client struct {
	*generator

	// These are for one that sends plainly.
	conn   net.Conn
	in     *bufio.Reader
	out    []byte
	answer []byte
}

func (c *client) close() {
	if c.conn != nil {
		c.conn.Close()
	}
}

// send sends the i-th request and counts what it got. It says whether the client can go on.
func (c *client) send(i int64) bool {
	if !c.Plain {
		c.sendUsual(i)
		return true
	}
	err := c.sendPlain(i)
	if err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		c.count("no answer", int(i%int64(len(c.Bodies))), nil, 0)
	}
	return err == nil
}

func (c *client) sendPlain(i int64) (err error) {
	if c.conn == nil {
		if c.conn, err = net.Dial("tcp", strings.TrimPrefix(c.URL, "http://")); err != nil {
			return err
		}
		c.in, c.answer = bufio.NewReader(c.conn), []byte{}
	}
	c.out = loadtest.AppendPost(c.out[:0], "/v1/fits", c.Key, c.body(i))
	begun := time.Now()
	if _, err = c.conn.Write(c.out); err != nil {
		return err
	}
	status, _, answer, err := loadtest.Receive(c.in, c.answer)
	if err != nil {
		return err
	}
	took := time.Since(begun)
	if c.answer = answer; i >= int64(len(c.Bodies)) {
		answer = nil
	}
	c.count(strconv.Itoa(status), int(i%int64(len(c.Bodies))), answer, took)
	return nil
}

func (g *generator) sendUsual(i int64) {
	body := g.body(i)
	begun := time.Now()
	r, err := http.NewRequest(http.MethodPost, g.URL+"/v1/fits", strings.NewReader(body))
	if err != nil {
		panic(err) // the order is ours
	}
	r.Header.Set("Content-Type", "application/json")
	if g.Key != "" {
		r.Header.Set("Authorization", "Bearer "+g.Key)
	}
	status, answer := "no answer", []byte(nil)
	res, err := g.client.Do(r)
	if err == nil {
		answer, err = io.ReadAll(res.Body)
		res.Body.Close()
		status = strconv.Itoa(res.StatusCode)
	}
	took := time.Since(begun)
	if err != nil {
		status = "no answer"
		if os.Getenv("MIDSTROKE_LOAD_TELL") != "" {
			fmt.Fprintln(os.Stderr, "load:", time.Now(), took, err)
		}
	}
	g.count(status, int(i%int64(len(g.Bodies))), answer, took)
}

// count notes what a request got: its status, and its answer to one of the bodies
// where that is looked at.
func (g *generator) count(status string, which int, answer []byte, took time.Duration) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.Sent++
	g.Statuses[status]++
	switch {
	case status == "200" && answer != nil && g.Want != nil && fingerprint(answer) != g.Want[which]:
		g.Wrong++
	case status == "200":
		g.OK++
		when := 1
		if time.Since(g.begun).Seconds() < g.Start {
			when = 0
		}
		g.took[when] = append(g.took[when], took)
		if stale := bytes.Contains(answer, staleness[1]); stale != g.stale {
			g.stale = stale
			g.Turns = append(g.Turns, turn{time.Now(), stale})
		}
	case status == "429":
		g.Shed++
	default:
		g.Failed++
	}
}

// load is a load generator that runs beside the test.
type load struct {
	cmd *exec.Cmd
	in  io.WriteCloser
	out bytes.Buffer
}

// start begins a load that ends by end, or by itself where the order says when.
func start(t *testing.T, o order) *load {
	t.Helper()
	text, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	l := &load{cmd: exec.Command(os.Args[0])}
	l.cmd.Env = append(os.Environ(), loadOrder+"="+string(text))
	l.cmd.Stdout, l.cmd.Stderr = &l.out, os.Stderr
	if l.in, err = l.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	if err := l.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.cmd.Process.Kill() })
	return l
}

// end ends a load and gives its outcome.
func (l *load) end(t *testing.T) *outcome {
	t.Helper()
	_ = l.in.Close()
	if err := l.cmd.Wait(); err != nil {
		t.Fatalf("the load generator: %v", err)
	}
	o := new(outcome)
	if err := json.Unmarshal(l.out.Bytes(), o); err != nil {
		t.Fatalf("the load generator: %v: %s", err, l.out.Bytes())
	}
	return o
}

// run does an order of a fixed time.
func run(t *testing.T, o order) *outcome {
	t.Helper()
	return start(t, o).wait(t)
}

// wait waits for a load of a fixed time.
func (l *load) wait(t *testing.T) *outcome {
	t.Helper()
	if err := l.cmd.Wait(); err != nil {
		t.Fatalf("the load generator: %v", err)
	}
	o := new(outcome)
	if err := json.Unmarshal(l.out.Bytes(), o); err != nil {
		t.Fatalf("the load generator: %v: %s", err, l.out.Bytes())
	}
	return o
}
