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
	base, err := baseURL(r.Listen)
	if err != nil {
		return fmt.Errorf("--listen: %w", err)
	}
	ctx, cancel := context.WithTimeout(ctx, readyWithin)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, base+"/readyz", nil)
	if err != nil {
		return err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("%s/readyz answers %s", base, response.Status)
	}
	return nil
}

// baseURL is where a service that listens on an address is asked on this
// machine: what listens on every address has this machine's own.
func baseURL(listen string) (string, error) {
	host, port, err := net.SplitHostPort(listen)
	if err != nil {
		return "", err
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return "http://" + net.JoinHostPort(host, port), nil
}
