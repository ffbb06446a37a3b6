package main

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"time"
)

// readyCommand asks a running service whether it can answer. It is for health
// checks in containers that have no other program to ask with.
type readyCommand struct {
	Listen string `default:"127.0.0.1:8080" env:"MIDSTROKE_LISTEN" placeholder:"HOST:PORT" help:"Address that the service listens on."`
}

// readyWithin is how long an answer may take.
const readyWithin = 2 * time.Second

// Run fails if the service can't be reached or isn't ready.
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

// baseURL is the address at which this machine reaches a service that listens on
// listen. A service that listens on every address is reached at 127.0.0.1.
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
