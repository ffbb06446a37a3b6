package postgres_test

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/url"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
)

// cable is a network between a store and its database that can be cut: what is
// connected hears nothing more, not even that it was cut.
type cable struct {
	url string
	mu  sync.Mutex
	cut chan struct{} // closed by cutting what is connected
}

func newCable(t *testing.T, to string) *cable {
	t.Helper()
	cfg, err := pgx.ParseConfig(to)
	if err != nil {
		t.Fatal(err)
	}
	network, address := pgconn.NetworkAddress(cfg.Host, cfg.Port)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c := &cable{cut: make(chan struct{})}
	u := url.URL{Scheme: "postgres", Host: l.Addr().String(), Path: "/" + cfg.Database, User: url.UserPassword(cfg.User, cfg.Password)}
	u.RawQuery = url.Values{"sslmode": {"disable"}}.Encode()
	if role := cfg.RuntimeParams["role"]; role != "" {
		u.RawQuery += "&role=" + url.QueryEscape(role)
	}
	c.url = u.String()
	t.Cleanup(func() { _ = l.Close() })
	go func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial(network, address)
			if err != nil {
				_ = near.Close()
				continue
			}
			c.mu.Lock()
			cut := c.cut
			c.mu.Unlock()
			go c.carry(near, far, cut)
			go c.carry(far, near, cut)
		}
	}()
	return c
}

// carry copies until either side ends or the cable is cut, and then takes what
// comes to nowhere.
func (*cable) carry(from, to net.Conn, cut <-chan struct{}) {
	piece := make([]byte, 4096)
	for {
		n, err := from.Read(piece)
		select {
		case <-cut:
			_, _ = io.Copy(io.Discard, from)
			return
		default:
		}
		if n > 0 {
			if _, err := to.Write(piece[:n]); err != nil {
				_ = from.Close()
				return
			}
		}
		if err != nil {
			_ = to.Close()
			return
		}
	}
}

func (c *cable) sever() {
	c.mu.Lock()
	defer c.mu.Unlock()
	close(c.cut)
	c.cut = make(chan struct{})
}

// TestAReplicaBehindACutCableCatchesUp publishes while a replica's connection
// is dead without its knowing: the next look finds out, and what was missed.
func TestAReplicaBehindACutCableCatchesUp(t *testing.T) {
	t.Parallel()
	to := pgtest.NewDatabase(t)
	s := open(t, to)
	if err := s.EnsureCatalog(t.Context(), "corner garage", "own"); err != nil {
		t.Fatal(err)
	}
	publish(t, s, nothing)
	c := newCable(t, to)
	replica, err := postgres.Open(t.Context(), c.url)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	told, ended := make(chan string, 100), make(chan struct{})
	last := 0
	go func() {
		defer close(ended)
		_ = replica.Watch(ctx, postgres.Watcher{
			Published: func(all []shop.Release) {
				if r := all[0]; r.Revision != last {
					last = r.Revision
					told <- fmt.Sprint(r.Catalog, " ", r.Revision)
				}
			},
			Heartbeat: 100 * time.Millisecond, Patience: 200 * time.Millisecond,
		})
	}()
	expect(t, told, "own 1")
	for round := range 3 {
		c.sever()
		publish(t, s, nothing)
		start := time.Now()
		expect(t, told, fmt.Sprint("own ", round+2))
		// A look, its answer awaited in vain, the way back: 0.1 + 0.2 + at most
		// 0.1 s, and time to do it in.
		if took := time.Since(start); took > time.Second {
			t.Errorf("caught up after %v", took)
		}
	}
	cancel()
	<-ended
	replica.Close()
}
