package contract

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"mime"
	"net/http"
	"slices"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
)

// opaque are the media types whose content the document doesn't describe.
var opaque = []string{
	"text/html", "text/javascript", "application/yaml", "application/zip", "text/csv", "application/x-ndjson",
	"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
	"text/event-stream",
}

// registerDecoders tells the library, once for the whole process, how to read
// the media types that it doesn't know.
var registerDecoders = sync.OnceFunc(func() {
	openapi3filter.RegisterBodyDecoder("image/svg+xml", decodeDrawing)
	for _, media := range opaque {
		openapi3filter.RegisterBodyDecoder(media, openapi3filter.PlainBodyDecoder)
	}
})

// decodeDrawing refuses what isn't well-formed XML.
func decodeDrawing(body io.Reader, _ http.Header, _ *openapi3.SchemaRef, _ openapi3filter.EncodingFn) (any, error) {
	raw, err := io.ReadAll(body)
	if err != nil {
		return nil, err
	}
	decoder := xml.NewDecoder(bytes.NewReader(raw))
	for {
		if _, err := decoder.Token(); errors.Is(err, io.EOF) {
			return string(raw), nil
		} else if err != nil {
			return nil, err
		}
	}
}

// decoded gives a body without its content coding.
func decoded(h http.Header, body []byte) ([]byte, error) {
	if len(body) == 0 {
		return body, nil
	}
	var r io.Reader
	switch h.Get("Content-Encoding") {
	case "gzip":
		zipped, err := gzip.NewReader(bytes.NewReader(body))
		if err != nil {
			return nil, err
		}
		r = zipped
	case "zstd":
		coded, err := zstd.NewReader(bytes.NewReader(body), zstd.WithDecoderConcurrency(1))
		if err != nil {
			return nil, err
		}
		defer coded.Close()
		r = coded
	default:
		return body, nil
	}
	return io.ReadAll(r)
}

// mediaType is that of a body, without its parameters.
func mediaType(h http.Header) string {
	media, _, _ := mime.ParseMediaType(h.Get("Content-Type")) // "" for what can't be read
	return media
}

// described says whether the document describes the content of a body.
func described(h http.Header) bool { return !slices.Contains(opaque, mediaType(h)) }

// withBody gives the request with a body of its own, so that checking it reads
// nothing that somebody else reads.
func withBody(r *http.Request, body []byte) *http.Request {
	copied := r.Clone(r.Context())
	copied.Body, copied.GetBody = io.NopCloser(bytes.NewReader(body)), nil
	return copied
}
