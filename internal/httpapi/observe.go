package httpapi

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"runtime/debug"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/shop"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

const headerRequestID = "X-Request-Id"

// observe wraps every request. It gives the request an id, answers errors and
// panics as problems, and writes the log line and the metrics. Bodies and queries
// are never logged, because they are the caller's.
func (h *Handler) observe(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		start := time.Now()
		w, r := c.Response(), c.Request()
		id := requestID(r.Header.Get(headerRequestID))
		w.Header().Set(headerRequestID, id)
		w.Header().Set("X-Content-Type-Options", "nosniff")
		if h.draining.Load() {
			w.Header().Set("Connection", "close")
		}
		shareAcrossOrigins(c)

		if err := recovered(h.admitted(next), c); err != nil {
			h.answerError(c, id, err)
		}

		took := time.Since(start)
		route := c.Path()
		if route == "" {
			route = "none"
		}
		h.metrics.served(route, r.Method, w.Status, took)
		tracedRoute(c, id)
		level := slog.LevelInfo
		// A flood shows in the metrics, and isn't to fill the log.
		if quietRoute(route) && w.Status < http.StatusInternalServerError || w.Status == http.StatusTooManyRequests {
			level = slog.LevelDebug
		}
		if w.Status < http.StatusBadRequest && h.logOneIn > 1 && rand.Uint32N(h.logOneIn) > 0 || !h.log.Enabled(r.Context(), level) {
			return nil
		}
		attrs := [...]slog.Attr{
			slog.String("request_id", id),
			slog.String("method", r.Method),
			slog.String("route", route),
			slog.Int("status", w.Status),
			slog.Int64("us", took.Microseconds()),
			slog.Int64("bytes", w.Size),
			traceOf(r),
			{}, // left out unless there is a key
		}
		if who := callerOf(c); who.key != nil {
			attrs[len(attrs)-1] = slog.String("key", who.key.Prefix)
		}
		h.log.LogAttrs(r.Context(), level, "request", attrs[:]...)
		return nil
	}
}

// admitted is next, for callers that are let in.
func (h *Handler) admitted(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if err := h.admit(c); err != nil {
			return err
		}
		if err := h.refuseWhenFull(c); err != nil {
			return err
		}
		if err := h.charged(c, 1); err != nil {
			return err
		}
		return next(c)
	}
}

// statusClientGone stands in the log and the metrics for a caller that closed the
// connection before it was answered. It is no standard status, but many proxies use it.
const statusClientGone = 499

// quietRoute names the routes that machines ask every few seconds.
func quietRoute(route string) bool {
	return route == "/healthz" || route == "/readyz" || route == "/metrics"
}

// panicked is an error made of a panic.
type panicked struct {
	value any
	stack []byte
}

func (p *panicked) Error() string { return fmt.Sprintf("panic: %v", p.value) }

// recovered calls next and turns a panic in it into an error.
func recovered(next echo.HandlerFunc, c echo.Context) (err error) {
	defer func() {
		if v := recover(); v != nil {
			if v == http.ErrAbortHandler { //nolint:errorlint // net/http compares it so
				panic(v)
			}
			err = &panicked{v, debug.Stack()}
		}
	}()
	return next(c)
}

// answerError answers with an error: with a problem document, or with one line of
// text if a spreadsheet asked for that.
func (h *Handler) answerError(c echo.Context, id string, err error) {
	w, r := c.Response(), c.Request()
	cutOff := context.Cause(r.Context()) == errStopping //nolint:errorlint // no other error is it
	if errors.Is(err, context.Canceled) && r.Context().Err() != nil && !cutOff {
		// Nobody is there to be told anything.
		w.Status = statusClientGone
		return
	}
	p := problemOf(err)
	if cutOff {
		p = stoppingProblem()
	}
	if p.kind == internalError || p.kind == outOfOrder || p.kind == noRoom {
		attrs := []slog.Attr{slog.String("request_id", id), slog.String("route", c.Path()), traceOf(r), slog.Any("error", reasonOf(p, err))}
		var pan *panicked
		if errors.As(err, &pan) {
			attrs = append(attrs, slog.String("stack", string(pan.stack)))
		}
		h.log.LogAttrs(r.Context(), slog.LevelError, "a request failed", attrs...)
	}
	if w.Committed {
		// The status line is out: to break the connection is the one way left
		// to say that the answer isn't whole.
		panic(http.ErrAbortHandler)
	}
	answer := h.problemAnswer(c, p)
	_ = sendAnswer(c, &answer) // it never fails
}

// problemAnswer writes a problem as it is sent: as a document, or as one line of text
// where a spreadsheet asked for that.
func (h *Handler) problemAnswer(c echo.Context, p *problem) shop.Answer {
	r, language := c.Request(), h.language(c.Request())
	a := shop.Answer{Status: p.kind.status, Header: map[string]string{
		"Cache-Control": "no-store", "Vary": varyAnswer, "Content-Language": language, "Content-Type": typeProblem,
	}}
	for name, value := range p.header {
		a.Header[name] = value
	}
	if strings.HasPrefix(c.Path(), "/v1/") && errorsAsText(r) {
		a.Status, a.Header["Content-Type"], a.Body = http.StatusOK, contentTypeOf(typeText), []byte(p.message(language))
	} else {
		a.Body = p.document(language, r.URL.EscapedPath()+"#"+c.Response().Header().Get(headerRequestID))
	}
	return a
}

// reasonOf is what the log has to say of an error that is no caller's fault.
func reasonOf(p *problem, err error) error {
	if p.cause != nil {
		return p.cause
	}
	return err
}

// errorsAsText says whether a caller asked for errors as text: a sheet's
// formula shows no body of an answer that isn't a success.
func errorsAsText(r *http.Request) bool {
	return r.URL.RawQuery != "" && r.URL.Query().Get("errors") == "text"
}

// problemOf makes a problem of any error; the one place where errors get a
// status.
func problemOf(err error) *problem {
	var p *problem
	if errors.As(err, &p) {
		return p
	}
	var refused *wire.Refused
	if errors.As(err, &refused) {
		return refusal(refused.Faults, refused.Units)
	}
	var list fault.List
	if errors.As(err, &list) {
		return refusal(list, unit.Unset)
	}
	var syntax *form.SyntaxError
	if errors.As(err, &syntax) {
		p := newProblem(notJSON, notJSONAt, count("offset", int(syntax.Offset)))
		p.why = syntax
		return p
	}
	var routing *echo.HTTPError
	if errors.As(err, &routing) {
		switch routing.Code {
		case http.StatusNotFound:
			return newProblem(notFound, noSuchPath)
		case http.StatusMethodNotAllowed:
			return newProblem(methodNotAllowed, noSuchMethod)
		}
	}
	internal := newProblem(internalError, unexpected)
	internal.cause = err
	return internal
}

// mostRequestID bounds what a caller may have written into the log.
const mostRequestID = 64

// requestID takes the caller's own name for a request where it is one of
// letters, digits and "._-", else makes one.
func requestID(given string) string {
	foreign := func(r rune) bool {
		return !(r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '.' || r == '_' || r == '-')
	}
	if given != "" && len(given) <= mostRequestID && !strings.ContainsFunc(given, foreign) {
		return given
	}
	return fmt.Sprintf("%016x%016x", rand.Uint64(), rand.Uint64())
}
