// Package logbuffer writes log lines in the background, so that no caller waits
// while the log is read slowly. A bounded number of bytes is kept until it can be
// written. Lines beyond that are lost. They are counted, and a line of the log says
// how many there were.
package logbuffer

import (
	"io"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"
)

// defaultMost is how many bytes wait to be written: some 4,000 lines.
const defaultMost = 1 << 20

// Buffer is the writer of a log. Each Write is one line. It is safe for
// concurrent use.
type Buffer struct {
	out  io.Writer
	most int
	lost atomic.Int64 // of all time

	mu      sync.Mutex
	waiting []byte
	untold  int // lost lines that the log hasn't mentioned yet
	closed  bool

	wake    chan struct{}
	closing chan struct{}
	written chan struct{} // closed when everything is written after Close
}

// New makes a buffer for out and begins to write. most is how many bytes may
// wait; 0 stands for 1 MiB.
func New(out io.Writer, most int) *Buffer {
	if most == 0 {
		most = defaultMost
	}
	b := &Buffer{out: out, most: most, wake: make(chan struct{}, 1), closing: make(chan struct{}), written: make(chan struct{})}
	go b.run()
	return b
}

// Write takes one line. It never waits and never fails.
func (b *Buffer) Write(line []byte) (int, error) {
	b.mu.Lock()
	if b.closed || len(b.waiting)+len(line) > b.most {
		b.lost.Add(1)
		b.untold++
	} else {
		b.waiting = append(b.waiting, line...)
	}
	b.mu.Unlock()
	b.awake()
	return len(line), nil
}

// Lost says how many lines were lost since the start.
func (b *Buffer) Lost() int64 { return b.lost.Load() }

// Close waits at most that long until everything is written. Lines that come
// later are lost.
func (b *Buffer) Close(most time.Duration) {
	b.mu.Lock()
	if !b.closed {
		b.closed = true
		close(b.closing)
	}
	b.mu.Unlock()
	b.awake()
	select {
	case <-b.written:
	case <-time.After(most):
	}
}

func (b *Buffer) awake() {
	select {
	case b.wake <- struct{}{}:
	default: // it is awake already
	}
}

// run writes what waits until the buffer is closed.
func (b *Buffer) run() {
	defer close(b.written)
	// This line goes to the output directly, since the buffer may still be full.
	direct := slog.New(slog.NewJSONHandler(b.out, nil))
	var batch []byte
	for range b.wake {
		b.gather()
		for {
			var lost int
			var closed bool
			batch, lost, closed = b.take(batch)
			if len(batch) == 0 && lost == 0 {
				if closed {
					return
				}
				break
			}
			if _, err := b.out.Write(batch); err != nil {
				b.lose(lines(batch), lost)
				if closed {
					return
				}
				break // the next line tries again
			}
			if lost > 0 {
				direct.Warn("lines of this log were lost, because it wasn't read fast enough", "lines", lost)
			}
		}
	}
}

// gatherTime is how long lines are gathered, so that many are written at once. To
// write each by itself costs more than all else that is done for a line.
const gatherTime = 10 * time.Millisecond

// gather waits for further lines, but not while the buffer is being closed.
func (b *Buffer) gather() {
	select {
	case <-time.After(gatherTime):
	case <-b.closing:
	}
}

// take exchanges an empty batch for what waits, and says how many lines were
// lost after those.
func (b *Buffer) take(empty []byte) (batch []byte, lost int, closed bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	batch, lost = b.waiting, b.untold
	b.waiting, b.untold = empty[:0], 0
	return batch, lost, b.closed
}

// lose counts lines that couldn't be written, and before lost lines that the log
// still has to mention.
func (b *Buffer) lose(written, before int) {
	b.lost.Add(int64(written))
	b.mu.Lock()
	b.untold += written + before
	b.mu.Unlock()
}

func lines(batch []byte) (n int) {
	for _, c := range batch {
		if c == '\n' {
			n++
		}
	}
	return n
}
