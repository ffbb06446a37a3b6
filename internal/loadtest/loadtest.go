// Package loadtest speaks HTTP/1.1 by hand, for tests and benchmarks that put load on
// the service: a client that does more would take the processors from the service, and
// its own queue would count as the service's.
package loadtest

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"net/textproto"
	"slices"
	"strconv"
)

// AppendPost appends a request to out. path begins with "/"; key may be empty; more
// are further lines of the header, without their ends.
func AppendPost(out []byte, path, key, body string, more ...string) []byte {
	out = append(append(append(out, "POST "...), path...), " HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: "...)
	out = strconv.AppendInt(out, int64(len(body)), 10)
	if key != "" {
		out = append(append(out, "\r\nAuthorization: Bearer "...), key...)
	}
	for _, line := range more {
		out = append(append(out, "\r\n"...), line...)
	}
	return append(append(out, "\r\n\r\n"...), body...)
}

// Receive reads an answer that tells its length. It gives the length, and the body in
// keep's memory where keep isn't nil.
func Receive(in *bufio.Reader, keep []byte) (status, length int, body []byte, err error) {
	line, err := in.ReadSlice('\n')
	if err != nil {
		return 0, 0, nil, err
	}
	if len(line) < 12 {
		return 0, 0, nil, errors.New("no status line: " + string(line))
	}
	status, err = strconv.Atoi(string(line[9:12]))
	length = -1
	for err == nil {
		if line, err = in.ReadSlice('\n'); err != nil || len(line) <= 2 {
			break
		}
		if name, value, ok := bytes.Cut(line, []byte(":")); ok && textproto.CanonicalMIMEHeaderKey(string(name)) == "Content-Length" {
			length, err = strconv.Atoi(string(bytes.TrimSpace(value)))
		}
	}
	switch {
	case err != nil:
	case length < 0:
		err = errors.New("an answer without Content-Length")
	case keep == nil:
		_, err = in.Discard(length)
	default:
		body = slices.Grow(keep[:0], length)[:length]
		_, err = io.ReadFull(in, body)
	}
	return status, length, body, err
}
