package unit

// maxExponent is more than any exponent that matters to a text of
// maxCharacters.
const maxExponent = 1_000_000

// ParseNumber reads the token of a JSON number (RFC 8259 section 6), such as
// 16.5 or 1.65e1, as a length in the units of in, exactly as it is written and
// never by way of a float64. It gives the nearest whole number of nanometres,
// half to even. No more than MaxLength is read either way; the caller decides
// about the sign. A token that can't be read gives a *SyntaxError. The work
// doesn't grow with the exponent.
func ParseNumber(text string, in System) (Length, error) {
	q, negative, code := parseNumber(text, in)
	if code != "" {
		return 0, syntaxError(text, code)
	}
	return q.rounded(negative), nil
}

func parseNumber(text string, in System) (q exact, negative bool, code Code) {
	var r reader
	switch {
	case text == "":
		return q, false, isEmpty
	case len(text) > len(r.buf):
		return q, false, tooLong
	}
	r.n = copy(r.buf[:], text)
	if negative = r.peek() == '-'; negative {
		r.pos++
	}
	whole := r.digits()
	if len(whole) == 0 || len(whole) > 1 && whole[0] == '0' {
		return q, negative, notJSON
	}
	var decimals []byte
	if r.peek() == '.' {
		r.pos++
		if decimals = r.digits(); len(decimals) == 0 {
			return q, negative, notJSON
		}
	}
	exponent := 0
	if r.exponentFollows() {
		r.pos++
		down := r.peek() == '-'
		if down || r.peek() == '+' {
			r.pos++
		}
		for _, d := range r.digits() {
			exponent = min(10*exponent+int(d-'0'), maxExponent)
		}
		if down {
			exponent = -exponent
		}
	}
	if r.pos < r.n {
		return q, negative, notJSON
	}
	switch in {
	case Inches:
		q = decimal(whole, decimals, exponent, inch)
	case Millimetres:
		q = decimal(whole, decimals, exponent, millimetre)
	case Unset:
		return q, negative, unitMissing
	}
	if q.overMax() {
		return q, negative, tooLarge
	}
	return q, negative, ""
}
