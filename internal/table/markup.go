package table

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"strconv"
	"unicode/utf8"
)

// A markup walks over the XML of a workbook, tag by tag, in constant memory
// and without an allocation a tag, which encoding/xml doesn't: a sheet has
// five tags a cell. Of names it looks at what stands behind their prefix. It
// leaves open whether tags match; a part that ends before its root does is
// found by who reads it.
type markup struct {
	in *bufio.Reader
	// inTag says that the < of the next tag has been read.
	inTag bool
	buf   []byte // a tag that the reader's buffer doesn't hold whole
	raw   []byte // text before its entities are resolved

	// The present tag. The slices are good until the next read.
	name       []byte
	attributes []byte
	closing    bool // </name>
	empty      bool // <name/>
}

// mostTagBytes bounds one tag; those of a workbook have some hundred.
const mostTagBytes = 64 << 10

// errMarkup says that a part isn't the XML that workbooks are made of.
var errMarkup = errors.New("not the XML of a workbook")

func newMarkup(r io.Reader) (*markup, error) {
	in, err := decoded(bufio.NewReaderSize(r, bufferBytes))
	return &markup{in: in}, err
}

// opens says whether the present tag opens an element of that name.
func (m *markup) opens(name string) bool { return !m.closing && string(m.name) == name }

// closes says whether the present tag ends an element of that name. An empty
// element ends in its only tag.
func (m *markup) closes(name string) bool { return (m.closing || m.empty) && string(m.name) == name }

// tag passes over text to the next tag, io.EOF after the last.
func (m *markup) tag() error {
	for {
		if !m.inTag {
			if err := m.skipTo('<'); err != nil {
				return err
			}
		}
		m.inTag = false
		special, err := m.special()
		if err != nil {
			return err
		}
		if special == nothing {
			return m.readTag()
		}
		if special == characters {
			if err := m.until("]]>", nil); err != nil {
				return err
			}
		}
	}
}

// A special is what < may begin in place of a tag.
type special uint8

const (
	nothing special = iota
	passedOver
	characters // a CDATA section, whose beginning has been read
)

// special passes over comments and instructions, behind whose < the reader
// stands. A document type is refused, as ECMA-376-2 does: it could define
// entities that grow without end.
func (m *markup) special() (special, error) {
	next, _ := m.in.Peek(1) // an error comes again
	if len(next) == 0 || next[0] != '!' && next[0] != '?' {
		return nothing, nil
	}
	if next[0] == '?' {
		return passedOver, m.until("?>", nil)
	}
	const comment, section = "!--", "![CDATA["
	next, _ = m.in.Peek(len(section))
	switch {
	case bytes.HasPrefix(next, []byte(comment)):
		_, _ = m.in.Discard(len(comment)) // it was peeked at, as below
		return passedOver, m.until("-->", nil)
	case bytes.HasPrefix(next, []byte(section)):
		_, _ = m.in.Discard(len(section))
		return characters, nil
	}
	return nothing, errMarkup
}

// skipTo passes over everything up to a byte and the byte.
func (m *markup) skipTo(b byte) error {
	for {
		_, err := m.in.ReadSlice(b)
		if !errors.Is(err, bufio.ErrBufferFull) {
			return err
		}
	}
}

// until passes over everything up to an end of at most three bytes, and over
// the end. Where keep isn't nil what was passed over is appended to it.
func (m *markup) until(end string, keep *[]byte) error {
	var tail [3]byte // the last bytes
	for {
		part, err := m.in.ReadSlice(end[len(end)-1])
		if keep != nil {
			if len(*keep)+len(part) > mostRowBytes {
				return errRowTooLong
			}
			*keep = append(*keep, part...)
		}
		for _, b := range part[max(0, len(part)-len(tail)):] {
			tail[0], tail[1], tail[2] = tail[1], tail[2], b
		}
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
		case err != nil:
			return unexpected(err)
		case string(tail[len(tail)-len(end):]) == end:
			if keep != nil {
				*keep = (*keep)[:len(*keep)-len(end)]
			}
			return nil
		}
	}
}

// readTag reads a tag, behind whose < the reader stands.
func (m *markup) readTag() error {
	text, err := m.in.ReadSlice('>')
	if err != nil || !quotesClosed(text) {
		if text, err = m.longTag(text, err); err != nil {
			return err
		}
	}
	text = text[:len(text)-1]
	m.closing, m.empty = false, false
	if len(text) > 0 && text[0] == '/' {
		m.closing, text = true, text[1:]
	} else if len(text) > 0 && text[len(text)-1] == '/' {
		m.empty, text = true, text[:len(text)-1]
	}
	m.name, m.attributes = cutName(text)
	if len(m.name) == 0 {
		return errMarkup
	}
	return nil
}

// longTag reads on in a tag that the buffer doesn't hold whole, or in which a
// > stands within quotes.
func (m *markup) longTag(text []byte, err error) ([]byte, error) {
	m.buf = append(m.buf[:0], text...)
	for {
		switch {
		case err == nil && quotesClosed(m.buf):
			return m.buf, nil
		case err != nil && !errors.Is(err, bufio.ErrBufferFull):
			return nil, unexpected(err)
		case len(m.buf) > mostTagBytes:
			return nil, errMarkup
		}
		text, err = m.in.ReadSlice('>')
		m.buf = append(m.buf, text...)
	}
}

// quotesClosed says whether no quoted value is open at the end of a tag.
func quotesClosed(tag []byte) bool {
	if bytes.IndexByte(tag, '\'') < 0 {
		return bytes.Count(tag, []byte{'"'})%2 == 0
	}
	var open byte
	for _, b := range tag {
		switch {
		case open == 0 && (b == '"' || b == '\''):
			open = b
		case b == open:
			open = 0
		}
	}
	return open == 0
}

// cutName gives the name that text begins with, without its prefix, and what
// stands behind it.
func cutName(text []byte) (name, rest []byte) {
	start, end := 0, 0
	for end < len(text) && text[end] > ' ' && text[end] != '=' {
		if end++; text[end-1] == ':' {
			start = end
		}
	}
	return text[start:end], text[end:]
}

// cutAttribute gives the first attribute of a tag and what stands behind it.
// It is not ok where there is none.
func cutAttribute(text []byte) (name, value, rest []byte, ok bool) {
	name, rest = cutName(pastBlanks(text))
	rest = pastBlanks(rest)
	if len(name) == 0 || len(rest) == 0 || rest[0] != '=' {
		return nil, nil, nil, false
	}
	rest = pastBlanks(rest[1:])
	if len(rest) == 0 || rest[0] != '"' && rest[0] != '\'' {
		return nil, nil, nil, false
	}
	for end := 1; end < len(rest); end++ {
		if rest[end] == rest[0] {
			return name, rest[1:end], rest[end+1:], true
		}
	}
	return nil, nil, nil, false
}

func pastBlanks(text []byte) []byte {
	i := 0
	for i < len(text) && text[i] <= ' ' {
		i++
	}
	return text[i:]
}

// attribute gives the value of an attribute, nil where there is none.
func (m *markup) attribute(name string) []byte {
	for found, value, rest, ok := cutAttribute(m.attributes); ok; found, value, rest, ok = cutAttribute(rest) {
		if string(found) != name {
			continue
		}
		if bytes.IndexByte(value, '&') < 0 {
			return value
		}
		return resolved(nil, value)
	}
	return nil
}

// text appends the text up to the next tag. It is at most mostRowBytes.
func (m *markup) text(b []byte) ([]byte, error) {
	for {
		m.raw = m.raw[:0]
		for {
			part, err := m.in.ReadSlice('<')
			if len(b)+len(m.raw)+len(part) > mostRowBytes {
				return b, errRowTooLong
			}
			m.raw = append(m.raw, part...)
			if err == nil {
				break
			}
			if !errors.Is(err, bufio.ErrBufferFull) {
				return b, unexpected(err)
			}
		}
		if b = resolved(b, m.raw[:len(m.raw)-1]); b == nil {
			return nil, errMarkup
		}
		special, err := m.special()
		switch {
		case err != nil:
			return b, err
		case special == nothing:
			m.inTag = true
			return b, nil
		case special == characters:
			if err := m.until("]]>", &b); err != nil {
				return b, err
			}
		}
	}
}

// resolved appends a text whose entities it resolves and whose line ends it
// makes LF (XML 1.0, sections 2.11 and 4.6). It gives nil where an entity
// isn't known.
func resolved(b, raw []byte) []byte {
	if b == nil {
		b = []byte{}
	}
	if bytes.IndexByte(raw, '&') < 0 && bytes.IndexByte(raw, '\r') < 0 {
		return append(b, raw...)
	}
	for {
		i := bytes.IndexAny(raw, "&\r")
		if i < 0 {
			return append(b, raw...)
		}
		b = append(b, raw[:i]...)
		if raw[i] == '\r' {
			b = append(b, '\n')
			if raw = raw[i+1:]; len(raw) > 0 && raw[0] == '\n' {
				raw = raw[1:]
			}
			continue
		}
		end := bytes.IndexByte(raw[i:], ';')
		if end < 0 {
			return nil
		}
		c, ok := entity(string(raw[i+1 : i+end]))
		if !ok {
			return nil
		}
		b = utf8.AppendRune(b, c)
		raw = raw[i+end+1:]
	}
}

// entity gives the character that an entity stands for.
func entity(name string) (rune, bool) {
	switch name {
	case "lt":
		return '<', true
	case "gt":
		return '>', true
	case "amp":
		return '&', true
	case "quot":
		return '"', true
	case "apos":
		return '\'', true
	}
	if len(name) < 2 || name[0] != '#' {
		return 0, false
	}
	base, digits := 10, name[1:]
	if digits[0] == 'x' {
		base, digits = 16, digits[1:]
	}
	n, err := strconv.ParseUint(digits, base, 21)
	if err != nil || !utf8.ValidRune(rune(n)) || n == 0 {
		return 0, false
	}
	return rune(n), true
}
