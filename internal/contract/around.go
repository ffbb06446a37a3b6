package contract

import (
	"bytes"
	"errors"
	"io"
	"log/slog"
	"net/http"
)

// mostKept is how much of a body is kept to be checked. A request's JSON has at
// most 1 MB; a longer answer is checked without its body.
const mostKept = 8 << 20

// Around lets next answer and then logs how the exchange differs from the
// document. What next writes goes out at once and unchanged.
func (c *Checker) Around(next http.Handler, log *slog.Logger) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		sent := &keptReader{ReadCloser: r.Body, announced: r.ContentLength}
		passed := r.WithContext(r.Context()) // a copy, as the request isn't ours to change
		if described(r.Header) {
			passed.Body = sent
		}
		answer := &keptWriter{ResponseWriter: w, status: http.StatusOK}
		next.ServeHTTP(answer, passed)
		e := &Exchange{Request: r, RequestBody: sent.whole(), Status: answer.status, Header: w.Header(), Body: answer.whole()}
		for _, d := range append(c.CheckRequest(e), c.CheckAnswer(e)...) {
			d.log(r, log, w.Header().Get("X-Request-Id"))
		}
	})
}

// log writes a difference as a warning, or at a lower level where the service
// refused the request as well.
func (d *Difference) log(r *http.Request, log *slog.Logger, requestID string) {
	level := slog.LevelWarn
	if d.Refused {
		level = slog.LevelInfo
	}
	log.LogAttrs(r.Context(), level, "not as the contract says",
		slog.String("request_id", requestID),
		slog.String("side", string(d.Side)),
		slog.String("method", d.Method),
		slog.String("path", d.Path),
		slog.String("parameter", d.Parameter),
		slog.String("pointer", d.Pointer),
		slog.String("reason", d.Reason),
		slog.Int("status", d.Status),
		slog.Bool("refused", d.Refused))
}

// keptReader keeps what is read through it.
type keptReader struct {
	io.ReadCloser
	announced int64 // -1 where nobody said how long it is
	kept      bytes.Buffer
	ended     bool
}

func (k *keptReader) Read(p []byte) (int, error) {
	n, err := k.ReadCloser.Read(p)
	if k.kept.Len() <= mostKept {
		k.kept.Write(p[:n])
	}
	k.ended = k.ended || errors.Is(err, io.EOF)
	return n, err
}

// whole gives the body if all of it was read, else nil.
func (k *keptReader) whole() []byte {
	if k.kept.Len() > mostKept || !k.ended && int64(k.kept.Len()) != k.announced {
		return nil
	}
	return append([]byte{}, k.kept.Bytes()...)
}

// keptWriter keeps what is written through it.
type keptWriter struct {
	http.ResponseWriter
	status  int
	began   bool
	opaque  bool
	kept    bytes.Buffer
	dropped bool
}

// Unwrap is what http.ResponseController asks for.
func (k *keptWriter) Unwrap() http.ResponseWriter { return k.ResponseWriter }

func (k *keptWriter) WriteHeader(status int) {
	if !k.began && status >= http.StatusOK {
		k.began, k.status, k.opaque = true, status, !described(k.Header())
	}
	k.ResponseWriter.WriteHeader(status)
}

func (k *keptWriter) Write(p []byte) (int, error) {
	if !k.began {
		k.WriteHeader(http.StatusOK)
	}
	switch {
	case k.dropped || k.opaque:
	case k.kept.Len()+len(p) > mostKept:
		k.dropped = true
	default:
		k.kept.Write(p)
	}
	return k.ResponseWriter.Write(p)
}

// whole gives the body, nil where it wasn't kept.
func (k *keptWriter) whole() []byte {
	if k.dropped {
		return nil
	}
	return append([]byte{}, k.kept.Bytes()...)
}
