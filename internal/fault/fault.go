// Package fault says what is wrong with what a caller sent, and where. All
// faults of a request or of a file are collected before any is reported. A
// fault has a code and values; its words stand in the message files of package
// note, in every language.
package fault

import (
	"strconv"
	"strings"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Code names a sort of fault, as "out_of_range" or "out_of_range.load". Software
// acts on the part before the first full stop; the whole finds the words.
// Each package states its codes as constants.
type Code string

// Public gives the part of the code that the contract tells callers of.
func (c Code) Public() string {
	public, _, _ := strings.Cut(string(c), ".")
	return public
}

// Place says where a fault stands: at a pointer in a body, at a parameter of a
// query, or in a file. What doesn't apply is empty.
type Place struct {
	// Pointer is the RFC 6901 pointer into a body, "" for the whole of it.
	Pointer string
	// Parameter is the name of a query's parameter or of a flat request's column.
	Parameter string
	// File is a file's name, as "dampers.csv"; in an archive
	// "parts.zip/dampers.csv". Sheet is a workbook's sheet.
	File, Sheet string
	// Line counts from 1, in a workbook it is the row; 0 stands for the whole.
	Line int
	// Cell is a workbook's name for the cell, as "C7".
	Cell string
	// Column is the column's name, "" for the row as a whole.
	Column string
	// Value is what the caller wrote there, cut short where it is long.
	Value string
	// Item says that Value is one of several under the same name.
	Item bool
}

// Text names the place in lang: "dampers.csv:2: upper_bore", "parts.xlsx, sheet
// dampers, C7: compressed", a parameter, one of its several values, or a
// pointer. It is "" for the whole of a request.
func (p *Place) Text(lang string) string {
	switch {
	case p.File == "" && p.Item:
		return p.Parameter + " " + strconv.Quote(p.Value)
	case p.File == "" && p.Sheet == "" && p.Column == "":
		return p.Parameter + p.Pointer
	}
	at := p.File
	switch {
	case p.Sheet != "":
		at += ", " + note.Term(lang, "sheet") + " " + p.Sheet
		if p.Cell != "" {
			at += ", " + p.Cell
		} else if p.Line > 0 {
			at += ", " + note.Term(lang, "row") + " " + strconv.Itoa(p.Line)
		}
	case p.Line > 0:
		at += ":" + strconv.Itoa(p.Line)
	}
	if p.Column != "" {
		at = strings.TrimPrefix(at+": "+p.Column, ": ")
	}
	return at
}

// Fault is one thing that is wrong.
type Fault struct {
	Place
	Code   Code
	Values []note.Value
}

// New makes a fault of a field at pointer.
func New(pointer string, code Code, values ...note.Value) Fault {
	return Fault{Place: Place{Pointer: pointer}, Code: code, Values: values}
}

// Text says what is wrong, in one sentence without a full stop that a counter
// clerk understands: in lang, in English where lang has no words for it, with
// lengths in the units of s.
func (f *Fault) Text(lang string, s unit.System) string {
	return note.FaultText(lang, s, string(f.Code), f.Values)
}

// Cure says what to do about it, "" where the text says it all.
func (f *Fault) Cure(lang string, s unit.System) string {
	return note.CureText(lang, s, string(f.Code), f.Values)
}

// List is the faults of one request in the order in which they were found.
type List []Fault

// Error makes a non-empty list an error.
func (l List) Error() string {
	parts := make([]string, len(l))
	for i := range l {
		parts[i] = l[i].Pointer + l[i].Parameter + ": " + l[i].Text("en", unit.Unset)
	}
	return strings.Join(parts, "; ")
}

// Add appends a fault of the field at pointer.
func (l *List) Add(pointer string, code Code, values ...note.Value) {
	*l = append(*l, New(pointer, code, values...))
}

// AddUnder appends the faults of a part that stands at prefix.
func (l *List) AddUnder(prefix string, part List) {
	for _, f := range part {
		f.Pointer = prefix + f.Pointer
		*l = append(*l, f)
	}
}

// Err gives the list as an error, or nil where it is empty.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}
