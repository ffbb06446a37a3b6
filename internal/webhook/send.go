package webhook

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"syscall"
	"time"

	"midstroke/internal/note"
)

// The codes of why an attempt failed.
const (
	otherStatus    note.Code = "delivery_answered"
	redirected     note.Code = "delivery_redirected"
	timedOut       note.Code = "delivery_timed_out"
	addressRefused note.Code = "delivery_address"
	notReached     note.Code = "delivery_not_reached"
	// SwitchedOff says that the webhook isn't active.
	SwitchedOff note.Code = "delivery_switched_off"
)

// Note gives why an attempt failed, with its values.
func (a *Attempt) Note() note.Note {
	switch a.Fault {
	case otherStatus, redirected:
		return note.New(a.Fault, note.Num("status", float64(a.Status), ""))
	case timedOut:
		return note.New(a.Fault, note.Num("seconds", answerTime.Seconds(), ""))
	case SwitchedOff, addressRefused:
		return note.New(a.Fault)
	}
	return note.New(a.Fault, note.Word("detail", a.Detail))
}

// Off says whether the receiver asked for no more.
func (a *Attempt) Off() bool { return a.Status == http.StatusGone }

const (
	// answerTime is how long an answer may take, from the name to the last byte.
	answerTime = 10 * time.Second
	// AttemptTime is how long an attempt may take with what has to be noted of it.
	AttemptTime = 2 * answerTime
	mostAnswer  = 16 << 10 // bytes that are read of an answer
	mostDetail  = 200
)

// Sender sends events.
type Sender struct {
	secure, plain *http.Client
	agent         string
}

// NewSender makes a sender that keeps to a policy.
func NewSender(p Policy, version string) *Sender {
	client := func(plain bool) *http.Client {
		dialer := &net.Dialer{
			Timeout: answerTime / 2,
			Control: func(_, address string, _ syscall.RawConn) error { return p.control(address, plain) },
		}
		return &http.Client{
			Timeout:       answerTime,
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
			// No proxy: it would be the proxy's address that is checked.
			Transport: &http.Transport{
				DialContext: dialer.DialContext, ForceAttemptHTTP2: true, DisableCompression: true,
				TLSHandshakeTimeout: answerTime / 2, MaxResponseHeaderBytes: mostAnswer,
				MaxIdleConns: 100, MaxIdleConnsPerHost: 2, IdleConnTimeout: 30 * time.Second,
			},
		}
	}
	return &Sender{secure: client(false), plain: client(true), agent: "midstroke/" + version}
}

// Send sends an event to a webhook, once.
func (s *Sender) Send(ctx context.Context, to *Webhook, id string, body []byte) Attempt {
	begun := time.Now()
	status, err := s.post(ctx, to, id, body, begun)
	a := Attempt{At: begun, Took: time.Since(begun), Status: status}
	var refused *refusedError
	var network net.Error
	switch {
	case errors.As(err, &refused):
		a.Fault = addressRefused // and not which: it may be one of the operator's network
	case errors.As(err, &network) && network.Timeout(), errors.Is(err, context.DeadlineExceeded):
		a.Fault = timedOut
	case err != nil:
		a.Fault, a.Detail = notReached, reason(err)
	case status >= 300 && status < 400:
		a.Fault = redirected
	case status < 200 || status >= 300:
		a.Fault = otherStatus
	}
	return a
}

// post gives the status of the answer.
func (s *Sender) post(ctx context.Context, to *Webhook, id string, body []byte, now time.Time) (int, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, to.URL, bytes.NewReader(body))
	if err != nil {
		return 0, err
	}
	for name, value := range map[string]string{
		"Content-Type": "application/json", "User-Agent": s.agent,
		"webhook-id": id, "webhook-timestamp": strconv.FormatInt(now.Unix(), 10), "webhook-signature": to.Signatures(id, now, body),
	} {
		r.Header.Set(name, value)
	}
	client := s.secure
	if r.URL.Scheme == "http" {
		client = s.plain
	}
	answer, err := client.Do(r)
	if err != nil {
		return 0, err
	}
	defer answer.Body.Close()
	// So that the connection can be used again. What it says is of no use.
	_, _ = io.CopyN(io.Discard, answer.Body, mostAnswer)
	return answer.StatusCode, nil
}

// reason gives what the network said, without the URL, which may have a secret in it, and
// without the address of the operator's name server.
func reason(err error) string {
	var lookup *net.DNSError
	if errors.As(err, &lookup) {
		if lookup.IsNotFound {
			return "no such host"
		}
		return "the name could not be looked up"
	}
	for inner := errors.Unwrap(err); inner != nil; inner = errors.Unwrap(inner) {
		err = inner
	}
	text := err.Error()
	return strings.ToValidUTF8(text[:min(len(text), mostDetail)], "?")
}
