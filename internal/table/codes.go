package table

import (
	"hash/maphash"
	"unicode"
	"unicode/utf8"
)

// codes remembers the codes of one kind of part, and where each stands. What
// it keeps of a code is 128 bits of its hash under a seed of its own, and the
// place: some 32 bytes a code, however long it is. Among five million codes
// two that differ would count as the same with a chance of 4 in 10^26 (half
// their number squared, over 2^128).
type codes struct {
	seeds   [2]maphash.Seed
	origins []origin
	entries [][]entry // chunks, all full but the last
	n       int
	// slots hold the number of an entry plus 1, 0 where there is none. Their
	// number is a power of two, and at most three quarters are taken.
	slots []uint32
	alike []byte
}

// An entry is one code that was seen.
type entry struct {
	hash   [2]uint64
	line   uint32
	origin uint32
}

const entriesInChunk = 1 << 12

func newCodes() *codes {
	return &codes{seeds: [2]maphash.Seed{maphash.MakeSeed(), maphash.MakeSeed()}, slots: make([]uint32, 64)}
}

// begin says that the codes that follow stand in the table o.
func (c *codes) begin(o origin) { c.origins = append(c.origins, o) }

// add takes in a code on a line of the present table. Where the same code was there
// before, apart from case and blanks, it gives the place of the first.
func (c *codes) add(code string, line int) (o origin, first int, twice bool) {
	c.alike = appendAlike(c.alike[:0], code)
	hash := [2]uint64{maphash.Bytes(c.seeds[0], c.alike), maphash.Bytes(c.seeds[1], c.alike)}
	slot := c.find(hash)
	if number := c.slots[slot]; number != 0 {
		e := c.entry(int(number - 1))
		return c.origins[e.origin], int(e.line), true
	}
	if c.n%entriesInChunk == 0 {
		c.entries = append(c.entries, make([]entry, 0, entriesInChunk))
	}
	last := &c.entries[len(c.entries)-1]
	*last = append(*last, entry{hash: hash, line: uint32(line), origin: uint32(len(c.origins) - 1)})
	c.n++
	c.slots[slot] = uint32(c.n)
	if 4*c.n > 3*len(c.slots) {
		c.grow()
	}
	return origin{}, 0, false
}

func (c *codes) entry(i int) *entry { return &c.entries[i/entriesInChunk][i%entriesInChunk] }

// find gives the slot of a hash, or the free one where it would go.
func (c *codes) find(hash [2]uint64) int {
	mask := len(c.slots) - 1
	for slot := int(hash[0]) & mask; ; slot = (slot + 1) & mask {
		if number := c.slots[slot]; number == 0 || c.entry(int(number-1)).hash == hash {
			return slot
		}
	}
}

func (c *codes) grow() {
	c.slots = make([]uint32, 2*len(c.slots))
	for i := range c.n {
		c.slots[c.find(c.entry(i).hash)] = uint32(i + 1)
	}
}

// appendAlike appends the form in which two codes count as the same: without
// regard to case and blanks.
func appendAlike(b []byte, code string) []byte {
	for i := range len(code) {
		switch c := code[i]; {
		case c >= utf8.RuneSelf:
			return appendAlikeRunes(b, code[i:])
		case c == ' ' || '\t' <= c && c <= '\r':
		case 'A' <= c && c <= 'Z':
			b = append(b, c+'a'-'A')
		default:
			b = append(b, c)
		}
	}
	return b
}

func appendAlikeRunes(b []byte, code string) []byte {
	for _, r := range code {
		if !unicode.IsSpace(r) {
			b = utf8.AppendRune(b, unicode.ToLower(r))
		}
	}
	return b
}
