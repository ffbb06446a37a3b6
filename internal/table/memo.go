package table

import (
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// A memo remembers what texts were read as: the columns of a list hold the
// same few lengths and threads again and again. A place in it belongs to
// whichever text came last.
type memo[V any] struct{ entries [memoEntries]memoEntry[V] }

type memoEntry[V any] struct {
	text  string // "" while it is free
	units unit.System
	value V
}

const memoEntries = 1 << 9

// entry gives the place of a text, which isn't empty. Texts of a list differ
// at their ends if anywhere: the beginning, the length and the last digits
// before a unit such as " in" go into it.
func (m *memo[V]) entry(text string, units unit.System) *memoEntry[V] {
	n := len(text)
	hash := uint32(text[0]) + uint32(n)*31 + uint32(units)*7
	for i := max(0, n-8); i < n; i++ {
		hash = hash*33 + uint32(text[i])
	}
	return &m.entries[(hash^hash>>9)%memoEntries]
}

// of gives what a text was read as before, or reads it.
func (m *memo[V]) of(text string, units unit.System, read func() (V, *trouble)) (V, *trouble) {
	e := m.entry(text, units)
	if e.text == text && e.units == units {
		return e.value, nil
	}
	v, t := read()
	if t == nil {
		*e = memoEntry[V]{text, units, v}
	}
	return v, t
}

// memos are those of one reading of rows.
type memos struct {
	lengths memo[unit.Length]
	threads memo[mount.Thread]
}
