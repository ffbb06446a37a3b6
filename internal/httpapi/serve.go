package httpapi

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"time"
)

// How long each part of an exchange may take. An answer takes well under a
// millisecond, so these only end what has stalled.
const (
	headerTimeout = 5 * time.Second
	readTimeout   = 15 * time.Second
	writeTimeout  = 30 * time.Second
	idleTimeout   = 120 * time.Second
	// mostHeader bounds the request line and header: far beyond the 2,048
	// characters of address that a spreadsheet can send.
	mostHeader = 64 << 10
)

// Stop says how Serve ends.
type Stop struct {
	// Delay is how long requests are still taken, with /readyz at 503, before
	// the listener closes, so that a balancer can turn elsewhere. 0 closes at
	// once.
	Delay time.Duration
	// Grace is how long what began may take to finish after that. Defaults to
	// 20 s.
	Grace time.Duration
}

// Serve answers on l until ctx is done, then finishes what it began and
// returns nil. What is not finished in time is cut off, which is an error.
func (h *Handler) Serve(ctx context.Context, l net.Listener, stop Stop) error {
	server := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: headerTimeout,
		ReadTimeout:       readTimeout,
		WriteTimeout:      writeTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    mostHeader,
		ErrorLog:          slog.NewLogLogger(h.log.Handler(), slog.LevelWarn),
	}
	served := make(chan error, 1)
	go func() { served <- server.Serve(l) }()
	select {
	case err := <-served:
		return err
	case <-ctx.Done():
	}
	h.draining.Store(true)
	if stop.Delay > 0 {
		select {
		case err := <-served:
			return err
		case <-time.After(stop.Delay):
		}
	}
	if stop.Grace <= 0 {
		stop.Grace = 20 * time.Second
	}
	// ctx is done already; what began still gets its time.
	finish, cancel := context.WithTimeout(context.WithoutCancel(ctx), stop.Grace)
	defer cancel()
	if err := server.Shutdown(finish); err != nil {
		_ = server.Close()
		return errors.Join(errors.New("requests were cut off at the end of the grace period"), err)
	}
	return nil
}
