package speed_test

import (
	"bufio"
	"cmp"
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"midstroke/internal/loadtest"
	"net"
	"net/http"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// loadOrder is the variable that makes the test's binary a load generator.
const loadOrder = "MIDSTROKE_SPEED_LOAD"

// order is what a load generator does.
type order struct {
	Address, Key string
	// Path is where bodies go, by default /v1/fits. Once says that each request has an
	// Idempotency-Key of its own.
	Path string
	Once bool
	// Insert is the URL of a database. With it no requests are sent, and each body is
	// inserted into the table bare_quotes instead.
	Insert string
	// Bodies are sent in turns. Each is made another request by a reference, and by a
	// mass that was never sent wherever it has newMass.
	Bodies []string
	// Rate is how many requests a second are sent; 0 sends the next one on a
	// connection when the one before is answered.
	Rate        float64
	Connections int
	Seconds     float64
}

// outcome is what came of an order. Times are in seconds.
type outcome struct {
	OK, Other int
	Bytes     int64 // of all bodies
	Took      float64
	P50, P99  float64
	// Median is that of each body by its place.
	Median []float64
}

func (o *outcome) perSecond() float64 { return float64(o.OK) / o.Took }

type generator struct {
	order
	next  atomic.Int64
	began time.Time
	ends  time.Time

	mu   sync.Mutex
	took [][]time.Duration // by body
	outcome
}

// generate does an order and prints its outcome.
func generate(text string) int {
	g := &generator{}
	if err := json.Unmarshal([]byte(text), &g.order); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	g.took = make([][]time.Duration, len(g.Bodies))
	g.began = time.Now()
	g.ends = g.began.Add(time.Duration(g.Seconds * float64(time.Second)))
	var all sync.WaitGroup
	var failed atomic.Bool
	for range g.Connections {
		all.Go(func() {
			work := g.work
			if g.Insert != "" {
				work = g.insert
			}
			if err := work(); err != nil {
				fmt.Fprintln(os.Stderr, "load:", err)
				failed.Store(true)
			}
		})
	}
	all.Wait()
	g.Took = time.Since(g.began).Seconds()
	var every []time.Duration
	for _, times := range g.took {
		slices.Sort(times)
		median := 0.0
		if n := len(times); n > 0 {
			median = times[n/2].Seconds()
		}
		g.Median = append(g.Median, median)
		every = append(every, times...)
	}
	slices.Sort(every)
	if n := len(every); n > 0 {
		g.P50, g.P99 = every[n/2].Seconds(), every[n*99/100].Seconds()
	}
	if err := json.NewEncoder(os.Stdout).Encode(&g.outcome); err != nil || failed.Load() {
		return 1
	}
	return 0
}

// work sends requests on one connection until the end.
func (g *generator) work() error {
	conn, err := net.Dial("tcp", g.Address)
	if err != nil {
		return err
	}
	defer conn.Close()
	in := bufio.NewReaderSize(conn, 64<<10)
	var out []byte
	took := make([][]time.Duration, len(g.Bodies))
	var ok, other int
	var received int64
	for {
		i := g.next.Add(1) - 1
		due := time.Now()
		if g.Rate > 0 {
			due = g.began.Add(time.Duration(float64(i) / g.Rate * float64(time.Second)))
			time.Sleep(time.Until(due))
		}
		if due.After(g.ends) {
			break
		}
		which := int(i % int64(len(g.Bodies)))
		out = g.request(out[:0], i, g.Bodies[which])
		if _, err := conn.Write(out); err != nil {
			return err
		}
		status, length, _, err := loadtest.Receive(in, nil)
		if err != nil {
			return err
		}
		// From when it was due: a wait for the request before counts.
		took[which] = append(took[which], time.Since(due))
		received += int64(length)
		if status == http.StatusOK || g.Once && status == http.StatusCreated {
			ok++
		} else {
			other++
		}
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	for i := range took {
		g.took[i] = append(g.took[i], took[i]...)
	}
	g.OK, g.Other, g.Bytes = g.OK+ok, g.Other+other, g.Bytes+received
	return nil
}

// newMass stands for a mass in kg, from 380 to 460, that no request before had.
const newMass = `"NEW MASS"`

// insert inserts bodies on one connection until the end, each in a transaction of its own.
func (g *generator) insert() error {
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, g.Insert)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	n := 0
	for ; time.Now().Before(g.ends); n++ {
		body := g.Bodies[n%len(g.Bodies)]
		if _, err := conn.Exec(ctx, "INSERT INTO bare_quotes (id, body) VALUES ($1, $2)", rand.Text(), []byte(body)); err != nil {
			return err
		}
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	g.OK += n
	return nil
}

// request appends the i-th request.
func (g *generator) request(out []byte, i int64, body string) []byte {
	if before, after, ok := strings.Cut(body, newMass); ok {
		const many = 1_000_003 // a prime: so many requests pass before a mass comes again
		mass := 380 + 80*float64((i+int64(os.Getpid()))*7919%many)/many
		body = before + strconv.FormatFloat(mass, 'f', 6, 64) + after
	}
	var more []string
	if g.Once {
		more = []string{"Idempotency-Key: " + rand.Text()}
	}
	return loadtest.AppendPost(out, cmp.Or(g.Path, "/v1/fits"), g.Key, `{"reference":"request `+strconv.FormatInt(i, 10)+" of "+strconv.Itoa(os.Getpid())+`",`+body[1:], more...)
}

// load does an order in a process of its own.
func load(t *testing.T, o order) *outcome {
	t.Helper()
	o.Address = strings.TrimPrefix(o.Address, "http://")
	text, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env, cmd.Stderr = append(os.Environ(), loadOrder+"="+string(text)), os.Stderr
	printed, err := cmd.Output()
	if err != nil {
		t.Fatalf("the load generator: %v", err)
	}
	result := new(outcome)
	if err := json.Unmarshal(printed, result); err != nil {
		t.Fatalf("the load generator: %v: %s", err, printed)
	}
	if result.Other > 0 {
		t.Errorf("%d of %d requests are not answered by 200", result.Other, result.OK+result.Other)
	}
	return result
}
