package httpapi

import (
	"bufio"
	"bytes"
	"cmp"
	"io"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"midstroke/internal/note"
)

// What a representation varies by, for caches between (RFC 9110 section
// 12.5.5).
const varyAnswer = "Accept, Accept-Encoding, Accept-Language, Origin"

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
	vary     string // besides Accept-Encoding; varyAnswer has that
	cache    string // "" for cacheRevalidate
	body     []byte
	tag      string // of the body, where it is known already
	// fixed is the body in place of body where it never changes.
	fixed *fixed
}

// send writes a representation with its validator, or 304 to a GET or HEAD
// whose caller has it already. POST answers carry the validator too, so that
// a caller can see that nothing changed.
func send(c echo.Context, rep representation) error {
	w, r := c.Response(), c.Request()
	h := w.Header()
	if rep.cache == "" {
		rep.cache = cacheRevalidate
		if callerOf(c).key != nil {
			// What one key is answered is no other caller's business.
			rep.cache = cachePrivate
		}
	}
	h.Set("Cache-Control", rep.cache)
	tag := rep.tag
	switch {
	case rep.fixed != nil:
		rep.body, tag = rep.fixed.body, rep.fixed.tag
	case tag == "":
		tag = entityTag(rep.body)
	}
	in := codingFor(r, rep.contentType, len(rep.body))
	if rep.vary != varyAnswer && compressible(rep.contentType) {
		rep.vary = strings.TrimSuffix("Accept-Encoding, "+rep.vary, ", ")
	}
	if rep.vary != "" {
		h.Set("Vary", rep.vary)
	}
	h.Set("ETag", codedTag(tag, in))
	if r.Method == http.MethodGet || r.Method == http.MethodHead {
		if held := heldTag(r.Header.Get("If-None-Match"), tag, acceptEncoding(r), in); held != "" {
			h.Set("ETag", held)
			w.WriteHeader(http.StatusNotModified)
			return nil
		}
	}
	if rep.language != "" {
		h.Set("Content-Language", rep.language)
	}
	h.Set("Content-Type", rep.contentType)
	write(c, cmp.Or(rep.status, http.StatusOK), in, rep.body, rep.fixed)
	return nil
}

// streamed is how much of a stream is kept before it is sent. An error until then
// is still answered as a problem.
const streamed = 64 << 10

// sendStream is send for a file of any length, which is written while it is made
// and goes out uncompressed. tag is "" where its entity tag isn't known.
func sendStream(c echo.Context, contentType, tag string, write func(io.Writer) error) error {
	w, r := c.Response(), c.Request()
	h := w.Header()
	h.Set("Cache-Control", cachePrivate)
	h.Set("Vary", varyAnswer)
	if tag != "" {
		h.Set("ETag", tag)
		if heldTag(r.Header.Get("If-None-Match"), tag, acceptEncoding(r), identity) != "" {
			w.WriteHeader(http.StatusNotModified)
			return nil
		}
	}
	h.Set("Content-Type", contentType)
	if r.Method == http.MethodHead {
		w.WriteHeader(http.StatusOK)
		return nil
	}
	buffered := bufio.NewWriterSize(w, streamed)
	err := write(buffered)
	if err == nil {
		err = buffered.Flush()
	}
	if err != nil && !w.Committed {
		h.Del("ETag")
		h.Del("Content-Disposition")
	}
	if gone := r.Context().Err(); err != nil && gone != nil {
		return gone // nobody reads it any more
	}
	return err
}

// write sends the status and a body in a coding. It keeps the body back from
// HEAD, and leaves its length open where only compressing it would tell.
func write(c echo.Context, status int, in coding, body []byte, kept *fixed) {
	w, head := c.Response(), c.Request().Method == http.MethodHead
	if in != identity {
		w.Header().Set("Content-Encoding", codingNames[in])
		switch {
		case kept != nil:
			body = kept.coded[in]()
		case !head:
			space := codedSpace.Get().(*[]byte)
			*space = appendCoded((*space)[:0], in, body)
			body = *space
			if cap(*space) <= mostPooled {
				defer codedSpace.Put(space)
			}
		}
	}
	if in == identity || kept != nil || !head {
		w.Header().Set("Content-Length", strconv.Itoa(len(body)))
	}
	w.WriteHeader(status)
	if !head {
		// A caller that has gone away can't be told of it.
		_, _ = w.Write(body)
	}
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
