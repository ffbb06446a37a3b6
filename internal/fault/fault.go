// Package fault says what is wrong with a request, and where: every fault
// carries the RFC 6901 pointer of its field, and all faults of a request are
// collected before any is reported.
package fault

import (
	"fmt"
	"strings"
)

// Fault is one thing that is wrong with a request.
type Fault struct {
	// Pointer is the RFC 6901 JSON pointer of the field at fault, "" for the
	// whole.
	Pointer string
	// Code is a short constant name in snake_case that software can act on.
	Code string
	// Detail is one English sentence, without a full stop, that a counter
	// clerk understands.
	Detail string
}

// List is the faults of one request in the order in which they were found.
type List []Fault

// Error makes a non-empty list an error.
func (l List) Error() string {
	parts := make([]string, len(l))
	for i, f := range l {
		parts[i] = f.Pointer + ": " + f.Detail
	}
	return strings.Join(parts, "; ")
}

// Add appends a fault; format and args make its detail.
func (l *List) Add(pointer, code, format string, args ...any) {
	if len(args) > 0 {
		format = fmt.Sprintf(format, args...)
	}
	*l = append(*l, Fault{Pointer: pointer, Code: code, Detail: format})
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
