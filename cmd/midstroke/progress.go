package main

import (
	"fmt"
	"io"
	"time"
)

// progress shows on a terminal how far an import is: the rows read, the rows per
// second, and the time left. On anything else it shows nothing.
type progress struct {
	to    io.Writer // nil where it isn't a terminal
	start time.Time
	last  time.Time
	shown bool
}

// progressEvery is the time between two updates.
const progressEvery = 200 * time.Millisecond

func newProgress(to io.Writer) *progress {
	p := &progress{start: time.Now()}
	if isTerminal(to) {
		p.to = to
	}
	return p
}

// Reading shows that so many rows were read from so many of the total bytes.
func (p *progress) Reading(rows, bytes, total int64) {
	now := time.Now()
	if p.to == nil || now.Sub(p.last) < progressEvery {
		return
	}
	p.last, p.shown = now, true
	fmt.Fprintf(p.to, "\r%s\x1b[K", progressLine(now.Sub(p.start), rows, bytes, total))
}

// done ends the line.
func (p *progress) done() {
	if p.shown {
		fmt.Fprintln(p.to)
	}
}

func progressLine(taken time.Duration, rows, bytes, total int64) string {
	line := fmt.Sprintf("checked %d rows", rows)
	if seconds := taken.Seconds(); seconds > 0 {
		line += fmt.Sprintf(", %.0f per second", float64(rows)/seconds)
	}
	if bytes > 0 && bytes <= total {
		left := time.Duration(float64(taken) * float64(total-bytes) / float64(bytes))
		line += fmt.Sprintf(", %d %%, %s left", 100*bytes/total, left.Round(time.Second))
	}
	return line
}
