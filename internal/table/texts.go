package table

import (
	"encoding/binary"

	"midstroke/internal/note"
)

// The bounds of the texts that a workbook's cells share, which are all kept
// while its sheets are read: those of two million parts, say, each with a
// description.
const (
	mostTextBytes = 96 << 20
	mostTexts     = 4 << 20
	textChunk     = 2 * mostRowBytes
)

// sharedTexts are a workbook's shared strings (ISO/IEC 29500-1, section 18.4),
// each with its length in front, in chunks.
type sharedTexts struct {
	chunks [][]byte
	// starts are where texts begin: the chunk's number times textChunk, and
	// the place in it.
	starts []uint32
	buf    []byte
}

// read takes in the tag of one text.
func (t *sharedTexts) read(m *markup) error {
	if !m.opens("si") {
		return nil
	}
	t.buf = t.buf[:0]
	if !m.empty {
		var err error
		if t.buf, err = richText(m, t.buf, "si"); err != nil {
			return err
		}
	}
	return t.add(t.buf)
}

func (t *sharedTexts) add(text []byte) error {
	last := len(t.chunks) - 1
	if last < 0 || len(t.chunks[last])+binary.MaxVarintLen32+len(text) > textChunk {
		last++
		t.chunks = append(t.chunks, make([]byte, 0, textChunk))
	}
	if len(t.starts) == mostTexts || last*textChunk >= mostTextBytes {
		return unreadable(tooManyTexts, note.Num("most", mostTextBytes>>20, "MiB"))
	}
	t.starts = append(t.starts, uint32(last*textChunk+len(t.chunks[last])))
	chunk := binary.AppendUvarint(t.chunks[last], uint64(len(text)))
	t.chunks[last] = append(chunk, text...)
	return nil
}

// at gives a text by its number.
func (t *sharedTexts) at(i int) ([]byte, bool) {
	if i < 0 || i >= len(t.starts) {
		return nil, false
	}
	start := int(t.starts[i])
	rest := t.chunks[start/textChunk][start%textChunk:]
	n, size := binary.Uvarint(rest)
	return rest[size : size+int(n)], true
}

// richText appends a text that may be made of several runs, up to the end of
// the element that holds it, without the reading aids of East Asian texts.
func richText(m *markup, b []byte, end string) ([]byte, error) {
	aid := false
	for {
		if err := m.tag(); err != nil {
			return b, unexpected(err)
		}
		switch {
		case m.closing && string(m.name) == end:
			return b, nil
		case string(m.name) == "rPh":
			aid = !m.closing && !m.empty
		case m.opens("t") && !m.empty && !aid:
			from := len(b)
			var err error
			if b, err = m.text(b); err != nil {
				return b, err
			}
			b = unescaped(b, from)
		}
	}
}

// unescaped takes out of b, from a place on, what stands for characters that
// XML can't hold: _x000D_ (ISO/IEC 29500-1, section 22.9.2.19).
func unescaped(b []byte, from int) []byte {
	to := from
	for i := from; i < len(b); {
		if c, ok := escape(b[i:]); ok {
			to += copy(b[to:], string(c)) // no longer than what it stands for
			i += len("_x0000_")
			continue
		}
		b[to] = b[i]
		to, i = to+1, i+1
	}
	return b[:to]
}

// escape reads the escape that b begins with.
func escape(b []byte) (rune, bool) {
	if len(b) < len("_x0000_") || b[0] != '_' || b[1] != 'x' || b[6] != '_' {
		return 0, false
	}
	return fourDigits(b[2:6])
}

func fourDigits(hex []byte) (rune, bool) {
	var c rune
	for _, d := range hex {
		switch {
		case '0' <= d && d <= '9':
			d -= '0'
		case 'a' <= d|0x20 && d|0x20 <= 'f':
			d = d | 0x20 - 'a' + 10
		default:
			return 0, false
		}
		c = c<<4 | rune(d)
	}
	return c, true
}
