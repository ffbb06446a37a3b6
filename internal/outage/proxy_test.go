package outage_test

import (
	"io"
	"net"
	"sync"
	"testing"
	"time"
)

// proxy stands between a service and its Postgres and breaks the connections. It
// is our own, since the private Postgres listens on a Unix socket only, which
// toxiproxy can't reach.
type proxy struct {
	listener net.Listener

	mu       sync.Mutex
	upstream string        // path of a Unix socket
	delay    time.Duration // of each piece of data
	// held keeps data from passing until it is closed; nil lets it pass.
	held  chan struct{}
	conns map[net.Conn]bool
}

func newProxy(t *testing.T, socket string) *proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &proxy{listener: l, upstream: socket, conns: map[net.Conn]bool{}}
	go p.accept()
	t.Cleanup(func() {
		_ = l.Close()
		p.heal()
		p.reset()
	})
	return p
}

func (p *proxy) address() string { return p.listener.Addr().String() }

func (p *proxy) accept() {
	for {
		client, err := p.listener.Accept()
		if err != nil {
			return // the end
		}
		go p.join(client)
	}
}

// join passes data both ways until one side ends.
func (p *proxy) join(client net.Conn) {
	p.pause() // half open: accepted, and nobody answers
	p.mu.Lock()
	upstream := p.upstream
	p.mu.Unlock()
	server, err := net.Dial("unix", upstream)
	if err != nil {
		_ = client.Close()
		return
	}
	p.mu.Lock()
	p.conns[client], p.conns[server] = true, true
	p.mu.Unlock()
	var both sync.WaitGroup
	for _, way := range [][2]net.Conn{{client, server}, {server, client}} {
		both.Go(func() {
			p.pass(way[1], way[0])
			_ = way[1].Close()
			_ = way[0].Close()
		})
	}
	both.Wait()
	p.mu.Lock()
	delete(p.conns, client)
	delete(p.conns, server)
	p.mu.Unlock()
}

func (p *proxy) pass(to io.Writer, from io.Reader) {
	piece := make([]byte, 64<<10)
	for {
		n, err := from.Read(piece)
		if n > 0 {
			p.pause()
			if _, err := to.Write(piece[:n]); err != nil {
				return
			}
		}
		if err != nil {
			p.pause() // half open: the end doesn't show either
			return
		}
	}
}

// pause waits as the fault of the moment says.
func (p *proxy) pause() {
	p.mu.Lock()
	delay, held := p.delay, p.held
	p.mu.Unlock()
	time.Sleep(delay)
	if held != nil {
		<-held
	}
}

// slow delays every piece of data.
func (p *proxy) slow(delay time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.delay = delay
}

// halfOpen keeps connections open through which nothing passes any more.
func (p *proxy) halfOpen() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.held = make(chan struct{})
}

// heal ends slow and halfOpen.
func (p *proxy) heal() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.delay = 0
	if p.held != nil {
		close(p.held)
		p.held = nil
	}
}

// reset breaks every connection as a machine that restarted does.
func (p *proxy) reset() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for conn := range p.conns {
		if tcp, ok := conn.(*net.TCPConn); ok {
			_ = tcp.SetLinger(0) // RST instead of FIN
		}
		_ = conn.Close()
	}
}
