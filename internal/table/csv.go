package table

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"strings"

	"midstroke/internal/fault"
)

// csvRows are the rows of one CSV file. It reads what RFC 4180 says and a
// little more: another delimiter, blanks around quotes, blank lines, lines
// that end with LF alone. It differs from encoding/csv in that it bounds what
// a row may hold, and in what it costs: one allocation a row.
type csvRows struct {
	lineReader
	comma byte
	err   error // that comes with the first row
	start int   // the line on which the present row begins
	width int   // cells of the first row

	record []byte // the present row, its lines ended by LF alone
	fields []field
	cells  []string
}

// A field is a cell's place in the record, without its quotes.
type field struct {
	start, end int
	// doubled says that quotes stand in it, each written twice.
	doubled bool
}

// newCSVRows finds out how a file is written: it takes the delimiter from the
// first line. in is past its byte order mark, and its buffer holds any header.
func newCSVRows(in *bufio.Reader) *csvRows {
	r := &csvRows{lineReader: lineReader{in: in}}
	head, err := in.Peek(in.Size())
	switch {
	case err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, bufio.ErrBufferFull):
		r.err = err
	case bytes.IndexByte(head, '\n') < 0 && bytes.IndexByte(head, '\r') >= 0:
		r.err = unreadable(lineEnds)
	}
	first, _, _ := bytes.Cut(head, []byte{'\n'})
	if comma, ok := declared(first); ok {
		r.comma = comma
		_, _ = in.Discard(min(len(first)+1, len(head))) // can't fail: it was peeked at
		r.lines++
		return r
	}
	r.comma = delimiter(first)
	return r
}

// declared reads a first line such as "sep=;", which some spreadsheets write
// and take as the delimiter's name.
func declared(first []byte) (comma byte, ok bool) {
	name, ok := bytes.CutPrefix(bytes.TrimRight(first, "\r"), []byte("sep="))
	if !ok || len(name) != 1 || name[0] != ',' && name[0] != ';' && name[0] != '\t' {
		return 0, false
	}
	return name[0], true
}

// delimiter gives what separates the cells of the first line: the comma, the
// semicolon or the tab, whichever stands there most often outside quotes.
func delimiter(first []byte) byte {
	var count [256]int
	quoted := false
	for _, b := range first {
		if b == '"' {
			quoted = !quoted
		} else if !quoted {
			count[b]++
		}
	}
	switch commas, semicolons, tabs := count[','], count[';'], count['\t']; {
	case semicolons > commas && semicolons >= tabs:
		return ';'
	case tabs > commas:
		return '\t'
	}
	return ','
}

// next passes over blank lines.
func (r *csvRows) next() ([]string, error) {
	if r.err != nil {
		return nil, r.err
	}
	for {
		r.record, r.fields = r.record[:0], r.fields[:0]
		r.start = r.lines + 1
		if err := r.more(); err != nil {
			return nil, r.failed(err)
		}
		if r.record[0] != '\n' {
			break
		}
	}
	if err := r.split(); err != nil {
		return nil, r.failed(err)
	}
	if r.width == 0 {
		r.width = len(r.fields)
	}
	if r.unended && len(r.fields) < r.width {
		return nil, r.bad(cutShort)
	}
	r.cut()
	return r.cells, nil
}

// more appends one line of the file to the record, ended by LF.
func (r *csvRows) more() (err error) {
	before := len(r.record)
	if r.record, err = r.appendLine(r.record); err != nil {
		return err
	}
	if r.unended {
		r.record = append(r.record, '\n')
	}
	if n := len(r.record); n-before >= 2 && r.record[n-2] == '\r' {
		r.record = append(r.record[:n-2], '\n')
	}
	return nil
}

// failed says why no row came, where it is the file's fault.
func (r *csvRows) failed(err error) error {
	if !errors.Is(err, errRowTooLong) {
		return err
	}
	return &fileError{Fault: *problem(rowTooLong), position: r.at(wholeRow), last: true}
}

// split finds the fields of the record, which grows where a quoted cell goes
// on over a line end.
func (r *csvRows) split() error {
	for i := 0; ; i++ {
		i += blanksBefore(r.record[i:], r.comma)
		if r.record[i] == '"' {
			end, err := r.quoted(i + 1)
			if err != nil {
				return err
			}
			i = end
		} else {
			start := i
			for r.record[i] != r.comma && r.record[i] != '\n' {
				if r.record[i] == '"' {
					return r.bad(quoteBare)
				}
				i++
			}
			r.fields = append(r.fields, field{start: start, end: i})
		}
		if r.record[i] == '\n' {
			return nil
		}
	}
}

// quoted finds the field that begins at start, behind its quote, and gives
// where the delimiter or the line's end behind it stands.
func (r *csvRows) quoted(start int) (int, error) {
	doubled := false
	for i := start; ; {
		quote := bytes.IndexByte(r.record[i:], '"')
		if quote < 0 {
			i = len(r.record)
			if err := r.more(); errors.Is(err, io.EOF) {
				return 0, r.bad(quoteOpen)
			} else if err != nil {
				return 0, err
			}
			continue
		}
		end := i + quote
		if r.record[end+1] == '"' { // a line end stands behind every quote
			doubled = true
			i = end + 2
			continue
		}
		r.fields = append(r.fields, field{start, end, doubled})
		i = end + 1 + blanksBefore(r.record[end+1:], r.comma)
		if r.record[i] != r.comma && r.record[i] != '\n' {
			return 0, r.bad(quoteOpen)
		}
		return i, nil
	}
}

// blanksBefore counts the blanks at the beginning of b. A tab that separates
// cells is no blank.
func blanksBefore(b []byte, comma byte) int {
	i := 0
	for b[i] == ' ' || b[i] == '\t' && comma != '\t' {
		i++
	}
	return i
}

// bad says what is wrong with the present row.
func (r *csvRows) bad(code fault.Code) error {
	return &fileError{Fault: *problem(code), position: position{line: r.start}}
}

// cut takes the cells out of the record; their texts share one allocation.
func (r *csvRows) cut() {
	text := string(r.record)
	r.cells = r.cells[:0]
	for _, f := range r.fields {
		one := text[f.start:f.end]
		if f.doubled {
			one = strings.ReplaceAll(one, `""`, `"`)
		}
		r.cells = append(r.cells, tidy(one))
	}
}

// at gives the line on which a cell begins.
func (r *csvRows) at(place int) position {
	if place < 0 || place >= len(r.fields) {
		return position{line: r.start}
	}
	return position{line: r.start + bytes.Count(r.record[:r.fields[place].start], []byte{'\n'})}
}

func (r *csvRows) odd() []oddCell { return nil }

func (r *csvRows) bare(place int) bool {
	cell := bytes.TrimSpace(r.record[r.fields[place].start:r.fields[place].end])
	return len(cell) > 0 && cell[0] != '\''
}
