package table

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// bufferBytes is how much of a file is looked at to find out what it is, and
// read at a time; no header is longer.
const bufferBytes = 64 << 10

// decoded gives the text of a file in UTF-8 and past its byte order mark.
// UTF-16 is known by its mark; what has none is taken for UTF-8, and what
// isn't UTF-8 is found where it stands. Latin-1 is never guessed at: any bytes
// are some text in it. The buffer of in holds bufferBytes.
func decoded(in *bufio.Reader) (*bufio.Reader, error) {
	head, err := in.Peek(bufferBytes)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	mark, order := 0, binary.ByteOrder(nil)
	switch {
	case bytes.HasPrefix(head, []byte("\xEF\xBB\xBF")):
		mark = 3
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}):
		mark, order = 2, binary.LittleEndian
	case bytes.HasPrefix(head, []byte{0xFE, 0xFF}):
		mark, order = 2, binary.BigEndian
	case 4*bytes.Count(head, []byte{0}) > len(head): // UTF-16 without its mark, or no text at all
		return nil, unreadable(notUTF8)
	}
	_, _ = in.Discard(mark) // can't fail: it was peeked at
	if order == nil {
		return in, nil
	}
	return bufio.NewReaderSize(&utf16Reader{in: in, order: order}, bufferBytes), nil
}

// A utf16Reader gives UTF-16 as UTF-8. Half a pair of surrogates becomes bytes
// that are no UTF-8, so that it is found where it stands.
type utf16Reader struct {
	in    *bufio.Reader
	order binary.ByteOrder
	rest  []byte // decoded and not yet given
	buf   [4 * 1024]byte
}

func (u *utf16Reader) Read(p []byte) (int, error) {
	if len(u.rest) == 0 {
		if err := u.fill(); err != nil {
			return 0, err
		}
	}
	n := copy(p, u.rest)
	u.rest = u.rest[n:]
	return n, nil
}

// fill decodes what is at hand.
func (u *utf16Reader) fill() error {
	u.rest = u.buf[:0]
	for len(u.rest)+utf8.UTFMax <= len(u.buf) {
		unit, err := u.unit()
		switch {
		case errors.Is(err, io.EOF) && len(u.rest) > 0:
			return nil
		case errors.Is(err, io.EOF):
			return io.EOF
		case errors.Is(err, io.ErrUnexpectedEOF): // an odd byte at the end
			_, _ = u.in.Discard(1)
			u.rest = append(u.rest, 0xFF)
			return nil
		case err != nil:
			return err
		}
		r := rune(unit)
		if utf16.IsSurrogate(r) {
			if r = u.pair(r); r == utf8.RuneError {
				u.rest = append(u.rest, 0xFF)
				continue
			}
		}
		u.rest = utf8.AppendRune(u.rest, r)
	}
	return nil
}

// unit reads one code unit.
func (u *utf16Reader) unit() (uint16, error) {
	b, err := u.in.Peek(2)
	switch {
	case len(b) == 2:
		_, _ = u.in.Discard(2)
		return u.order.Uint16(b), nil
	case errors.Is(err, io.EOF) && len(b) == 1:
		return 0, io.ErrUnexpectedEOF
	}
	return 0, err
}

// pair reads the second half of a pair of surrogates, and gives RuneError
// where none stands there.
func (u *utf16Reader) pair(first rune) rune {
	b, _ := u.in.Peek(2) // an error comes again with the next unit
	if len(b) < 2 {
		return utf8.RuneError
	}
	r := utf16.DecodeRune(first, rune(u.order.Uint16(b)))
	if r != utf8.RuneError {
		_, _ = u.in.Discard(2)
	}
	return r
}
