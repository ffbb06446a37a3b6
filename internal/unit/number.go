package unit

import "bytes"

// A number is what stands before a unit, its digits still as text. Its slices
// lie in the buffer of the reader that read it.
type number struct {
	whole    []byte // digits before the point or before the fraction
	point    bool
	decimals []byte // digits after the point
	fraction bool
	num, den []byte // digits of the fraction, without leading zeros
	glyph    byte   // the fraction where it was one character
}

// number reads a decimal, a fraction or a mixed number.
func (r *reader) number() (n number, code Code) {
	switch b := r.peek(); {
	case isDigit(b):
		n.whole = r.digits()
	case isGlyph(b):
		return r.fractionAfter(n)
	case b == '.':
	default:
		return n, r.noNumber()
	}
	switch b := r.peek(); {
	case b == '.':
		r.pos++
		n.point = true
		if n.decimals = r.digits(); len(n.decimals) == 0 {
			return n, digitsMissing
		}
	case b == '/':
		r.pos -= len(n.whole)
		n.whole = nil
		return r.fractionAfter(n)
	}
	if r.exponentFollows() {
		return n, hasExponent
	}
	return r.mixed(n)
}

// mixed looks beyond the whole number n for a fraction that belongs to it: one
// that follows blanks, or one hyphen without blanks, or is one character.
func (r *reader) mixed(n number) (number, Code) {
	from := r.pos
	blank := r.blanks()
	hyphen := r.peek() == '-'
	if hyphen {
		r.pos++
		blank = r.blanks() || blank
	}
	if r.peek() == '/' {
		return n, fractionBlanks
	}
	if !r.fractionFollows() {
		r.pos = from
		return n, ""
	}
	switch {
	case hyphen && blank:
		return n, subtraction
	case n.point:
		return n, fractionAfterDecimal
	}
	n, code := r.fractionAfter(n)
	if code == "" && n.improper() {
		code = fractionImproper
	}
	return n, code
}

// fractionFollows says whether a fraction stands next, well formed or not.
func (r *reader) fractionFollows() bool {
	if isGlyph(r.peek()) {
		return true
	}
	i := 0
	for isDigit(r.at(i)) {
		i++
	}
	return i > 0 && r.at(r.afterBlanks(i)) == '/'
}

// fractionAfter reads the fraction that stands next into n, whose whole part
// has been read.
func (r *reader) fractionAfter(n number) (number, Code) {
	n.fraction = true
	if b := r.peek(); isGlyph(b) {
		n.glyph = b
		r.pos++
		if b := r.peek(); b == '/' || startsNumber(b) {
			return n, leftover
		}
		return n, ""
	}
	n.num = withoutZeros(r.digits())
	if r.blanks() {
		return n, fractionBlanks
	}
	r.pos++ // the slash
	den := r.digits()
	if len(den) == 0 {
		if r.blanks() && isDigit(r.peek()) {
			return n, fractionBlanks
		}
		return n, digitsMissing
	}
	if n.den = withoutZeros(den); len(n.den) == 0 {
		return n, fractionZeroDenominator
	}
	if b := r.peek(); b == '/' || b == '.' || isGlyph(b) {
		return n, leftover
	}
	return n, ""
}

// noNumber names what stands where a number should have begun.
func (r *reader) noNumber() Code {
	switch b := r.peek(); {
	case b == foreignDigit:
		return digitForeign
	case b == '+' || b == '-':
		return signs
	case b == ' ' || b == '\t':
		r.blanks()
		if startsNumber(r.peek()) {
			return signBlank
		}
	}
	word := r.buf[r.pos:r.n]
	for _, not := range [...]string{"nan", "inf", "infinity"} {
		if len(word) >= len(not) && bytes.EqualFold(word[:len(not)], []byte(not)) &&
			(len(word) == len(not) || !isLetter(word[len(not)])) {
			return notFinite
		}
	}
	return numberMissing
}

// exponentFollows says whether the number goes on as 1e3 does.
func (r *reader) exponentFollows() bool {
	if r.peek()|0x20 != 'e' {
		return false
	}
	if b := r.at(1); b == '+' || b == '-' {
		return isDigit(r.at(2))
	}
	return isDigit(r.at(1))
}

// improper says whether n's fraction is one or more.
func (n number) improper() bool {
	switch {
	case n.glyph != 0:
		return false
	case len(n.num) != len(n.den):
		return len(n.num) > len(n.den)
	}
	return bytes.Compare(n.num, n.den) >= 0
}

func withoutZeros(digits []byte) []byte {
	for len(digits) > 0 && digits[0] == '0' {
		digits = digits[1:]
	}
	return digits
}
