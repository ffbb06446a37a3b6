package main

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"time"
)

// readyCommand asks a running service whether it can answer, for health checks
// in containers that hold no other program.
type readyCommand struct {
	Listen string `default:"127.0.0.1:8080" env:"MIDSTROKE_LISTEN" placeholder:"HOST:PORT" help:"Where the service listens."`
}

// readyWithin is how long an answer may take.
const readyWithin = 2 * time.Second

// Run fails where the service isn't there or isn't ready.
func (r *readyCommand) Run(ctx context.Context) error {
	host, port, err := net.SplitHostPort(r.Listen)
	if err != nil {
		return fmt.Errorf("--listen: %w", err)
	}
	// What listens on every address is asked on this machine's own.
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	ctx, cancel := context.WithTimeout(ctx, readyWithin)
	defer cancel()
	url := "http://" + net.JoinHostPort(host, port) + "/readyz"
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, url, nil)
	if err != nil {
		return err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("%s answers %s", url, response.Status)
	}
	return nil
}
