package unit

import "strconv"

// Text writes l as people write it, with its unit: inches as a mixed fraction
// where l is a whole number of 1/64 in, else as a decimal of at most four
// places; millimetres as a decimal of at most three. Decimals are rounded half
// to even. Parse reads the same length from a text that wasn't rounded.
func (l Length) Text(s System) string {
	var buf [32]byte
	return string(l.AppendText(buf[:0], s))
}

// AppendText appends what Text gives.
func (l Length) AppendText(b []byte, s System) []byte {
	const sixtyFourth = Inch / 64
	switch {
	case s != Inches:
		return append(appendDecimal(b, divHalfEven(int64(l), int64(Micrometre)), 3), " mm"...)
	case l%sixtyFourth != 0:
		return append(appendDecimal(b, divHalfEven(int64(l), int64(Inch)/10_000), 4), " in"...)
	}
	if l < 0 {
		b = append(b, '-')
	}
	whole, num, den := (l / Inch).Abs(), (l % Inch / sixtyFourth).Abs(), Length(64)
	for num != 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	if whole != 0 || num == 0 {
		b = strconv.AppendInt(b, int64(whole), 10)
	}
	if num != 0 {
		if whole != 0 {
			b = append(b, ' ')
		}
		b = strconv.AppendInt(b, int64(num), 10)
		b = append(b, '/')
		b = strconv.AppendInt(b, int64(den), 10)
	}
	return append(b, " in"...)
}

// appendDecimal appends n/10^places without needless zeros.
func appendDecimal(b []byte, n int64, places int) []byte {
	for places > 0 && n%10 == 0 {
		n, places = n/10, places-1
	}
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	scale := int64(pow10(places))
	b = strconv.AppendInt(b, n/scale, 10)
	if places == 0 {
		return b
	}
	b = append(b, '.')
	start := len(b)
	b = strconv.AppendInt(b, scale+n%scale, 10) // a leading 1 keeps the zeros after the point
	copy(b[start:], b[start+1:])
	return b[:len(b)-1]
}
