package httpapi

import (
	"bytes"
	"cmp"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"midstroke/internal/note"
)

// What a representation varies by, for caches between (RFC 9110 section
// 12.5.5).
const varyAnswer = "Accept, Accept-Language, Origin"

// How long a representation may be kept: as long as one likes, but it is
// asked each time whether it is still the newest, which its ETag makes cheap.
const cacheRevalidate = "no-cache"

// cachePrivate keeps the answer to a key from being kept for anybody else.
const cachePrivate = "private, no-cache"

// representation is one thing to send.
type representation struct {
	status      int // 0 for 200
	contentType string
	// language is that of the texts in it, "" for none.
	language string
	vary     string // "" for the same to everyone
	cache    string // "" for cacheRevalidate
	body     []byte
}

// send writes a representation with its validator, or 304 to a GET or HEAD
// whose caller has it already. POST answers carry the validator too, so that
// a caller can see that nothing changed.
func send(c echo.Context, rep representation) error {
	w, r := c.Response(), c.Request()
	h := w.Header()
	tag := entityTag(rep.body)
	h.Set("ETag", tag)
	if rep.cache == "" {
		rep.cache = cacheRevalidate
		if callerOf(c).key != nil {
			// What one key is answered is no other caller's business.
			rep.cache = cachePrivate
		}
	}
	h.Set("Cache-Control", rep.cache)
	if rep.vary != "" {
		h.Set("Vary", rep.vary)
	}
	if safe := r.Method == http.MethodGet || r.Method == http.MethodHead; safe && noneMatch(r.Header.Get("If-None-Match"), tag) {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	if rep.language != "" {
		h.Set("Content-Language", rep.language)
	}
	h.Set("Content-Type", rep.contentType)
	h.Set("Content-Length", strconv.Itoa(len(rep.body)))
	w.WriteHeader(cmp.Or(rep.status, http.StatusOK))
	if r.Method == http.MethodHead {
		return nil
	}
	// A caller that has gone away can't be told of it.
	_, _ = w.Write(rep.body)
	return nil
}

// contentTypeOf gives the Content-Type field for a media type answered in.
func contentTypeOf(media string) string {
	switch media {
	case typeCSV:
		return "text/csv; charset=utf-8; header=present"
	case typeText, typeHTML, typeScript:
		return media + "; charset=utf-8"
	}
	return media
}

// accepted picks what Accept wants of JSON and the other media types that an
// answer may come in.
func accepted(c echo.Context, others ...string) (string, error) {
	media := negotiate(c.Request().Header.Get("Accept"), typeJSON, others...)
	if media == "" {
		return "", newProblem(notAcceptable, mediaTypes, note.Word("types", strings.Join(append([]string{typeJSON}, others...), ", ")))
	}
	return media, nil
}

// scratch is the space that one exchange reads into and writes from.
type scratch struct {
	in  bytes.Buffer
	out []byte
}

// scratch takes empty space from the pool, to be given back by release.
func (h *Handler) scratch() *scratch {
	s := h.pool.Get().(*scratch)
	s.in.Reset()
	s.out = s.out[:0]
	return s
}

// mostPooled keeps a rare very large buffer from staying in memory.
const mostPooled = 256 << 10

func (h *Handler) release(s *scratch) {
	if s.in.Cap() <= mostPooled && cap(s.out) <= mostPooled {
		h.pool.Put(s)
	}
}
