package table

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// MaxListed is how many faults are listed; the rest are counted.
const MaxListed = 1000

// mostShown is how many characters of a cell a fault shows.
const mostShown = 64

// Fault is one thing that is wrong with a file.
type Fault struct {
	// File is its name, as "dampers.csv".
	File string
	// Line is where the cell begins, from 1; 0 for the file as a whole.
	Line int
	// Column is the name of the column, "" for the row as a whole.
	Column string
	// Value is what stands there, cut short where it is long.
	Value string
	// Code is a short constant name in snake_case that software can act on.
	Code string
	// Detail says what is wrong and Cure what to do, each in one English
	// sentence without a full stop.
	Detail, Cure string
}

// String gives the fault as one line.
func (f Fault) String() string {
	var b strings.Builder
	b.WriteString(f.File)
	if f.Line > 0 {
		b.WriteString(":" + strconv.Itoa(f.Line))
	}
	b.WriteString(": ")
	if f.Column != "" {
		b.WriteString(f.Column + ": ")
	}
	if f.Value != "" {
		b.WriteString(strconv.Quote(f.Value) + ": ")
	}
	b.WriteString(f.Detail + "; " + f.Cure)
	return b.String()
}

// Faults collects what is wrong with the files of one catalogue. The zero
// value is ready for use.
type Faults struct {
	// List has the first MaxListed of them in the order of reading.
	List []Fault
	// More is how many there are beyond those.
	More int
}

// Error gives the faults, one a line.
func (f *Faults) Error() string {
	lines := make([]string, 0, len(f.List)+1)
	for _, one := range f.List {
		lines = append(lines, one.String())
	}
	if f.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", f.More))
	}
	return strings.Join(lines, "\n")
}

// Err gives the faults as an error, or nil where there are none.
func (f *Faults) Err() error {
	if len(f.List) == 0 {
		return nil
	}
	return f
}

func (f *Faults) add(one Fault) {
	if len(f.List) == MaxListed {
		f.More++
		return
	}
	one.Value = shortened(one.Value)
	f.List = append(f.List, one)
}

// shortened copies what a fault shows of a cell, as valid UTF-8.
func shortened(text string) string {
	short, n := text, 0
	for i := range text {
		if n == mostShown {
			short = text[:i] + "…"
			break
		}
		n++
	}
	if !utf8.ValidString(short) {
		return strings.ToValidUTF8(short, "\ufffd")
	}
	return strings.Clone(short)
}

// trouble is what is wrong with a cell or a row, not yet with its place.
type trouble struct{ code, detail, cure string }
