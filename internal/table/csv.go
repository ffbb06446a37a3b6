package table

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
)

// mostRowBytes bounds what one row may hold, so that a quote which is never
// closed doesn't take a whole file into memory.
const mostRowBytes = 1 << 20

// errRowTooLong says that a row is longer than mostRowBytes.
var errRowTooLong = errors.New("row too long")

// errNotUTF8 says that a file is in another encoding.
var errNotUTF8 = errors.New("not UTF-8")

// errLineEnds says that a file's lines end with CR alone.
var errLineEnds = errors.New("lines end with CR alone")

// rows walks over the rows of one CSV file.
type rows struct {
	meter *meter
	csv   *csv.Reader
	last  int // where the last row that was read begins
	err   error
}

// openRows finds out how a file is written: it passes over a byte order mark
// and takes the delimiter from the first line. An error comes with the first
// row.
func openRows(r io.Reader) *rows {
	const window = 16 << 10 // no header is longer
	in := bufio.NewReaderSize(r, window)
	head, err := in.Peek(window)
	if errors.Is(err, io.EOF) {
		err = nil
	}
	if mark := []byte("\uFEFF"); bytes.HasPrefix(head, mark) {
		head = head[len(mark):]
		_, _ = in.Discard(len(mark)) // can't fail: it was peeked at
	}
	switch {
	case err != nil:
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}), bytes.HasPrefix(head, []byte{0xFE, 0xFF}), bytes.IndexByte(head, 0) >= 0:
		err = errNotUTF8 // UTF-16 begins with its own mark or is half noughts
	case bytes.IndexByte(head, '\n') < 0 && bytes.IndexByte(head, '\r') >= 0:
		err = errLineEnds
	}
	m := &meter{in: in, left: mostRowBytes}
	c := csv.NewReader(m)
	c.Comma = delimiter(head)
	c.FieldsPerRecord = -1
	c.TrimLeadingSpace = c.Comma != '\t' // a blank before a quote is no fault
	c.ReuseRecord = true
	return &rows{meter: m, csv: c, last: 1, err: err}
}

// delimiter gives what parts the cells of the first line: whichever of comma,
// semicolon and tab stands there most often outside quotes.
func delimiter(head []byte) rune {
	var commas, semicolons, tabs int
	quoted := false
scan:
	for _, b := range head {
		switch {
		case b == '"':
			quoted = !quoted
		case quoted:
		case b == ',':
			commas++
		case b == ';':
			semicolons++
		case b == '\t':
			tabs++
		case b == '\n':
			break scan
		}
	}
	switch {
	case semicolons > commas && semicolons >= tabs:
		return ';'
	case tabs > commas:
		return '\t'
	}
	return ','
}

// next gives the next row, io.EOF after the last. The slice is good until the
// next call; its texts share one allocation. A row that isn't CSV gives a
// *csv.ParseError, and reading can go on after it.
func (r *rows) next() ([]string, error) {
	if r.err != nil {
		return nil, r.err
	}
	cells, err := r.csv.Read()
	r.meter.left = mostRowBytes
	if err == nil {
		r.last = r.line(0)
	}
	return cells, err
}

// line gives where the cell at a place of the last row begins.
func (r *rows) line(place int) int {
	line, _ := r.csv.FieldPos(place)
	return line
}

// A meter stops a reader that takes too much before left is filled up again.
type meter struct {
	in   io.Reader
	left int
}

// Read reads on while the row may still grow.
func (m *meter) Read(p []byte) (int, error) {
	if m.left <= 0 {
		return 0, errRowTooLong
	}
	n, err := m.in.Read(p)
	m.left -= n
	return n, err
}

// broken puts in words what is wrong with one row, after which reading can go
// on.
func broken(err error) (t trouble, line int, ok bool) {
	var parse *csv.ParseError
	switch {
	case !errors.As(err, &parse):
		return trouble{}, 0, false
	case errors.Is(parse.Err, csv.ErrBareQuote):
		return trouble{
			code:   "quote_bare",
			detail: "a quote stands inside a cell that isn't quoted",
			cure:   `put the whole cell in quotes and double those within, as in "17 1/4"""`,
		}, parse.Line, true
	}
	return trouble{
		code:   "quote_open",
		detail: "a quoted cell doesn't end with its quote",
		cure:   `close the quote, and double those within, as in "17 1/4"""`,
	}, parse.StartLine, true
}

// given puts in words why a file can't be read any further, where it is the
// file's fault.
func (r *rows) given(err error) (t trouble, line int, ok bool) {
	switch {
	case errors.Is(err, errNotUTF8):
		return notUTF8(), 0, true
	case errors.Is(err, errLineEnds):
		return trouble{
			code:   "line_ends",
			detail: "the lines of this file end in the way of old Macintosh files",
			cure:   `save the file again as "CSV UTF-8"`,
		}, 0, true
	case errors.Is(err, errRowTooLong):
		return trouble{
			code:   "row_too_long",
			detail: "the row after the one on this line is longer than 1 MiB",
			cure:   "look for a quote that is never closed",
		}, r.last, true
	}
	return broken(err)
}

func notUTF8() trouble {
	return trouble{
		code:   "not_utf8",
		detail: "this isn't written in UTF-8",
		cure:   `save the file again as "CSV UTF-8"`,
	}
}
