package wire

import (
	"strconv"
	"strings"

	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/mount"
	"midstroke/internal/note"
)

// decimal is a number as it was written: digits × 10^exponent.
type decimal struct {
	digits   int64
	exponent int
}

// mostDigits is how many significant digits a decimal keeps, those that an
// int64 surely holds.
const mostDigits = 18

// exact reads a number without a float between; false where it has more
// digits than are kept. s is a JSON number or one of the flat form.
func exact(s string) (decimal, bool) {
	var d decimal
	mantissa, power := s, ""
	if i := strings.IndexAny(s, "eE"); i >= 0 {
		mantissa, power = s[:i], s[i+1:]
	}
	negative := strings.HasPrefix(mantissa, "-")
	mantissa = strings.TrimLeft(mantissa, "+-")
	whole, fraction, _ := strings.Cut(mantissa, ".")
	fraction = strings.TrimRight(fraction, "0")
	if power != "" {
		p, err := strconv.Atoi(power)
		if err != nil || p > 1000 || p < -1000 {
			return decimal{}, false
		}
		d.exponent = p
	}
	d.exponent -= len(fraction)
	digits := strings.TrimLeft(whole+fraction, "0")
	for d.exponent < 0 && strings.HasSuffix(digits, "0") {
		digits, d.exponent = digits[:len(digits)-1], d.exponent+1
	}
	if digits == "" {
		return decimal{}, true
	}
	if len(digits) > mostDigits {
		return decimal{}, false
	}
	n, err := strconv.ParseInt(digits, 10, 64)
	if err != nil {
		return decimal{}, false
	}
	if negative {
		n = -n
	}
	d.digits = n
	return d, true
}

// times gives d times ten to the power, where that is a whole number that an
// int64 holds.
func (d decimal) times(power int) (int64, bool) {
	n, p := d.digits, d.exponent+power
	if n == 0 {
		return 0, true
	}
	for ; p > 0; p-- {
		if n > maxTenth || n < -maxTenth {
			return 0, false
		}
		n *= 10
	}
	return n, p == 0
}

const maxTenth = (1<<63 - 1) / 10

// exactRatio is an exact number from 0 to 1.
var exactRatio = form.Type[fit.Ratio]{About: numberFromZero.About, Read: func(v form.Value) (fit.Ratio, bool) {
	if _, ok := numberFromZero.Read(v); !ok {
		return fit.Ratio{}, false
	}
	d, ok := exact(v.Text())
	if !ok || d.exponent < -mostDigits {
		v.Fail(ratioTooFine, note.Num("most", mostDigits, ""))
		return fit.Ratio{}, false
	}
	den := int64(1)
	for range -d.exponent {
		den *= 10
	}
	n, _ := d.times(-min(d.exponent, 0))
	return fit.Ratio{Num: n, Den: den}, true
}}

var numberFromZero = form.Number(form.Span{Least: 0, Most: 1})

// mostPrice is the highest price that is read, in hundredths. Far beyond it a
// float of a caller's software could no longer tell hundredths apart.
const mostPrice = 1_000_000_000_00

// amount is a price in the catalogue's currency, as a number or as a decimal
// text.
var amount = form.Type[mount.Price]{About: form.About{Kind: "amount"}, Read: func(v form.Value) (mount.Price, bool) {
	switch {
	case v.IsText() && !isAmount(v.Text()):
		v.Fail(notAnAmount)
		return mount.NoPrice, false
	case !v.IsText() && !v.IsNumber():
		v.Wrong("an_amount")
		return mount.NoPrice, false
	}
	if !v.Within(form.Span{Least: 0, Most: mostPrice / 100}) {
		return mount.NoPrice, false
	}
	if d, ok := exact(v.Text()); ok {
		if n, whole := d.times(2); whole {
			return mount.Price(n), true
		}
	}
	v.Fail(priceTooFine)
	return mount.NoPrice, false
}}

// isAmount holds for digits with a point and one or two decimals at most.
func isAmount(s string) bool {
	whole, fraction, point := strings.Cut(s, ".")
	digits := func(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
	return digits(whole) && (!point || digits(fraction) && len(fraction) <= 2)
}
