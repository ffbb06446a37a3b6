package table

import (
	"bufio"
	"errors"
	"io"

	"midstroke/internal/fault"
)

// mostRowBytes is the greatest length of a row. Without it a quote that is never
// closed would take a whole file into memory.
const mostRowBytes = 1 << 20

// errRowTooLong says that a row is longer than mostRowBytes.
var errRowTooLong = errors.New("row too long")

// A lineReader reads the lines of a text.
type lineReader struct {
	in      *bufio.Reader
	lines   int  // lines read so far
	unended bool // the last line doesn't end with a line end
}

// appendLine appends the next line to b with its LF, if it has one; io.EOF after
// the last line. It gives errRowTooLong where b would be too long for a row.
func (r *lineReader) appendLine(b []byte) ([]byte, error) {
	before := len(b)
	for {
		part, err := r.in.ReadSlice('\n')
		if len(b)+len(part) > mostRowBytes {
			return b, errRowTooLong
		}
		b = append(b, part...)
		switch {
		case err == nil:
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case errors.Is(err, io.EOF) && len(b) > before:
			r.unended = true
		default:
			return b, err
		}
		r.lines++
		return b, nil
	}
}

// A source gives the rows of one table, one at a time, from any form of file.
type source interface {
	rowInfo
	// next gives the cells of the next row without blanks around them, and io.EOF
	// after the last row. The cells may be used until the next call. A *fileError is a
	// fault of the file; with any other error the file couldn't be read.
	next() ([]string, error)
}

// A rowInfo describes the row that a source gave last.
type rowInfo interface {
	// at gives the position of the cell at a place, or of the row for wholeRow.
	at(place int) position
	// odd lists the cells that hold no plain value, such as a date.
	odd() []oddCell
	// bare says whether a cell that begins like a formula lacks the apostrophe that
	// would make it a text.
	bare(place int) bool
}

// wholeRow is the place of a row as a whole.
const wholeRow = -1

// An oddCell is a cell that holds no plain value.
type oddCell struct {
	place int
	fault *fault.Fault
}

// A rowText collects the cells of a row in one text, to save allocations.
type rowText struct {
	text  []byte
	ends  []int
	cells []string
}

func (l *rowText) reset() { l.text, l.ends = l.text[:0], l.ends[:0] }

// end ends the cell to which text was appended.
func (l *rowText) end() { l.ends = append(l.ends, len(l.text)) }

// cut gives the cells. The slice may be used until the next call, the texts in it
// for any time.
func (l *rowText) cut() []string {
	text, start := string(l.text), 0
	l.cells = l.cells[:0]
	for _, end := range l.ends {
		l.cells = append(l.cells, text[start:end])
		start = end
	}
	return l.cells
}
