package table

import (
	"errors"
	"io"
)

// Progress is told how far a reading has come: the rows so far, and how many bytes of
// the files have been read.
type Progress interface {
	// Reading is called every few thousand rows, which is some hundred times a
	// second at most, and at the end, always from the goroutine that reads.
	Reading(rows, bytes, total int64)
}

// rowsBetweenTicks is how many rows are read between two calls of tick. It takes some
// milliseconds to read them.
const rowsBetweenTicks = 1 << 12

// A meter tells how far a reading of several files has come.
type meter struct {
	reading  *reading
	progress Progress
	total    int64
	done     int64 // bytes of the files that have been read
	file     *counted
}

// open begins to count what is read of a file. The file before it has been read.
func (m *meter) open(f File) *counted {
	m.close()
	m.file = &counted{in: f.Data, size: f.Size}
	return m.file
}

func (m *meter) close() {
	if m.file != nil {
		m.done += m.file.size
		m.file = nil
	}
}

func (m *meter) tell() {
	if m.progress == nil {
		return
	}
	done := m.done
	if m.file != nil {
		// Parts of an archive are read twice.
		done += min(m.file.read, m.file.size)
	}
	m.progress.Reading(m.reading.rows, done, m.total)
}

// A counted file counts what is read of it. It keeps an error of reading, so that this
// can be told from a fault in the file.
type counted struct {
	in   io.ReaderAt
	size int64
	read int64
	// bounded says that no more than left may be read.
	bounded bool
	left    int64
	err     error
}

// errTooMuch says that a limit of bytes was reached.
var errTooMuch = errors.New("more would be read than is allowed")

// ReadAt reads from the file.
func (c *counted) ReadAt(p []byte, at int64) (int, error) {
	if at < 0 || at >= c.size { // a wrong directory of an archive may point there
		return 0, io.EOF
	}
	if c.bounded {
		if c.left -= int64(len(p)); c.left < 0 {
			c.err = errTooMuch
			return 0, c.err
		}
	}
	n, err := c.in.ReadAt(p, at)
	c.read += int64(n)
	if err != nil && !errors.Is(err, io.EOF) {
		c.err = err
	}
	return n, err
}
