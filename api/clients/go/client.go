// Package midstroke is a client of the service. Its types and calls are generated from
// the contract, ../../openapi.yaml, by "go generate"; this file lets in a shop's key and
// says how to send a request again.
package midstroke

//go:generate go tool oapi-codegen -package midstroke -generate types,client -o contract.go ../../openapi.yaml

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"io"
	"net/http"
	"time"
)

// Connect gives a client of the service at a URL that sends a shop's key with every
// request. Requests that can be sent again are, as Repeat does it.
func Connect(url, key string, options ...ClientOption) (*ClientWithResponses, error) {
	options = append([]ClientOption{WithHTTPClient(&Repeat{Client: &http.Client{Timeout: time.Minute}}), WithRequestEditorFn(func(_ context.Context, r *http.Request) error {
		if key != "" {
			r.Header.Set("Authorization", "Bearer "+key)
		}
		return nil
	})}, options...)
	return NewClientWithResponses(url, options...)
}

// NewKey gives an Idempotency-Key that no other request has. Keep it with the request
// until there is an answer.
func NewKey() string { return rand.Text() }

// Repeat sends a request again where no answer came, or the answer asks for it: those that
// only read, and those with an Idempotency-Key, which are carried out once however often
// they are sent.
type Repeat struct {
	Client *http.Client
	// Times is how often at most, by default 5. Pause is how long to wait before the
	// first time, by default 200 ms; it doubles.
	Times int
	Pause time.Duration
}

// Do implements HttpRequestDoer.
func (c *Repeat) Do(r *http.Request) (*http.Response, error) {
	times, pause := c.Times, c.Pause
	if times == 0 {
		times = 5
	}
	if pause == 0 {
		pause = 200 * time.Millisecond
	}
	if r.Method != http.MethodGet && r.Header.Get("Idempotency-Key") == "" {
		times = 0
	}
	var body []byte
	if r.Body != nil {
		var err error
		if body, err = io.ReadAll(r.Body); err != nil {
			return nil, err
		}
	}
	for {
		r.Body = io.NopCloser(bytes.NewReader(body))
		answer, err := c.Client.Do(r)
		if times == 0 || err == nil && !again(answer.StatusCode) || errors.Is(err, context.Canceled) {
			return answer, err
		}
		if err == nil {
			_ = answer.Body.Close()
		}
		select {
		case <-r.Context().Done():
			return nil, r.Context().Err()
		case <-time.After(pause):
		}
		times, pause = times-1, 2*pause
	}
}

// again says whether a request is to be sent again: there was too much to do, or what it
// needs was out of reach.
func again(status int) bool {
	return status == http.StatusTooManyRequests || status == http.StatusServiceUnavailable || status == http.StatusBadGateway || status == http.StatusGatewayTimeout
}
