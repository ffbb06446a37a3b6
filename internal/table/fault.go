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
	// File is its name, as "dampers.csv"; of a file in an archive
	// "parts.zip/dampers.csv".
	File string
	// Sheet is the name of a workbook's sheet, "" elsewhere.
	Sheet string
	// Line is where the cell begins, from 1, in a workbook its row; 0 for the
	// file or the sheet as a whole.
	Line int
	// Cell is what a workbook calls the cell, as "C7", "" elsewhere.
	Cell string
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
	switch {
	case f.Sheet != "":
		b.WriteString(", sheet " + f.Sheet)
		if f.Cell != "" {
			b.WriteString(", " + f.Cell)
		} else if f.Line > 0 {
			b.WriteString(", row " + strconv.Itoa(f.Line))
		}
	case f.Line > 0:
		b.WriteString(":" + strconv.Itoa(f.Line))
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
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

// An origin is the table that a row stands in.
type origin struct{ file, sheet string }

// A spot is where something stands in a table: its line and in a workbook its
// column, both from 1, 0 where there is none.
type spot struct{ line, column int }

// cell gives what a workbook calls the cell that stands there.
func (s spot) cell() string {
	if s.column == 0 {
		return ""
	}
	return columnLetters(s.column) + strconv.Itoa(s.line)
}

// columnLetters names a workbook's column, from 1: A, Z, AA.
func columnLetters(n int) string {
	var b [8]byte
	i := len(b)
	for ; n > 0; n = (n - 1) / 26 {
		i--
		b[i] = byte('A' + (n-1)%26)
	}
	return string(b[i:])
}

func (o origin) fault(at spot, column, value string, t trouble) Fault {
	return Fault{
		File: o.file, Sheet: o.sheet, Line: at.line, Cell: at.cell(), Column: column, Value: value,
		Code: t.code, Detail: t.detail, Cure: t.cure,
	}
}

// row names a row of the table for people who read of another one: of
// another table where from isn't o.
func (o origin) row(line int, from origin) string {
	word := "line "
	if o.sheet != "" {
		word = "row "
	}
	word += strconv.Itoa(line)
	switch {
	case o == from:
		return word
	case o.sheet != "" && o.file == from.file:
		return word + " of sheet " + o.sheet
	case o.sheet != "":
		return word + " of sheet " + o.sheet + " in " + o.file
	}
	return word + " of " + o.file
}
