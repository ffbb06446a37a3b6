package httpapi

import (
	"context"
	"errors"
	"net/http"
	"os"
	"time"

	"github.com/labstack/echo/v4"
)

// Pace is how slowly a file may come.
type Pace struct {
	// Least is how many bytes must come in a second, on average over Window. 0 sets
	// no pace.
	Least int64
	// Window defaults to 10 s.
	Window time.Duration
}

const usualWindow = 10 * time.Second

// pacedBody reads a request's body that must keep a pace. A body that doesn't fails
// with os.ErrDeadlineExceeded, and so does one that isn't there after uploadTime.
type pacedBody struct {
	c       echo.Context
	control *http.ResponseController
	pace    Pace
	last    time.Time // when all must be there
	since   time.Time // of the present window
	came    int64     // in it
}

func paced(c echo.Context, pace Pace) *pacedBody {
	now := time.Now()
	return &pacedBody{c: c, control: http.NewResponseController(c.Response().Writer), pace: pace, last: now.Add(uploadTime), since: now}
}

func (p *pacedBody) Read(b []byte) (int, error) {
	if p.pace.Least > 0 {
		due := p.since.Add(p.pace.Window)
		if p.last.Before(due) {
			due = p.last
		}
		// A writer without deadlines is a test's.
		_ = p.control.SetReadDeadline(due)
		if context.Cause(p.c.Request().Context()) == errStopping { //nolint:errorlint // no other error is it
			_ = p.control.SetReadDeadline(time.Now())
		}
	}
	n, err := p.c.Request().Body.Read(b)
	p.came += int64(n)
	if p.came >= p.pace.Least*int64(p.pace.Window/time.Second) {
		p.since, p.came = time.Now(), 0
	}
	return n, err
}

// Close implements io.Closer.
func (p *pacedBody) Close() error { return p.c.Request().Body.Close() }

// isTooSlow says whether a body could not be read because it didn't come in time.
func isTooSlow(err error) bool { return errors.Is(err, os.ErrDeadlineExceeded) }

// tooSlowBody is the problem of such a body. The connection ends with it, since the
// rest of the body may still come.
func tooSlowBody() *problem { return newProblem(tooSlow, bodyTooSlow).with("Connection", "close") }
