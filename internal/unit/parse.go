package unit

import (
	"unicode"
	"unicode/utf8"
)

// MaxLength is the longest length that is read. Nothing that holds a damper is
// longer, so a longer one is a mistake in the figure or in its unit.
const MaxLength = 10 * Metre

// maxCharacters is how long a text may be once the blanks around it are gone.
const maxCharacters = 64

// Parse reads a length as people write it and gives the nearest whole number
// of nanometres, half to even. A quantity without a unit of its own is in the
// units of in; Unset refuses it.
//
//	quantity  = [ "+" | "-" ] ( number [ blanks ] [ unit ] | feet-inches )
//	number    = decimal | fraction | whole ( blanks | "-" ) fraction
//	decimal   = [ digits ] [ "." digits ]
//	fraction  = digits "/" digits, or one character such as ½
//	unit      = in inch inches " | ft foot feet ' | mm cm m and their words
//	feet-inches = whole feet-unit [ "-" ] number inch-unit, inches below 12
//
// Letters count in either case, one full stop may follow "in" and "ft", and
// typographers' dashes, spaces, primes and quotes are read as their plain
// forms. A fraction goes with inches or feet alone, and within a mixed number
// it is less than one. Any comma is refused, since it can separate
// decimals or thousands.
//
// Parse reads a sign; the caller decides whether the field may be zero or
// negative. No more than MaxLength is read either way. A text that can't be read
// gives a *SyntaxError.
func Parse(text string, in System) (Length, error) {
	var r reader
	if code := r.load(text); code != "" {
		return 0, syntaxError(text, code)
	}
	q, negative, code := r.quantity(in)
	if code == "" && q.overMax() {
		code = tooLarge
	}
	if code != "" {
		return 0, syntaxError(text, code)
	}
	return q.rounded(negative), nil
}

// A reader walks over a text whose characters have become one byte each.
type reader struct {
	buf [maxCharacters]byte
	n   int // bytes of buf in use
	pos int
}

// What one byte of a reader's buffer stands for where it isn't ASCII.
const (
	glyphs       = 0x80 // glyphs + n/d's place in the list of fractions
	foreignDigit = 0xfd
	foreignWord  = 0xfe
	foreign      = 0xff
)

// vulgar lists the fractions that are characters of their own (Unicode, Number
// Forms and Latin-1 Supplement).
const vulgar = "½¼¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚⅐⅑⅒"

// glyph gives the fraction that stands at place i of vulgar.
func glyph(i byte) (n, d uint64) {
	f := [...][2]uint8{
		{1, 2}, {1, 4}, {3, 4}, {1, 8}, {3, 8}, {5, 8}, {7, 8}, {1, 3}, {2, 3},
		{1, 5}, {2, 5}, {3, 5}, {4, 5}, {1, 6}, {5, 6}, {1, 7}, {1, 9}, {1, 10},
	}[i]
	return uint64(f[0]), uint64(f[1])
}

// load copies text into the buffer, without the blanks around it and with
// typography replaced by plain characters.
func (r *reader) load(text string) (code Code) {
	start, end := 0, len(text)
	for start < end && isSpace(text[start]) {
		start++
	}
	for end > start && isSpace(text[end-1]) {
		end--
	}
	comma := false
	for i := start; i < end; {
		b, size := text[i], 1
		if b >= utf8.RuneSelf {
			b, size = plain(text[i:end])
		}
		i += size
		if r.n == len(r.buf) {
			return tooLong
		}
		comma = comma || b == ','
		r.buf[r.n] = b
		r.n++
	}
	if comma {
		return hasComma
	}
	// Remove blanks that came from typographic characters.
	for r.n > 0 && r.buf[r.n-1] == ' ' {
		r.n--
	}
	r.blanks()
	if r.pos == r.n {
		return isEmpty
	}
	return ""
}

func isSpace(b byte) bool { return b == ' ' || '\t' <= b && b <= '\r' }

// plain gives the byte for the first character of s, which isn't ASCII, and
// the character's size in s.
func plain(s string) (b byte, size int) {
	c, size := utf8.DecodeRuneInString(s)
	switch c {
	case '\u00a0', '\u2007', '\u2009', '\u200a', '\u202f': // no-break, figure, thin, hair, narrow no-break
		return ' ', size
	case '\u2032', '\u2019': // prime, right single quote
		return '\'', size
	case '\u2033', '\u201d': // double prime, right double quote
		return '"', size
	case '\u2044': // fraction slash
		return '/', size
	case '\u2212', '\u2010', '\u2011', '\u2013': // minus, hyphen, no-break hyphen, en dash
		return '-', size
	}
	place := byte(0)
	for _, v := range vulgar {
		if c == v {
			return glyphs + place, size
		}
		place++
	}
	switch {
	case c == utf8.RuneError:
		return foreign, size
	case unicode.IsDigit(c):
		return foreignDigit, size
	case unicode.IsLetter(c):
		return foreignWord, size
	}
	return foreign, size
}

// peek gives the next byte, 0 at the end.
func (r *reader) peek() byte { return r.at(0) }

func (r *reader) at(ahead int) byte {
	if r.pos+ahead < r.n {
		return r.buf[r.pos+ahead]
	}
	return 0
}

// blanks passes over blanks and says whether there were any.
func (r *reader) blanks() bool {
	from := r.pos
	r.pos += r.afterBlanks(0)
	return r.pos > from
}

// afterBlanks gives how far ahead the first byte is that isn't a blank, from
// the one at i on.
func (r *reader) afterBlanks(i int) int {
	for r.at(i) == ' ' || r.at(i) == '\t' {
		i++
	}
	return i
}

// digits passes over ASCII digits and gives them.
func (r *reader) digits() []byte {
	from := r.pos
	for isDigit(r.peek()) {
		r.pos++
	}
	return r.buf[from:r.pos]
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }

func isGlyph(b byte) bool { return glyphs <= b && b < foreignDigit }

func isLetter(b byte) bool {
	return 'a' <= b|0x20 && b|0x20 <= 'z' || b == foreignWord
}

// startsNumber says whether b may be the first byte of a number.
func startsNumber(b byte) bool { return isDigit(b) || b == '.' || isGlyph(b) }

// quantity reads the whole text.
func (r *reader) quantity(in System) (q exact, negative bool, code Code) {
	switch r.peek() {
	case '-':
		negative = true
		r.pos++
	case '+':
		r.pos++
	}
	first, code := r.number()
	if code != "" {
		return q, negative, code
	}
	r.blanks()
	u, code := r.unit()
	if code != "" {
		return q, negative, code
	}
	r.blanks()
	switch {
	case u == foot && r.pos < r.n:
		q, code = r.inchesAfter(first)
		if code == "" {
			r.blanks()
			code = r.leftOver()
		}
		return q, negative, code
	case r.pos < r.n:
		return q, negative, r.leftOver()
	case u == noUnit:
		switch in {
		case Inches:
			u = inch
		case Millimetres:
			u = millimetre
		case Unset:
			return q, negative, unitMissing
		}
	}
	if first.fraction && u != inch && u != foot {
		return q, negative, fractionMetric
	}
	return first.times(u), negative, ""
}

// inchesAfter reads what follows feet: the inches of a feet-and-inches length.
func (r *reader) inchesAfter(feet number) (q exact, code Code) {
	if r.peek() == '-' && r.numberAfterHyphen() {
		r.pos++
		r.blanks()
	}
	if !startsNumber(r.peek()) {
		return q, r.leftOver()
	}
	if feet.fraction || feet.point {
		return q, feetNotWhole
	}
	rest, code := r.number()
	if code != "" {
		return q, code
	}
	r.blanks()
	u, code := r.unit()
	switch {
	case code != "":
		return q, code
	case u == noUnit && r.pos == r.n:
		return q, inchMarkMissing
	case u == noUnit:
		return q, r.leftOver()
	case u != inch:
		return q, compound
	}
	inches := rest.times(inch)
	if inches.nm >= uint64(Foot) {
		return q, inchesTooMany
	}
	return feet.times(foot).plus(inches), ""
}

// leftOver names what stands where the text should have ended.
func (r *reader) leftOver() Code {
	switch b := r.peek(); {
	case r.pos == r.n:
		return ""
	case b == '-' && r.numberAfterHyphen():
		return subtraction
	case b == foreignDigit:
		return digitForeign
	case isDigit(b) || b == '.' && isDigit(r.at(1)):
		return compound
	}
	return leftover
}

// numberAfterHyphen says whether the hyphen that stands next has a number
// behind it.
func (r *reader) numberAfterHyphen() bool {
	return startsNumber(r.at(r.afterBlanks(1)))
}

// A measure is the size of a unit in nanometres; noUnit where none stands.
type measure uint64

const (
	noUnit     measure = 0
	millimetre         = measure(Millimetre)
	centimetre         = measure(Centimetre)
	metre              = measure(Metre)
	inch               = measure(Inch)
	foot               = measure(Foot)
)

// unit reads a unit where one stands.
func (r *reader) unit() (u measure, code Code) {
	switch b := r.peek(); {
	case b == '"':
		r.pos++
		return inch, ""
	case b == '\'':
		r.pos++
		if r.peek() == '\'' { // two primes stand for the double one
			r.pos++
			return inch, ""
		}
		return foot, ""
	case !isLetter(b):
		return noUnit, ""
	}
	var word [len("centimetres")]byte
	n := 0
	for ; isLetter(r.peek()); r.pos++ {
		if n == len(word) {
			return noUnit, unitUnknown
		}
		word[n] = r.peek() | 0x20
		n++
	}
	switch string(word[:n]) {
	case "in", "ft":
		if r.peek() == '.' {
			r.pos++
		}
		if word[0] == 'i' {
			return inch, ""
		}
		return foot, ""
	case "inch", "inches":
		return inch, ""
	case "foot", "feet":
		return foot, ""
	case "mm", "millimetre", "millimetres", "millimeter", "millimeters":
		return millimetre, ""
	case "cm", "centimetre", "centimetres", "centimeter", "centimeters":
		return centimetre, ""
	case "m", "metre", "metres", "meter", "meters":
		return metre, ""
	}
	return noUnit, unitUnknown
}
