package httpapi

import (
	"bytes"
	"net/http"
	"slices"
	"strings"
	"sync"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
)

// coding is a content coding (RFC 9110 section 8.4.1) that bodies are sent in.
type coding uint8

// The codings, from the one that is preferred last.
const (
	identity  coding = iota
	gzipped          // RFC 1952
	zstandard        // RFC 8878, in windows of at most 8 MB as RFC 9659 asks
)

// codingNames are the names in Content-Encoding. The tag of a coded
// representation ends in its coding.
var codingNames = [...]string{identity: "", gzipped: "gzip", zstandard: "zstd"}

// leastCoded is the length from which a body is compressed: a shorter one fits
// into a packet or two as it is.
const leastCoded = 1 << 10

// compressible says whether it is worthwhile to compress a type of content.
// Archives, and workbooks, which are archives, are compressed already.
func compressible(contentType string) bool {
	media, _, _ := strings.Cut(contentType, ";")
	switch media {
	case typeJSON, typeProblem, typeYAML, typeSVG, typeNDJSON:
		return true
	}
	return strings.HasPrefix(media, "text/")
}

// codingFor picks the coding of an answer.
func codingFor(r *http.Request, contentType string, length int) coding {
	if !compressible(contentType) {
		return identity
	}
	return chooseCoding(acceptEncoding(r), length)
}

// acceptEncoding gives the Accept-Encoding field of a request, which may come in
// parts.
func acceptEncoding(r *http.Request) string {
	if parts := r.Header["Accept-Encoding"]; len(parts) != 1 {
		return strings.Join(parts, ",")
	}
	return r.Header["Accept-Encoding"][0]
}

// chooseCoding picks the coding that an Accept-Encoding field wants most for a
// body of the given length; between equals the one that makes it shorter. It
// sends a body as it is where the field names nothing that is known: any body
// is better than none (RFC 9110 section 12.5.3).
func chooseCoding(field string, length int) coding {
	if field == "" {
		return identity
	}
	wanted := acceptRanges(field)
	if length < leastCoded && codingQuality(identity, wanted) > 0 {
		return identity
	}
	best, quality := identity, 0.0
	if q := codingQuality(identity, wanted); isNamed(wanted, "identity") {
		quality = q
	}
	for _, c := range [...]coding{gzipped, zstandard} {
		if c == zstandard && !isNamed(wanted, codingNames[c]) {
			continue // who writes "*" may not have heard of it
		}
		if q := codingQuality(c, wanted); q > 0 && q >= quality {
			best, quality = c, q
		}
	}
	return best
}

// codingQuality gives the weight of a coding. One that isn't named has that of
// "*"; without "*" only the identity is acceptable.
func codingQuality(c coding, wanted []weighted) float64 {
	name, others, rest := codingNames[c], 0.0, false
	if c == identity {
		name, others = "identity", 1
	}
	for _, w := range wanted {
		switch {
		case w.value == name, c == gzipped && w.value == "x-gzip":
			return w.quality
		case w.value == "*" && !rest:
			others, rest = w.quality, true
		}
	}
	return others
}

func isNamed(wanted []weighted, name string) bool {
	return slices.ContainsFunc(wanted, func(w weighted) bool { return w.value == name })
}

// gzipWriters are reused, since each has some 800 KB of tables.
var gzipWriters = sync.Pool{New: func() any {
	w, _ := gzip.NewWriterLevel(nil, gzip.DefaultCompression) // the level is valid
	return w
}}

// zstdEncoder compresses whole bodies, several at once. It makes its tables when
// it is first used.
var zstdEncoder = sync.OnceValue(func() *zstd.Encoder {
	e, err := zstd.NewWriter(nil, zstd.WithWindowSize(1<<20), zstd.WithLowerEncoderMem(true))
	if err != nil {
		panic(err) // the options are valid
	}
	return e
})

// appendCoded appends a body in a coding.
func appendCoded(dst []byte, c coding, body []byte) []byte {
	switch c {
	case gzipped:
		w := gzipWriters.Get().(*gzip.Writer)
		defer gzipWriters.Put(w)
		out := bytes.NewBuffer(dst)
		w.Reset(out)
		// Writing to a buffer can't fail.
		_, _ = w.Write(body)
		_ = w.Close()
		return out.Bytes()
	case zstandard:
		return zstdEncoder().EncodeAll(body, dst)
	case identity:
	}
	return append(dst, body...)
}

// codedSpace is reused for coded bodies.
var codedSpace = sync.Pool{New: func() any { return new([]byte) }}

// fixed is a body that never changes while the process runs. It is compressed
// once in each coding, as well as can be, when that is first asked for.
type fixed struct {
	body  []byte
	tag   string
	coded [len(codingNames)]func() []byte
}

func newFixed(body []byte) *fixed {
	f := &fixed{body: body, tag: entityTag(body)}
	f.coded[gzipped] = sync.OnceValue(func() []byte {
		var b bytes.Buffer
		w, _ := gzip.NewWriterLevel(&b, gzip.BestCompression) // the level is valid, and a buffer takes all
		_, _ = w.Write(body)
		_ = w.Close()
		return b.Bytes()
	})
	f.coded[zstandard] = sync.OnceValue(func() []byte {
		e, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedBestCompression), zstd.WithEncoderConcurrency(1))
		if err != nil {
			panic(err) // the options are valid
		}
		defer e.Close()
		return e.EncodeAll(body, nil)
	})
	return f
}
