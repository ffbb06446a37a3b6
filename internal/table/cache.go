package table

import (
	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// A cache keeps the values that texts were read as, since the columns of a list
// hold the same few lengths and threads again and again. Each place in it holds
// the text that came last.
type cache[V any] struct{ entries [cacheEntries]cacheEntry[V] }

type cacheEntry[V any] struct {
	text  string // "" while it is free
	units unit.System
	value V
}

const cacheEntries = 1 << 9

// entry gives the place of a text, which isn't empty. Texts of a list mostly
// differ at their ends, so the beginning, the length and the last digits before
// a unit such as " in" make up the hash.
func (c *cache[V]) entry(text string, units unit.System) *cacheEntry[V] {
	n := len(text)
	hash := uint32(text[0]) + uint32(n)*31 + uint32(units)*7
	for i := max(0, n-8); i < n; i++ {
		hash = hash*33 + uint32(text[i])
	}
	return &c.entries[(hash^hash>>9)%cacheEntries]
}

// of gives the value that a text was read as before, or reads it.
func (c *cache[V]) of(text string, units unit.System, read func() (V, *fault.Fault)) (V, *fault.Fault) {
	e := c.entry(text, units)
	if e.text == text && e.units == units {
		return e.value, nil
	}
	v, bad := read()
	if bad == nil {
		*e = cacheEntry[V]{text, units, v}
	}
	return v, bad
}

// caches are those of one reading of rows.
type caches struct {
	lengths cache[unit.Length]
	threads cache[mount.Thread]
	forces  catalog.ForcesReader // these texts are long, and mostly differ in the middle
}
