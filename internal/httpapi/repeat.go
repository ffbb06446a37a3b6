package httpapi

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"hash"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/shop"
)

// Repeats are where the answers to requests are kept that came with an
// Idempotency-Key.
type Repeats interface {
	// Claim enters a claim for a while, or gives the answer that is kept for its key.
	// It gives shop.ErrInFlight or shop.ErrKeyReused where it can't.
	Claim(ctx context.Context, c shop.Claim, while time.Duration) (*shop.Answer, error)
	// Keep keeps the answer to what was claimed, and GiveUp ends a claim without one.
	Keep(ctx context.Context, c shop.Claim, a shop.Answer) error
	GiveUp(ctx context.Context, c shop.Claim) error
}

const headerIdempotencyKey = "Idempotency-Key"

// mostIdempotencyKey is how many characters such a key has at most.
const mostIdempotencyKey = 255

// idempotencyKey reads the key by which a request is known when it is sent again; ""
// where there is none. It is a string as RFC 9651 writes it, section 3.3.3, or the
// same without its quotes.
func idempotencyKey(h http.Header) (string, error) {
	fields := h.Values(headerIdempotencyKey)
	if len(fields) == 0 {
		return "", nil
	}
	key, ok := strings.TrimSpace(fields[0]), len(fields) == 1
	if strings.HasPrefix(key, `"`) {
		key, ok = quotedString(key)
	}
	switch {
	case !ok || key == "" || strings.IndexFunc(key, func(r rune) bool { return r < ' ' || r > '~' }) >= 0:
		return "", newProblem(badIdempotencyKey, idempotencyKeySpelling)
	case len(key) > mostIdempotencyKey:
		return "", newProblem(badIdempotencyKey, idempotencyKeyLong, count("most", mostIdempotencyKey))
	}
	return key, nil
}

// quotedString reads a text in quotes, in which a backslash stands before a quote
// and before a backslash.
func quotedString(quoted string) (text string, ok bool) {
	var b strings.Builder
	for i := 1; i < len(quoted); i++ {
		switch quoted[i] {
		case '"':
			return b.String(), i == len(quoted)-1
		case '\\':
			if i++; i == len(quoted) || quoted[i] != '"' && quoted[i] != '\\' {
				return "", false
			}
		}
		b.WriteByte(quoted[i])
	}
	return "", false
}

// fingerprint gives what tells a request from another one, when its body has been
// read through the reader that it gives.
func fingerprint(r *http.Request, body io.Reader) (io.Reader, func() [sha256.Size]byte) {
	sum := sha256.New()
	return io.TeeReader(body, sum), func() (print [sha256.Size]byte) {
		query := r.URL.Query()
		query.Del(keyParameter)
		whole := sha256.New()
		for _, part := range []string{r.Method, r.URL.EscapedPath(), query.Encode(), r.Header.Get("Content-Type")} {
			writePart(whole, []byte(part))
		}
		writePart(whole, sum.Sum(nil))
		whole.Sum(print[:0])
		return print
	}
}

// printOf is fingerprint for a body that has been read.
func printOf(r *http.Request, body []byte) [sha256.Size]byte {
	reader, print := fingerprint(r, bytes.NewReader(body))
	_, _ = io.Copy(io.Discard, reader) // neither fails
	return print()
}

// writePart writes a part with its length, so that no two lists of parts are alike.
func writePart(to hash.Hash, part []byte) {
	_, _ = io.WriteString(to, strconv.Itoa(len(part))+":") // a hash takes everything
	_, _ = to.Write(part)
}

// repeatProblem makes a problem of why a request can't be carried out once.
func repeatProblem(err error) error {
	switch {
	case errors.Is(err, shop.ErrInFlight):
		return newProblem(inFlight, requestInFlight).with("Retry-After", "1")
	case errors.Is(err, shop.ErrKeyReused):
		return newProblem(idempotencyKeyReused, otherRequest)
	}
	return unreachableProblem(err)
}

// orKept answers a request that is refused today. One that was answered before has its
// answer.
func orKept(ctx context.Context, c echo.Context, store Quotes, claim shop.Claim, refusal error) error {
	kept, err := store.Kept(ctx, claim)
	switch {
	case err != nil:
		return repeatProblem(err)
	case kept == nil:
		return refusal
	}
	return sendAnswer(c, kept)
}

// giveUpTime is how long it may take to end a claim.
const giveUpTime = 2 * time.Second

// once carries a request out once. do makes its answer and keeps it, or says with an
// error why there is none.
func (h *Handler) once(c echo.Context, store Repeats, claim shop.Claim, do func(context.Context) (shop.Answer, error)) error {
	ctx, cancel := withTimeout(c, uploadTime)
	defer cancel()
	kept, err := store.Claim(ctx, claim, uploadTime)
	if err != nil {
		return repeatProblem(err)
	}
	if kept != nil {
		return sendAnswer(c, kept)
	}
	answer, err := do(ctx)
	if err != nil {
		ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), giveUpTime)
		defer cancel()
		if failed := store.GiveUp(ending, claim); failed != nil {
			h.log.Warn("a claim could not be ended and runs out by itself", "error", failed)
		}
		return err
	}
	return sendAnswer(c, &answer)
}

// sendAnswer sends an answer that is kept, or the first time in the same bytes,
// in the coding that the request wants.
func sendAnswer(c echo.Context, a *shop.Answer) error {
	header := c.Response().Header()
	for name, value := range a.Header {
		header.Set(name, value)
	}
	in := codingFor(c.Request(), a.Header["Content-Type"], len(a.Body))
	if tag := a.Header["ETag"]; tag != "" {
		header.Set("ETag", codedTag(tag, in))
	}
	write(c, a.Status, in, a.Body, nil)
	return nil
}
