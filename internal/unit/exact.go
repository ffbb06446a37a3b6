package unit

import (
	"cmp"
	"math/big"
	"math/bits"
)

// An exact is a quantity without its sign, before it is rounded: its whole
// nanometres, and how the rest compares with one half. All quantities longer than
// MaxLength may share one value.
type exact struct {
	nm   uint64
	rest rest
}

// A rest is where the part of a quantity below one nanometre lies.
type rest uint8

const (
	noRest rest = iota
	belowHalf
	half
	aboveHalf
)

// beyond is a length longer than MaxLength, of which a few can be added.
const beyond = uint64(MaxLength) + 1

// overMax says whether the quantity is longer than MaxLength before it is
// rounded.
func (q exact) overMax() bool {
	return q.nm > uint64(MaxLength) || q.nm == uint64(MaxLength) && q.rest != noRest
}

// plus adds p to q, one of which has no rest.
func (q exact) plus(p exact) exact {
	if q.rest == noRest {
		q.rest = p.rest
	}
	return exact{q.nm + p.nm, q.rest}
}

// rounded gives the nearest length, half to even. The quantity is at most
// MaxLength.
func (q exact) rounded(negative bool) Length {
	nm := Length(q.nm)
	if q.rest == aboveHalf || q.rest == half && nm&1 != 0 {
		nm++
	}
	if negative {
		return -nm
	}
	return nm
}

// times gives n of the unit u.
func (n number) times(u measure) exact {
	q := decimal(n.whole, n.decimals, 0, u)
	switch {
	case !n.fraction:
		return q
	case n.glyph != 0:
		num, den := glyph(n.glyph - glyphs)
		return q.plus(ratio(num, den, u))
	case len(n.num) <= maxDigits && len(n.den) <= maxDigits:
		return q.plus(ratio(toUint(0, n.num), toUint(0, n.den), u))
	}
	return q.plus(bigRatio(toBig(n.num), toBig(n.den), u))
}

// maxDigits is how many decimal digits always fit a uint64: 10^19 < 2^64.
const maxDigits = 19

// decimal gives whole.decimals × 10^exponent of the unit u. The work doesn't grow
// with the exponent.
func decimal(whole, decimals []byte, exponent int, u measure) exact {
	whole = withoutZeros(whole)
	for len(decimals) > 0 && decimals[len(decimals)-1] == '0' {
		decimals = decimals[:len(decimals)-1]
	}
	// The value is the digits' × 10^scale.
	scale := exponent - len(decimals)
	if len(whole) == 0 {
		decimals = withoutZeros(decimals)
	}
	count := len(whole) + len(decimals)
	if count == 0 {
		return exact{}
	}
	// 10^(magnitude-1) <= value < 10^magnitude, in units of at least 1 mm and
	// at most 1 m.
	switch magnitude := count + scale; {
	case magnitude > 11:
		return exact{nm: beyond}
	case magnitude < -9:
		return exact{rest: belowHalf}
	}
	switch {
	case count <= maxDigits && 0 <= scale:
		return ratio(toUint(toUint(0, whole), decimals)*pow10(scale), 1, u)
	case count <= maxDigits && -maxDigits <= scale:
		return ratio(toUint(toUint(0, whole), decimals), pow10(-scale), u)
	}
	// With so many digits and so small a magnitude, scale is negative.
	n := toBig(append(append(make([]byte, 0, count), whole...), decimals...))
	return bigRatio(n, new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(-scale)), nil), u)
}

// ratio gives n/d of the unit u, for d > 0.
func ratio(n, d uint64, u measure) exact {
	hi, lo := bits.Mul64(n, uint64(u))
	if hi >= d { // the quotient wouldn't fit 64 bits
		return exact{nm: beyond}
	}
	nm, r := bits.Div64(hi, lo, d)
	return capped(nm, r != 0, cmp.Compare(r, d-r))
}

// bigRatio is ratio for more digits than a uint64 holds; it changes n.
func bigRatio(n, d *big.Int, u measure) exact {
	n.Mul(n, new(big.Int).SetUint64(uint64(u)))
	nm, r := n.QuoRem(n, d, new(big.Int))
	if !nm.IsUint64() {
		return exact{nm: beyond}
	}
	some := r.Sign() != 0
	return capped(nm.Uint64(), some, r.Cmp(new(big.Int).Sub(d, r)))
}

// capped makes an exact of whole nanometres, whether there is a rest, and how
// the rest compares with one half.
func capped(nm uint64, some bool, toHalf int) exact {
	q := exact{nm: min(nm, beyond)}
	switch {
	case !some:
	case toHalf < 0:
		q.rest = belowHalf
	case toHalf == 0:
		q.rest = half
	default:
		q.rest = aboveHalf
	}
	return q
}

// toUint appends digits to n; the result has at most maxDigits digits.
func toUint(n uint64, digits []byte) uint64 {
	for _, d := range digits {
		n = 10*n + uint64(d-'0')
	}
	return n
}

// pow10 gives 10^n for 0 <= n <= maxDigits.
func pow10(n int) uint64 {
	p := uint64(1)
	for range n {
		p *= 10
	}
	return p
}

func toBig(digits []byte) *big.Int {
	n := new(big.Int)
	if len(digits) > 0 {
		n.SetString(string(digits), 10)
	}
	return n
}
