package httpapi

import (
	"cmp"
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"
)

// How long each part of an exchange may take. An answer takes well under a
// millisecond, so only exchanges that have stalled reach these limits.
const (
	headerTimeout = 5 * time.Second
	readTimeout   = 15 * time.Second
	writeTimeout  = 30 * time.Second
	idleTimeout   = 120 * time.Second
	// defaultGrace is how long requests that have begun may take to finish.
	defaultGrace = 2 * time.Second
	// lastAnswersTime is how long the answers to requests that were cut off may take.
	lastAnswersTime = time.Second
	// mostHeader bounds the request line and header: far beyond the 2,048
	// characters of address that a spreadsheet can send.
	mostHeader = 64 << 10
)

// Stop says how Serve ends.
type Stop struct {
	// Delay is how long requests are still accepted, with /readyz at 503, before
	// the listener closes, so that a balancer can send them elsewhere. It is asked
	// once. Nil closes at once.
	Delay func() time.Duration
	// Grace is how long what began may take to finish after that. Requests that
	// still wait then, such as uploads, are answered by 503. Defaults to 2 s.
	Grace time.Duration
}

// errStopping ends the requests that are still waiting when the service stops.
var errStopping = errors.New("the service is stopping")

// Serve answers on l until ctx is done, then finishes the requests that have begun and
// returns nil. It returns an error if it had to cut off requests.
func (h *Handler) Serve(ctx context.Context, l net.Listener, stop Stop) error {
	// Requests get a context of their own, which ends later than ctx.
	requests, cutOff := context.WithCancelCause(context.WithoutCancel(ctx))
	defer cutOff(nil)
	server := &http.Server{
		Handler:           h,
		BaseContext:       func(net.Listener) context.Context { return requests },
		ReadHeaderTimeout: headerTimeout,
		ReadTimeout:       readTimeout,
		WriteTimeout:      writeTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    mostHeader,
		ErrorLog:          slog.NewLogLogger(h.log.Handler(), slog.LevelWarn),
	}
	var connections openConnections
	server.ConnState = connections.note
	served := make(chan error, 1)
	go func() { served <- server.Serve(l) }()
	select {
	case err := <-served:
		return err
	case <-ctx.Done():
	}
	// From now on every answer closes its connection, so that a proxy isn't
	// about to use one when the listener closes.
	h.draining.Store(true)
	if stop.Delay != nil {
		select {
		case err := <-served:
			return err
		case <-time.After(stop.Delay()):
		}
	}
	grace := cmp.Or(stop.Grace, defaultGrace)
	cutting := time.AfterFunc(grace, func() {
		cutOff(errStopping)
		connections.stopReading()
	})
	defer cutting.Stop()
	finish, cancel := context.WithTimeout(context.WithoutCancel(ctx), grace+lastAnswersTime)
	defer cancel()
	if err := server.Shutdown(finish); err != nil {
		_ = server.Close()
		return errors.Join(errors.New("requests were cut off at the end of the grace period"), err)
	}
	return nil
}

// openConnections are those of a server.
type openConnections struct{ all sync.Map } // net.Conn → nothing

func (o *openConnections) note(conn net.Conn, state http.ConnState) {
	switch state {
	case http.StateNew:
		o.all.Store(conn, nil)
	case http.StateClosed, http.StateHijacked:
		o.all.Delete(conn)
	case http.StateActive, http.StateIdle:
	}
}

// stopReading ends every wait for the rest of a body. Answers can still be
// written.
func (o *openConnections) stopReading() {
	o.all.Range(func(conn, _ any) bool {
		_ = conn.(net.Conn).SetReadDeadline(time.Now()) // on a closed connection nobody waits
		return true
	})
}
