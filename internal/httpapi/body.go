package httpapi

import (
	"bytes"
	"errors"
	"io"
	"mime"
	"net/http"
	"strings"
)

// mostBody is the longest body that is read: 1 MB, some hundred times an
// elaborate request.
const mostBody = 1 << 20

// usualBody is longer than most bodies.
const usualBody = 2 << 10

// readBody reads the JSON body of a request into b, or says as a problem why
// it isn't read. A body that says itself that it is too long is refused
// unread; one that turns out to be is read no further than the limit. w is the
// server's own writer, which MaxBytesReader tells to close the connection.
func readBody(w http.ResponseWriter, r *http.Request, b *bytes.Buffer) error {
	if err := checkMediaType(r.Header); err != nil {
		return err
	}
	if r.ContentLength > mostBody {
		// Without this the server would go on to read what it was not asked
		// to, so as to use the connection again.
		w.Header().Set("Connection", "close")
		return tooLargeBody()
	}
	// An announced length is only a promise, so no more room is made than an
	// ordinary body needs. From there the buffer grows with what has come.
	if r.ContentLength > 0 {
		b.Grow(int(min(r.ContentLength, usualBody)) + bytes.MinRead)
	}
	_, err := b.ReadFrom(http.MaxBytesReader(w, r.Body, mostBody))
	var over *http.MaxBytesError
	switch {
	case errors.As(err, &over):
		return tooLargeBody()
	case isTooSlow(err):
		return tooSlowBody()
	case errors.Is(err, io.ErrUnexpectedEOF):
		return newProblem(notJSON, bodyCutShort)
	case err != nil:
		p := newProblem(notJSON, bodyUnreadable)
		p.cause = err
		return p
	}
	return nil
}

func tooLargeBody() *problem {
	return newProblem(tooLarge, bodyTooLarge, count("most", mostBody))
}

// checkMediaType refuses whatever isn't application/json in UTF-8, which is
// the only encoding that RFC 8259 section 8.1 lets systems exchange.
func checkMediaType(h http.Header) error {
	if coding := h.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return newProblem(unsupportedMediaType, bodyCoded).with("Accept-Encoding", "identity")
	}
	field := h.Get("Content-Type")
	if field == typeJSON {
		return nil
	}
	media, params, err := mime.ParseMediaType(field)
	if err == nil && media == typeJSON {
		charset, given := params["charset"]
		if given {
			delete(params, "charset")
		}
		if len(params) == 0 && (!given || strings.EqualFold(charset, "utf-8")) {
			return nil
		}
		return newProblem(unsupportedMediaType, charsetOnly).with("Accept", typeJSON)
	}
	return newProblem(unsupportedMediaType, jsonOnly).with("Accept", typeJSON)
}
